/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/limits.h"

#include "extrema.h"

#include <math.h>

/* halvings of the factor when there is no closed form: 2^-40 of a torque is nothing */
enum { SCALE_HALVINGS = 40 };

static double braking_shaft(const struct bw_machine *machine, double axle_torque) {
  return axle_torque * machine->efficiency / machine->ratio;
}

/* Power of both machines at `factor` times these torques. Beyond its best torque a machine sends
 * less, but its torque only gets there through the best one, so that one's power counts. */
static double generated(const struct bw_case *loaded, const struct bw_limits *limits,
                        const double torque[2], double factor) {
  double power = 0.0;
  for (int i = 0; i < 2; i++) {
    const struct bw_machine *machine = &loaded->machine[i];
    if (machine->is_fitted && torque[i] > 0.0) {
      const double omega = limits->omega[i];
      const double shaft = factor * braking_shaft(machine, torque[i]);
      power += bw_machine_generated(machine, omega, bw_machine_best_torque(machine, omega, shaft));
    }
  }
  return power;
}

/* true when a loss map or a torque beyond the best one leaves no closed form */
static bool is_bent(const struct bw_case *loaded, const struct bw_limits *limits,
                    const double torque[2]) {
  bool is_bent = false;
  for (int i = 0; i < 2; i++) {
    const struct bw_machine *machine = &loaded->machine[i];
    if (machine->is_fitted && torque[i] > 0.0) {
      const double bend = 2.0 * machine->loss_kt * braking_shaft(machine, torque[i]);
      is_bent = is_bent || machine->loss_map.nx > 0 || bend > limits->omega[i];
    }
  }
  return is_bent;
}

/* loss polynomials, both up to their best torque at most: a quadratic in the factor */
static double scale_closed(const struct bw_case *loaded, const struct bw_limits *limits,
                           const double torque[2]) {
  double square = 0.0;
  double linear = 0.0;
  double rest = limits->charge_power;
  for (int i = 0; i < 2; i++) {
    const struct bw_machine *machine = &loaded->machine[i];
    if (machine->is_fitted && torque[i] > 0.0) {
      const double shaft = braking_shaft(machine, torque[i]);
      const double omega = limits->omega[i];
      square += machine->loss_kt * shaft * shaft;
      linear += shaft * omega;
      rest += machine->loss_k0 + omega * (machine->loss_k1 + omega * machine->loss_k2);
    }
  }
  const double radicand = linear * linear - 4.0 * square * rest;
  if (radicand <= 0.0) {
    return 1.0;
  }
  /* 2 rest / (linear + root) is the first root without cancellation, and right for square = 0 */
  return bw_min(1.0, 2.0 * rest / (linear + sqrt(radicand)));
}

double bw_limits_scale(const struct bw_case *loaded, const struct bw_limits *limits,
                       const double torque[2]) {
  if (generated(loaded, limits, torque, 1.0) <= limits->charge_power) {
    return 1.0;
  }
  if (!is_bent(loaded, limits, torque)) {
    return scale_closed(loaded, limits, torque);
  }
  double low = 0.0;
  double high = 1.0;
  for (int k = 0; k < SCALE_HALVINGS; k++) {
    const double middle = 0.5 * (low + high);
    if (generated(loaded, limits, torque, middle) <= limits->charge_power) {
      low = middle;
    } else {
      high = middle;
    }
  }
  return low;
}

/* Driving shaft torque that DC power `power` feeds: T w + loss(T) = power. With a map the loss at
 * the rim is taken, which is never too little. */
BW_HOT_INLINE double driving_torque_for_power(const struct bw_machine *machine, double omega,
                                              double power, double limit) {
  if (machine->loss_map.nx > 0) {
    const double loss = bw_machine_loss(machine, omega, limit, true);
    const double room = power - loss;
    return room >= limit * omega || omega <= 0.0 ? limit : bw_max(0.0, room / omega);
  }
  const double rest =
      power - machine->loss_k0 - omega * (machine->loss_k1 + omega * machine->loss_k2);
  if (rest <= 0.0) {
    return 0.0;
  }
  /* mostly the battery feeds the limit: no root then, and nothing after it waits for one */
  if (limit * (omega + machine->loss_kt * limit) <= rest) {
    return limit;
  }
  const double root = omega + sqrt(omega * omega + 4.0 * machine->loss_kt * rest);
  return root > 0.0 ? bw_min(limit, 2.0 * rest / root) : limit;
}

struct bw_limits_rule bw_limits_rule(const struct bw_case *loaded) {
  struct bw_limits_rule rule = {0};
  double wanted = 0.0;
  for (int i = 0; i < 2; i++) {
    const struct bw_machine *machine = &loaded->machine[i];
    wanted += machine->is_fitted ? machine->shaft_torque_peak * machine->ratio : 0.0;
  }
  for (int i = 0; i < 2; i++) {
    const struct bw_machine *machine = &loaded->machine[i];
    if (machine->is_fitted) {
      rule.to_axle[i] = machine->ratio / machine->efficiency;
      rule.to_shaft[i] = machine->efficiency / machine->ratio;
      rule.drive_to_axle[i] = machine->ratio * machine->efficiency;
      rule.omega_per_speed[i] = machine->ratio / loaded->vehicle.tyre_radius;
      rule.drive_share[i] = machine->shaft_torque_peak * machine->ratio / wanted;
      rule.first = rule.end > 0 ? rule.first : (size_t)i;
      rule.end = (size_t)i + 1;
    }
    rule.are_two = rule.end == rule.first + 2;
  }
  return rule;
}

