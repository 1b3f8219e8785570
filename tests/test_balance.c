/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Axle balance against worked values. */
#include "assess/balance.h"
#include "check.h"
#include "samples.h"

struct oracle {
  double front_share;
  double z;
  double used[2];
  bool is_kept;
  double rounding; /**< half of the last digit printed */
};

/* P = 1800 kg, E = 2.8 m, h = 0.55 m, 50/50 static; derived by statics, order of curves as read in
 * 71/320/EEC Annex II App. 3.1.1. With c = 0.7 the k line is kept wherever the order is. */
static const struct oracle ORACLES[] = {
    {0.7, 0.15, {0.1983, 0.0956}, true, 5e-5},  {0.7, 0.80, {0.8522, 0.7000}, true, 5e-5},
    {0.6, 0.50, {0.5015, 0.4978}, true, 5e-5},  {0.6, 0.80, {0.7304, 0.9333}, false, 5e-5},
    {0.5, 0.15, {0.1417, 0.1594}, false, 5e-5}, {0.0, 0.20, {0.0, 0.434}, false, 5e-4},
};

static void curves_and_order_match_worked_values(void **state) {
  (void)state;
  const double weight = 1800.0 * BW_GRAVITY;
  for (size_t i = 0; i < sizeof ORACLES / sizeof ORACLES[0]; i++) {
    const struct oracle *o = &ORACLES[i];
    const double total = o->z * weight;
    const double force[2] = {o->front_share * total, (1.0 - o->front_share) * total};
    const double moved = o->z * 0.55 / 2.8 * weight;
    const double load[2] = {0.5 * weight + moved, 0.5 * weight - moved};
    const struct bw_balance_check check = bw_balance_check(force, load, weight, 0.7);
    CHECK_CLOSE(check.braking_rate, o->z, 1e-12);
    CHECK_CLOSE(check.used[0], o->used[0], o->rounding * 1.01);
    CHECK_CLOSE(check.used[1], o->used[1], o->rounding * 1.01);
    assert_int_equal(check.margin >= 0.0, o->is_kept);
  }
}

/* k = 0.2 / 0.4 / 0.6 / 0.8 needs z = 0.10 / 0.27 / 0.44 / 0.61 with c = 0.85 and 0.10 / 0.24 /
 * 0.38 / 0.52 with c = 0.7; derived from z >= 0.1 + c (k - 0.2), EU 2015/68 Annex II App. 1 */
static void line_matches_worked_values(void **state) {
  (void)state;
  const double k[] = {0.2, 0.4, 0.6, 0.8};
  const double slope[] = {0.85, 0.7};
  const double z[2][4] = {{0.10, 0.27, 0.44, 0.61}, {0.10, 0.24, 0.38, 0.52}};
  for (size_t c = 0; c < 2; c++) {
    for (size_t i = 0; i < 3; i++) {
      CHECK_CLOSE(bw_balance_line(z[c][i], slope[c]), k[i], 1e-12);
    }
    CHECK_CLOSE(bw_balance_line(z[c][3] - 1e-9, slope[c]), k[3], 1e-8);
    assert_true(isinf(bw_balance_line(z[c][3] + 1e-9, slope[c])));
    CHECK_CLOSE(bw_balance_line(0.03, slope[c]), 0.2, 0.0);
  }
}

/* one braked axle breaks the k line from f = 0.2 on: rear z = 0.2 a/(L + 0.2 h), derived; RV-1 */
static void rear_alone_breaks_the_line_at_the_closed_form(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  const struct bw_judge judge = bw_judge_make(made);
  const double weight = judge.mass * BW_GRAVITY;
  const double z_line = 0.2 * 1.20 / (2.70 + 0.2 * 0.54);
  for (int side = -1; side <= 1; side += 2) {
    const double z = z_line * (1.0 + 1e-6 * side);
    double load[2];
    bw_vehicle_axle_loads(&made->vehicle, 0.0, z * BW_GRAVITY, load);
    const double force[2] = {0.0, z * weight};
    const double margin = bw_balance_check(force, load, weight, 0.85).margin;
    assert_int_equal(margin > 0.0, side < 0);
  }
  free_case(made);
}

