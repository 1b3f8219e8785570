/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/slip_wheel.h"

#include "extrema.h"

#include <math.h>

enum { NEWTON_MOST = 60 };

/* of the axle load; the last Newton step is still taken, which leaves about the square of it. The
 * ledger closes whatever the force: this is accuracy only. */
static const double FORCE_TOLERANCE = 1e-6;
/* least slope of the force equation that a Newton step trusts */
static const double LEAST_SLOPE = 0.05;

/* the wheel's speed at the point theta as a straight line of the force */
struct line {
  double base; /* rad/s at no force */
  double per_newton;
};

/* constants of one step */
struct point {
  double theta;
  double speed; /* m/s at the point */
  double late;  /* s, theta x step */
};

/* z of the header, and theta from it */
static double theta_of(const struct bw_tyre *tyre, const struct bw_slip_wheel *wheel,
                       const struct bw_slip_action *action) {
  const double floor_speed =
      bw_max(bw_max(fabs(action->speed), fabs(action->radius * wheel->omega)), tyre->low_speed);
  double z = action->step * floor_speed;
  if (tyre->relaxation > 0.0) {
    z /= tyre->relaxation;
  } else {
    z = action->step * action->radius * action->radius * tyre->stiffness * action->load /
        (action->inertia * floor_speed);
  }
  return z > 2.0 ? 1.0 - 1.0 / z : 0.5;
}

/* slip at the point with wheel speed `omega`, and its derivative by omega */
static double slip_at(const struct bw_tyre *tyre, const struct bw_slip_wheel *wheel,
                      const struct point *point, double radius, double omega, double *per_omega) {
  const double rim = radius * omega;
  const double body = fabs(point->speed);
  const double size = bw_max(bw_max(body, fabs(rim)), tyre->low_speed);
  const bool is_rim = fabs(rim) >= size;
  const double below = tyre->relaxation + point->late * size;
  const double slip = (tyre->relaxation * wheel->slip + point->late * (point->speed - rim)) / below;
  const double size_per_omega = is_rim ? (rim > 0.0 ? radius : -radius) : 0.0;
  *per_omega = point->late * (-radius - slip * size_per_omega) / below;
  return slip;
}

/* Force at the point: F - N mu(s(w(F))) = 0 by Newton's method from the guess, kept between
 * the greatest forces that the curve can give; a step that leaves them is replaced by halving. */
static double solve_force(const struct bw_tyre *tyre, const struct bw_slip_wheel *wheel,
                          const struct bw_slip_action *action, const struct point *point,
                          const struct line *line, double *slip) {
  const double tolerance = FORCE_TOLERANCE * action->load;
  double high = action->load * action->grip * tyre->peak + tolerance;
  double low = -high;
  double force = bw_max(low, action->guess < high ? action->guess : high);
  for (int i = 0; i < NEWTON_MOST; i++) {
    double per_omega = 0.0;
    double per_slip = 0.0;
    const double omega = line->base + line->per_newton * force;
    *slip = slip_at(tyre, wheel, point, action->radius, omega, &per_omega);
    const double missing =
        force - action->load * bw_tyre_friction(tyre, action->grip, *slip, &per_slip);
    low = missing < 0.0 ? force : low;
    high = missing < 0.0 ? high : force;
    const double slope = 1.0 - action->load * per_slip * per_omega * line->per_newton;
    const double next = force - missing / bw_max(slope, LEAST_SLOPE);
    const bool is_inside = next > low && next < high;
    const double before = force;
    force = is_inside ? next : 0.5 * (low + high);
    if (fabs(missing) <= tolerance) {
      force = next;
      *slip += per_omega * line->per_newton * (force - before);
      break;
    }
  }
  return force;
}

/* a step with the friction torque given */
static void roll(const struct bw_tyre *tyre, const struct bw_slip_wheel *wheel,
                 const struct bw_slip_action *action, const struct point *point, double friction,
                 struct bw_slip_outcome *out) {
  const double per_inertia = 1.0 / action->inertia;
  const double torque = action->drive + friction;
  const struct line line = {
      .base = wheel->omega - point->late * torque * per_inertia,
      .per_newton = point->late * action->radius * per_inertia,
  };
  double slip = 0.0;
  const double force = solve_force(tyre, wheel, action, point, &line, &slip);
  out->friction = friction;
  out->end.force = force;
  out->end.omega = wheel->omega + action->step * (action->radius * force - torque) * per_inertia;
  out->end.slip = tyre->relaxation > 0.0 ? wheel->slip + (slip - wheel->slip) / point->theta : slip;
}

/* a step that ends at rest; false when the brake is too weak for the torque it takes */
static bool stand(const struct bw_tyre *tyre, const struct bw_slip_wheel *wheel,
                  const struct bw_slip_action *action, const struct point *point,
                  struct bw_slip_outcome *out) {
  double slope = 0.0;
  const double omega = (1.0 - point->theta) * wheel->omega;
  const double slip = slip_at(tyre, wheel, point, action->radius, omega, &slope);
  const double force = action->load * bw_tyre_friction(tyre, action->grip, slip, &slope);
  const double reaction =
      action->radius * force - action->drive + action->inertia * wheel->omega / action->step;
  out->friction = reaction;
  if (fabs(reaction) > action->capacity) {
    return false;
  }
  out->end.force = force;
  out->end.omega = 0.0;
  out->end.slip = tyre->relaxation > 0.0 ? wheel->slip + (slip - wheel->slip) / point->theta : slip;
  return true;
}

void bw_slip_wheel_step(const struct bw_tyre *tyre, const struct bw_slip_wheel *wheel,
                        const struct bw_slip_action *action, struct bw_slip_outcome *out) {
  struct point point = {.theta = theta_of(tyre, wheel, action)};
  point.late = point.theta * action->step;
  point.speed = action->speed - point.late * action->deceleration;
  if (!(action->capacity > 0.0)) {
    roll(tyre, wheel, action, &point, 0.0, out);
    return;
  }
  const bool stood = !(fabs(wheel->omega) > 0.0);
  if (stood) {
    if (stand(tyre, wheel, action, &point, out)) {
      return;
    }
    /* the tyre turns the wheel against the brake, out->friction is not set yet */
    double slope = 0.0;
    const double slip = slip_at(tyre, wheel, &point, action->radius, 0.0, &slope);
    const double turning =
        action->radius * action->load * bw_tyre_friction(tyre, action->grip, slip, &slope) -
        action->drive;
    roll(tyre, wheel, action, &point, turning > 0.0 ? action->capacity : -action->capacity, out);
    return;
  }
  const double friction = wheel->omega > 0.0 ? action->capacity : -action->capacity;
  roll(tyre, wheel, action, &point, friction, out);
  /* friction never turns a wheel round: one that would pass rest is held there if it can be, else
   * the brake works against the new direction */
  if (out->end.omega * wheel->omega <= 0.0) {
    struct bw_slip_outcome held;
    if (stand(tyre, wheel, action, &point, &held)) {
      *out = held;
    } else if (held.friction * friction < 0.0) {
      roll(tyre, wheel, action, &point, -friction, out);
    }
  }
}