/* limits of machine `i` by itself; what it could drive with stays at the shaft for now */
BW_HOT_INLINE void find_alone(const struct bw_machine *machine, const struct bw_limits_rule *rule,
                              const struct bw_limits_input *input, size_t i,
                              struct bw_limits *limits) {
  const double charge_power = limits->charge_power;
  const double omega = input->speed * (1.0 - input->slip[i]) * rule->omega_per_speed[i];
  const struct bw_machine_condition condition = {
      .speed = input->speed,
      .omega = omega,
      .temperature = input->machine_temperature[i],
      .state_of_charge = input->battery->charge,
  };
  enum bw_limit binding = BW_LIMIT_NONE;
  double drive = 0.0;
  const double envelope = bw_machine_both_limits(machine, &condition, &binding, &drive);
  double shaft = envelope;
  /* the power sent may pass the limit on the way to an envelope that sends less; it never is more
   * than the mechanical power */
  if (envelope * omega > charge_power) {
    shaft = bw_machine_torque_for_power(machine, omega, charge_power, envelope);
    binding = shaft < envelope ? limits->charge_binding : binding;
  }
  const double to_axle = rule->to_axle[i];
  limits->omega[i] = omega;
  limits->binding[i] = binding;
  limits->envelope[i] = envelope * to_axle;
  limits->alone[i] = limits->joint[i] = shaft * to_axle;
  limits->continuous[i] = bw_min(shaft, machine->shaft_torque_continuous) * to_axle;
  limits->drive[i] = drive;
}

/* seconds until the winding reaches the derating temperature at the torque the limit allows */
BW_HOT_INLINE double heat_time(const struct bw_machine *machine, double omega, double shaft,
                               double temperature) {
  const double rise = bw_machine_loss(machine, omega, shaft, true) -
                      machine->cooling * (temperature - machine->coolant_temperature);
  const double room = machine->heat_capacity * (machine->derate_start - temperature);
  const double long_time = 3600.0; /* s: as good as for ever to a controller */
  if (room <= 0.0) {
    return 0.0;
  }
  return room < rise * long_time ? room / rise : long_time;
}

/* the battery's limits with what a fault takes off */
static void find_faulty_battery(const struct bw_battery *battery,
                                const struct bw_limits_input *input,
                                struct bw_battery_limits *limits) {
  struct bw_battery raised = *battery;
  if (input->voltage_rise > 0.0) {
    raised.voltage_max -= input->voltage_rise;
  }
  bw_battery_limits(&raised, input->battery, limits);
  if (input->charge_lost > 0.0) {
    limits->charge_power *= 1.0 - input->charge_lost;
    limits->charge_current *= 1.0 - input->charge_lost;
  }
}

/* what of machine `i`'s limits depends on the other one and on the battery's power */
BW_HOT_INLINE void find_rest(const struct bw_machine *machine, const struct bw_limits_rule *rule,
                             const struct bw_limits_input *input, size_t i,
                             struct bw_limits *limits) {
  const double omega = limits->omega[i];
  const double joint = limits->joint[i];
  const double heat =
      heat_time(machine, omega, joint * rule->to_shaft[i], input->machine_temperature[i]);
  const double power = limits->drive_power * rule->drive_share[i];
  const double drive = driving_torque_for_power(machine, omega, power, limits->drive[i]);
  limits->continuous[i] = bw_min(limits->continuous[i], joint);
  limits->pulse_left[i] = bw_min(heat, limits->battery.pulse_left);
  limits->drive[i] = drive * rule->drive_to_axle[i];
}

void bw_limits_find_by(const struct bw_case *loaded, const struct bw_limits_rule *rule,
                       const struct bw_limits_input *input, struct bw_limits *restrict limits) {
  const struct bw_battery *battery = &loaded->battery;
  if (input->voltage_rise + input->charge_lost > 0.0) {
    find_faulty_battery(battery, input, &limits->battery);
  } else {
    bw_battery_limits(battery, input->battery, &limits->battery);
  }
  limits->charge_power = limits->battery.charge_power + battery->auxiliaries;
  limits->charge_binding = limits->battery.binding;
  limits->drive_power = bw_max(0.0, limits->battery.discharge_power - battery->auxiliaries);
  if (!rule->are_two) {
    /* one machine by itself is within the charge power already */
    const size_t i = rule->first;
    if (i < rule->end) {
      find_alone(&loaded->machine[i], rule, input, i, limits);
      find_rest(&loaded->machine[i], rule, input, i, limits);
    }
    return;
  }
  for (size_t i = 0; i < 2; i++) {
    find_alone(&loaded->machine[i], rule, input, i, limits);
  }
  if (limits->alone[0] > 0.0 && limits->alone[1] > 0.0) {
    const double factor = bw_limits_scale(loaded, limits, limits->alone);
    limits->joint[0] = factor * limits->alone[0];
    limits->joint[1] = factor * limits->alone[1];
  }
  for (size_t i = 0; i < 2; i++) {
    find_rest(&loaded->machine[i], rule, input, i, limits);
  }
}

void bw_limits_find(const struct bw_case *loaded, const struct bw_limits_input *input,
                    struct bw_limits *limits) {
  const struct bw_limits_rule rule = bw_limits_rule(loaded);
  *limits = (struct bw_limits){0};
  bw_limits_find_by(loaded, &rule, input, limits);
}
