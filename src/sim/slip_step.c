/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/slip_step.h"

#include <math.h>
#include <string.h>

/* trials of the shaft's torque, and those by plain repetition */
enum { SHAFT_MOST = 90, SHAFT_PLAIN = 12 };

/* relative; the shaft's part in the ledger is smaller by the part of its work in the whole */
static const double SHAFT_TOLERANCE = 1e-12;

/* m/s; the tyres of standing wheels are dampers, behind which the body's speed would decay towards
 * 0 and never pass it. Of a car of 2 t it leaves 1e-5 J, booked as tyre heat. */
static const double REST_SPEED = 1e-4;

/* what every axle of a step starts from */
struct start {
  const struct bw_case *loaded;
  const struct bw_slip *slip;
  const struct bw_slip_torques *torques;
  double step; /* s */
};

/* one axle at the end of a step */
struct axle_end {
  struct bw_slip_outcome side[2];
  double machine_omega;
  double twist;
  double shaft; /* N m, mean, driving the wheels */
  double gain;  /* of the search for it, 1/(1 + slope), carried on as a guess */
};

static double load_mass(const struct bw_case *loaded) {
  return loaded->vehicle.load[loaded->vehicle.load_state].mass;
}

static double mean_omega(const struct bw_slip_axle *axle) {
  return axle->sides > 1 ? 0.5 * (axle->wheel[0].omega + axle->wheel[1].omega)
                         : axle->wheel[0].omega;
}

/* all sides of an axle with `drive` N m (retarding) on the axle; returns the mean end speed */
static double step_wheels(const struct start *start, int i, double drive, struct axle_end *end) {
  const struct bw_case *loaded = start->loaded;
  const struct bw_slip *slip = start->slip;
  const struct bw_slip_torques *torques = start->torques;
  const struct bw_slip_axle *axle = &slip->axle[i];
  const double share = axle->sides > 1 ? 0.5 : 1.0;
  double sum = 0.0;
  for (size_t j = 0; j < axle->sides; j++) {
    const struct bw_slip_action action = {
        .step = start->step,
        .speed = slip->speed,
        .deceleration = slip->deceleration,
        .radius = loaded->vehicle.tyre_radius,
        .inertia = axle->inertia,
        .load = share * slip->load[i],
        .grip = torques->grip[j],
        .drive = share * drive,
        .capacity = torques->capacity[i][j],
        .guess = end->side[j].end.force,
    };
    bw_slip_wheel_step(&loaded->slip.tyre, &axle->wheel[j], &action, &end->side[j]);
    sum += end->side[j].end.omega;
  }
  return share * sum;
}

/* one trial: the axle's end with `shaft` N m on the wheels; returns the torque that the twist so
 * made gives */
static double try_shaft(const struct start *start, int i, double shaft, struct axle_end *end) {
  const struct bw_slip_axle *axle = &start->slip->axle[i];
  const struct bw_driveline *line = &start->loaded->slip.driveline[i];
  const double step = start->step;
  const double wheels_end = start->slip->is_held ? 0.0 : step_wheels(start, i, -shaft, end);
  end->machine_omega =
      axle->machine_omega - step * (start->torques->machine[i] + shaft) / axle->machine_inertia;
  const double turned =
      0.5 * step * (axle->machine_omega + end->machine_omega - mean_omega(axle) - wheels_end);
  end->twist = axle->twist + turned;
  end->shaft = shaft;
  return bw_driveline_mean(line, axle->twist, end->twist) +
         bw_driveline_contact(line, axle->twist, end->twist) * line->damping * turned / step;
}

/* Machine behind a shaft. The torque is where trial and answer meet: more torque on the wheels
 * always means less twist, so the difference falls. The first trial carries the last two torques
 * on, the second goes by the slope that the step before found, then by the line through the last
 * two trials; should that wander (flanks parting, a wheel coming to rest), the torque is halved in
 * between. */
