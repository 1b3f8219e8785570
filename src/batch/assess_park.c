/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/assess_park.h"

#include <math.h>
#include <stdio.h>

static const double KILO = 1e3;

/* 20 % from the rule; 30 % is what the trade asks for */
static const struct bw_requirement HOLD[2] = {{"park_hold_20", BW_FIGURE_FORCE, (double)NAN,
                                               "UN R13-H", "Annex 3 2.3.1", BW_CERTAINTY_MEMORY},
                                              {"park_hold_30", BW_FIGURE_FORCE, (double)NAN,
                                               "common practice", "30 % grade",
                                               BW_CERTAINTY_PRACTICE}};
static const struct bw_requirement CLAMP[2] = {{"park_clamp_20", BW_FIGURE_CLAMP, (double)NAN,
                                                "UN R13-H", "Annex 3 2.3.1", BW_CERTAINTY_MEMORY},
                                               {"park_clamp_30", BW_FIGURE_CLAMP, (double)NAN,
                                                "common practice", "30 % grade",
                                                BW_CERTAINTY_PRACTICE}};
static const struct bw_requirement SENSOR = {
    "park_clamp_sensor",         BW_FIGURE_CLAMP,      (double)NAN, "common practice",
    "range of the force sensor", BW_CERTAINTY_PRACTICE};
static const struct bw_requirement DYNAMIC = {
    "park_deceleration", BW_FIGURE_DECELERATION, 1.5,
    "UN R13-H",          "Annex 3 2.3.6",        BW_CERTAINTY_MEMORY};
static const double GRADE[2] = {0.20, 0.30};

/* grip: the case's road; snow and ice are measured means of braking (Nicolletti, Navin and Macnabb,
 * SAE 1996, abstract read); wet chosen here */
struct ground {
  const char *name;
  double adhesion; /* 0: that of the case */
};
static const struct ground GROUND[] = {{"road", 0.0}, {"wet", 0.5}, {"snow", 0.35}, {"ice", 0.09}};
enum { GROUNDS = sizeof GROUND / sizeof *GROUND };

static const char *const AXLE_TEXT[] = {"none", "front", "rear", "both"};

/* the car of the case, laden, with the brake at `axle` */
struct parked {
  struct bw_vehicle vehicle;
  struct bw_park_brake brake;
  bool is_own; /* the axle is the one of the case */
};

static struct parked park(const struct bw_case *loaded, enum bw_park_axle axle) {
  struct parked car = {.vehicle = loaded->vehicle, .brake = loaded->assess_data.park};
  car.vehicle.load_state = BW_LOAD_LADEN;
  car.is_own = car.brake.axle == axle;
  car.brake.axle = axle;
  return car;
}

static struct bw_assess_row row_of(const struct bw_requirement *requirement) {
  return (struct bw_assess_row){.requirement = requirement,
                                .load = BW_LOAD_LADEN,
                                .charge = BW_STOP_CHARGE_OWN,
                                .is_connected = true,
                                .limit = (double)NAN,
                                .result = (double)NAN,
                                .demand = (double)NAN};
}

static double sine_of(double grade) {
  return grade / sqrt(1.0 + grade * grade);
}

static enum bw_status add_hold(const struct parked *car, int grade, bool faces_up,
                               const struct ground *ground, struct bw_assessment *out,
                               struct bw_diag *diag) {
  const double sine = sine_of(GRADE[grade]);
  const double adhesion = ground->adhesion > 0.0 ? ground->adhesion : car->vehicle.adhesion;
  /* what is left of the clamp force when discs that were hot have cooled */
  const double clamp = car->brake.clamp_force * (1.0 - car->brake.clamp_loss);
  struct bw_assess_row row = row_of(&HOLD[grade]);
  row.limit = bw_park_needed(&car->vehicle, sine);
  row.result = bw_park_holds(&car->brake, &car->vehicle, clamp, faces_up ? sine : -sine, adhesion);
  row.is_information = !car->is_own || ground->adhesion > 0.0;
  (void)snprintf(row.condition, sizeof row.condition, "%s, %s, %s %.2f", AXLE_TEXT[car->brake.axle],
                 faces_up ? "up" : "down", ground->name, adhesion);
  const double steepest = bw_park_grip_grade(&car->vehicle, car->brake.axle, faces_up, adhesion);
  if (row.result < row.limit) {
    (void)snprintf(row.note, sizeof row.note, "grip alone would hold %.1f %% at most",
                   100.0 * steepest);
  }
  return bw_assessment_add(out, &row, diag);
}

