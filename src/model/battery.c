/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/battery.h"

#include "extrema.h"
#include "model/decay.h"

#include <math.h>
#include <stdbool.h>

/* s: what is left of the charge is never used up faster than this; far longer than any control
 * period, so that no step leaves 0..1, and short enough to act on the last permille only */
static const double CHARGE_REST_TIME = 1.0;
/* A s; how far the charge may pass 1. The charge limit is kept by a forecast for the middle of the
 * control period, and what is sent differs from it with the change of speed, slip and loss, while
 * the room that CHARGE_REST_TIME leaves fades to nothing. Seen: up to 17 W at 100 ms after jumps of
 * the demand, 1e-6 W in a steady descent; this is 40 W for 100 ms at 400 V. Nothing is cut off: the
 * excess is in charge and books, and the limit is 0 until it is used up. */
static const double CHARGE_FORECAST_ROOM = 0.01;
/* of U / R; the root of a step is real up to 0.5, the power there 1 % above the one at 0.45 */
static const double ROOT_SHARE = 0.45;
/* V; a smaller RC voltage is set to zero before it decays into denormals */
static const double RC_SNAP = 1e-12;
/* the fixed point over kinks of the open-circuit voltage: relative change of current at which it
 * is done, and a bound that only absurdly long steps reach (each round gains six digits at 10 ms)
 */
static const double CURRENT_TOLERANCE = 1e-14;
enum { CURRENT_ROUNDS = 60 };

static struct bw_battery_held hold_temperature(const struct bw_battery *battery) {
  const double continuous = bw_table1_at(&battery->charge_continuous, battery->temperature);
  const double pulse = bw_table1_at(&battery->charge_pulse, battery->temperature);
  const double extra = pulse > continuous ? pulse - continuous : 0.0;
  const double surplus = extra * (pulse + continuous);
  return (struct bw_battery_held){
      .continuous = continuous,
      .extra = extra,
      .continuous_square = continuous * continuous,
      .surplus = surplus,
      .per_surplus = surplus > 0.0 ? 1.0 / surplus : 0.0,
      .budget = surplus * battery->pulse_time,
      .resistance = bw_table2_place_x(&battery->resistance, battery->temperature),
  };
}

static double within(double x, double low, double high) {
  return x < low ? low : bw_min(x, high);
}

/* the same number, no tolerance meant */
static bool is_same(double a, double b) {
  return !(a < b) && !(a > b);
}

/* look the tables up at `charge`, near where `look` was */
static void look_up(const struct bw_battery *battery, const struct bw_battery_held *held,
                    double charge, struct bw_battery_look *look) {
  look->at = charge;
  look->segment = bw_table1_segment_near(&battery->ocv, look->segment, charge);
  look->ocv = bw_table1_on(&battery->ocv, look->segment, charge);
  const struct bw_table_place column =
      bw_table2_place_y_near(&battery->resistance, look->column, charge);
  look->column = column.low;
  look->resistance = bw_table2_between(&battery->resistance, &held->resistance, &column);
}

/* the look of the last step, or a fresh one in *look when somebody has changed the charge */
static const struct bw_battery_look *looked_up(const struct bw_battery *battery,
                                               const struct bw_battery_state *state,
                                               struct bw_battery_look *look) {
  if (is_same(state->look.at, state->charge)) {
    return &state->look;
  }
  *look = state->look;
  look_up(battery, &state->held, state->charge, look);
  return look;
}

/* U_rc(t) = R_rc I + (U_0 - R_rc I) exp(-t / t_rc); without a time constant it is R_rc I */
static struct bw_battery_pace pace_of(const struct bw_battery *battery, double duration) {
  const bool has_pair = battery->rc_time > 0.0;
  const double x = has_pair ? duration / battery->rc_time : 0.0;
  const double kept_mean = has_pair ? bw_decay_mean(x) : 0.0;
  return (struct bw_battery_pace){.duration = duration,
                                  .kept_mean = kept_mean,
                                  .pair_resistance = battery->rc_resistance * (1.0 - kept_mean),
                                  .gone = has_pair ? x * kept_mean : 1.0,
                                  .charge_per_amp = duration / battery->capacity};
}

struct bw_battery_state bw_battery_start(const struct bw_battery *battery) {
  const struct bw_battery_held held = hold_temperature(battery);
  struct bw_battery_state state = {.charge = battery->start_charge,
                                   .rc_voltage = 0.0,
                                   .pulse_budget = held.budget,
                                   .held = held};
  look_up(battery, &held, state.charge, &state.look);
  return state;
}

static double discharge_power(const struct bw_battery *battery, double charge, double voltage,
                              double resistance) {
  double current =
      bw_min(battery->discharge_current_max, charge * battery->capacity / CHARGE_REST_TIME);
  const double headroom = voltage - battery->voltage_min;
  if (!(headroom > 0.0 && voltage > 0.0)) {
    return 0.0;
  }
  if (resistance * current > headroom) {
    current = headroom / resistance;
  }
  if (resistance * current > ROOT_SHARE * voltage) {
    current = ROOT_SHARE * voltage / resistance;
  }
  return current * (voltage - resistance * current);
}

