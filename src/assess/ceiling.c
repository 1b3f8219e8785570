/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/ceiling.h"

#include <math.h>

/* the charge limit is found for a box wider by this, so that it holds for a while: share of the
 * charge, and of the greatest voltage */
static const double CHARGE_MARGIN = 2e-4;
static const double VOLTAGE_MARGIN = 1e-4;
/* shares of the charge and of the greatest voltage over which an end of the box keeps its voltage,
 * taken at the safe side */
static const double OCV_HOLD = 1e-5;
static const double RC_HOLD = 1e-4;

struct bw_ceiling bw_ceiling_start(const struct bw_judge *judge) {
  const struct bw_battery *battery = &judge->loaded->battery;
  const struct bw_battery_state state = bw_battery_start(battery);
  struct bw_ceiling ceiling = {
      .judge = judge,
      .held = state.held,
      .box = {.charge = {state.charge, state.charge}, .rc = {state.rc_voltage, state.rc_voltage}},
      .known_box = {.charge = {1.0, 0.0}},
      .end = {{.charge = -1.0}, {.charge = -1.0}},
  };
  for (size_t j = 0; j < battery->resistance.ny; j++) {
    ceiling.resistance_most =
        bw_max(ceiling.resistance_most, bw_table2_along(&battery->resistance, state.held.resistance,
                                                        battery->resistance.y[j]));
  }
  for (int i = 0; i < 2; i++) {
    const struct bw_machine *machine = &judge->loaded->machine[i];
    const struct bw_table2 *table = &machine->torque_table;
    ceiling.torque_most[i] = machine->shaft_torque_peak;
    for (size_t k = 0; k < table->nx * table->ny; k++) {
      ceiling.torque_most[i] = bw_max(ceiling.torque_most[i], table->z[k]);
    }
  }
  return ceiling;
}

/* least and greatest resistance between two charges: straight lines between the table's points */
static void resistance_range(const struct bw_ceiling *ceiling, double from, double to,
                             double range[2]) {
  const struct bw_table2 *table = &ceiling->judge->loaded->battery.resistance;
  const struct bw_table_place place = ceiling->held.resistance;
  const double a = bw_table2_along(table, place, from);
  const double b = bw_table2_along(table, place, to);
  range[0] = bw_min(a, b);
  range[1] = bw_max(a, b);
  for (size_t j = 0; j < table->ny; j++) {
    if (table->y[j] > from && table->y[j] < to) {
      const double knot = bw_table2_along(table, place, table->y[j]);
      range[0] = bw_min(range[0], knot);
      range[1] = bw_max(range[1], knot);
    }
  }
}

/* the greatest power of a cell, see the header */
static double cell_power(const struct bw_battery *battery, double current, const double voltage[2],
                         const double resistance[2]) {
  const double most = battery->voltage_max;
  if (voltage[1] + resistance[1] * current < most) {
    return current * (voltage[1] + resistance[1] * current);
  }
  if (voltage[0] >= most) {
    return 0.0;
  }
  if (voltage[0] + resistance[0] * current > most) {
    return most * (most - voltage[0]) / resistance[0];
  }
  return most * current;
}

double bw_ceiling_charge_power(const struct bw_ceiling *ceiling, const struct bw_ceiling_box *box,
                               int cells) {
  const struct bw_battery *battery = &ceiling->judge->loaded->battery;
  const double current = ceiling->held.continuous + ceiling->held.extra;
  const double width = (box->charge[1] - box->charge[0]) / cells;
  double best = 0.0;
  for (int i = 0; i < cells; i++) {
    const double from = box->charge[0] + i * width;
    const double to = i + 1 < cells ? from + width : box->charge[1];
    const double voltage[2] = {bw_table1_at(&battery->ocv, from) + box->rc[0],
                               bw_table1_at(&battery->ocv, to) + box->rc[1]};
    double resistance[2];
    resistance_range(ceiling, from, to, resistance);
    best = bw_max(best, cell_power(battery, current, voltage, resistance));
  }
  return best;
}

/* charge limit of the box, looked up anew when the box has moved */
static double charge_power(struct bw_ceiling *ceiling) {
  const double margin[2] = {CHARGE_MARGIN,
                            VOLTAGE_MARGIN * ceiling->judge->loaded->battery.voltage_max};
  const struct bw_ceiling_box *box = &ceiling->box;
  struct bw_ceiling_box *known = &ceiling->known_box;
  const double gap[4] = {box->charge[0] - known->charge[0], known->charge[1] - box->charge[1],
                         box->rc[0] - known->rc[0], known->rc[1] - box->rc[1]};
  bool is_known = true;
  for (int i = 0; i < 4; i++) {
    is_known = is_known && gap[i] >= 0.0 && gap[i] <= 2.0 * margin[i / 2];
  }
  if (!is_known) {
    *known =
        (struct bw_ceiling_box){.charge = {box->charge[0] - margin[0], box->charge[1] + margin[0]},
                                .rc = {box->rc[0] - margin[1], box->rc[1] + margin[1]}};
    ceiling->known_power = bw_ceiling_charge_power(ceiling, known, BW_CEILING_CELLS);
  }
  return ceiling->known_power;
}

