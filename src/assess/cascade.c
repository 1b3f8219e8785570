/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/cascade.h"

#include <math.h>

static const double AT_LIMIT = 0.99; /* of the torque available */
/* s; where the joined trace bends inside a step, and where its braking begins, the sum is inexact:
 * by 1.1e-5 at most on WLTC, UDDS, US06 and NYCC */
static const double TRACE_STEP = 0.05;
/* of a step, from its middle: the two points that integrate a cubic exactly, as force x speed
 * nearly is between bends; the middle alone made 3e-4 of the work vanish (Gauss-Legendre) */
static const double GAUSS_POINT = 0.28867513459481287;

_Static_assert(BW_SUMMARY_LIMIT_CHARGE_VOLTAGE_TIME - BW_SUMMARY_LIMIT_NONE_TIME ==
                   BW_LIMIT_CHARGE_VOLTAGE,
               "columns and limits have one order");
_Static_assert(BW_SUMMARY_LIMIT_CHARGE_VOLTAGE_ENERGY - BW_SUMMARY_LIMIT_NONE_ENERGY ==
                   BW_LIMIT_CHARGE_VOLTAGE,
               "columns and limits have one order");

struct bw_cascade bw_cascade_start(const struct bw_judge *judge, bool uses_machine) {
  return (struct bw_cascade){.judge = judge, .uses_machine = uses_machine};
}

static enum bw_limit touched_limit(const struct bw_cascade *cascade,
                                   const struct bw_sample *sample) {
  const struct bw_machine *machine = cascade->judge->loaded->machine;
  if (!cascade->uses_machine || !(sample->demand > 0.0)) {
    return BW_LIMIT_NONE;
  }
  const bool is_rear = !machine[BW_FRONT].is_fitted ||
                       (machine[BW_REAR].is_fitted &&
                        sample->axle[BW_REAR].envelope > sample->axle[BW_FRONT].envelope);
  const struct bw_sample_axle *axle = &sample->axle[is_rear ? BW_REAR : BW_FRONT];
  if (!machine[is_rear ? BW_REAR : BW_FRONT].is_fitted ||
      axle->machine_request < AT_LIMIT * axle->available) {
    return BW_LIMIT_NONE;
  }
  const bool is_shared = axle->available < AT_LIMIT * axle->available_alone;
  return is_shared ? sample->charge_limit : axle->limit;
}

void bw_cascade_watch(struct bw_cascade *cascade, const struct bw_sample *sample,
                      const struct bw_period *period) {
  if (!period->is_braking) {
    return;
  }
  const struct bw_sample_axle *front = &sample->axle[BW_FRONT];
  const struct bw_sample_axle *rear = &sample->axle[BW_REAR];
  cascade->demanded += period->demanded;
  cascade->delivered += period->delivered;
  cascade->machine += period->machine;
  cascade->shaft += bw_max(0.0, front->shaft_work) + bw_max(0.0, rear->shaft_work);
  cascade->dc += front->dc_work + rear->dc_work;
  cascade->battery += sample->battery_work;
  cascade->cells += sample->cells_work;
  cascade->auxiliaries += sample->auxiliaries_work;
  cascade->friction[BW_FRONT] += front->friction_work;
  cascade->friction[BW_REAR] += rear->friction_work;
  const double machine = bw_max(0.0, front->machine_torque) + bw_max(0.0, rear->machine_torque);
  cascade->overrun +=
      bw_min(machine, sample->demand_overrun) / cascade->judge->radius * sample->distance;
  const enum bw_limit limit = touched_limit(cascade, sample);
  cascade->time += sample->duration;
  cascade->limit_time[limit] += sample->duration;
  cascade->limit_energy[limit] += period->delivered;
}

static double share(double part, double whole) {
  return isgreater(whole, 0.0) ? part / whole : (double)NAN; /* the whole may be NaN */
}

