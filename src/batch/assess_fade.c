/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/assess_fade.h"

#include "assess/pad_heat.h"
#include "batch/assess_stops.h"
#include "batch/watch_run.h"

#include <math.h>
#include <stdio.h>

static const double ZERO_CELSIUS = 273.15;
static const double SNUB_DECELERATION = 3.0; /* m/s2 of the first snub */
static const double CYCLE = 45.0;            /* s */
static const double STEADY = 10.0;           /* s at v1 within a cycle */
static const double FASTEST_SNUB = 120.0 / 3.6;
static const double SNUB_TIME = 120.0; /* s; 120 to 60 km/h at 0.14 m/s2 */
static const double SNUB_BUILD = 0.5;  /* s; an ordinary application */
static const double COOL_STEP = 1.0;   /* s */
static const double SPEED_STEP = 0.1;  /* m/s, of the drive up */

#define HEATING "71/320/EEC", "Annex II 1.3.1", BW_CERTAINTY_READ

static const struct bw_requirement HEAT[] = {
    {"heat_snubs", BW_FIGURE_COUNT, (double)NAN, HEATING},
    {"heat_first_mean", BW_FIGURE_DECELERATION, (double)NAN, HEATING},
    {"heat_last_mean", BW_FIGURE_DECELERATION, (double)NAN, HEATING},
    {"heat_friction", BW_FIGURE_ENERGY, (double)NAN, HEATING},
    {"heat_rotor_front", BW_FIGURE_TEMPERATURE, (double)NAN, HEATING},
    {"heat_rotor_rear", BW_FIGURE_TEMPERATURE, (double)NAN, HEATING},
    {"heat_pad_front", BW_FIGURE_TEMPERATURE, (double)NAN, HEATING},
    {"heat_pad_rear", BW_FIGURE_TEMPERATURE, (double)NAN, HEATING}};
enum { HEATS = sizeof HEAT / sizeof *HEAT };

/* a snub as it is watched */
struct snub {
  double until; /* m/s */
  bool has_ended;
  double time;
  double distance;
  double speed; /* m/s at its end */
  double friction[2];
  struct bw_pad_heat pads;
  double rotor_peak[2];
  struct bw_warmth end;
};

struct bw_warmth bw_warmth_start(const struct bw_case *loaded) {
  struct bw_warmth warmth = {{0.0, 0.0}, {0.0, 0.0}, {0.0, 0.0}};
  for (int i = 0; i < 2; i++) {
    warmth.rotor[i] = warmth.pad[i] = loaded->brakes.axle[i].start_temperature;
    warmth.machine[i] = loaded->machine[i].start_temperature;
  }
  return warmth;
}

void bw_warmth_give(const struct bw_warmth *warmth, struct bw_case *copy) {
  for (int i = 0; i < 2; i++) {
    copy->brakes.axle[i].start_temperature = warmth->rotor[i];
    copy->machine[i].start_temperature = warmth->machine[i];
  }
}

void bw_warmth_cool(const struct bw_case *loaded, double from, double to, double duration,
                    struct bw_warmth *warmth) {
  const double ambient = loaded->ambient_temperature;
  const size_t steps = (size_t)ceil(fmax(duration, 0.0) / COOL_STEP);
  const double step = steps > 0 ? duration / (double)steps : 0.0;
  for (size_t k = 0; k < steps; k++) {
    const double speed = from + (to - from) * ((double)k + 0.5) / (double)steps;
    for (int i = 0; i < 2; i++) {
      const struct bw_friction *friction = &loaded->brakes.axle[i];
      warmth->rotor[i] = bw_friction_heat(friction, warmth->rotor[i], 0.0, speed, ambient, step);
      warmth->pad[i] =
          bw_pad_heat_step(friction, warmth->pad[i], warmth->rotor[i], 0.0, ambient, step);
    }
  }
}

double bw_assess_drive_time(const struct bw_case *loaded, double from, double to) {
  const double mass = bw_case_effective_mass(loaded);
  const size_t steps = (size_t)ceil(fmax(to - from, 0.0) / SPEED_STEP);
  double time = 0.0;
  for (size_t k = 0; k < steps; k++) {
    const double step = (to - from) / (double)steps;
    const double speed = from + ((double)k + 0.5) * step;
    double force = -bw_vehicle_road_load(&loaded->vehicle, speed);
    for (int i = 0; i < 2; i++) {
      const struct bw_machine *machine = &loaded->machine[i];
      const struct bw_machine_condition now = {.speed = speed,
                                               .omega = speed / loaded->vehicle.tyre_radius *
                                                        machine->ratio,
                                               .temperature = machine->start_temperature,
                                               .state_of_charge = loaded->battery.start_charge};
      force += bw_machine_drive_limit(machine, &now) * machine->ratio * machine->efficiency /
               loaded->vehicle.tyre_radius;
    }
    if (!(force > 0.0)) {
      return (double)INFINITY;
    }
    time += mass * step / force;
  }
  return time;
}

