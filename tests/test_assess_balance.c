/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "alloc.h"
#include "assess/balance_rules.h"
#include "assess_rows.h"
#include "batch/assess_balance.h"
#include "check.h"
#include "make_case.h"
#include "sim/probe.h"
#include "strategies/registry.h"

#include <stdio.h>
#include <string.h>

/** Balance curves, orders and lock points against closed forms (RV-1: a 1.20, b 1.50, L 2.70,
 *  h 0.54 m) and against published rules. Marks: read, quoted, from memory, derived. */

static const double KMH = 1.0 / 3.6;

/* RV-1 with rigid brakes of front share 0.65 */
static struct bw_case *car_065(void) {
  struct bw_case *made = make_case();
  made->brakes.axle[BW_FRONT].per_pressure = 0.65 * 1e-3;
  made->brakes.axle[BW_REAR].per_pressure = 0.35 * 1e-3;
  return made;
}

static struct bw_probe_result probe_once(const struct bw_case *made,
                                         const struct bw_blend_strategy *strategy, double rate) {
  struct bw_prober *prober = NULL;
  struct bw_probe_result found = {0};
  double params[64] = {0.0};
  bw_case_strategy_params(made, strategy, params);
  const struct bw_probe_setting setting = {
      .speed = 53.0 * KMH, .charge = 0.5, .has_regeneration = true};
  assert_int_equal(bw_prober_create(made, strategy, params, NULL, &prober, NULL), BW_OK);
  assert_int_equal(bw_probe(prober, &setting, rate, &found, NULL), BW_OK);
  bw_prober_destroy(prober);
  return found;
}

static void fixed_share_meets_the_closed_form(void **state) {
  (void)state;
  struct bw_case *made = car_065();
  /* BAL-4, derived: k_f = beta z L/(b + z h), k_r = (1 - beta) z L/(a - z h) */
  static const double table[][3] = {{0.15, 0.1665, 0.1267}, {0.30, 0.3168, 0.2731},
                                    {0.45, 0.4531, 0.4444}, {0.50, 0.4958, 0.5081},
                                    {0.60, 0.5773, 0.6473}, {0.80, 0.7267, 0.9844}};
  for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
    const double z = table[i][0];
    const struct bw_probe_result found = probe_once(made, &TEST_FRICTION, z);
    assert_true(found.is_settled);
    CHECK_CLOSE(found.rate, z, 1e-9);
    CHECK_CLOSE(found.used[0], 0.65 * z * 2.7 / (1.5 + z * 0.54), 1e-9);
    CHECK_CLOSE(found.used[1], 0.35 * z * 2.7 / (1.2 - z * 0.54), 1e-9);
    CHECK_CLOSE(found.used[0], table[i][1], 6e-5);
    CHECK_CLOSE(found.used[1], table[i][2], 6e-5);
  }
  free_case(made);
}

static void lag_and_dead_time_leave_no_trace(void **state) {
  (void)state;
  struct bw_case *made = car_065();
  make_friction_delay(made, 0.047, 0.31);
  make_machine(made, BW_REAR, 900.0, 1e6);
  made->machine[BW_REAR].dead_time = 0.013;
  made->machine[BW_REAR].lag = 0.11;
  const struct bw_probe_result slow = probe_once(made, &TEST_SIXTY, 0.37);
  make_friction_delay(made, 0.0, 0.0);
  made->machine[BW_REAR].dead_time = made->machine[BW_REAR].lag = 0.0;
  const struct bw_probe_result quick = probe_once(made, &TEST_SIXTY, 0.37);
  assert_true(slow.is_settled && quick.is_settled);
  for (int i = 0; i < 2; i++) {
    CHECK_CLOSE(slow.used[i], quick.used[i], 1e-9);
  }
  CHECK_CLOSE(slow.rate, 0.37, 1e-9);
  free_case(made);
}

