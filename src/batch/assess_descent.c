/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/assess_descent.h"

#include "alloc.h"
#include "assess/pad_heat.h"
#include "batch/watch_run.h"
#include "input/descent_read.h"

#include <math.h>
#include <stdio.h>

static const double ZERO_CELSIUS = 273.15;
static const double LEAST_POWER = 1.0; /* W; a stretch with less has no braking */

/* figures of a descent; there is no limit for cars */
enum { REGENERATION_END, FRICTION_ENERGY, ROTOR_FRONT, ROTOR_REAR, PAD_FRONT, PAD_REAR, FIGURES };
#define ROWS_OF(SOURCE, PARAGRAPH, CERTAINTY)                                                      \
  {                                                                                                \
    {"descent_regen_end", BW_FIGURE_LENGTH, (double)NAN, SOURCE, PARAGRAPH, CERTAINTY},            \
        {"descent_friction", BW_FIGURE_ENERGY, (double)NAN, SOURCE, PARAGRAPH, CERTAINTY},         \
        {"descent_rotor_front", BW_FIGURE_TEMPERATURE, (double)NAN, SOURCE, PARAGRAPH, CERTAINTY}, \
        {"descent_rotor_rear", BW_FIGURE_TEMPERATURE, (double)NAN, SOURCE, PARAGRAPH, CERTAINTY},  \
        {"descent_pad_front", BW_FIGURE_TEMPERATURE, (double)NAN, SOURCE, PARAGRAPH, CERTAINTY},   \
        {"descent_pad_rear", BW_FIGURE_TEMPERATURE, (double)NAN, SOURCE, PARAGRAPH, CERTAINTY},    \
  }

static const struct bw_requirement SIX[FIGURES] =
    ROWS_OF("UN R13", "Type-II, 6 % over 6 km", BW_CERTAINTY_MEMORY);
static const struct bw_requirement SEVEN[FIGURES] =
    ROWS_OF("UN R13", "Type-IIA, 7 % over 6 km", BW_CERTAINTY_MEMORY);
static const struct bw_requirement OWN[FIGURES] =
    ROWS_OF("none", "descent.profile", BW_CERTAINTY_NONE);

/* a descent of constant slope and speed; 0 m: the user's own */
struct shape {
  const char *name;
  double length;
  double grade;
  double speed;
  const struct bw_requirement *figure;
};
static const struct shape SHAPES[] = {{"6 %, 6 km", 6000.0, -0.06, 30.0 / 3.6, SIX},
                                      {"7 %, 6 km", 6000.0, -0.07, 30.0 / 3.6, SEVEN},
                                      {"own descent", 0.0, 0.0, 0.0, OWN}};
enum { SHAPE_COUNT = sizeof SHAPES / sizeof *SHAPES };

/* what is gathered on the way; travels between processes as it is */
struct way {
  double length;
  double stretch_start; /* s */
  double battery;       /* J of this stretch */
  double machine;
  double friction;
  double friction_all[2];
  struct bw_pad_heat pads;
  double rotor_peak[2];
  struct bw_warmth end;
  bool has_arrived;
  size_t count;
  struct bw_descent_point point[BW_DESCENT_STRETCHES];
};

static void close_stretch(struct way *way, const struct bw_sample *sample) {
  const double time = sample->time + sample->duration;
  const double per_time = 1.0 / (time - way->stretch_start);
  struct bw_descent_point *point = &way->point[way->count++];
  *point = (struct bw_descent_point){.distance = sample->distance_start + sample->distance,
                                     .time = time,
                                     .speed = sample->speed_end,
                                     .sine = sample->sin_slope,
                                     .charge = sample->charge,
                                     .charge_power = sample->charge_power,
                                     .battery_power = way->battery * per_time,
                                     .machine_power = way->machine * per_time,
                                     .friction_power = way->friction * per_time};
  for (int i = 0; i < 2; i++) {
    point->rotor[i] = sample->axle[i].rotor_temperature;
    point->pad[i] = way->pads.temperature[i];
  }
  way->stretch_start = time;
  way->battery = way->machine = way->friction = 0.0;
}

