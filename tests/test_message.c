/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_case.h"
#include "sim/message.h"

#include "strategies/blend_common.h"

#include <gsl/gsl_cdf.h>

/** Torque messages: delay, jitter, loss and reserve against closed forms and their distributions.
 */

static const double RARE = 1e-4; /* chance of a bound to be missed by chance alone */
static const double RADIUS = 0.32;

static struct bw_case *make_link(struct bw_message message) {
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 1e5, 1e9);
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  made->message = message;
  made->message.timeout = made->message.timeout > 0.0 ? made->message.timeout : 1.0;
  made->message.ramp = made->message.ramp > 0.0 ? made->message.ramp : 4000.0;
  made->seed = (struct bw_seed){.seed = 237.0, .run = 3.0};
  return made;
}

/* a delay of 2.3 periods: 0.7 of a period with the third command back, 0.3 with the fourth */
static void delay_keeps_the_impulse(void **state) {
  (void)state;
  struct bw_case *made = make_link((struct bw_message){.delay = 0.023});
  struct bw_message_link link = {0};
  struct bw_message_count count = {0};
  for (int k = 0; k < 600; k++) {
    const double sent = (k % 7) * 101.0 - 250.0;
    const double got = bw_message_pass(made, &link, 0, sent, &count);
    const double newer = k >= 2 ? ((k - 2) % 7) * 101.0 - 250.0 : 0.0;
    const double older = k >= 3 ? ((k - 3) % 7) * 101.0 - 250.0 : 0.0;
    CHECK_CLOSE(got, 0.7 * newer + 0.3 * older, 1e-9);
  }
  /* sent 23 ms before it acts, it acts for one period */
  CHECK_CLOSE(count.age, 0.033, 1e-9);
  assert_int_equal(count.sent, 600);
  assert_int_equal(count.lost, 0);
  CHECK_CLOSE(count.timed_out, 0.0, 0.0);
  free_case(made);
}

static void slower_messages_are_held(void **state) {
  (void)state;
  struct bw_case *made = make_link((struct bw_message){.period = 0.03});
  struct bw_message_link link = {0};
  struct bw_message_count count = {0};
  for (int k = 0; k < 60; k++) {
    CHECK_CLOSE(bw_message_pass(made, &link, 0, k, &count), k - k % 3, 1e-9);
  }
  assert_int_equal(count.sent, 20);
  free_case(made);
}

static void jitter_is_even_and_order_is_kept(void **state) {
  (void)state;
  enum { SENT = 20000, BINS = 20 };
  struct bw_case *made = make_link((struct bw_message){.delay = 0.021, .jitter = 0.037});
  struct bw_message_link link = {0};
  struct bw_message_count count = {0};
  unsigned bin[BINS] = {0};
  uint64_t overtaken = 0;
  uint64_t acting = 0;
  for (int k = 0; k < SENT; k++) {
    (void)bw_message_pass(made, &link, 0, k, &count);
    const struct bw_message_sent *one = &link.way[link.sent % BW_MESSAGE_ROOM];
    const double extra = one->arrival - one->departure - 0.021;
    CHECK_WITHIN(extra, 0.0, 0.037);
    bin[(size_t)(extra / 0.037 * BINS)]++;
    assert_true(link.acting.number >= acting);
    overtaken += link.acting.number > acting + 1 ? link.acting.number - acting - 1 : 0;
    acting = link.acting.number;
  }
  double sum = 0.0;
  for (size_t i = 0; i < BINS; i++) {
    const double off = (double)bin[i] - (double)SENT / BINS;
    sum += off * off * BINS / SENT;
  }
  CHECK_WITHIN(sum, gsl_cdf_chisq_Pinv(RARE, BINS - 1), gsl_cdf_chisq_Qinv(RARE, BINS - 1));
  assert_true(overtaken > SENT / 10);
  /* no message waits longer than the next one can take: delay + jitter + a period */
  CHECK_WITHIN(count.age, 0.021 + 0.037, 0.021 + 0.037 + 0.010);
  free_case(made);
}

/* losses are binomial, and one says nothing about the next */
static void losses_have_their_rate(void **state) {
  (void)state;
  enum { SENT = 40000 };
  const double p = 0.137;
  struct bw_case *made = make_link((struct bw_message){.loss = p});
  struct bw_message_link link = {0};
  struct bw_message_count all = {0};
  unsigned pairs = 0;
  unsigned before = 0;
  for (int k = 0; k < SENT; k++) {
    struct bw_message_count one = {0};
    (void)bw_message_pass(made, &link, 0, k, &one);
    pairs += before * one.lost;
    before = one.lost;
    all.lost += one.lost;
  }
  CHECK_WITHIN((double)all.lost, SENT * p - 3.72 * sqrt(SENT * p * (1.0 - p)),
               SENT * p + 3.72 * sqrt(SENT * p * (1.0 - p)));
  /* variance of the count of pairs is a little above that of n independent ones of p^2 */
  const double pair = SENT * p * p;
  CHECK_CLOSE((double)pairs, pair, 3.72 * sqrt(pair * (1.0 + 2.0 * p - 3.0 * p * p)));
  free_case(made);
}