static void pads_that_bite_less_shift_the_balance(void **state) {
  (void)state;
  struct bw_case *made = car_065();
  made->brakes.axle[BW_REAR].pad_scale = 0.8;
  const struct bw_probe_result found = probe_once(made, &TEST_FRICTION, 0.4);
  const double z = 0.4 * (0.65 + 0.35 * 0.8);
  CHECK_CLOSE(found.rate, z, 1e-9);
  CHECK_CLOSE(found.used[1], 0.4 * 0.35 * 0.8 * 2.7 / (1.2 - z * 0.54), 1e-9);
  free_case(made);
}

static void rear_that_locks_first_is_told_before_an_earlier_front(void **state) {
  (void)state;
  struct bw_case *made = car_065();
  make_machine(made, BW_FRONT, 1e5, 1e9);
  struct bw_balance_survey *found = bw_alloc(1, sizeof *found);
  assert_non_null(found);
  assert_int_equal(bw_balance_survey_find(made, &TEST_FILL, NULL, found, NULL), BW_OK);
  /* by the machine alone the front locks at z 0.5291; without it the rear does at 0.6972, BAL-5 */
  const struct bw_survey_lock *lock = &found->lock[BW_LOAD_UNLADEN][4];
  assert_int_equal(lock->axle, BW_REAR);
  assert_false(lock->charge < 1.0); /* a full battery takes nothing either */
  CHECK_CLOSE(lock->rate, 0.6972, 6e-5);
  bw_free(found);
  free_case(made);
}

static void ideal_distribution_uses_both_axles_alike(void **state) {
  (void)state;
  struct bw_case *made = car_065();
  /* BAL-2, derived: F_f, F_r in N */
  static const double table[][3] = {
      {0.1, 846.9, 624.6},   {0.2, 1752.7, 1190.3}, {0.3, 2717.4, 1697.1}, {0.4, 3740.9, 2145.1},
      {0.5, 4823.2, 2534.2}, {0.6, 5964.5, 2864.5}, {0.8, 8423.5, 3348.5}, {1.0, 11118.0, 3597.0}};
  const struct bw_blend_strategy *ideal = bw_strategy_find("ideal-distribution");
  for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
    const struct bw_probe_result found = probe_once(made, ideal, table[i][0]);
    CHECK_CLOSE(found.force[0], table[i][1], 0.06);
    CHECK_CLOSE(found.force[1], table[i][2], 0.06);
    CHECK_CLOSE(found.used[0], found.used[1], 1e-3);
  }
  free_case(made);
}

/* a strategy that never comes to rest */
static void swing(void *state, const struct bw_blend_info *info, const double *params,
                  const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)params;
  int *turn = state;
  *turn = !*turn;
  const double demand = input->demand_pedal + (*turn ? 50.0 : 0.0);
  *request = (struct bw_blend_request){{0.0, 0.0}, {0.6 * demand, 0.4 * demand}};
  (void)info;
}

/* the rear takes over slowly, so that a short look would see the front alone */
static void creep(void *state, const struct bw_blend_info *info, const double *params,
                  const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)params;
  double *rear = state;
  *rear = fmin(*rear + 0.1 * info->period, 0.4); /* share, 4 s in all */
  const double demand = input->demand_pedal;
  *request = (struct bw_blend_request){{0.0, 0.0}, {(1.0 - *rear) * demand, *rear * demand}};
}

/* the same in steps of 0.3 s, each of which looks like rest */
static void stride(void *state, const struct bw_blend_info *info, const double *params,
                   const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)info;
  (void)params;
  (void)state;
  const double rear = 0.1 * fmin(4.0, floor(input->time / 0.3));
  const double demand = input->demand_pedal;
  *request = (struct bw_blend_request){{0.0, 0.0}, {(1.0 - rear) * demand, rear * demand}};
}

static const struct bw_blend_strategy STRIDE = {.abi = BW_BLEND_ABI,
                                                .flags = BW_BLEND_WITHOUT_MACHINE,
                                                .name = "test-stride",
                                                .summary = "settles in strides",
                                                .step = stride};