static void step_shaft(const struct start *start, int i, struct axle_end *end) {
  const struct bw_slip_axle *axle = &start->slip->axle[i];
  double low = -(double)INFINITY;
  double high = (double)INFINITY;
  double shaft = 2.0 * axle->shaft_torque - axle->shaft_before;
  double last = 0.0;
  double last_missing = 0.0;
  for (int k = 0; k < SHAFT_MOST; k++) {
    const double answer = try_shaft(start, i, shaft, end);
    const double missing = answer - shaft;
    if (fabs(missing) <= SHAFT_TOLERANCE * (fabs(answer) + 1.0)) {
      return;
    }
    low = missing > 0.0 ? fmax(low, shaft) : low;
    high = missing > 0.0 ? high : fmin(high, shaft);
    double next = shaft + end->gain * missing;
    if (k > 0 && fabs(missing - last_missing) > 0.0) {
      end->gain = -(shaft - last) / (missing - last_missing);
      next = shaft + end->gain * missing;
    }
    last = shaft;
    last_missing = missing;
    const bool is_inside = next > low && next < high && k < SHAFT_PLAIN;
    const double between = isfinite(low + high) ? 0.5 * (low + high) : answer;
    shaft = is_inside ? next : between;
  }
}

static void step_axle(const struct start *start, int i, struct axle_end *end) {
  if (start->slip->axle[i].is_compliant) {
    step_shaft(start, i, end);
  } else {
    end->machine_omega = step_wheels(start, i, start->torques->machine[i], end);
    end->twist = 0.0;
    end->shaft = -start->torques->machine[i];
  }
}

/* works of one axle over the step, and its new state */
static void close_axle(const struct start *start, int i, double speed_mean,
                       const struct axle_end *end, struct bw_slip_axle *axle,
                       struct bw_slip_works *works) {
  const struct bw_driveline *line = &start->loaded->slip.driveline[i];
  const double radius = start->loaded->vehicle.tyre_radius;
  const double step = start->step;
  const double before = axle->is_compliant ? axle->machine_omega : mean_omega(axle);
  for (size_t j = 0; j < axle->sides; j++) {
    const struct bw_slip_outcome *side = &end->side[j];
    const double omega = 0.5 * (axle->wheel[j].omega + side->end.omega);
    works->friction[i] += step * side->friction * omega;
    works->tyre[i] += step * side->end.force * (speed_mean - radius * omega);
    works->force[i] += step * side->end.force;
    works->friction_torque[i] += step * side->friction;
    const double force_before = axle->wheel[j].force;
    axle->wheel[j] = side->end;
    axle->wheel[j].force_before = force_before;
  }
  if (axle->is_compliant) {
    const double turned = end->twist - axle->twist;
    works->shaft[i] += bw_driveline_contact(line, axle->twist, end->twist) * line->damping *
                       turned * turned / step;
    axle->machine_omega = end->machine_omega;
    axle->twist = end->twist;
  }
  axle->shaft_before = axle->shaft_torque;
  axle->shaft_gain = end->gain;
  axle->shaft_torque = end->shaft;
  const double after = axle->is_compliant ? axle->machine_omega : mean_omega(axle);
  const double angle = 0.5 * step * (before + after);
  const double machine = start->torques->machine[i] * angle;
  works->machine_brake[i] += fmax(machine, 0.0);
  works->machine_drive[i] += fmax(-machine, 0.0);
  works->angle[i] += angle;
}

/* retarding force of road load with the sign of the motion, and its size */
static double road_force(const struct bw_case *loaded, double speed) {
  const double size = bw_vehicle_road_load(&loaded->vehicle, fabs(speed));
  return speed > 0.0 ? size : (speed < 0.0 ? -size : 0.0);
}

/* force that wants to move the standing car, and what can hold it: brakes within the grip, and
 * rolling resistance */
static bool can_hold(const struct bw_case *loaded, const struct bw_slip_torques *torques,
                     struct bw_slip *slip) {
  const double per_radius = 1.0 / loaded->vehicle.tyre_radius;
  double push = torques->slope_force;
  double hold = loaded->vehicle.road_f0;
  for (int i = 0; i < 2; i++) {
    const struct bw_slip_axle *axle = &slip->axle[i];
    const double share = axle->sides > 1 ? 0.5 : 1.0;
    push -= (axle->is_compliant ? axle->shaft_torque : -torques->machine[i]) * per_radius;
    for (size_t j = 0; j < axle->sides; j++) {
      const double grip =
          loaded->slip.tyre.peak * torques->grip[j] * share * fmax(0.0, slip->load[i]);
      hold += fmin(torques->capacity[i][j] * per_radius, grip);
    }
  }
  if (torques->machine[0] >= 0.0 && torques->machine[1] >= 0.0) {
    slip->sums.shortfall = fmax(slip->sums.shortfall, fabs(torques->slope_force) - hold);
  }
  return fabs(push) <= hold;
}