static bool look(const struct bw_case *loaded, void *state, const struct bw_sample *sample) {
  struct snub *snub = state;
  bw_pad_heat_watch(loaded, sample, &snub->pads);
  snub->time = sample->time + sample->duration;
  snub->distance = sample->distance_start + sample->distance;
  snub->speed = sample->speed_end;
  for (int i = 0; i < 2; i++) {
    const struct bw_sample_axle *axle = &sample->axle[i];
    snub->friction[i] += axle->friction_work;
    snub->rotor_peak[i] = fmax(snub->rotor_peak[i], axle->rotor_temperature);
    snub->end.rotor[i] = axle->rotor_temperature;
    snub->end.pad[i] = snub->pads.temperature[i];
    snub->end.machine[i] = axle->machine_temperature;
  }
  snub->has_ended = sample->speed_end <= snub->until;
  return !snub->has_ended;
}

/* m/s2 that the road load takes, mean over the way of a constant deceleration from v to v/2, along
 * which v^2 falls evenly */
static double road_deceleration(const struct bw_case *copy, double speed) {
  enum { PARTS = 64 };
  double sum = 0.0;
  for (int i = 0; i < PARTS; i++) {
    const double share = 0.25 + 0.75 * ((double)i + 0.5) / (double)PARTS;
    sum += bw_vehicle_road_load(&copy->vehicle, speed * sqrt(share));
  }
  return sum / (double)PARTS / bw_case_effective_mass(copy);
}

static enum bw_status drive_snub(const struct bw_assess_job *job, struct bw_case *copy,
                                 const struct bw_warmth *warmth, struct snub *snub,
                                 struct bw_diag *diag) {
  bw_warmth_give(warmth, copy);
  *snub = (struct snub){.until = snub->until, .pads = bw_pad_heat_start(copy)};
  for (int i = 0; i < 2; i++) {
    snub->pads.temperature[i] = snub->pads.peak[i] = warmth->pad[i];
  }
  const struct bw_watch watch = {snub, sizeof *snub, copy, look};
  return bw_watch_run(job, &watch, diag);
}

static double mean_of(const struct snub *snub, double speed) {
  return (speed * speed - snub->speed * snub->speed) / (2.0 * snub->distance);
}

/* the pedal with which the first snub has 3 m/s2 over its way; what cold pads and the rise of
 * pressure take is put on top, a few times over */
static enum bw_status set_pedal(const struct bw_assess_job *job, struct bw_case *copy, double speed,
                                struct snub *snub, struct bw_diag *diag) {
  enum { TIMES = 4 };
  const struct bw_warmth cold = bw_warmth_start(copy);
  double demand = fmax(0.0, SNUB_DECELERATION - road_deceleration(copy, speed));
  BW_TRY(bw_assess_case_stop(copy, speed, demand, SNUB_BUILD, SNUB_TIME, diag));
  for (int i = 0; i < TIMES; i++) {
    BW_TRY(drive_snub(job, copy, &cold, snub, diag));
    if (!snub->has_ended) {
      return BW_OK;
    }
    demand = fmax(0.0, demand + SNUB_DECELERATION - mean_of(snub, speed));
    BW_TRY(bw_assess_case_stop(copy, speed, demand, SNUB_BUILD, SNUB_TIME, diag));
  }
  return BW_OK;
}

static void take(const struct snub *snub, double speed, struct bw_fade_found *found) {
  const double mean = mean_of(snub, speed);
  found->first = found->snubs == 0 ? mean : found->first;
  found->last = mean;
  found->end = snub->end;
  for (int i = 0; i < 2; i++) {
    found->friction[i] += snub->friction[i];
    found->rotor_peak[i] = fmax(found->rotor_peak[i], snub->rotor_peak[i]);
    found->pad_peak[i] = fmax(found->pad_peak[i], snub->pads.peak[i]);
  }
}

enum bw_status bw_assess_heat(const struct bw_assess_job *job, struct bw_case *copy,
                              struct bw_fade_found *found, struct bw_diag *diag) {
  const double speed = fmin(0.8 * bw_assess_top_speed(copy), FASTEST_SNUB);
  const double drive = bw_assess_drive_time(copy, 0.5 * speed, speed);
  struct bw_warmth warmth = bw_warmth_start(copy);
  struct snub snub = {.until = 0.5 * speed};
  *found = (struct bw_fade_found){.speed = speed, .end = warmth};
  if (!(speed > 0.0) || !isfinite(drive)) {
    return BW_OK;
  }
  BW_TRY(set_pedal(job, copy, speed, &snub, diag));
  for (int i = 0; i < BW_FADE_SNUBS; i++) {
    BW_TRY(drive_snub(job, copy, &warmth, &snub, diag));
    if (!snub.has_ended) {
      return BW_OK;
    }
    take(&snub, speed, found);
    found->snubs++;
    warmth = snub.end;
    found->cycle = fmax(CYCLE, snub.time + drive + STEADY);
    bw_warmth_cool(copy, snub.speed, speed, drive, &warmth);
    bw_warmth_cool(copy, speed, speed, found->cycle - snub.time - drive, &warmth);
  }
  return BW_OK;
}

