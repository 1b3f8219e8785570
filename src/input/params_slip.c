/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/param_row.h"

#define CASE(field)  offsetof(struct bw_case, field)
#define SLIP(field)  (CASE(slip) + offsetof(struct bw_slip_setup, field))
#define TYRE(field)  (SLIP(tyre) + offsetof(struct bw_tyre, field))
#define VALVE(field) (SLIP(antilock) + offsetof(struct bw_antilock, field))
#define LINE(i, field)                                                                             \
  (SLIP(driveline) + (i) * sizeof(struct bw_driveline) + offsetof(struct bw_driveline, field))

#define LINE_ROWS(i, w)                                                                            \
  BW_NUMBER("driveline." w ".stiffness_nm_per_rad", "N m/rad", LINE(i, stiffness), 0.0, 1e6, 0.0,  \
            "shafts between machine and wheels, at the axle; 0: rigid"),                           \
      BW_NUMBER("driveline." w ".damping_nms_per_rad", "N m s/rad", LINE(i, damping), 0.0, 2000.0, \
                0.0, "damping of the shafts while the flanks touch"),                              \
      BW_NUMBER("driveline." w ".lash_deg", "deg", LINE(i, lash), 0.0, 10.0, 0.0,                  \
                "free play between the flanks, at the axle")

static const struct bw_param_row ROWS[] = {
    BW_CHOICE("tyre.model", "burckhardt|magic-formula", BW_STORE_ENUM, TYRE(model), 1, 0,
              "slip: curve of friction over slip"),
    BW_CHOICE("tyre.surface",
              "asphalt-dry|asphalt-wet|concrete-dry|cobbles-dry|cobbles-wet|snow|ice|custom",
              BW_STORE_ENUM, TYRE(surface), 7, 0,
              "slip: published Burckhardt coefficients, or custom with burckhardt_c1 to c3"),
    BW_NEEDED_IF("tyre.burckhardt_c1", "", TYRE(c), 0.01, 3.0, "slip: c1, with surface custom",
                 "tyre.surface", 7),
    BW_NEEDED_IF("tyre.burckhardt_c2", "", TYRE(c) + sizeof(double), 0.5, 1000.0,
                 "slip: c2, with surface custom", "tyre.surface", 7),
    BW_NEEDED_IF("tyre.burckhardt_c3", "", TYRE(c) + 2 * sizeof(double), 0.0, 2.0,
                 "slip: c3, with surface custom; 0: never falls", "tyre.surface", 7),
    BW_NEEDED_IF("tyre.magic_stiffness", "", TYRE(magic), 0.1, 100.0, "slip: stiffness factor B",
                 "tyre.model", 1),
    BW_NEEDED_IF("tyre.magic_shape", "", TYRE(magic) + sizeof(double), 0.5, 3.0,
                 "slip: shape factor C", "tyre.model", 1),
    BW_NEEDED_IF("tyre.magic_peak", "", TYRE(magic) + 2 * sizeof(double), 0.02, 2.0,
                 "slip: peak D over load", "tyre.model", 1),
    BW_NEEDED_IF("tyre.magic_curvature", "", TYRE(magic) + 3 * sizeof(double), -10.0, 1.0,
                 "slip: curvature E", "tyre.model", 1),
    BW_NUMBER("tyre.relaxation_m", "m", TYRE(relaxation), 0.0, 2.0, 0.1,
              "slip: way in which slip builds up; 0: at once"),
    BW_NUMBER("tyre.low_speed_mps", "m/s", TYRE(low_speed), 0.01, 2.0, 0.1,
              "slip: floor of the speed that slip is measured against"),
    LINE_ROWS(BW_FRONT, "front"),
    LINE_ROWS(BW_REAR, "rear"),
    BW_FLAG("antilock.fitted", VALVE(is_fitted), 0, "slip: a slip controller in the friction path"),
    BW_CHOICE("antilock.channels", "axle|wheel", BW_STORE_BOOL, VALVE(is_per_wheel), 1, 0,
              "slip: on a split road, the worse wheel decides for its axle, or each for itself"),
    BW_NUMBER("antilock.period_ms", "ms", VALVE(period), 0.1, 100.0, 5.0,
              "time between two decisions, a whole multiple of simulation.step_ms"),
    BW_NUMBER("antilock.slip_release", "", VALVE(slip_release), 0.01, 0.9, 0.14,
              "slip ahead above which pressure is let out"),
    BW_NUMBER("antilock.slip_build", "", VALVE(slip_build), 0.005, 0.9, 0.07,
              "slip ahead below which pressure is built up again"),
    BW_NUMBER("antilock.lead_ms", "ms", VALVE(lead), 0.0, 200.0, 15.0,
              "slip ahead = slip + lead x its rate"),
    BW_NUMBER("antilock.build_bar_per_s", "bar/s", VALVE(build), 1.0, 10000.0, 200.0,
              "pressure rise of the valve"),
    BW_NUMBER("antilock.release_bar_per_s", "bar/s", VALVE(release), 1.0, 10000.0, 800.0,
              "pressure fall of the valve"),
    BW_NUMBER("antilock.off_speed_kmh", "km/h", VALVE(off_speed), 0.0, 50.0, 7.0,
              "no intervention below this speed"),
    BW_CHOICE("antilock.regeneration_policy", "keep|cut|ramp-out|freeze|modulate", BW_STORE_ENUM,
              VALVE(policy), 4, 1,
              "what an axle's machine does while its wheels are held back, unless the strategy "
              "says so itself"),
    BW_NUMBER("antilock.ramp_nm_per_s", "N m/s", VALVE(ramp), 10.0, 1e6, 4000.0,
              "ramp-out, modulation and return of the machine, at the axle"),
    BW_NUMBER("antilock.recovery_s", "s", VALVE(recovery), 0.0, 60.0, 0.5,
              "time without intervention until the machine returns"),
    BW_CHOICE("antilock.speed_reference", "known|wheels", BW_STORE_BOOL, VALVE(estimates_speed), 1,
              0, "the car's speed: as it is, or estimated from wheels and accelerometer"),
    BW_NUMBER("antilock.filter_ms", "ms", VALVE(filter), 0.0, 500.0, 10.0,
              "filter of the reference and of the slip's rate, with speed sensors or reference"),
    BW_NUMBER("antilock.reference_margin_mps2", "m/s2", VALVE(reference_margin), 0.0, 20.0, 1.0,
              "how much faster than the accelerometer says that estimate may fall"),
    BW_NUMBER("park_brake.rear_torque_nm", "N m", SLIP(park_torque), 0.0, 20000.0, 0.0,
              "slip: park brake at the rear axle; 0: none"),
    BW_NUMBER("park_brake.after_s", "s", SLIP(park_after), 0.0, 600.0, 1.0,
              "slip: time at rest until the park brake is set"),
};

struct bw_param_rows bw_params_slip(void) {
  return BW_ROWS(ROWS);
}
