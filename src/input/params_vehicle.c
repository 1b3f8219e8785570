/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/param_row.h"

#define AT(field) (offsetof(struct bw_case, vehicle) + offsetof(struct bw_vehicle, field))
#define LOAD(state, field)                                                                         \
  (AT(load) + (state) * sizeof(struct bw_load) + offsetof(struct bw_load, field))
#define LOAD_ROWS(STATE, index, words)                                                             \
  BW_NEEDED("vehicle." STATE ".mass_kg", "kg", LOAD(index, mass), 200.0, 60000.0, "mass, " words), \
      BW_NEEDED("vehicle." STATE ".cg_to_front_m", "m", LOAD(index, cg_to_front), 0.1, 10.0,       \
                "centre of gravity behind the front axle, " words),                                \
      BW_NEEDED("vehicle." STATE ".cg_height_m", "m", LOAD(index, cg_height), 0.05, 3.0,           \
                "centre of gravity above the road, " words)

static const struct bw_param_row ROWS[] = {
    BW_TEXT("vehicle.name", BW_STORE_TEXT, offsetof(struct bw_case, vehicle_name), BW_NAME_MAX,
            "unnamed", false, "name of the car in reports"),
    BW_TEXT("vehicle.note", BW_STORE_TEXT, offsetof(struct bw_case, note), 256, "", false,
            "where the data come from, printed with the results"),
    BW_CHOICE("vehicle.load_state", "unladen|laden", BW_STORE_ENUM, AT(load_state), 1, 0,
              "load state the run uses; balance is judged with it too"),
    LOAD_ROWS("unladen", BW_LOAD_UNLADEN, "driver only"),
    LOAD_ROWS("laden", BW_LOAD_LADEN, "fully loaded"),
    BW_NEEDED("vehicle.wheelbase_m", "m", AT(wheelbase), 0.5, 12.0, "distance of the axles"),
    BW_NEEDED("vehicle.tyre_radius_m", "m", AT(tyre_radius), 0.1, 1.0, "dynamic tyre radius"),
    BW_NUMBER("vehicle.wheel_inertia_front_kgm2", "kg m2", AT(wheel_inertia), 0.0, 100.0, 1.6,
              "both front wheels with their discs, without the machine"),
    BW_NUMBER("vehicle.wheel_inertia_rear_kgm2", "kg m2", AT(wheel_inertia) + sizeof(double), 0.0,
              100.0, 1.6, "both rear wheels with their discs, without the machine"),
    BW_NUMBER("vehicle.slip_stiffness", "", AT(slip_stiffness), 1.0, 100.0, 20.0,
              "brake force over load per unit of slip, near zero slip"),
    BW_NUMBER("vehicle.pitch_lag_ms", "ms",
              offsetof(struct bw_case, slip) + offsetof(struct bw_slip_setup, pitch_lag), 0.0,
              1000.0, 0.0, "slip: first-order lag of the load transfer"),
    BW_CHOICE("vehicle.road_load", "coast-down|rolling-drag", BW_STORE_NONE, 0, 1, 0,
              "road load from coast-down terms, or from rolling coefficient and drag area"),
    BW_NEEDED_ASIDE("vehicle.coast_f0_n", "N", 0.0, 10000.0,
                    "coast-down term f0, with road_load coast-down", "vehicle.road_load", 0),
    BW_NEEDED_ASIDE("vehicle.coast_f1_n_per_kmh", "N/(km/h)", -50.0, 200.0,
                    "coast-down term f1, with road_load coast-down", "vehicle.road_load", 0),
    BW_NEEDED_ASIDE("vehicle.coast_f2_n_per_kmh2", "N/(km/h)2", 0.0, 5.0,
                    "coast-down term f2, with road_load coast-down", "vehicle.road_load", 0),
    BW_NEEDED_ASIDE("vehicle.rolling_coefficient", "", 0.0, 0.1,
                    "rolling resistance over weight, with road_load rolling-drag",
                    "vehicle.road_load", 1),
    BW_NEEDED_ASIDE("vehicle.drag_area_m2", "m2", 0.0, 20.0,
                    "drag coefficient times frontal area, with road_load rolling-drag",
                    "vehicle.road_load", 1),
    BW_NUMBER("road.grade_percent", "%", offsetof(struct bw_case, road_grade), -30.0, 30.0, 0.0,
              "grade of the whole way, on top of any profile; positive is uphill"),
    BW_NUMBER("road.adhesion", "", AT(adhesion), 0.02, 1.5, 0.9,
              "greatest brake force over load that the road gives"),
    BW_TABLE("road.patches", BW_STORE_SURFACE,
             offsetof(struct bw_case, slip) + offsetof(struct bw_slip_setup, surface),
             "distance_m,adhesion_left,adhesion_right|distance_m,adhesion", false,
             "slip: grip along the way, each row holds until the next; none: road.adhesion"),
    BW_NUMBER("ambient.temperature_c", "degC", offsetof(struct bw_case, ambient_temperature), -50.0,
              60.0, 20.0, "air temperature, cools the rotors"),
    BW_NUMBER_ASIDE("ambient.air_density_kgpm3", "kg/m3", 0.5, 1.6, 1.2,
                    "air density, used by road_load rolling-drag"),
};

struct bw_param_rows bw_params_vehicle(void) {
  return BW_ROWS(ROWS);
}