static enum bw_status add_clamp(const struct parked *car, int grade, struct bw_assessment *out,
                                struct bw_diag *diag) {
  const int axles = car->brake.axle == BW_PARK_BOTH ? 2 : 1;
  const double needed = bw_park_clamp(&car->brake, car->vehicle.tyre_radius, axles,
                                      bw_park_needed(&car->vehicle, sine_of(GRADE[grade])));
  struct bw_assess_row row = row_of(&CLAMP[grade]);
  row.limit = car->brake.clamp_force / KILO;
  row.result = needed / KILO;
  row.is_information = !car->is_own;
  (void)snprintf(row.condition, sizeof row.condition, "%s, needed of set",
                 AXLE_TEXT[car->brake.axle]);
  BW_TRY(bw_assessment_add(out, &row, diag));
  if (grade == 0 || !car->is_own) {
    return BW_OK;
  }
  row = row_of(&SENSOR);
  row.limit = car->brake.sensor_range / KILO;
  row.result = fmax(needed, car->brake.clamp_force) / KILO;
  (void)snprintf(row.condition, sizeof row.condition, "%s, set or needed",
                 AXLE_TEXT[car->brake.axle]);
  return bw_assessment_add(out, &row, diag);
}

/* pads that slide, at the friction the controller believes in, as hot as the case starts */
static enum bw_status add_dynamic(const struct parked *car, const struct bw_case *loaded,
                                  enum bw_load_state load, struct bw_assessment *out,
                                  struct bw_diag *diag) {
  struct bw_vehicle vehicle = car->vehicle;
  double torque[2];
  vehicle.load_state = load;
  for (int i = 0; i < 2; i++) {
    const struct bw_friction *friction = &loaded->brakes.axle[i];
    torque[i] = bw_park_torque(&car->brake, car->brake.clamp_force) *
                (friction->pad_nominal * friction->pad_scale / car->brake.friction);
  }
  struct bw_assess_row row = row_of(&DYNAMIC);
  row.load = load;
  row.speed = 30.0 / 3.6;
  row.limit = DYNAMIC.limit;
  row.result = bw_park_deceleration(&vehicle, car->brake.axle, torque, vehicle.adhesion);
  (void)snprintf(row.condition, sizeof row.condition, "%s alone, level road",
                 AXLE_TEXT[car->brake.axle]);
  return bw_assessment_add(out, &row, diag);
}

static enum bw_status add_grade(const struct parked *car, int grade, struct bw_assessment *out,
                                struct bw_diag *diag) {
  for (int i = 0; i < 2; i++) {
    for (size_t j = 0; j < GROUNDS; j++) {
      BW_TRY(add_hold(car, grade, i == 0, &GROUND[j], out, diag));
    }
  }
  return add_clamp(car, grade, out, diag);
}

static enum bw_status add_axle(const struct parked *car, struct bw_assessment *out,
                               struct bw_diag *diag) {
  for (int grade = 0; grade < 2; grade++) {
    BW_TRY(add_grade(car, grade, out, diag));
  }
  return BW_OK;
}

static enum bw_status add_nothing(struct bw_assessment *out, struct bw_diag *diag) {
  const struct bw_requirement *const all[] = {&HOLD[0],  &HOLD[1], &CLAMP[0],
                                              &CLAMP[1], &SENSOR,  &DYNAMIC};
  for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
    struct bw_assess_row row = row_of(all[i]);
    (void)snprintf(row.condition, sizeof row.condition, "parking brake");
    (void)snprintf(row.note, sizeof row.note,
                   "the case has no data of a parking brake; give "
                   "park_brake.axle and what belongs to it");
    BW_TRY(bw_assessment_add(out, &row, diag));
  }
  return BW_OK;
}

static enum bw_status run(const struct bw_assess_job *job, struct bw_assessment *out,
                          struct bw_diag *diag) {
  const enum bw_park_axle own = job->loaded->assess_data.park.axle;
  if (own == BW_PARK_NONE) {
    return add_nothing(out, diag);
  }
  struct parked car = park(job->loaded, own);
  BW_TRY(add_axle(&car, out, diag));
  for (int load = 0; load < BW_LOAD_STATES; load++) {
    BW_TRY(add_dynamic(&car, job->loaded, (enum bw_load_state)load, out, diag));
  }
  for (int i = BW_PARK_FRONT; i <= BW_PARK_BOTH; i++) {
    if (i != (int)own) {
      car = park(job->loaded, (enum bw_park_axle)i);
      BW_TRY(add_axle(&car, out, diag));
    }
  }
  return BW_OK;
}

const struct bw_assess_family BW_ASSESS_PARK = {
    .title = "Parking brake",
    .is_per_strategy = false,
    .run = run,
    .notes =
        "Parking: statics, laden; the force held is the lesser of clamp and grip, axle by axle, "
        "after the clamp loss of cooling discs; rolling resistance is left out, levers and cables "
        "are not modelled. Other axles and slippery surfaces are told, not judged. Snow and ice "
        "grip: measured means (Nicolletti et al., SAE 1996, abstract read); wet: chosen here.",
};