static const struct bw_blend_strategy SWING = {.abi = BW_BLEND_ABI,
                                               .flags = BW_BLEND_WITHOUT_MACHINE,
                                               .name = "test-swing",
                                               .summary = "never settles",
                                               .state_size = sizeof(int),
                                               .step = swing};
static const struct bw_blend_strategy CREEP = {.abi = BW_BLEND_ABI,
                                               .flags = BW_BLEND_WITHOUT_MACHINE,
                                               .name = "test-creep",
                                               .summary = "settles after 4 s",
                                               .state_size = sizeof(double),
                                               .step = creep};

static void memory_is_waited_for(void **state) {
  (void)state;
  struct bw_case *made = car_065();
  const struct bw_probe_result found = probe_once(made, &CREEP, 0.41);
  assert_true(found.is_settled);
  CHECK_CLOSE(found.force[1] / (found.force[0] + found.force[1]), 0.4, 1e-9);
  assert_false(probe_once(made, &SWING, 0.41).is_settled);
  make_friction_delay(made, 0.1, 0.0); /* five times that is longer than a stride */
  const struct bw_probe_result last = probe_once(made, &STRIDE, 0.41);
  CHECK_CLOSE(last.force[1] / (last.force[0] + last.force[1]), 0.4, 1e-9);
  free_case(made);
}

static void single_axle_limits_are_the_closed_form(void **state) {
  (void)state;
  /* BAL-6, derived */
  static const double grip[] = {0.1, 0.2, 0.3, 0.5, 0.8};
  static const double front[] = {0.0567, 0.1157, 0.1773, 0.3086, 0.5291};
  static const double rear[] = {0.0436, 0.0855, 0.1258, 0.2020, 0.3065};
  for (size_t i = 0; i < 5; i++) {
    CHECK_CLOSE(bw_survey_grip((int)i), grip[i], 0.0);
    CHECK_CLOSE(bw_balance_single_axle(BW_FRONT, grip[i], 1.2, 2.7, 0.54), front[i], 6e-5);
    CHECK_CLOSE(bw_balance_single_axle(BW_REAR, grip[i], 1.2, 2.7, 0.54), rear[i], 6e-5);
  }
  /* BAL-7, derived: packed snow, m/s2 */
  CHECK_CLOSE(9.81 * bw_balance_single_axle(BW_REAR, 0.2, 1.2, 2.7, 0.54), 0.838, 1e-3);
  CHECK_CLOSE(9.81 * bw_balance_single_axle(BW_FRONT, 0.2, 1.2, 2.7, 0.54), 1.135, 1e-3);
}

static struct bw_balance_survey *survey(const struct bw_case *made,
                                        const struct bw_blend_strategy *strategy) {
  struct bw_balance_survey *found = bw_alloc(1, sizeof *found);
  assert_non_null(found);
  assert_int_equal(bw_balance_survey_find(made, strategy, NULL, found, NULL), BW_OK);
  return found;
}

static void first_lock_is_the_closed_form(void **state) {
  (void)state;
  struct bw_case *made = car_065();
  struct bw_balance_survey *found = survey(made, &TEST_FRICTION);
  /* BAL-5, derived: min of mu b/(L beta - mu h) and mu a/(L (1 - beta) + mu h) */
  static const double table[] = {0.0882, 0.0, 0.2825, 0.4938, 0.6972};
  for (int i = 0; i < BW_SURVEY_GRIPS; i++) {
    const double mu = bw_survey_grip(i);
    const double front = mu * 1.5 / (2.7 * 0.65 - mu * 0.54);
    const double rear = mu * 1.2 / (2.7 * 0.35 + mu * 0.54);
    const struct bw_survey_lock *lock = &found->lock[BW_LOAD_UNLADEN][i];
    assert_true(lock->is_found);
    assert_int_equal(lock->axle, front < rear ? BW_FRONT : BW_REAR);
    CHECK_CLOSE(lock->rate, fmin(front, rear), 1e-6);
    if (table[i] > 0.0) {
      CHECK_CLOSE(lock->rate, table[i], 6e-5);
    }
  }
  assert_int_equal((int)found->unsettled, 0);
  bw_free(found);
  free_case(made);
}

