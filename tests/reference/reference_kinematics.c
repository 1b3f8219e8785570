/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_cycle.h"
#include "reference.h"

/** Kinematics and energy of the simulated car at its default step. */

static const struct reference_origin FORM = {"closed form of m dv/dt = -F", MARK_DERIVED};
static const double KMH = 1.0 / 3.6;
/* relative; what the simulator must keep at its default step */
static const double STEP = 1e-4;

/* to rounding of the printed value, or what the step allows where that is more */
static struct reference_pair simulated(double expected, double ours, double digit) {
  return (struct reference_pair){expected, ours, fmax(0.51 * digit, STEP * fabs(expected))};
}

/* RV-1 rolling out from 100 km/h with the linear road-load term `f1` */
static void coast(struct reference_list *list) {
  static const struct reference_origin ORIGIN = {"closed form, atan and ln of the speeds",
                                                 MARK_DERIVED};
  static const double WANTED[][3] = {
      {0.0, 193.983, 2207.894}, {80.0, 22.449, 558.431}, {50.0, 69.954, 1402.760}};
  struct bw_case *made = make_case();
  make_stop(made, 100.0 * KMH, 0.0, 400.0);
  struct test_record record = {0};
  record_run(made, &TEST_FRICTION, NULL, &record);
  reference_add(list, "KIN-1", "kJ", FORM,
                (struct reference_pair){578.704, record.kinetic_first * 1e-3, 5.1e-4},
                "kinetic energy, 1500 kg at 100 km/h");
  for (size_t i = 0; i < sizeof WANTED / sizeof *WANTED; i++) {
    double time = 0.0;
    double distance = 0.0;
    record_slowed(&record, WANTED[i][0] * KMH, &time, &distance);
    reference_add(list, "KIN-4", "s", ORIGIN, simulated(WANTED[i][1], time, 1e-3),
                  "coast-down 100 to %.0f km/h, time", WANTED[i][0]);
    reference_add(list, "KIN-4", "m", ORIGIN, simulated(WANTED[i][2], distance, 1e-3),
                  "coast-down 100 to %.0f km/h, distance", WANTED[i][0]);
  }
  const double rolling = made->vehicle.road_f0 * record.rows[record.n - 1].distance;
  reference_add(list, "KIN-5", "kJ", ORIGIN, simulated(324.892, rolling * 1e-3, 1e-3),
                "that coast-down, work of rolling");
  reference_add(list, "KIN-5", "kJ", ORIGIN,
                simulated(253.812, (record.road_work - rolling) * 1e-3, 1e-3),
                "that coast-down, work of the air");
  free_record(&record);
  made->vehicle.road_f1 = 3.0;
  record_run(made, &TEST_FRICTION, NULL, &record);
  double time = 0.0;
  double distance = 0.0;
  record_slowed(&record, 0.0, &time, &distance);
  reference_add(list, "KIN-6", "s", ORIGIN, simulated(170.2699, time, 1e-4),
                "coast-down with 3 N s/m, time");
  reference_add(list, "KIN-6", "m", ORIGIN, simulated(1871.7003, distance, 1e-4),
                "coast-down with 3 N s/m, distance");
  free_record(&record);
  free_case(made);
}

/* D = 4AC - B^2 below zero: the logarithmic branch of the same integral; and air alone */
static void coast_other_branches(struct reference_list *list) {
  struct bw_case *made = make_case();
  made->vehicle.road_f1 = 30.0;
  make_stop(made, 100.0 * KMH, 0.0, 400.0);
  struct test_record record = {0};
  record_run(made, &TEST_FRICTION, NULL, &record);
  double time = 0.0;
  double distance = 0.0;
  record_slowed(&record, 0.0, &time, &distance);
  const double a = made->vehicle.road_f0;
  const double c = made->vehicle.road_f2;
  const double v0 = 100.0 * KMH;
  const double root = sqrt(30.0 * 30.0 - 4.0 * a * c);
  const double top = (2.0 * c * v0 + 30.0 - root) / (2.0 * c * v0 + 30.0 + root);
  const double form = 1500.0 / root * log(top * (30.0 + root) / (30.0 - root));
  reference_add(list, "KIN-7", "s", FORM, simulated(form, time, 0.0),
                "coast-down with 30 N s/m (4AC < B2), time");
  free_record(&record);
  made->vehicle.road_f0 = made->vehicle.road_f1 = 0.0;
  record_run(made, &TEST_FRICTION, NULL, &record);
  record_slowed(&record, 60.0 * KMH, &time, &distance);
  reference_add(list, "KIN-10", "m", FORM, simulated(1500.0 / c * log(100.0 / 60.0), distance, 0.0),
                "slowing by the air alone, 100 to 60 km/h, distance");
  reference_add(list, "KIN-10", "s", FORM,
                simulated(1500.0 / (c * v0) * (100.0 / 60.0 - 1.0), time, 0.0),
                "slowing by the air alone, 100 to 60 km/h, time");
  free_record(&record);
  free_case(made);
}