static bool look(const struct bw_case *loaded, void *state, const struct bw_sample *sample) {
  struct way *way = state;
  bw_pad_heat_watch(loaded, sample, &way->pads);
  for (int i = 0; i < 2; i++) {
    const struct bw_sample_axle *axle = &sample->axle[i];
    way->machine += axle->machine_work;
    way->friction += axle->friction_work;
    way->friction_all[i] += axle->friction_work;
    way->rotor_peak[i] = fmax(way->rotor_peak[i], axle->rotor_temperature);
    way->end.rotor[i] = axle->rotor_temperature;
    way->end.pad[i] = way->pads.temperature[i];
    way->end.machine[i] = axle->machine_temperature;
  }
  way->battery += sample->battery_work;
  const double distance = sample->distance_start + sample->distance;
  const double stretch = way->length / (double)BW_DESCENT_STRETCHES;
  /* a period that ends on a boundary to rounding has reached it */
  if (way->count < BW_DESCENT_STRETCHES &&
      distance * (1.0 + 1e-9) >= stretch * (double)(way->count + 1)) {
    close_stretch(way, sample);
  }
  way->has_arrived = way->count == BW_DESCENT_STRETCHES;
  return !way->has_arrived;
}

double bw_descent_regeneration_end(const struct bw_descent *descent) {
  for (size_t k = descent->count; k > 0; k--) {
    const struct bw_descent_point *point = &descent->point[k - 1];
    const double total = point->machine_power + point->friction_power;
    if (total > LEAST_POWER && point->battery_power >= BW_DESCENT_SHARE * total) {
      return point->distance;
    }
  }
  return 0.0;
}

/* the descent goes on level behind its end, so that the last stretch is closed by a car that lags
 */
static enum bw_status give_shape(const struct shape *shape, const struct bw_trace *own,
                                 struct bw_case *copy, double *length, struct bw_diag *diag) {
  enum { MARGIN = 2 };
  static const double lag = 50.0; /* m */
  const size_t n = shape->length > 0.0 ? MARGIN : own->grade_n;
  double *cell = bw_alloc(n + 1, 3 * sizeof *cell);
  if (cell == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for a descent");
  }
  double *const speed = cell + n + 1;
  double *const sine = speed + n + 1;
  for (size_t i = 0; i < n; i++) {
    const bool is_own = !(shape->length > 0.0);
    cell[i] = is_own ? own->grade_distance[i] : (double)i * shape->length;
    speed[i] = is_own ? own->value[i] : shape->speed;
    sine[i] = is_own ? own->grade_sin[i] : shape->grade / sqrt(1.0 + shape->grade * shape->grade);
  }
  *length = cell[n - 1];
  cell[n] = cell[n - 1] + lag;
  speed[n] = speed[n - 1];
  sine[n] = sine[n - 1];
  const struct bw_descent_points points = {n + 1, cell, speed, sine};
  const enum bw_status status = bw_descent_make(&points, &copy->trace, diag);
  bw_free(cell);
  return status;
}

static enum bw_status drive(const struct bw_assess_job *job, const struct shape *shape,
                            struct bw_assess_row *row, struct way *way, struct bw_diag *diag) {
  struct bw_case *copy = bw_assess_case(job->loaded, row->load, row->charge);
  if (copy == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for a descent");
  }
  enum bw_status status =
      give_shape(shape, &job->loaded->assess_data.descent, copy, &way->length, diag);
  if (status == BW_OK) {
    row->speed = copy->trace.value[0];
    way->pads = bw_pad_heat_start(copy);
    const struct bw_watch watch = {way, sizeof *way, copy, look};
    status = bw_watch_run(job, &watch, diag);
  }
  bw_assess_case_free(copy);
  return status;
}

/* keep it for descent.csv */
static enum bw_status keep(const struct bw_assess_row *row, const struct shape *shape,
                           const struct bw_case *loaded, const struct way *way,
                           struct bw_assessment *out, struct bw_diag *diag) {
  struct bw_descent *grown = bw_realloc(out->descents, out->descent_count + 1, sizeof *grown);
  if (grown == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for a descent");
  }
  out->descents = grown;
  struct bw_descent *added = &grown[out->descent_count++];
  *added = (struct bw_descent){
      .strategy = row->strategy, .charge = row->charge, .load = row->load, .count = way->count};
  (void)snprintf(added->profile, sizeof added->profile, "%s",
                 shape->length > 0.0 ? shape->name : loaded->assess_data.descent.name);
  for (size_t k = 0; k < way->count; k++) {
    added->point[k] = way->point[k];
  }
  return BW_OK;
}

