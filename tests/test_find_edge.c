/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first point along an axis at which a condition holds. */
#include "check.h"

#include "batch/find_edge.h"

#include <string.h>

/* what a search is made of: hits between edges, runs that say nothing, a failure that ends it */
struct made {
  double from;
  double to;
  double blind_from;
  double blind_to;
  size_t stop_at;
  size_t runs;
};

static enum bw_status probe(void *context, double value, enum bw_probe *out) {
  struct made *made = context;
  if (++made->runs == made->stop_at) {
    return BW_E_INTERRUPTED;
  }
  *out = value >= made->from && value < made->to ? BW_PROBE_HOLDS : BW_PROBE_CLEAR;
  if (value > made->blind_from && value < made->blind_to) {
    *out = BW_PROBE_UNKNOWN;
  }
  return BW_OK;
}

static const double RISING[] = {0.0, 1.0, 2.0, 3.0, 4.0};
static const double FALLING[] = {4.0, 3.0, 2.0, 1.0, 0.0};

static struct bw_edge search(const double *value, double within, struct made *made) {
  const struct bw_edge_search it = {value, 5, within, made, probe};
  struct bw_edge edge;
  made->runs = 0;
  assert_int_equal(bw_find_edge(&it, &edge), BW_OK);
  assert_int_equal(edge.probes, made->runs);
  return edge;
}

static void edge_is_found_from_either_side(void **state) {
  (void)state;
  const double edge_at = 1.41421356237; /* anywhere but on the scan */
  struct made up = {.from = edge_at, .to = 99.0};
  struct bw_edge edge = search(RISING, 1e-6, &up);
  assert_int_equal(edge.end, BW_EDGE_FOUND);
  assert_true(edge.is_narrow);
  CHECK_WITHIN(edge.first, edge_at, edge_at + 1e-6);
  CHECK_WITHIN(edge.clear, edge_at - 1e-6, edge_at);
  assert_int_equal(edge.crossings, 1);
  assert_int_equal(edge.probes, 5 + 20); /* 2^-20 < 1e-6 */
  struct made down = {.from = -1.0, .to = edge_at};
  edge = search(FALLING, 1e-6, &down);
  assert_int_equal(edge.end, BW_EDGE_FOUND);
  CHECK_WITHIN(edge.first, edge_at - 1e-6, edge_at);
  CHECK_WITHIN(edge.clear, edge_at, edge_at + 1e-6);
}

static void other_ends_are_told_apart(void **state) {
  (void)state;
  struct made never = {.from = 9.0, .to = 9.0};
  struct bw_edge edge = search(RISING, 0.1, &never);
  assert_int_equal(edge.end, BW_EDGE_NONE);
  assert_true(isnan(edge.first));
  assert_int_equal(edge.probes, 5);
  struct made always = {.from = -9.0, .to = 9.0};
  edge = search(RISING, 0.1, &always);
  assert_int_equal(edge.end, BW_EDGE_AT_START);
  CHECK_CLOSE(edge.first, 0.0, 0.0);
  assert_true(isnan(edge.clear));
  struct made blind = {.blind_from = -9.0, .blind_to = 9.0};
  edge = search(RISING, 0.1, &blind);
  assert_int_equal(edge.end, BW_EDGE_UNKNOWN);
  assert_int_equal(edge.unknown, 5);
}

static void what_comes_and_goes_is_no_single_edge(void **state) {
  (void)state;
  struct made island = {.from = 0.6, .to = 2.5};
  const struct bw_edge edge = search(RISING, 0.01, &island);
  assert_int_equal(edge.end, BW_EDGE_FOUND);
  assert_int_equal(edge.crossings, 2);
  CHECK_WITHIN(edge.first, 0.6, 0.61); /* the first of the two */
}

static void runs_that_say_nothing_are_no_hits(void **state) {
  (void)state;
  /* nothing is known from 1.2 to 1.9: the stretch stays wide and says so */
  struct made gap = {.from = 1.5, .to = 9.0, .blind_from = 1.2, .blind_to = 1.9};
  const struct bw_edge edge = search(RISING, 0.01, &gap);
  assert_int_equal(edge.end, BW_EDGE_FOUND);
  assert_false(edge.is_narrow);
  assert_int_equal(edge.unknown, 1);
  CHECK_CLOSE(edge.first, 2.0, 0.0);
  CHECK_CLOSE(edge.clear, 1.0, 0.0);
}