static void one_driven_axle_locks_where_statics_say(void **state) {
  (void)state;
  for (int axle = 0; axle < BW_AXLES; axle++) {
    struct bw_case *made = car_065();
    make_machine(made, axle, 1e5, 1e9);
    struct bw_balance_survey *found = survey(made, &TEST_MACHINE);
    for (int i = 0; i < BW_SURVEY_GRIPS; i++) {
      const struct bw_survey_lock *lock = &found->lock[BW_LOAD_UNLADEN][i];
      assert_int_equal(lock->axle, axle);
      CHECK_CLOSE(lock->rate, bw_balance_single_axle(axle, bw_survey_grip(i), 1.2, 2.7, 0.54),
                  1e-6);
    }
    bw_free(found);
    free_case(made);
  }
}

static void band_spans_regeneration_and_none(void **state) {
  (void)state;
  struct bw_case *made = car_065();
  make_machine(made, BW_REAR, 1e5, 1e9);
  struct bw_balance_survey *found = survey(made, &TEST_FILL);
  /* z 0.3: all of it at the rear, or as the brakes share it */
  const struct bw_survey_band *band = &found->band[BW_LOAD_LADEN][BW_SURVEY_ANY][10];
  CHECK_CLOSE(bw_survey_rate(10), 0.3, 1e-12);
  CHECK_CLOSE(band->low[0], 0.0, 1e-9);
  CHECK_CLOSE(band->high[0], 0.65 * 0.3 * 2.7 / (1.5 + 0.3 * 0.54), 1e-9);
  CHECK_CLOSE(band->low[1], 0.35 * 0.3 * 2.7 / (1.2 - 0.3 * 0.54), 1e-9);
  CHECK_CLOSE(band->high[1], 0.3 * 2.7 / (1.2 - 0.3 * 0.54), 1e-9);
  /* without regeneration the band is a line, with it at own charge it is another one */
  const struct bw_survey_band *none = &found->band[BW_LOAD_LADEN][BW_STOP_CHARGE_NONE][10];
  CHECK_CLOSE(none->high[1], none->low[1], 1e-12);
  CHECK_CLOSE(none->high[1], band->low[1], 1e-12);
  CHECK_CLOSE(found->band[BW_LOAD_LADEN][BW_STOP_CHARGE_OWN][10].low[1], band->high[1], 1e-9);
  bw_free(found);
  free_case(made);
}

static bool is_kept(enum bw_balance_rule rule, double rate, double front, double rear) {
  const double used[2] = {front, rear};
  double limit = 0.0;
  double result = 0.0;
  assert_true(bw_balance_rule_look(rule, 1.0, rate, used, &limit, &result));
  return result <= limit;
}