/* N m at the axle: cool, and at the best state of charge of a torque table */
static double cool_limit(const struct bw_bound_machine *machine, const struct bw_sample *sample,
                         int axle, double speed) {
  double most = sample->axle[axle].envelope;
  if (machine->machine == NULL) {
    return most;
  }
  const struct bw_table2 *table = &machine->machine->torque_table;
  const bool is_hot = sample->axle[axle].machine_temperature > machine->machine->derate_start;
  const size_t charges = table->nx > 0 ? table->ny : is_hot ? 1 : 0;
  for (size_t j = 0; j < charges; j++) {
    const struct bw_machine_condition condition = {
        .speed = speed,
        .omega = sample->axle[axle].omega,
        .state_of_charge = table->nx > 0 ? table->y[j] : sample->charge};
    enum bw_limit binding = BW_LIMIT_NONE;
    most = bw_max(most,
                  bw_machine_brake_limit(machine->machine, &condition, &binding) / machine->shaft);
  }
  return most;
}

static double period_work(struct bw_ceiling *ceiling, const struct bw_bound *bound,
                          const struct bw_sample *sample, const struct bw_bound_moment *moment) {
  double power = bw_bound_power(bound, moment);
  /* the state of the run lies in the box: what it could take, the box can take */
  if (power > sample->charge_power) {
    const double auxiliaries = ceiling->judge->loaded->battery.auxiliaries;
    power = bw_min(power, bw_max(charge_power(ceiling) + auxiliaries, sample->charge_power));
  }
  return power * sample->duration - sample->auxiliaries_work;
}

/* both bounds of this period; where neither heat nor battery held the run's own bound back, that
 * one is taken */
static void add_period(struct bw_ceiling *ceiling, const struct bw_bound *bound,
                       const struct bw_sample *sample, const struct bw_period *period) {
  const double distance = sample->distance;
  struct bw_bound_moment moment = {
      .speed = distance / sample->duration,
      .torque = distance > 0.0 ? period->delivered * ceiling->judge->radius / distance : 0.0,
  };
  bool is_same = true;
  for (int i = 0; i < 2; i++) {
    moment.limit[i] = cool_limit(&bound->machine[i], sample, i, moment.speed);
    is_same = is_same && moment.limit[i] <= sample->axle[i].envelope;
  }
  const double full =
      (1.0 - 1e-9) * sample->charge_power * sample->duration - sample->auxiliaries_work;
  if (is_same && bound->period_plant < full) {
    ceiling->plant += bound->period_plant;
    ceiling->rule += bound->period_rule;
    return;
  }
  ceiling->plant += period_work(ceiling, bound, sample, &moment);
  double cap[2];
  bw_bound_rule_caps(bound, sample, cap);
  moment.limit[0] = bw_min(moment.limit[0], cap[0]);
  moment.limit[1] = bw_min(moment.limit[1], cap[1]);
  ceiling->rule += period_work(ceiling, bound, sample, &moment);
}

/* W, the greatest loss of a machine at one speed, whatever torque it gives. A polynomial's lies at
 * the greatest torque, a map's at one of its own points. */
static double greatest_loss(const struct bw_machine *machine, double torque_most, double omega) {
  const struct bw_table2 *map = &machine->loss_map;
  if (map->nx == 0) {
    return bw_machine_loss(machine, omega, torque_most, true);
  }
  const struct bw_table_place row = bw_table2_place_x(map, omega);
  double most = 0.0;
  for (size_t j = 0; j < map->ny; j++) {
    most = bw_max(most, bw_table2_along(map, row, map->y[j]));
  }
  return most;
}

/* W that braking machines may draw at most, whatever their torque */
static double braking_draw(const struct bw_ceiling *ceiling, const struct bw_bound *bound,
                           const struct bw_sample *sample) {
  double draw = 0.0;
  for (int i = 0; i < 2; i++) {
    const struct bw_machine *machine = bound->machine[i].machine;
    if (machine != NULL) {
      draw += greatest_loss(machine, ceiling->torque_most[i], sample->axle[i].omega);
    }
  }
  return draw;
}

static double relax(double rc, double target, double gone) {
  return rc + gone * (target - rc);
}

/* Voltages behind the resistance at the ends of the box, at the lower one no more, at the upper one
 * no less than the true ones, and their reciprocals: looked up anew when an end has moved. */