static void fill_shares(const struct bw_cascade *cascade, struct bw_summary *summary) {
  double *value = summary->value;
  const double battery = value[BW_SUMMARY_ENERGY_BATTERY];
  const double trace = value[BW_SUMMARY_ENERGY_TRACE];
  value[BW_SUMMARY_RECOVERED_SHARE] =
      share(battery, isnan(trace) ? value[BW_SUMMARY_ENERGY_DEMANDED] : trace);
  value[BW_SUMMARY_OF_RECOVERABLE_PLANT] =
      share(battery, value[BW_SUMMARY_ENERGY_RECOVERABLE_PLANT]);
  value[BW_SUMMARY_OF_RECOVERABLE_RULE] = share(battery, value[BW_SUMMARY_ENERGY_RECOVERABLE_RULE]);
  value[BW_SUMMARY_OF_CEILING_PLANT] = share(battery, value[BW_SUMMARY_ENERGY_CEILING_PLANT]);
  value[BW_SUMMARY_OF_CEILING_RULE] = share(battery, value[BW_SUMMARY_ENERGY_CEILING_RULE]);
  value[BW_SUMMARY_IS_RATED_BY_RULE] = value[BW_SUMMARY_AXLE_VIOLATIONS] > 0.0 ? 0.0 : 1.0;
  value[BW_SUMMARY_FRICTION_SHARE_FRONT] = share(cascade->friction[BW_FRONT], cascade->delivered);
  value[BW_SUMMARY_FRICTION_SHARE_REAR] = share(cascade->friction[BW_REAR], cascade->delivered);
  for (size_t i = 0; i < BW_LIMIT_COUNT; i++) {
    value[BW_SUMMARY_LIMIT_NONE_TIME + i] = share(cascade->limit_time[i], cascade->time);
    value[BW_SUMMARY_LIMIT_NONE_ENERGY + i] = share(cascade->limit_energy[i], cascade->delivered);
  }
}

void bw_cascade_finish(const struct bw_cascade *cascade, struct bw_summary *summary) {
  const double kilo = 1e-3;
  double *value = summary->value;
  value[BW_SUMMARY_ENERGY_TRACE] = kilo * bw_cascade_trace_work(cascade->judge);
  value[BW_SUMMARY_ENERGY_DEMANDED] = kilo * cascade->demanded;
  value[BW_SUMMARY_ENERGY_DELIVERED] = kilo * cascade->delivered;
  value[BW_SUMMARY_ENERGY_MACHINE_AXLE] = kilo * cascade->machine;
  value[BW_SUMMARY_ENERGY_SHAFT] = kilo * cascade->shaft;
  value[BW_SUMMARY_ENERGY_DC] = kilo * cascade->dc;
  value[BW_SUMMARY_ENERGY_BATTERY] = kilo * cascade->battery;
  value[BW_SUMMARY_ENERGY_CELLS] = kilo * cascade->cells;
  value[BW_SUMMARY_ENERGY_OVERRUN] = kilo * cascade->overrun;
  value[BW_SUMMARY_ENERGY_AUXILIARIES] = kilo * cascade->auxiliaries;
  value[BW_SUMMARY_ENERGY_FRICTION_FRONT] = kilo * cascade->friction[BW_FRONT];
  value[BW_SUMMARY_ENERGY_FRICTION_REAR] = kilo * cascade->friction[BW_REAR];
  fill_shares(cascade, summary);
}

/* braking work of one point of the trace, `at` s from its start, which stands for `duration` s
 * and begins `distance` m down the road */
static double point_work(const struct bw_judge *judge, struct bw_trace_cursor *cursor, double at,
                         double duration, double *distance) {
  const struct bw_trace *trace = &judge->loaded->trace;
  double speed = 0.0;
  double acceleration = 0.0;
  bw_trace_at(trace, cursor, at, &speed, &acceleration);
  const double way = speed * duration;
  const double sin_slope =
      trace->grade_n > 0 ? bw_trace_grade(trace, cursor, *distance + 0.5 * way) : 0.0;
  const double force = judge->mass_effective * acceleration + judge->mass * BW_GRAVITY * sin_slope +
                       bw_vehicle_road_load(&judge->loaded->vehicle, speed);
  *distance += way;
  return bw_max(0.0, -force) * way;
}

double bw_cascade_trace_work(const struct bw_judge *judge) {
  const struct bw_trace *trace = &judge->loaded->trace;
  if (trace->kind != BW_TRACE_SPEED) {
    return (double)NAN;
  }
  const double duration = bw_trace_duration(trace);
  const size_t steps = (size_t)ceil(duration / TRACE_STEP * (1.0 - 1e-12));
  const double step = steps > 0 ? duration / (double)steps : 0.0;
  struct bw_trace_cursor cursor = {0};
  double distance = 0.0;
  double work = 0.0;
  for (size_t i = 0; i < steps; i++) {
    const double middle = ((double)i + 0.5) * step;
    work += point_work(judge, &cursor, middle - GAUSS_POINT * step, 0.5 * step, &distance);
    work += point_work(judge, &cursor, middle + GAUSS_POINT * step, 0.5 * step, &distance);
  }
  return work;
}