/* RV-1 without road load, braked by one machine */
static void machine_stop(double force, double power, double speed_kmh, double end_kmh, double *time,
                         double *distance, struct test_record *record) {
  struct bw_case *made = make_case();
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  make_machine(made, BW_FRONT, force * made->vehicle.tyre_radius, power);
  make_stop(made, speed_kmh * KMH, 50.0, 60.0);
  record_run(made, &TEST_MACHINE, NULL, record);
  record_slowed(record, end_kmh * KMH, time, distance);
  free_case(made);
}

static void machine_stops(struct reference_list *list) {
  double time = 0.0;
  double distance = 0.0;
  struct test_record record = {0};
  machine_stop(1e6, 30e3, 100.0, 20.0, &time, &distance, &record);
  reference_add(list, "KIN-8", "s", FORM, simulated(18.5185, time, 1e-4),
                "30 kW from 100 to 20 km/h, time");
  reference_add(list, "KIN-8", "m", FORM, simulated(354.3667, distance, 1e-4),
                "30 kW from 100 to 20 km/h, distance");
  reference_add(
      list, "KIN-8", "kJ", FORM,
      simulated(555.556, 1e-3 * (record.kinetic_first - 750.0 * pow(20.0 * KMH, 2.0)), 1e-3),
      "30 kW from 100 to 20 km/h, energy");
  free_record(&record);
  machine_stop(4500.0, 100e3, 120.0, 0.0, &time, &distance, &record);
  reference_add(list, "KIN-9", "s", FORM, simulated(12.0370, time, 1e-4),
                "100 kW, at most 4500 N, 120 km/h to rest, time");
  reference_add(list, "KIN-9", "m", FORM, simulated(212.620, distance, 1e-3),
                "100 kW, at most 4500 N, 120 km/h to rest, distance");
  free_record(&record);
}

/* figures that books round; the exact ones beside them */
static void rounded_figures(struct reference_list *list) {
  static const struct reference_origin ROAD = {
      "Transport technology from the ground up, road book, C.0816", MARK_READ};
  static const struct reference_origin EXPLAINER = {
      "a public engineering explainer on regenerative braking", MARK_READ};
  static const char *const ROUND = "the source rounds";
  struct bw_case *made = make_case();
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  make_stop(made, 120.0 * KMH, 0.5 * BW_GRAVITY, 20.0);
  struct test_record record = {0};
  record_run(made, &TEST_FRICTION, NULL, &record);
  double time = 0.0;
  double distance = 0.0;
  record_slowed(&record, 0.0, &time, &distance);
  const double energy = record.friction_work * 1e-3;
  reference_add(list, "KIN-2", "kJ", ROAD, (struct reference_pair){800.0, energy, 40.0},
                "1500 kg from 120 km/h: 'a little over'");
  reference_explain(list, ROUND);
  reference_add(list, "KIN-2", "s", ROAD, (struct reference_pair){7.0, time, 0.25},
                "that stop at 0.5 g: 'just under'");
  reference_explain(list, ROUND);
  reference_add(list, "KIN-2", "kW", ROAD, (struct reference_pair){120.0, energy / time, 5.0},
                "its mean heat: 'about'");
  reference_explain(list, ROUND);
  reference_add(list, "KIN-2", "kJ", FORM, simulated(833.333, energy, 1e-3),
                "the same, exact: energy");
  reference_add(list, "KIN-2", "s", FORM, simulated(6.796, time, 1e-3), "the same, exact: time");
  free_record(&record);
  made->vehicle.load[BW_LOAD_UNLADEN].mass = 2000.0;
  make_stop(made, 100.0 * KMH, 5.0, 20.0);
  record_run(made, &TEST_FRICTION, NULL, &record);
  reference_add(list, "KIN-3", "kJ", EXPLAINER,
                (struct reference_pair){770.0, record.friction_work * 1e-3, 5.0},
                "2000 kg from 100 km/h: 'about'");
  reference_explain(list, ROUND);
  reference_add(list, "KIN-3", "kJ", FORM, simulated(771.6, record.friction_work * 1e-3, 0.1),
                "the same, exact");
  free_record(&record);
  free_case(made);
}

static void cycle_identity(struct reference_list *list) {
  struct bw_case *made = make_cycle_case(CYCLE_UDDS);
  struct test_record record = {0};
  record_run(made, &TEST_FILL, NULL, &record);
  const double residual = record.drive_work - record.road_work - record.machine_work -
                          record.friction_work - record.tyre_work;
  reference_add(list, "KIN-12", "1", (struct reference_origin){"energy is conserved", MARK_DERIVED},
                (struct reference_pair){0.0, residual / record.drive_work, 1e-12},
                "UDDS: traction less drag less braking, over traction");
  free_record(&record);
  free_case(made);
}

void reference_kinematics(struct reference_list *list) {
  rounded_figures(list);
  coast(list);
  coast_other_branches(list);
  machine_stops(list);
  cycle_identity(list);
}