static void orders_are_the_published_ones(void **state) {
  (void)state;
  /* worked figures, derived: 1800 kg, L 2.8, h 0.55 m, half of the weight on each axle */
  static const struct {
    double share;
    double rate;
    double used[2];
    bool is_kept;
  } cars[] = {{0.7, 0.15, {0.1983, 0.0956}, true},  {0.7, 0.80, {0.8522, 0.7000}, true},
              {0.6, 0.50, {0.5015, 0.4978}, true},  {0.6, 0.80, {0.7304, 0.9333}, false},
              {0.5, 0.15, {0.1417, 0.1594}, false}, {0.0, 0.20, {0.0, 0.434}, false}};
  for (size_t i = 0; i < sizeof cars / sizeof *cars; i++) {
    const double z = cars[i].rate;
    const double front = cars[i].share * z / (0.5 + z * 0.55 / 2.8);
    const double rear = (1.0 - cars[i].share) * z / (0.5 - z * 0.55 / 2.8);
    CHECK_CLOSE(front, cars[i].used[0], 1e-4);
    CHECK_CLOSE(rear, cars[i].used[1], 2e-4);
    assert_true(is_kept(BW_BALANCE_ORDER, z, front, rear) == cars[i].is_kept);
  }
  /* z 0.15 to 0.8, ends included: from memory, UN R13-H Annex 5 3.1(B) */
  const double inverted[2] = {0.1, 0.2};
  double limit = 0.0;
  double result = 0.0;
  assert_false(bw_balance_rule_look(BW_BALANCE_ORDER, 1.0, 0.149, inverted, &limit, &result));
  assert_false(bw_balance_rule_look(BW_BALANCE_ORDER, 1.0, 0.801, inverted, &limit, &result));
  assert_true(bw_balance_rule_look(BW_BALANCE_ORDER, 1.0, 0.15, inverted, &limit, &result));
  assert_true(bw_balance_rule_look(BW_BALANCE_ORDER, 1.0, 0.8, inverted, &limit, &result));
  /* z 0.30 to 0.45 the rear up to 0.05 over k = z: read, 71/320/EEC Annex II App. 3.1.1, M1 */
  assert_true(is_kept(BW_BALANCE_ORDER_EASED, 0.35, 0.3, 0.399));
  assert_false(is_kept(BW_BALANCE_ORDER_EASED, 0.35, 0.3, 0.401));
  assert_false(is_kept(BW_BALANCE_ORDER_EASED, 0.29, 0.28, 0.30));
  assert_false(is_kept(BW_BALANCE_ORDER_EASED, 0.46, 0.44, 0.48));
  assert_false(is_kept(BW_BALANCE_ORDER, 0.35, 0.3, 0.399));
  /* rear under z / 0.9: from memory, UN R13-H Annex 5 App. 2; 0.333 at z 0.30 derived */
  assert_true(is_kept(BW_BALANCE_REAR_LINE, 0.30, 0.0, 0.333));
  assert_false(is_kept(BW_BALANCE_REAR_LINE, 0.30, 0.0, 0.334));
}

static void lines_are_the_published_ones(void **state) {
  (void)state;
  /* k 0.2 / 0.4 / 0.6 / 0.8 needs z, derived from the slopes: c = 0.85 read, EU 2015/68 Annex II
   * App. 1 4.1.1.1; c = 0.7 from memory, UN R13-H Annex 5 3.1(A) */
  static const double k[] = {0.2, 0.4, 0.6, 0.79};
  static const double family[] = {0.10, 0.27, 0.44, 0.6015};
  static const double car[] = {0.10, 0.24, 0.38, 0.513};
  for (size_t i = 0; i < 4; i++) {
    assert_true(is_kept(BW_BALANCE_LINE_FAMILY, family[i] + 1e-3, k[i], 0.0));
    assert_false(is_kept(BW_BALANCE_LINE_FAMILY, family[i] - 1e-3, k[i], 0.0) && i > 0);
    assert_true(is_kept(BW_BALANCE_LINE_CAR, car[i] + 1e-3, 0.0, k[i]));
    assert_false(is_kept(BW_BALANCE_LINE_CAR, car[i] - 1e-3, 0.0, k[i]) && i > 0);
  }
  /* a car braked by its rear machine alone breaks the line from z = 0.2 a/(L + 0.2 h), derived */
  const double breaks = 0.2 * 1.2 / (2.7 + 0.2 * 0.54);
  assert_true(is_kept(BW_BALANCE_LINE_CAR, breaks - 1e-4, 0.0,
                      (breaks - 1e-4) * 2.7 / (1.2 - breaks * 0.54)));
  assert_false(is_kept(BW_BALANCE_LINE_CAR, breaks + 1e-4, 0.0,
                       (breaks + 1e-4) * 2.7 / (1.2 - breaks * 0.54)));
}

