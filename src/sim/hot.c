/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/hot.h"

#include "sim/hot_stages.h"

void bw_hot_sort_steps(struct bw_hot_coefficients *coefficients) {
  struct bw_hot_coefficients *c = coefficients;
  for (size_t k = 0; k < c->substeps; k++) {
    c->is_mixed[k] = false;
    for (size_t i = 0; i < 2; i++) {
      c->machine_is_new[i][k] = c->machine_new[i][k][0] > 0.5;
      c->friction_is_new[i][k] = c->friction_new[i][k][0] > 0.5;
      const double machine = c->machine_is_new[i][k] ? 1.0 : 0.0;
      const double friction = c->friction_is_new[i][k] ? 1.0 : 0.0;
      for (size_t l = 0; l < BW_LANES; l++) {
        const bool is_whole =
            !(c->machine_new[i][k][l] < machine) && !(c->machine_new[i][k][l] > machine) &&
            !(c->friction_new[i][k][l] < friction) && !(c->friction_new[i][k][l] > friction);
        c->is_mixed[k] = c->is_mixed[k] || !is_whole;
      }
    }
  }
}

/* where one actuator's state can go within the period */
struct hull {
  double low;
  double high;
};

BW_HOT_INLINE struct hull hull_of(double state, double old, double step) {
  const double fresh = old + step;
  return (struct hull){bw_min(state, bw_min(old, fresh)), bw_max(state, bw_max(old, fresh))};
}

BW_HOT_INLINE bool machine_is_calm(const struct bw_hot_coefficients *c,
                                   const struct bw_hot_period *p, const struct bw_hot_state *x,
                                   size_t i, size_t l) {
  const struct hull hull = hull_of(x->machine[i][l], p->machine_old[i][l], p->machine_step[i][l]);
  return (hull.high - hull.low) * c->machine_gain[i][l] <= c->machine_room[i][l] &&
         hull.high <= p->machine_max[i][l] && hull.low >= p->machine_min[i][l] &&
         (hull.low >= 0.0 || hull.high <= 0.0);
}

BW_HOT_INLINE bool friction_is_calm(const struct bw_hot_coefficients *c,
                                    const struct bw_hot_period *p, const struct bw_hot_state *x,
                                    size_t i, size_t l) {
  const struct hull hull =
      hull_of(x->pressure[i][l], p->friction_old[i][l], p->friction_step[i][l]);
  return (hull.high - hull.low) * c->friction_gain[i][l] <= c->friction_room[i][l];
}

bool bw_hot_is_calm(const struct bw_hot_coefficients *coefficients,
                    const struct bw_hot_period *period, const struct bw_hot_state *state,
                    unsigned flags) {
  const unsigned fitted[2] = {BW_HOT_FRONT_MACHINE, BW_HOT_REAR_MACHINE};
  bool is_calm = true;
  for (size_t l = 0; l < BW_LANES; l++) {
    for (size_t i = 0; i < 2; i++) {
      if ((flags & fitted[i]) != 0) {
        is_calm = is_calm && machine_is_calm(coefficients, period, state, i, l);
      }
      if ((flags & BW_HOT_FRICTION) != 0) {
        is_calm = is_calm && friction_is_calm(coefficients, period, state, i, l);
      }
    }
  }
  return is_calm;
}

/* torques of axle `i`, added to the car's total */
/* NOLINTNEXTLINE(readability-function-size): inlined, arguments stay in registers */
BW_HOT_INLINE void hot_torques(const struct bw_hot_coefficients *restrict c,
                               const struct bw_hot_period *restrict p,
                               struct bw_hot_state *restrict x, struct bw_hot_torques *restrict t,
                               size_t k, const size_t i, const unsigned flags,
                               const struct bw_hot_kind kind) {
  const bool has_machine = (flags & (i == 0 ? BW_HOT_FRONT_MACHINE : BW_HOT_REAR_MACHINE)) != 0;
  const bool has_friction = (flags & BW_HOT_FRICTION) != 0;
  if (has_machine) {
    hot_machine(c, p, x, t, i, k, kind);
  }
  if (has_friction) {
    hot_friction(c, p, x, t, i, k, kind);
  }
  for (size_t l = 0; l < BW_LANES; l++) {
    t->total[l] +=
        (has_machine ? t->machine[i][l] : 0.0) + (has_friction ? t->friction[i][l] : 0.0);
  }
}