static enum bw_status add_figures(const struct bw_assess_row *common, const struct shape *shape,
                                  const struct way *way, struct bw_assessment *out,
                                  struct bw_diag *diag) {
  double result[FIGURES];
  for (int i = 0; i < FIGURES; i++) {
    result[i] = (double)NAN;
  }
  if (way->has_arrived) {
    result[REGENERATION_END] = bw_descent_regeneration_end(&out->descents[out->descent_count - 1]);
    result[FRICTION_ENERGY] = (way->friction_all[0] + way->friction_all[1]) * 1e-3;
    for (int i = 0; i < 2; i++) {
      result[ROTOR_FRONT + i] = way->rotor_peak[i] - ZERO_CELSIUS;
      result[PAD_FRONT + i] = way->pads.peak[i] - ZERO_CELSIUS;
    }
  }
  for (int i = 0; i < FIGURES; i++) {
    struct bw_assess_row row = *common;
    row.requirement = &shape->figure[i];
    row.is_information = true;
    row.limit = (double)NAN;
    row.result = result[i];
    BW_TRY(bw_assessment_add(out, &row, diag));
  }
  return BW_OK;
}

static enum bw_status assess(const struct bw_assess_job *job, const struct shape *shape,
                             struct bw_assess_row *row, struct way *way, struct bw_assessment *out,
                             struct bw_diag *diag) {
  struct bw_diag own = {0};
  const enum bw_status status = drive(job, shape, row, way, &own);
  if (bw_assess_is_fatal(status)) {
    return bw_fail(diag, status, "assessment of a descent stopped: %.300s",
                   bw_diag_text(&own, status));
  }
  if (status != BW_OK) {
    way->has_arrived = false;
    bw_assess_note(row, status, &own);
  } else if (!way->has_arrived) {
    (void)snprintf(row->note, sizeof row->note, "the car does not arrive: %.0f of %.0f m",
                   way->count > 0 ? way->point[way->count - 1].distance : 0.0, way->length);
  } else {
    BW_TRY(keep(row, shape, job->loaded, way, out, diag));
  }
  BW_TRY(add_figures(row, shape, way, out, diag));
  /* no descent is asked of cars, so what is left is told and not judged */
  row->is_information = true;
  return bw_assess_hot_stop(job, row, &way->end, out, diag);
}

static enum bw_status run(const struct bw_assess_job *job, struct bw_assessment *out,
                          struct bw_diag *diag) {
  struct way *way = bw_alloc(1, sizeof *way);
  if (way == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for a descent");
  }
  enum bw_status status = BW_OK;
  for (size_t i = 0; i < SHAPE_COUNT && status == BW_OK; i++) {
    if (!(SHAPES[i].length > 0.0) && job->loaded->assess_data.descent.n == 0) {
      continue;
    }
    for (int j = BW_STOP_CHARGE_FULL; j <= BW_STOP_CHARGE_OWN && status == BW_OK; j++) {
      struct bw_assess_row row = {.strategy = job->strategy,
                                  .load = BW_LOAD_LADEN,
                                  .charge = (enum bw_stop_charge)j,
                                  .is_connected = true,
                                  .demand = (double)NAN};
      (void)snprintf(row.condition, sizeof row.condition, "%s, %s", SHAPES[i].name,
                     j == BW_STOP_CHARGE_FULL ? "battery full" : "own charge");
      *way = (struct way){0};
      status = assess(job, &SHAPES[i], &row, way, out, diag);
    }
  }
  bw_free(way);
  return status;
}

const struct bw_assess_family BW_ASSESS_DESCENT = {
    .title = "Long descents",
    .is_per_strategy = true,
    .run = run,
    .notes =
        "Descents: laden, driven by speed; regeneration ends where less than a tenth of the "
        "braking work arrives at the battery for good (0 m: from the start; the whole length: it "
        "lasts). The stop behind it follows at once, from 100 km/h with the pedal of the cold "
        "stop, nothing cooled. --out writes each descent into descent.csv.",
};