/* silence from 1 s on; 50 ms later the reserve: 800 N m leave at 4000 N m/s, in 200 ms */
static void reserve_holds_or_ramps_out(void **state) {
  (void)state;
  for (int k = 0; k < 4; k++) {
    const double command = k % 2 == 0 ? 800.0 : -800.0;
    struct bw_case *made = make_link(
        (struct bw_message){.delay = 0.005, .timeout = 0.05, .ramp = 4000.0, .ramps_out = k < 2});
    struct bw_message_link link = {0};
    struct bw_message_count count = {0};
    for (int i = 0; i < 200; i++) {
      made->message.loss = i >= 100 ? 1.0 : 0.0;
      const double got = bw_message_pass(made, &link, 0, command, &count);
      /* the last one arrived at 0.995 s */
      const double middle = 0.01 * i + 0.005 - 0.995 - 0.05;
      const double left = fmax(0.0, fmin(1.0, 1.0 - middle / 0.2));
      const bool is_corner = fabs(middle) < 0.006 || fabs(middle - 0.2) < 0.006;
      if (i > 0 && !is_corner) {
        CHECK_CLOSE(got, made->message.ramps_out ? command * left : command, 1e-9);
      }
    }
    assert_int_equal(count.lost, 100);
    CHECK_CLOSE(count.timed_out, 2.0 - 0.995 - 0.05, 1e-9);
    CHECK_CLOSE(count.age, 2.0 - 0.99, 1e-9);
    free_case(made);
  }
}

/* friction gives way to the machine over half a second, from 1 s on */
static void step_into_machine(void *state, const struct bw_blend_info *info, const double *params,
                              const struct bw_blend_input *input,
                              struct bw_blend_request *request) {
  (void)state;
  (void)params;
  const double share = blend_not_negative(blend_smaller(1.0, (input->time - 1.0) / 0.5));
  const double machine = blend_split_machines(input, share * input->demand_pedal, request);
  blend_friction_fixed(info, blend_fixed_share(info), input->demand_pedal - machine, request);
}

static const struct bw_blend_strategy INTO_MACHINE = {.abi = BW_BLEND_ABI,
                                                      .name = "test-into-machine",
                                                      .summary = "friction gives way",
                                                      .state_size = 1,
                                                      .step = step_into_machine};

/* speed not taken off from 0.5 s on, m/s */
static double missing(const struct bw_case *made, const struct bw_blend_strategy *strategy,
                      const double *params, double from) {
  struct test_record record = {.gap_from = from};
  record_run(made, strategy, params, &record);
  assert_true(record.residual_worst < 1e-9);
  const double area = record.gap_area;
  free_record(&record);
  return area / (RADIUS * 1500.0);
}

/* HO-1 with a message in the machine's path, derived: the area is Delta times the difference of the
 * two paths' dead times and lags, the message's delay d among the machine's. So with the whole
 * deceleration a swapped dv = a (theta_m + tau_m + d) into the machine, a (theta_f + tau_f - d) out
 * of it, and a d is what a tip-in by machine alone loses more. */
static void delay_adds_to_the_dip_as_a_theta(void **state) {
  (void)state;
  const double a = 2.0;
  for (int k = 0; k < 3; k++) {
    const double d = (double[]){0.0, 0.040, 0.0237}[k];
    struct bw_case *made = make_link((struct bw_message){.delay = d});
    make_stop(made, 30.0, a, 6.0);
    made->machine[BW_FRONT].dead_time = 0.013;
    made->machine[BW_FRONT].lag = 0.021;
    CHECK_CLOSE(missing(made, &INTO_MACHINE, NULL, 0.5), a * (0.013 + 0.021 + d), 1e-6);
    CHECK_CLOSE(missing(made, &TEST_MACHINE, NULL, 0.0), a * (0.013 + 0.021 + d), 1e-6);
    make_friction_delay(made, 0.05, 0.10);
    const double params[TEST_RAMP_PARAMS] = {1.0, 0.5};
    CHECK_CLOSE(missing(made, &TEST_RAMP, params, 0.5), a * (0.15 - 0.034 - d), 1e-6);
    free_case(made);
  }
}

static uint64_t hash_of(const struct bw_case *made) {
  struct test_record record = {0};
  record_run(made, &TEST_MACHINE, NULL, &record);
  const uint64_t hash = record.hash;
  free_record(&record);
  return hash;
}

static void seed_and_repetition_decide(void **state) {
  (void)state;
  const struct bw_message message = {.delay = 0.01, .jitter = 0.02, .loss = 0.2};
  struct bw_case *made = make_link(message);
  make_stop(made, 20.0, 2.0, 3.0);
  /* a demand that changes, so that a lost message shows */
  const double time[] = {0.0, 1.5, 3.0};
  const double value[] = {0.5, 3.0, 0.5};
  make_trace(made, BW_TRACE_DECEL, time, value, 3);
  const uint64_t first = hash_of(made);
  assert_true(hash_of(made) == first);
  made->seed.run = 4.0;
  const uint64_t run = hash_of(made);
  made->seed = (struct bw_seed){.seed = 238.0, .run = 3.0};
  const uint64_t seed = hash_of(made);
  made->seed = (struct bw_seed){.seed = 237.0, .run = 3.0};
  assert_true(hash_of(made) == first);
  assert_true(run != first && seed != first && run != seed);
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(delay_keeps_the_impulse),
      cmocka_unit_test(slower_messages_are_held),
      cmocka_unit_test(jitter_is_even_and_order_is_kept),
      cmocka_unit_test(losses_have_their_rate),
      cmocka_unit_test(reserve_holds_or_ramps_out),
      cmocka_unit_test(delay_adds_to_the_dip_as_a_theta),
      cmocka_unit_test(seed_and_repetition_decide),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
