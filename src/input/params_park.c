/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/param_row.h"

/* the first rows belong to the group that params_slip.c ends with */
#define DATA(field) (offsetof(struct bw_case, assess_data) + offsetof(struct bw_assess_data, field))
#define PARK(field) (DATA(park) + offsetof(struct bw_park_brake, field))

static const struct bw_param_row ROWS[] = {
    BW_CHOICE("park_brake.axle", "none|front|rear|both", BW_STORE_ENUM, PARK(axle), 3, 0,
              "assess: axle whose discs the parking brake clamps; none: no data, not assessed"),
    BW_NUMBER("park_brake.clamp_force_kn", "kN", PARK(clamp_force), 0.0, 200.0, 0.0,
              "assess: clamp force set at each caliper; needed with an axle"),
    BW_NUMBER("park_brake.effective_radius_m", "m", PARK(effective_radius), 0.0, 0.5, 0.0,
              "assess: radius at which the pads act; needed with an axle"),
    BW_NUMBER("park_brake.pad_friction_static", "", PARK(friction), 0.0, 1.0, 0.0,
              "assess: static friction of pads on disc; needed with an axle"),
    BW_NUMBER("park_brake.efficiency_percent", "%", PARK(efficiency), 10.0, 100.0, 100.0,
              "assess: part of the clamp force that reaches the pads"),
    BW_NUMBER("park_brake.clamp_loss_percent", "%", PARK(clamp_loss), 0.0, 90.0, 0.0,
              "assess: part of the clamp force that is lost while hot discs cool"),
    BW_NUMBER("park_brake.sensor_range_kn", "kN", PARK(sensor_range), 1.0, 500.0, 60.0,
              "assess: range of the clamp force sensor (60: common practice, no source)"),
    BW_NUMBER("booster.fallback_bar", "bar", DATA(booster_fallback), 0.0, 200.0, 0.0,
              "assess: brake pressure of 500 N at the pedal, booster failed; 0: not known"),
    BW_TEXT("descent.profile", BW_STORE_NONE, 0, BW_PATH_MAX, "", false,
            "assess: path of a CSV distance_m,speed_kmh,grade_percent, a descent of your own"),
};

struct bw_param_rows bw_params_park(void) {
  return BW_ROWS(ROWS);
}