static struct bw_balance watch_spells(const struct bw_judge *judge, const int *periods, size_t n) {
  struct bw_balance balance = bw_balance_start(judge);
  const double strong = 2.0 * judge->mass * judge->radius; /* z = 0.2 by the rear alone: broken */
  size_t k = 0;
  for (size_t i = 0; i < n; i++) {
    for (int j = 0; j < periods[i]; j++) {
      struct sample_torques torques = {.demand = strong};
      torques.friction[0] = i % 2 == 0 ? 0.0 : 0.6 * strong;
      torques.friction[1] = strong - torques.friction[0];
      const struct bw_sample sample = sample_held(judge, 0.01 * (double)k++, 20.0, 0.01, &torques);
      struct bw_period period;
      bw_period_read(judge, &sample, &period);
      bw_balance_watch(&balance, &sample, &period);
    }
  }
  return balance;
}

static void short_spells_are_lag_and_long_ones_count(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  const struct bw_judge judge = bw_judge_make(made);
  const int periods[] = {4, 3, 5, 2, 8, 1, 1};
  const struct bw_balance balance = watch_spells(&judge, periods, 7);
  CHECK_CLOSE(balance.count, 2.0, 0.0);
  CHECK_CLOSE(balance.time, 0.13, 1e-12);
  CHECK_CLOSE(balance.energy, 13.0 * 2.0 * 1500.0 * 0.01 * 19.99, 1e-6);
  /* f_2 = z W / N_2 with f_1 = 0: the order is worse than the k line */
  double load[2];
  bw_vehicle_axle_loads(&made->vehicle, 0.0, 2.0, load);
  CHECK_CLOSE(balance.worst, -2.0 * 1500.0 / load[1], 1e-9);
  CHECK_CLOSE(balance.adhesion_time, 0.0, 0.0);
  const int one[] = {4};
  const struct bw_balance lag = watch_spells(&judge, one, 1);
  CHECK_CLOSE(lag.count, 0.0, 0.0);
  assert_true(isinf(lag.worst)); /* nothing that counts was seen */
  free_case(made);
}

/* RV-1, rear braked alone: greatest z before lock mu a/(L + mu h), mu 0.2: 0.0855, derived
 * (BAL-6); just above it the grip is exceeded */
static void grip_is_exceeded_at_the_closed_form(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  made->vehicle.adhesion = 0.2;
  const struct bw_judge judge = bw_judge_make(made);
  const double z_lock = 0.2 * 1.20 / (2.70 + 0.2 * 0.54);
  CHECK_CLOSE(z_lock, 0.0855, 5e-5);
  for (int side = -1; side <= 1; side += 2) {
    struct bw_balance balance = bw_balance_start(&judge);
    const double torque = z_lock * (1.0 + 1e-6 * side) * judge.mass * BW_GRAVITY * judge.radius;
    const struct sample_torques torques = {.demand = torque, .machine = {0.0, torque}};
    const struct bw_sample sample = sample_held(&judge, 0.0, 20.0, 0.01, &torques);
    struct bw_period period;
    bw_period_read(&judge, &sample, &period);
    bw_balance_watch(&balance, &sample, &period);
    CHECK_CLOSE(balance.adhesion_time, side > 0 ? 0.01 : 0.0, 0.0);
  }
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(curves_and_order_match_worked_values),
      cmocka_unit_test(line_matches_worked_values),
      cmocka_unit_test(rear_alone_breaks_the_line_at_the_closed_form),
      cmocka_unit_test(short_spells_are_lag_and_long_ones_count),
      cmocka_unit_test(grip_is_exceeded_at_the_closed_form),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