static void a_failure_ends_the_search(void **state) {
  (void)state;
  for (size_t stop = 1; stop < 9; stop++) {
    struct made made = {.from = 1.5, .to = 9.0, .stop_at = stop};
    const struct bw_edge_search it = {RISING, 5, 0.01, &made, probe};
    struct bw_edge edge;
    assert_int_equal(bw_find_edge(&it, &edge), BW_E_INTERRUPTED);
  }
}

static void conditions_are_read(void **state) {
  (void)state;
  static const struct {
    const char *text;
    double below; /* holds for 0.29, 0.3, 0.31 */
    double at;
    double above;
  } good[] = {{"dip_peak_mps2>0.3", 0, 0, 1},    {" dip_peak_mps2 >= 0.3", 0, 1, 1},
              {"dip_peak_mps2<0.3", 1, 0, 0},    {"dip_peak_mps2 <=0.3", 1, 1, 0},
              {"dip_peak_mps2 == 0.3", 0, 1, 0}, {"dip_peak_mps2!=0.3", 1, 0, 1}};
  for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
    struct bw_condition it;
    assert_int_equal(bw_condition_read(good[i].text, &it, NULL), BW_OK);
    assert_int_equal(it.column, BW_SUMMARY_DIP_PEAK);
    assert_int_equal(bw_condition_probe(&it, 0.29) == BW_PROBE_HOLDS, good[i].below > 0.5);
    assert_int_equal(bw_condition_probe(&it, 0.3) == BW_PROBE_HOLDS, good[i].at > 0.5);
    assert_int_equal(bw_condition_probe(&it, 0.31) == BW_PROBE_HOLDS, good[i].above > 0.5);
    assert_int_equal(bw_condition_probe(&it, (double)NAN), BW_PROBE_UNKNOWN);
  }
}

static void verdicts_are_conditions(void **state) {
  (void)state;
  static const enum bw_verdict all[] = {BW_VERDICT_KEPT, BW_VERDICT_MISSED, BW_VERDICT_NOT_RANKED};
  static const struct {
    const char *text;
    bool holds[3]; /* for each of `all` */
  } asked[] = {{"verdict==missed", {false, true, false}},
               {"verdict != kept", {false, true, true}},
               {" verdict== not ranked ", {false, false, true}}};
  for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++) {
    struct bw_condition it;
    assert_int_equal(bw_condition_read(asked[i].text, &it, NULL), BW_OK);
    for (size_t k = 0; k < 3; k++) {
      const struct bw_summary summary = {.verdict = all[k]};
      assert_int_equal(bw_condition_probe_summary(&it, &summary),
                       asked[i].holds[k] ? BW_PROBE_HOLDS : BW_PROBE_CLEAR);
    }
  }
}

static void bad_conditions_are_refused(void **state) {
  (void)state;
  static const char *const bad[] = {"",
                                    ">3",
                                    "dip_peak_mps2",
                                    "dip_peak_mps2>",
                                    "dip_peak_mps2>high",
                                    "dip_peak_mps2=3",
                                    "dip_peak_mps2><3",
                                    "dip_peak_mps2>nan",
                                    "dip_peak_mps2>3 4",
                                    "dip_peak>3",
                                    "verdict>kept",
                                    "verdict==good",
                                    "verdict==",
                                    "verdict",
                                    "dip peak_mps2>3"};
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    struct bw_condition it;
    struct bw_diag diag = {0};
    if (bw_condition_read(bad[i], &it, &diag) != BW_E_USAGE) {
      fail_msg("'%s' was taken", bad[i]);
    }
    assert_int_equal(diag.count, 1);
    assert_non_null(strstr(diag.line[0], "; "));
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(edge_is_found_from_either_side),
      cmocka_unit_test(other_ends_are_told_apart),
      cmocka_unit_test(what_comes_and_goes_is_no_single_edge),
      cmocka_unit_test(runs_that_say_nothing_are_no_hits),
      cmocka_unit_test(a_failure_ends_the_search),
      cmocka_unit_test(conditions_are_read),
      cmocka_unit_test(verdicts_are_conditions),
      cmocka_unit_test(bad_conditions_are_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