static enum bw_status add_heat(const struct bw_assess_row *common,
                               const struct bw_fade_found *found, struct bw_assessment *out,
                               struct bw_diag *diag) {
  const double result[HEATS] = {(double)found->snubs,
                                found->first,
                                found->last,
                                (found->friction[0] + found->friction[1]) * 1e-3,
                                found->rotor_peak[0] - ZERO_CELSIUS,
                                found->rotor_peak[1] - ZERO_CELSIUS,
                                found->pad_peak[0] - ZERO_CELSIUS,
                                found->pad_peak[1] - ZERO_CELSIUS};
  for (size_t i = 0; i < HEATS; i++) {
    struct bw_assess_row row = *common;
    row.requirement = &HEAT[i];
    row.is_information = true;
    row.limit = (double)NAN;
    row.result = found->snubs > 0 ? result[i] : (double)NAN;
    BW_TRY(bw_assessment_add(out, &row, diag));
  }
  return BW_OK;
}

static enum bw_status assess(const struct bw_assess_job *job, struct bw_case *copy,
                             struct bw_assess_row *row, struct bw_assessment *out,
                             struct bw_diag *diag) {
  struct bw_diag own = {0};
  struct bw_fade_found found;
  const enum bw_status status = bw_assess_heat(job, copy, &found, &own);
  if (bw_assess_is_fatal(status)) {
    return bw_fail(diag, status, "assessment of fade stopped: %.300s", bw_diag_text(&own, status));
  }
  row->speed = found.speed;
  if (status != BW_OK) {
    bw_assess_note(row, status, &own);
  } else if (!(found.speed > 0.0) || !(found.cycle > 0.0 || found.snubs > 0)) {
    (void)snprintf(row->note, sizeof row->note,
                   found.speed > 0.0 ? "no snub reached half of its speed, or the machines cannot "
                                       "regain it"
                                     : "the top speed is not known: no machine");
  } else if (found.snubs < BW_FADE_SNUBS) {
    (void)snprintf(row->note, sizeof row->note, "only %zu of %d snubs reached half of their speed",
                   found.snubs, (int)BW_FADE_SNUBS);
  } else if (found.cycle > CYCLE) {
    (void)snprintf(row->note, sizeof row->note,
                   "a snub every %.1f s: the car needs it to regain "
                   "its speed",
                   found.cycle);
  }
  BW_TRY(add_heat(row, &found, out, diag));
  if (found.snubs == BW_FADE_SNUBS && status == BW_OK) {
    const double drive = bw_assess_drive_time(copy, 0.5 * found.speed, BW_REQUIREMENT_SPEED);
    row->note[0] = '\0';
    if (isfinite(drive)) {
      bw_warmth_cool(copy, 0.5 * found.speed, BW_REQUIREMENT_SPEED, drive, &found.end);
    } else {
      (void)snprintf(row->note, sizeof row->note, "the machines do not reach 100 km/h");
    }
  }
  BW_TRY(bw_assess_hot_stop(job, row, &found.end, out, diag));
  return bw_assess_recovery(job, row, &found.end, out, diag);
}

static enum bw_status run(const struct bw_assess_job *job, struct bw_assessment *out,
                          struct bw_diag *diag) {
  for (int i = BW_STOP_CHARGE_FULL; i <= BW_STOP_CHARGE_OWN; i++) {
    struct bw_assess_row row = {.strategy = job->strategy,
                                .load = BW_LOAD_LADEN,
                                .charge = (enum bw_stop_charge)i,
                                .is_connected = true,
                                .demand = (double)NAN};
    struct bw_case *copy = bw_assess_case(job->loaded, row.load, row.charge);
    if (copy == NULL) {
      return bw_fail(diag, BW_E_MEMORY, "out of memory for the assessment of fade");
    }
    (void)snprintf(row.condition, sizeof row.condition, "15 snubs, %s",
                   i == BW_STOP_CHARGE_FULL ? "battery full" : "own charge");
    const enum bw_status status = assess(job, copy, &row, out, diag);
    bw_assess_case_free(copy);
    BW_TRY(status);
  }
  return BW_OK;
}

const struct bw_assess_family BW_ASSESS_FADE = {
    .title = "Fade",
    .is_per_strategy = true,
    .run = run,
    .notes =
        "Fade: laden; the pedal is constant, so a strategy that changes its mix with speed or "
        "charge changes the heat. Charge starts anew at each snub (driving takes out what braking "
        "put in); machines keep their temperature between snubs. The hot stop has the pedal of "
        "the cold stop in the same state. Recovery: four stops from 50 km/h at 3 m/s2, 1.5 km "
        "apart, "
        "follow it, then that pedal again, the same state too. Rotor and pads are one node each "
        "per axle: faces are "
        "hotter. Whether all grip would be used is told in a note.",
};
