/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/hot.h"

#include "sim/hot_stages.h"

/* Copy one period's worth of sub-steps with the flags known to the compiler. State and sums are
 * local, so they stay in registers. */
BW_HOT_INLINE void hot_loop(const struct bw_hot_coefficients *restrict c,
                            const struct bw_hot_period *restrict p,
                            struct bw_hot_state *restrict state, struct bw_hot_sums *restrict sums,
                            double (*restrict delivered)[BW_LANES], const unsigned flags) {
  const bool has_machine[2] = {(flags & BW_HOT_FRONT_MACHINE) != 0,
                               (flags & BW_HOT_REAR_MACHINE) != 0};
  const bool has_friction = (flags & BW_HOT_FRICTION) != 0;
  struct bw_hot_state x = *state;
  struct bw_hot_sums s = {0};
  for (size_t k = 0; k < c->substeps; k++) {
    struct bw_hot_torques t;
    struct bw_hot_motion m;
    double total[BW_LANES] = {0.0};
    for (size_t i = 0; i < 2; i++) {
      if (has_machine[i]) {
        hot_machine(c, p, &x, &t, i, k);
        for (size_t l = 0; l < BW_LANES; l++) {
          total[l] += t.machine[i][l];
        }
      }
      if (has_friction) {
        hot_friction(c, p, &x, &t, i, k);
        for (size_t l = 0; l < BW_LANES; l++) {
          total[l] += t.friction[i][l];
        }
      }
    }
    hot_move(c, p, &x, &s, total, &m, (flags & BW_HOT_STANDSTILL) != 0);
    hot_work(c, p, &t, &m, &s, 0, has_machine[0], has_friction);
    hot_work(c, p, &t, &m, &s, 1, has_machine[1], has_friction);
    for (size_t l = 0; l < BW_LANES; l++) {
      delivered[k][l] = total[l];
    }
  }
  *state = x;
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