/* work of the torque whose moments are `sum`, J; what the tyre takes of it, slip T g - s0, is added
 * to *tyre */
BW_HOT_INLINE double hot_split(const struct bw_hot_coefficients *restrict c,
                               const struct bw_hot_period *restrict p,
                               const struct bw_hot_moments *restrict sum, size_t i, size_t l,
                               double *tyre) {
  const double scale = 0.5 * c->dt * c->per_radius[l];
  const double slipped = sum->slipped[l] * p->slip_gain[i][l] - sum->way[l] * p->slip_free[i][l];
  *tyre += slipped * scale;
  return (sum->way[l] - slipped) * scale;
}

/* what machine and friction of axle `i` did in lane `l` */
/* NOLINTNEXTLINE(readability-function-size): inlined, arguments stay in registers */
BW_HOT_INLINE void hot_close_axle(const struct bw_hot_coefficients *restrict c,
                                  const struct bw_hot_period *restrict p,
                                  const struct bw_hot_totals *restrict s,
                                  struct bw_hot_sums *restrict out, const size_t i, size_t l,
                                  const unsigned flags) {
  const bool has_machine = (flags & (i == 0 ? BW_HOT_FRONT_MACHINE : BW_HOT_REAR_MACHINE)) != 0;
  const bool has_friction = (flags & BW_HOT_FRICTION) != 0;
  const bool is_calm = (flags & BW_HOT_CALM) != 0;
  double braked = 0.0;
  double driven = 0.0;
  double rubbed = 0.0;
  double tyre = 0.0;
  double torque = 0.0;
  double square = 0.0;
  if (has_machine) {
    const struct bw_hot_moments *braking = &s->braking[i];
    const struct bw_hot_moments *driving = &s->driving[i];
    const double first = hot_split(c, p, braking, i, l, &tyre);
    const double second = is_calm ? 0.0 : hot_split(c, p, driving, i, l, &tyre);
    /* a calm machine that drives was summed as if it braked */
    const bool is_drive = is_calm && braking->torque[l] < 0.0;
    const double to_drive = c->to_shaft_drive[i][l] * c->to_shaft_drive[i][l];
    const double to_brake = c->to_shaft_brake[i][l] * c->to_shaft_brake[i][l];
    braked = is_drive ? 0.0 : first;
    driven = is_drive ? first : second;
    square = braking->square[l] * (is_drive ? to_drive : to_brake);
    torque = braking->torque[l];
    if (!is_calm) {
      square += driving->square[l] * to_drive;
      torque += driving->torque[l];
    }
  }
  if (has_friction) {
    rubbed = hot_split(c, p, &s->friction[i], i, l, &tyre);
  }
  out->machine_brake[i][l] = braked;
  out->machine_drive[i][l] = -driven;
  out->friction[i][l] = rubbed;
  out->tyre[i][l] = tyre;
  out->machine_torque[i][l] = torque;
  out->friction_torque[i][l] = has_friction ? s->friction[i].torque[l] : 0.0;
  out->shaft_square[i][l] = square;
}

/* sums of the loop -> works and mean torques of the period */
BW_HOT_INLINE void hot_close(const struct bw_hot_coefficients *restrict c,
                             const struct bw_hot_period *restrict p,
                             const struct bw_hot_totals *restrict s,
                             struct bw_hot_sums *restrict out, const unsigned flags) {
  for (size_t l = 0; l < BW_LANES; l++) {
    const double half = 0.5 * c->dt;
    out->distance[l] = half * s->way[l];
    out->road[l] = half * (c->road_f0[l] * s->way[l] + s->road[l] * c->mass_per_dt[l]);
    hot_close_axle(c, p, s, out, 0, l, flags);
    hot_close_axle(c, p, s, out, 1, l, flags);
  }
}

