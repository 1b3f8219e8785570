/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/hot.h"

#include "sim/hot_stages.h"

/* torque x way of the road -> work at the axle */
BW_HOT_INLINE void hot_to_work(const struct bw_hot_coefficients *restrict c,
                               struct bw_hot_sums *restrict s) {
  for (size_t i = 0; i < 2; i++) {
    for (size_t l = 0; l < BW_LANES; l++) {
      s->tyre[i][l] *= c->per_radius[l];
      s->machine_brake[i][l] *= c->per_radius[l];
      s->machine_drive[i][l] *= c->per_radius[l];
      s->friction[i][l] *= c->per_radius[l];
    }
  }
}

/* torques of axle `i`, added to the car's total */
BW_HOT_INLINE void hot_torques(const struct bw_hot_coefficients *restrict c,
                               const struct bw_hot_period *restrict p,
                               struct bw_hot_state *restrict x, struct bw_hot_torques *restrict t,
                               size_t k, const size_t i, const bool has_machine,
                               const bool has_friction) {
  if (has_machine) {
    hot_machine(c, p, x, t, i, k);
  }
  if (has_friction) {
    hot_friction(c, p, x, t, i, k);
  }
  for (size_t l = 0; l < BW_LANES; l++) {
    t->total[l] +=
        (has_machine ? t->machine[i][l] : 0.0) + (has_friction ? t->friction[i][l] : 0.0);
  }
}

/* One period's worth of sub-steps with the flags known to the compiler. State and sums are local,
 * so they stay in registers; the two axles are written out because a loop over them would hide
 * the flags again. */
BW_HOT_INLINE void hot_loop(const struct bw_hot_coefficients *restrict c,
                            const struct bw_hot_period *restrict p,
                            struct bw_hot_state *restrict state, struct bw_hot_sums *restrict sums,
                            double (*restrict delivered)[BW_LANES], const unsigned flags) {
  const bool front = (flags & BW_HOT_FRONT_MACHINE) != 0;
  const bool rear = (flags & BW_HOT_REAR_MACHINE) != 0;
  const bool friction = (flags & BW_HOT_FRICTION) != 0;
  struct bw_hot_state x = *state;
  struct bw_hot_sums s = {0};
  const size_t substeps = c->substeps;
  for (size_t k = 0; k < substeps; k++) {
    struct bw_hot_torques t = {0};
    struct bw_hot_motion m;
    hot_torques(c, p, &x, &t, k, 0, front, friction);
    hot_torques(c, p, &x, &t, k, 1, rear, friction);
    hot_move(c, p, &x, &s, t.total, &m, (flags & BW_HOT_STANDSTILL) != 0);
    if (front || friction) {
      hot_work(c, p, &t, &m, &s, 0, front, friction);
    }
    if (rear || friction) {
      hot_work(c, p, &t, &m, &s, 1, rear, friction);
    }
    for (size_t l = 0; l < BW_LANES; l++) {
      delivered[k][l] = t.total[l];
    }
  }
  *state = x;
  hot_to_work(c, &s);
  *sums = s;
}

/* one compiled copy per combination of flags */
#define HOT_COPY(flags)                                                                            \
  case (flags):                                                                                    \
    hot_loop(coefficients, period, state, sums, delivered, (flags));                               \
    break

void bw_hot_run(const struct bw_hot_coefficients *restrict coefficients,
                const struct bw_hot_period *restrict period, struct bw_hot_state *restrict state,
                struct bw_hot_sums *restrict sums, double (*restrict delivered)[BW_LANES],
                unsigned flags) {
  switch (flags) {
    HOT_COPY(0u);
    HOT_COPY(1u);
    HOT_COPY(2u);
    HOT_COPY(3u);
    HOT_COPY(4u);
    HOT_COPY(5u);
    HOT_COPY(6u);
    HOT_COPY(7u);
    HOT_COPY(8u);
    HOT_COPY(9u);
    HOT_COPY(10u);
    HOT_COPY(11u);
    HOT_COPY(12u);
    HOT_COPY(13u);
    HOT_COPY(14u);
    HOT_COPY(15u);
  default:
    BW_ASSERT(flags <= 15u);
  }
}

void bw_hot_park(const struct bw_hot_coefficients *restrict whole,
                 const struct bw_hot_period *restrict period, struct bw_hot_state *restrict state,
                 struct bw_hot_sums *restrict sums) {
  struct bw_hot_sums s = {0};
  struct bw_hot_torques t;
  for (size_t i = 0; i < 2; i++) {
    hot_machine(whole, period, state, &t, i, 0);
    hot_friction(whole, period, state, &t, i, 0);
    for (size_t l = 0; l < BW_LANES; l++) {
      s.machine_torque[i][l] = t.machine[i][l];
      s.friction_torque[i][l] = t.friction[i][l];
    }
  }
  *sums = s;
}