static void antilock_decides_what_a_violation_is(void **state) {
  (void)state;
  struct bw_case *made = car_065();
  make_machine(made, BW_REAR, 1e5, 1e9);
  (void)snprintf(made->assess.balance_rule, sizeof made->assess.balance_rule, "un-r13h");
  struct bw_assessment bare = rows_of(made, &BW_ASSESS_BALANCE, &TEST_FILL);
  made->assess.has_antilock = true;
  struct bw_assessment safe = rows_of(made, &BW_ASSESS_BALANCE, &TEST_FILL);
  assert_true(bw_assessment_missed(&bare) > 0);
  assert_int_equal((int)bw_assessment_missed(&safe), 0);
  assert_int_equal((int)bare.count, (int)safe.count);
  size_t counted = 0;
  for (size_t i = 0; i < bare.count; i++) {
    CHECK_CLOSE(bare.rows[i].result, safe.rows[i].result, 0.0);
    assert_true(safe.rows[i].is_information);
    /* the rule that the case does not name is told beside it */
    const bool is_family = strcmp(bare.rows[i].requirement->name, "adhesion_line_c085") == 0;
    assert_true(!is_family || bare.rows[i].is_information);
    counted += bare.rows[i].is_information ? 0 : 1;
  }
  /* line and order at two loads and three charges, and locks within z 0.15 to 0.8 */
  assert_true(counted >= 12);
  bw_assessment_free(&bare);
  bw_assessment_free(&safe);
  free_case(made);
}

static void lift_off_knows_axle_surface_and_what_the_machine_gives(void **state) {
  (void)state;
  struct bw_case *made = car_065();
  struct bw_assessment none = rows_of(made, &BW_ASSESS_LIFT_OFF, NULL);
  assert_int_equal((int)none.count, 1);
  assert_true(isnan(none.rows[0].margin));
  assert_non_null(strstr(none.rows[0].note, "no machine"));
  bw_assessment_free(&none);
  make_machine(made, BW_REAR, 1e5, 40e3);
  made->machine[BW_REAR].omega_max = 160.0 * KMH / 0.32;
  made->overrun.deceleration = 1.7;
  struct bw_assessment found = rows_of(made, &BW_ASSESS_LIFT_OFF, NULL);
  assert_int_equal((int)found.count, 2 * BW_SURVEY_GRIPS);
  CHECK_CLOSE(found.rows[1].limit, 0.838, 1e-3); /* BAL-7 */
  CHECK_CLOSE(found.rows[1].result, 1.7, 1e-9);
  assert_true(found.rows[1].margin < 0.0 && found.rows[1].is_information);
  bw_assessment_free(&found);
  /* what is asked for beyond the machine's torque is not given */
  made->machine[BW_REAR].shaft_torque_peak = 1500.0 * 0.32 * 0.9;
  found = rows_of(made, &BW_ASSESS_LIFT_OFF, NULL);
  CHECK_CLOSE(found.rows[1].result, 0.9, 1e-9);
  bw_assessment_free(&found);
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(fixed_share_meets_the_closed_form),
      cmocka_unit_test(lag_and_dead_time_leave_no_trace),
      cmocka_unit_test(ideal_distribution_uses_both_axles_alike),
      cmocka_unit_test(memory_is_waited_for),
      cmocka_unit_test(pads_that_bite_less_shift_the_balance),
      cmocka_unit_test(rear_that_locks_first_is_told_before_an_earlier_front),
      cmocka_unit_test(single_axle_limits_are_the_closed_form),
      cmocka_unit_test(first_lock_is_the_closed_form),
      cmocka_unit_test(one_driven_axle_locks_where_statics_say),
      cmocka_unit_test(band_spans_regeneration_and_none),
      cmocka_unit_test(orders_are_the_published_ones),
      cmocka_unit_test(lines_are_the_published_ones),
      cmocka_unit_test(antilock_decides_what_a_violation_is),
      cmocka_unit_test(lift_off_knows_axle_surface_and_what_the_machine_gives),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