/* true if a car that slowed from slip->speed to `speed` without passing 0 is as good as at rest */
static bool has_faded(const struct bw_case *loaded, const struct bw_slip_torques *torques,
                      double speed, struct bw_slip *slip) {
  return fabs(speed) < REST_SPEED && fabs(speed) < fabs(slip->speed) &&
         can_hold(loaded, torques, slip);
}

static void come_to_rest(const struct bw_case *loaded, struct bw_slip *slip,
                         struct bw_slip_works *works) {
  works->tyre[0] += 0.5 * load_mass(loaded) * slip->speed * slip->speed;
  slip->speed = 0.0;
  slip->deceleration = 0.0;
  slip->is_held = true;
  slip->rest_time = 0.0;
  for (int i = 0; i < 2; i++) {
    struct bw_slip_axle *axle = &slip->axle[i];
    for (size_t j = 0; j < axle->sides; j++) {
      works->tyre[i] += 0.5 * axle->inertia * axle->wheel[j].omega * axle->wheel[j].omega;
      axle->wheel[j] = (struct bw_slip_wheel){0};
    }
  }
}

/* the car stands: only machines behind shafts move; false when it starts to move */
static bool stay(const struct bw_case *loaded, const struct bw_slip_torques *torques, double step,
                 struct bw_slip *slip, struct bw_slip_works *works) {
  if (!can_hold(loaded, torques, slip)) {
    slip->is_held = false;
    return false;
  }
  const struct start start = {loaded, slip, torques, step};
  for (int i = 0; i < 2; i++) {
    struct axle_end end = {.gain = slip->axle[i].shaft_gain};
    if (slip->axle[i].is_compliant) {
      step_shaft(&start, i, &end);
      close_axle(&start, i, 0.0, &end, &slip->axle[i], works);
    }
  }
  slip->rest_time += step;
  slip->sums.held += step;
  return true;
}

void bw_slip_step(const struct bw_case *loaded, const struct bw_slip_torques *torques, double step,
                  struct bw_slip *slip, struct bw_slip_works *works) {
  if (slip->is_held && stay(loaded, torques, step, slip, works)) {
    return;
  }
  const double mass = load_mass(loaded);
  const double middle = slip->speed - 0.5 * step * slip->deceleration;
  const double road = road_force(loaded, middle);
  struct start start = {loaded, slip, torques, step};
  struct axle_end end[2];
  memset(end, 0, sizeof end);
  for (int i = 0; i < 2; i++) {
    end[i].gain = slip->axle[i].shaft_gain;
    for (size_t j = 0; j < slip->axle[i].sides; j++) {
      const struct bw_slip_wheel *wheel = &slip->axle[i].wheel[j];
      end[i].side[j].end.force = 2.0 * wheel->force - wheel->force_before;
    }
  }
  double speed = 0.0;
  double force = 0.0;
  bool rests = false;
  for (;;) {
    step_axle(&start, 0, &end[0]);
    step_axle(&start, 1, &end[1]);
    force = road + torques->slope_force;
    for (int i = 0; i < 2; i++) {
      for (size_t j = 0; j < slip->axle[i].sides; j++) {
        force += end[i].side[j].end.force;
      }
    }
    speed = slip->speed - start.step * force / mass;
    if (rests || speed * slip->speed >= 0.0 || !can_hold(loaded, torques, slip)) {
      break;
    }
    rests = true;
    start.step *= slip->speed / (slip->speed - speed);
  }
  const double mean = 0.5 * (slip->speed + speed);
  works->distance += mean * start.step;
  works->road += road * mean * start.step;
  for (int i = 0; i < 2; i++) {
    close_axle(&start, i, mean, &end[i], &slip->axle[i], works);
  }
  rests = rests || has_faded(loaded, torques, speed, slip);
  slip->deceleration = force / mass;
  slip->speed = speed;
  if (rests) {
    come_to_rest(loaded, slip, works);
  }
}