static void hold_voltages(struct bw_ceiling *ceiling) {
  const struct bw_battery *battery = &ceiling->judge->loaded->battery;
  const double charge_side[2] = {-OCV_HOLD, OCV_HOLD};
  const double voltage_side[2] = {-RC_HOLD * battery->voltage_max, RC_HOLD * battery->voltage_max};
  for (int i = 0; i < 2; i++) {
    struct bw_ceiling_end *end = &ceiling->end[i];
    const double charge = ceiling->box.charge[i];
    const double rc = ceiling->box.rc[i];
    if (fabs(charge - end->charge) <= OCV_HOLD && fabs(rc - end->rc) <= voltage_side[1]) {
      continue;
    }
    const double voltage = bw_table1_at(&battery->ocv, charge + charge_side[i]) + rc;
    end->charge = charge;
    end->rc = rc;
    end->voltage = bw_max(voltage + voltage_side[i], battery->voltage_min);
    end->per_volt = 1.0 / end->voltage;
  }
}

/* Current (A) that gives `out` W, no smaller than the true one out / V, V = U (1 + sqrt(1 - 4 y)) /
 * 2 with y = R out / U^2. Up to y = 0.15 U / V stays below 1 + y + 8 y^2: no root, no division. */
static double current_given(const struct bw_ceiling *ceiling, double out) {
  const struct bw_ceiling_end *low = &ceiling->end[0];
  const double current = out * low->per_volt;
  const double y = ceiling->resistance_most * current * low->per_volt;
  if (y <= 0.15) {
    return current * (1.0 + y * (1.0 + 8.0 * y));
  }
  const double sagged = y < 0.25 ? 0.5 * low->voltage * (1.0 + sqrt(1.0 - 4.0 * y)) : 0.0;
  return out / bw_max(sagged, ceiling->judge->loaded->battery.voltage_min);
}

/* W into the battery: current, A, no smaller than the true one; or, where nothing comes in, the
 * least that goes out, negative */
static double current_taken(const struct bw_ceiling *ceiling, double in, double out_least) {
  const double most = ceiling->held.continuous + ceiling->held.extra;
  return in > 0.0 ? bw_min(most, in * ceiling->end[0].per_volt)
                  : -out_least * ceiling->end[1].per_volt;
}

/* all periods but the last are of one length */
static void hold_duration(struct bw_ceiling *ceiling, double duration) {
  if (duration < ceiling->known_duration || duration > ceiling->known_duration) {
    const struct bw_battery *battery = &ceiling->judge->loaded->battery;
    ceiling->known_duration = duration;
    ceiling->per_duration = 1.0 / duration;
    ceiling->known_gone = battery->rc_time > 0.0 ? -expm1(-duration / battery->rc_time) : 1.0;
    ceiling->per_ampere = duration / battery->capacity;
  }
}

/* widen the box by a period in which the battery takes `in` W at most and gives `out` W at most,
 * and gives `out_least` W at least (0 when it may take power) */
static void widen(struct bw_ceiling *ceiling, double in, double out, double out_least) {
  struct bw_ceiling_box *box = &ceiling->box;
  hold_voltages(ceiling);
  const double change[2] = {-current_given(ceiling, out), current_taken(ceiling, in, out_least)};
  const double pair = ceiling->judge->loaded->battery.rc_resistance;
  for (int i = 0; i < 2; i++) {
    const double charge = box->charge[i] + change[i] * ceiling->per_ampere;
    box->charge[i] = bw_max(0.0, bw_min(1.0, charge));
    box->rc[i] = relax(box->rc[i], pair * change[i], ceiling->known_gone);
  }
}

void bw_ceiling_watch(struct bw_ceiling *ceiling, const struct bw_bound *bound,
                      const struct bw_sample *sample, const struct bw_period *period) {
  hold_duration(ceiling, sample->duration);
  const double power = sample->battery_work * ceiling->per_duration;
  if (period->is_braking) {
    add_period(ceiling, bound, sample, period);
    const double auxiliaries = ceiling->judge->loaded->battery.auxiliaries;
    widen(ceiling, period->delivered * ceiling->per_duration,
          bw_max(-power, auxiliaries + braking_draw(ceiling, bound, sample)), 0.0);
    return;
  }
  const double out = bw_max(0.0, -power);
  widen(ceiling, bw_max(0.0, power), out, out);
}

void bw_ceiling_finish(const struct bw_ceiling *ceiling, struct bw_summary *summary) {
  const bool is_wanted = ceiling->judge->loaded->assess.has_ceiling;
  summary->value[BW_SUMMARY_ENERGY_CEILING_PLANT] = is_wanted ? ceiling->plant * 1e-3 : (double)NAN;
  summary->value[BW_SUMMARY_ENERGY_CEILING_RULE] = is_wanted ? ceiling->rule * 1e-3 : (double)NAN;
}