/* one sub-step */
/* NOLINTNEXTLINE(readability-function-size): inlined, arguments stay in registers */
BW_HOT_INLINE void hot_step(const struct bw_hot_coefficients *restrict c,
                            const struct bw_hot_period *restrict p, struct bw_hot_state *restrict x,
                            struct bw_hot_totals *restrict s, double *restrict delivered, size_t k,
                            const unsigned flags, const bool is_mixed) {
  const struct bw_hot_kind kind = {.is_calm = (flags & BW_HOT_CALM) != 0, .is_mixed = is_mixed};
  const bool friction = (flags & BW_HOT_FRICTION) != 0;
  const bool front = (flags & BW_HOT_FRONT_MACHINE) != 0;
  const bool rear = (flags & BW_HOT_REAR_MACHINE) != 0;
  struct bw_hot_torques t = {0};
  double w[BW_LANES];
  hot_torques(c, p, x, &t, k, 0, flags, kind);
  hot_torques(c, p, x, &t, k, 1, flags, kind);
  hot_move(c, p, x, s, t.total, w, (flags & BW_HOT_STANDSTILL) != 0);
  if (front || friction) {
    hot_work(&t, w, s, 0, front, friction, kind.is_calm);
  }
  if (rear || friction) {
    hot_work(&t, w, s, 1, rear, friction, kind.is_calm);
  }
  for (size_t l = 0; l < BW_LANES; l++) {
    delivered[l] = t.total[l];
  }
}

/* One period's worth of sub-steps with the flags known to the compiler. State and sums are local,
 * so they stay in registers; the two axles are written out because a loop over them would hide
 * the flags again. */
BW_HOT_INLINE void hot_loop(const struct bw_hot_coefficients *restrict c,
                            const struct bw_hot_period *restrict p,
                            struct bw_hot_state *restrict state, struct bw_hot_sums *restrict sums,
                            double (*restrict delivered)[BW_LANES], const unsigned flags) {
  struct bw_hot_state x = *state;
  struct bw_hot_totals s = {0};
  const size_t substeps = c->substeps;
  for (size_t k = 0; k < substeps; k++) {
    if (c->is_mixed[k]) {
      hot_step(c, p, &x, &s, delivered[k], k, flags, true);
    } else {
      hot_step(c, p, &x, &s, delivered[k], k, flags, false);
    }
  }
  *state = x;
  hot_close(c, p, &s, sums, flags);
}

/* compiled copies of the loop, one per combination of flags */
#define HOT_COPY(flags)                                                                            \
  case (flags):                                                                                    \
    hot_loop(coefficients, period, state, sums, delivered, (flags));                               \
    break
#define HOT_COPIES_4(flags)                                                                        \
  HOT_COPY(flags);                                                                                 \
  HOT_COPY((flags) + 1u);                                                                          \
  HOT_COPY((flags) + 2u);                                                                          \
  HOT_COPY((flags) + 3u)

void bw_hot_run(const struct bw_hot_coefficients *restrict coefficients,
                const struct bw_hot_period *restrict period, struct bw_hot_state *restrict state,
                struct bw_hot_sums *restrict sums, double (*restrict delivered)[BW_LANES],
                unsigned flags) {
  switch (flags) {
    HOT_COPIES_4(0u);
    HOT_COPIES_4(4u);
    HOT_COPIES_4(8u);
    HOT_COPIES_4(12u);
    HOT_COPIES_4(16u);
    HOT_COPIES_4(20u);
    HOT_COPIES_4(24u);
    HOT_COPIES_4(28u);
  default:
    BW_ASSERT(flags <= 31u);
  }
}

void bw_hot_park(const struct bw_hot_coefficients *restrict whole,
                 const struct bw_hot_period *restrict period, struct bw_hot_state *restrict state,
                 struct bw_hot_sums *restrict sums) {
  const struct bw_hot_kind any = {.is_calm = false, .is_mixed = true};
  struct bw_hot_sums s = {0};
  struct bw_hot_torques t;
  for (size_t i = 0; i < 2; i++) {
    hot_machine(whole, period, state, &t, i, 0, any);
    hot_friction(whole, period, state, &t, i, 0, any);
    for (size_t l = 0; l < BW_LANES; l++) {
      s.machine_torque[i][l] = t.machine[i][l];
      s.friction_torque[i][l] = t.friction[i][l];
    }
  }
  *sums = s;
}
