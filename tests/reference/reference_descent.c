/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_case.h"
#include "reference.h"

/** Steady descents and holding on a grade, simulated. */

/* two points of one speed */
static void make_steady(struct bw_case *made, double speed, double duration) {
  const double time[2] = {0.0, duration};
  const double value[2] = {speed, speed};
  make_trace(made, BW_TRACE_SPEED, time, value, 2);
}

static void descents(struct reference_list *list) {
  static const struct reference_origin FORM = {
      "v [m g sin - m g f cos - C v2], 2000 kg, drag area 0.6 m2", MARK_DERIVED};
  static const double WANTED[][5] = {{0.08, 60.0, 1268.86, 21.148, 3.525},
                                     {0.06, 80.0, 801.16, 17.804, 2.225},
                                     {0.12, 40.0, 2098.31, 23.315, 5.829}};
  for (size_t i = 0; i < sizeof WANTED / sizeof *WANTED; i++) {
    const double *want = WANTED[i];
    struct bw_case *made = make_case();
    made->vehicle.load[BW_LOAD_UNLADEN].mass = 2000.0;
    /* the program's road load holds whatever the slope; the form has f m g cos */
    made->vehicle.road_f0 = 2000.0 * BW_GRAVITY * 0.01 * cos(atan(want[0]));
    make_machine(made, BW_FRONT, 1e4, 1e6);
    make_steady(made, want[1] / 3.6, 60.0);
    make_grade(made, -want[0]);
    struct test_record record = {0};
    record_run(made, &TEST_FILL, NULL, &record);
    const struct bw_sample *last = &record.last;
    reference_add(
        list, "DES-1", "N", FORM,
        (struct reference_pair){want[2], last->axle[0].machine_torque / 0.32, 1e-4 * want[2]},
        "%.0f %% at %.0f km/h: force", 100.0 * want[0], want[1]);
    reference_add(list, "DES-1", "kW", FORM,
                  (struct reference_pair){want[3], 1e-3 * last->battery_work / last->duration,
                                          1e-4 * want[3]},
                  "the same: power");
    reference_add(list, "DES-1", "kWh", FORM,
                  (struct reference_pair){
                      want[4], last->axle[0].machine_work / last->distance * 1e4 / 3.6e6, 6e-4},
                  "the same: energy of 10 km");
    free_record(&record);
    free_case(made);
  }
}

static void holding(struct reference_list *list) {
  static const struct reference_origin PULL = {"m g sin", MARK_DERIVED};
  static const double GRADE[2] = {0.20, 0.30};
  static const double FORCE[2] = {2885.8, 4228.3};
  static const double SHARE[2] = {0.19612, 0.28735};
  for (int i = 0; i < 2; i++) {
    struct bw_case *made = make_case();
    make_machine(made, BW_FRONT, 1e4, 1e6);
    made->driver.hold_deceleration = 0.0;
    make_steady(made, 0.0, 3.0);
    make_grade(made, GRADE[i]);
    struct test_record record = {0};
    record_run(made, &TEST_FRICTION, NULL, &record);
    const double held =
        (record.last.axle[0].friction_torque + record.last.axle[1].friction_torque) / 0.32;
    reference_add(list, "DES-3", "N", PULL, (struct reference_pair){FORCE[i], held, 0.051},
                  "1500 kg held on %.0f %%", 100.0 * GRADE[i]);
    reference_add(list, "DES-3", "1", PULL,
                  (struct reference_pair){SHARE[i], held / (1500.0 * BW_GRAVITY), 5.1e-6},
                  "the same over the weight");
    free_record(&record);
    free_case(made);
  }
}

/* greatest grade at which the braked axle's load times mu still holds the car; by halving. Loads
 * come from the library at rest on the grade */
static double grade_held(int axle, double mu, double sign) {
  struct bw_case *made = make_case();
  double low = 0.0;
  double high = 2.0;
  for (int i = 0; i < 60; i++) {
    const double grade = 0.5 * (low + high);
    const double slope = sin(atan(sign * grade));
    double load[2];
    bw_vehicle_axle_loads(&made->vehicle, slope, 0.0, load);
    const bool is_held = 1500.0 * BW_GRAVITY * fabs(slope) <= mu * load[axle];
    low = is_held ? grade : low;
    high = is_held ? high : grade;
  }
  free_case(made);
  return low;
}

static void one_axle(struct reference_list *list) {
  static const struct reference_origin FORM = {"statics of one braked axle", MARK_DERIVED};
  static const struct {
    int axle;
    double sign; /* +1 facing up */
    double grade[2];
  } WANTED[] = {{BW_REAR, 1.0, {0.4233, 0.0926}},
                {BW_REAR, -1.0, {0.3065, 0.0855}},
                {BW_FRONT, 1.0, {0.3831, 0.1068}},
                {BW_FRONT, -1.0, {0.5291, 0.1157}}};
  static const double MU[2] = {0.8, 0.2};
  for (size_t i = 0; i < sizeof WANTED / sizeof *WANTED; i++) {
    for (int k = 0; k < 2; k++) {
      reference_add(list, "DES-4", "1", FORM,
                    (struct reference_pair){WANTED[i].grade[k],
                                            grade_held(WANTED[i].axle, MU[k], WANTED[i].sign),
                                            5.1e-5},
                    "greatest grade, %s axle braked, facing %s, mu %.1f",
                    WANTED[i].axle == BW_REAR ? "rear" : "front",
                    WANTED[i].sign > 0.0 ? "up" : "down", MU[k]);
    }
  }
}

void reference_descent(struct reference_list *list) {
  descents(list);
  holding(list);
  one_axle(list);
}
