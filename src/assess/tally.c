/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/tally.h"

#include <math.h>

/* share of the greatest friction torque at which an application begins and is over */
static const double APPLICATION_ON = 0.01;
static const double APPLICATION_OFF = 0.005;
static const double ZERO_CELSIUS = 273.15; /* K */

struct bw_tally bw_tally_start(const struct bw_judge *judge) {
  const struct bw_case *loaded = judge->loaded;
  double greatest = 0.0;
  for (int i = 0; i < 2; i++) {
    const struct bw_friction *friction = &loaded->brakes.axle[i];
    greatest += (friction->pressure_max - friction->threshold) * friction->per_pressure;
  }
  struct bw_tally tally = {
      .loaded = loaded,
      .application_on = APPLICATION_ON * greatest,
      .application_off = APPLICATION_OFF * greatest,
      .charge_start = loaded->battery.start_charge,
      .charge_end = loaded->battery.start_charge,
      .voltage_peak = -(double)INFINITY,
      .machine_peak = -(double)INFINITY,
      .rotor_peak = {-(double)INFINITY, -(double)INFINITY},
      .deceleration_before = (double)NAN,
      .jolt = (double)NAN,
      .first_clipping = (double)NAN,
      .has_messages = bw_message_acts(&loaded->message),
  };
  for (int i = 0; i < 2; i++) {
    tally.has_machine[i] = loaded->machine[i].is_fitted;
    tally.derate_start[i] =
        loaded->machine[i].is_fitted ? loaded->machine[i].derate_start : (double)INFINITY;
  }
  return tally;
}

static void watch_heat(struct bw_tally *tally, const struct bw_sample *sample) {
  const struct bw_sample_axle *front = &sample->axle[BW_FRONT];
  const struct bw_sample_axle *rear = &sample->axle[BW_REAR];
  tally->rotor_peak[BW_FRONT] = bw_max(tally->rotor_peak[BW_FRONT], front->rotor_temperature);
  tally->rotor_peak[BW_REAR] = bw_max(tally->rotor_peak[BW_REAR], rear->rotor_temperature);
  if (tally->has_machine[BW_FRONT]) {
    tally->machine_peak = bw_max(tally->machine_peak, front->machine_temperature);
  }
  if (tally->has_machine[BW_REAR]) {
    tally->machine_peak = bw_max(tally->machine_peak, rear->machine_temperature);
  }
  if (front->machine_temperature > tally->derate_start[BW_FRONT] ||
      rear->machine_temperature > tally->derate_start[BW_REAR]) {
    tally->derated_time += sample->duration;
  }
}

static void watch_friction(struct bw_tally *tally, const struct bw_sample *sample) {
  const double torque = sample->axle[0].friction_torque + sample->axle[1].friction_torque;
  if (tally->is_applied) {
    tally->is_applied = torque > tally->application_off;
  } else if (torque > tally->application_on) {
    tally->is_applied = true;
    tally->applications += 1.0;
  }
  tally->friction += sample->axle[0].friction_work + sample->axle[1].friction_work;
}

/* the car comes to rest */
static void watch_rest(struct bw_tally *tally, const struct bw_sample *sample) {
  /* the period of rest itself mixes braking and standing: take the one before */
  const double before =
      isnan(tally->deceleration_before) ? sample->deceleration : tally->deceleration_before;
  tally->jolt = isnan(tally->jolt) ? before : bw_max(tally->jolt, before);
}

void bw_tally_watch(struct bw_tally *tally, const struct bw_sample *sample) {
  tally->duration = sample->time + sample->duration;
  tally->distance += sample->distance;
  tally->battery += sample->battery_work;
  tally->charge_end = sample->charge;
  tally->current_peak = bw_max(tally->current_peak, sample->current);
  tally->voltage_peak = bw_max(tally->voltage_peak, sample->voltage);
  if (sample->is_charge_capped) {
    tally->ceiling_time += sample->duration;
  }
  watch_heat(tally, sample);
  watch_friction(tally, sample);
  if (!(sample->speed_end > 0.0) && sample->speed_start > 0.0) {
    watch_rest(tally, sample);
  }
  tally->deceleration_before = sample->deceleration;
  if (sample->clipped != 0) {
    tally->first_clipping = tally->clippings > 0.0 ? tally->first_clipping : sample->time;
    tally->clippings += 1.0;
  }
  tally->shortfall = bw_max(tally->shortfall, sample->hold_shortfall);
  if (tally->has_messages) {
    tally->messages_lost += (double)sample->messages_lost;
    tally->message_age = bw_max(tally->message_age, sample->message_age);
    tally->message_timed_out += sample->message_timed_out;
  }
}

static double finite_or_none(double value) {
  return isfinite(value) ? value : (double)NAN;
}

static double per(double part, double whole) {
  return whole > 0.0 ? part / whole : (double)NAN;
}

void bw_tally_finish(const struct bw_tally *tally, struct bw_summary *summary) {
  double *value = summary->value;
  const double km = tally->distance * 1e-3;
  value[BW_SUMMARY_DURATION] = tally->duration;
  value[BW_SUMMARY_DISTANCE] = km;
  /* of a manoeuvre it would only say that a stop returns energy */
  value[BW_SUMMARY_NET_CONSUMPTION] =
      tally->loaded->trace.kind == BW_TRACE_SPEED ? per(-tally->battery / 3600.0, km) : (double)NAN;
  value[BW_SUMMARY_SOC_START] = tally->charge_start * 100.0;
  value[BW_SUMMARY_SOC_END] = tally->charge_end * 100.0;
  value[BW_SUMMARY_CHARGE_CURRENT_PEAK] = tally->current_peak;
  value[BW_SUMMARY_CHARGE_VOLTAGE_PEAK] = finite_or_none(tally->voltage_peak);
  value[BW_SUMMARY_CHARGE_CEILING] = tally->ceiling_time;
  const bool has_machine = isfinite(tally->machine_peak);
  value[BW_SUMMARY_MACHINE_PEAK] = finite_or_none(tally->machine_peak - ZERO_CELSIUS);
  value[BW_SUMMARY_MACHINE_DERATED] = has_machine ? tally->derated_time : (double)NAN;
  value[BW_SUMMARY_ROTOR_FRONT_PEAK] = finite_or_none(tally->rotor_peak[0] - ZERO_CELSIUS);
  value[BW_SUMMARY_ROTOR_REAR_PEAK] = finite_or_none(tally->rotor_peak[1] - ZERO_CELSIUS);
  value[BW_SUMMARY_FRICTION_APPLICATIONS] = per(100.0 * tally->applications, km);
  value[BW_SUMMARY_FRICTION_WORK] = per(100.0 * tally->friction * 1e-3, km);
  value[BW_SUMMARY_JOLT_AT_REST] = tally->jolt;
  value[BW_SUMMARY_CLIPPINGS] = tally->clippings;
  value[BW_SUMMARY_FIRST_CLIPPING] = tally->first_clipping;
  value[BW_SUMMARY_HOLD_SHORTFALL] = tally->shortfall;
  const bool has_messages = tally->has_messages;
  value[BW_SUMMARY_MESSAGES_LOST] = has_messages ? tally->messages_lost : (double)NAN;
  value[BW_SUMMARY_MESSAGE_AGE] = has_messages ? tally->message_age * 1e3 : (double)NAN;
  value[BW_SUMMARY_MESSAGE_TIMED_OUT] = has_messages ? tally->message_timed_out : (double)NAN;
}