void bw_battery_limits(const struct bw_battery *battery, const struct bw_battery_state *state,
                       struct bw_battery_limits *limits) {
  struct bw_battery_look fresh;
  const struct bw_battery_look *look = looked_up(battery, state, &fresh);
  const double voltage = look->ocv + state->rc_voltage;
  const double resistance = look->resistance;
  const struct bw_battery_held *pulse = &state->held;
  const double faded = BW_PULSE_FADE * pulse->budget;
  double current = pulse->continuous + pulse->extra;
  if (state->pulse_budget < faded) {
    current = pulse->continuous + pulse->extra * (state->pulse_budget / faded);
  }
  limits->binding = BW_LIMIT_CHARGE_CURRENT;
  const double headroom = battery->voltage_max - voltage;
  if (!(headroom > 0.0)) {
    limits->binding = BW_LIMIT_CHARGE_VOLTAGE;
    current = 0.0;
  } else if (resistance * current > headroom) {
    limits->binding = BW_LIMIT_CHARGE_VOLTAGE;
    current = headroom / resistance;
  }
  const double rest = (1.0 - state->charge) * battery->capacity / CHARGE_REST_TIME;
  if (rest < current) {
    limits->binding = BW_LIMIT_CHARGE_VOLTAGE;
    current = rest;
  }
  limits->charge_current = current > 0.0 ? current : 0.0;
  limits->charge_power = limits->charge_current * (voltage + resistance * limits->charge_current);
  limits->discharge_power = discharge_power(battery, state->charge, voltage, resistance);
  limits->pulse_left =
      pulse->surplus > 0.0 ? state->pulse_budget * pulse->per_surplus : battery->pulse_time;
}

/* current for `power` against the source voltage and series resistance; false when there is none */
static bool solve_current(double power, double source, double resistance, double *current) {
  const double radicand = source * source + 4.0 * resistance * power;
  if (!(source > 0.0 && radicand >= 0.0)) {
    return false;
  }
  *current = 2.0 * power / (source + sqrt(radicand));
  return isfinite(*current);
}

/* One step seen from its terminals: P = I (mean OCV + rest_voltage + resistance I). */
struct circuit {
  double power;          /* W */
  double rest_voltage;   /* V, mean of what is left of the RC voltage */
  double resistance;     /* ohm, with the RC pair's share */
  double charge;         /* at the start */
  double charge_per_amp; /* step / capacity */
  size_t segment;        /* of the open-circuit voltage at the start */
};

/* Mean open-circuit voltage and current that belong together. Within one straight piece of the
 * table the mean is linear in the current and the solution closed; across a kink a fixed point
 * follows. */
static bool solve_step(const struct bw_table1 *ocv, const struct circuit *circuit, double *current,
                       double *mean_ocv) {
  const size_t i = circuit->segment;
  const double into = circuit->charge - ocv->x[i];
  /* held below the first point; the last one has no slope */
  const double start = into > 0.0 ? ocv->y[i] + ocv->slope[i] * into : ocv->y[i];
  const double half_slope = 0.5 * ocv->slope[i] * circuit->charge_per_amp;
  if (!solve_current(circuit->power, start + circuit->rest_voltage,
                     circuit->resistance + half_slope, current)) {
    return false;
  }
  const double end = circuit->charge + *current * circuit->charge_per_amp;
  if (i + 1 < ocv->n && into >= 0.0 && end >= ocv->x[i] && end <= ocv->x[i + 1]) {
    *mean_ocv = start + half_slope * *current;
    return true;
  }
  for (int round = 0; round < CURRENT_ROUNDS; round++) {
    const double before = *current;
    *mean_ocv = bw_table1_mean(ocv, circuit->charge, before * circuit->charge_per_amp);
    if (!solve_current(circuit->power, *mean_ocv + circuit->rest_voltage, circuit->resistance,
                       current)) {
      return false;
    }
    if (fabs(*current - before) <= CURRENT_TOLERANCE * fabs(before)) {
      return true;
    }
  }
  return false;
}

enum bw_status bw_battery_advance(const struct bw_battery *battery, struct bw_battery_state *state,
                                  double power, double duration, struct bw_battery_step *step) {
  struct bw_battery_pace new_pace;
  const struct bw_battery_pace *pace = &state->pace;
  if (!is_same(pace->duration, duration)) {
    new_pace = pace_of(battery, duration);
    pace = &new_pace;
  }
  struct bw_battery_look fresh;
  const struct bw_battery_look *look = looked_up(battery, state, &fresh);
  const double resistance = look->resistance;
  const struct circuit circuit = {.power = power,
                                  .rest_voltage = state->rc_voltage * pace->kept_mean,
                                  .resistance = resistance + pace->pair_resistance,
                                  .charge = state->charge,
                                  .charge_per_amp = pace->charge_per_amp,
                                  .segment = look->segment};
  double current = 0.0;
  double mean_ocv = 0.0;
  if (!solve_step(&battery->ocv, &circuit, &current, &mean_ocv)) {
    return BW_E_NUMERIC;
  }
  const double charge = state->charge + current * circuit.charge_per_amp;
  if (!(charge >= 0.0 && (charge - 1.0) * battery->capacity <= CHARGE_FORECAST_ROOM)) {
    return BW_E_NUMERIC;
  }
  const double mean_rc = circuit.rest_voltage + pace->pair_resistance * current;
  step->current = current;
  step->voltage = mean_ocv + mean_rc + resistance * current;
  step->terminals = power * duration;
  step->cells = mean_ocv * current * duration;
  step->rc = mean_rc * current * duration;
  step->resistance = resistance * current * current * duration;

  const double rc_voltage =
      state->rc_voltage + pace->gone * (battery->rc_resistance * current - state->rc_voltage);
  const struct bw_battery_held *pulse = &state->held;
  const double used = current > 0.0 ? current * current : 0.0;
  const double budget = state->pulse_budget + (pulse->continuous_square - used) * duration;
  state->charge = charge;
  look_up(battery, &state->held, charge, &state->look);
  state->rc_voltage = fabs(rc_voltage) < RC_SNAP ? 0.0 : rc_voltage;
  state->pulse_budget = within(budget, 0.0, pulse->budget);
  if (pace == &new_pace) {
    state->pace = new_pace;
  }
  return BW_OK;
}
