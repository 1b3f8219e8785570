/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the short page of an assessment picks out of its rows. */
#include "output/assess_digest.h"

#include "alloc.h"
#include "batch/assess_fade.h"
#include "batch/assess_stops.h"
#include "check.h"
#include "make_case.h"

static const struct bw_requirement WAY = {"way", BW_FIGURE_LENGTH, 50.0, "nobody",
                                          "1.1", BW_CERTAINTY_OWN};
static const struct bw_requirement RATE = {"rate", BW_FIGURE_DECELERATION, 5.0, "nobody",
                                           "1.2",  BW_CERTAINTY_OWN};
static const struct bw_requirement HEAT = {"heat", BW_FIGURE_TEMPERATURE, (double)NAN, "nobody",
                                           "1.3",  BW_CERTAINTY_NONE};

static void add(struct bw_assessment *found, const struct bw_assess_family *family,
                struct bw_assess_row row) {
  row.family = NULL;
  row.limit = row.requirement->limit;
  assert_int_equal(bw_assessment_add(found, &row, NULL), BW_OK);
  found->rows[found->count - 1].family = family;
}

static struct bw_assessment made_rows(void) {
  struct bw_assessment found = {0};
  const struct bw_blend_strategy *a = &TEST_FRICTION;
  const struct bw_blend_strategy *b = &TEST_MACHINE;
  add(&found, &BW_ASSESS_FADE,
      (struct bw_assess_row){&HEAT, .strategy = a, .result = 311.0, .is_information = true});
  add(&found, &BW_ASSESS_STOPS, (struct bw_assess_row){&WAY, .strategy = a, .result = 57.0});
  add(&found, &BW_ASSESS_STOPS, (struct bw_assess_row){&WAY, .strategy = a, .result = 47.0});
  add(&found, &BW_ASSESS_STOPS, (struct bw_assess_row){&RATE, .strategy = a, .result = 5.25});
  add(&found, &BW_ASSESS_STOPS, (struct bw_assess_row){&WAY, .strategy = b, .result = 61.0});
  add(&found, &BW_ASSESS_STOPS, (struct bw_assess_row){&WAY, .strategy = b, .result = 49.5});
  add(&found, &BW_ASSESS_STOPS,
      (struct bw_assess_row){&RATE, .strategy = b, .result = (double)NAN});
  add(&found, &BW_ASSESS_STOPS,
      (struct bw_assess_row){&RATE, .strategy = b, .result = 1.0, .is_information = true});
  add(&found, &BW_ASSESS_FADE,
      (struct bw_assess_row){&HEAT, .strategy = b, .result = 217.0, .is_information = true});
  return found;
}

static void rows_are_counted_by_outcome(void **state) {
  (void)state;
  struct bw_assessment found = made_rows();
  struct bw_assess_tally tally = {0};
  for (size_t i = 0; i < found.count; i++) {
    bw_assess_tally_add(&tally, &found.rows[i]);
  }
  assert_int_equal(tally.kept, 3);
  assert_int_equal(tally.missed, 2);
  assert_int_equal(tally.information, 3);
  assert_int_equal(tally.unassessed, 1);
  /* -11 m of 50 m; what is told only is never the worst */
  /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference): two rows are missed */
  CHECK_CLOSE(tally.worst->result, 61.0, 0.0);
  CHECK_CLOSE(bw_assess_room(tally.worst), -0.22, 1e-15);
  CHECK_CLOSE(tally.told->result, 1.0, 0.0);
  CHECK_CLOSE(tally.least->result, 217.0, 0.0);
  CHECK_CLOSE(tally.greatest->result, 311.0, 0.0);
  bw_assessment_free(&found);
}

static void parts_follow_the_families(void **state) {
  (void)state;
  struct bw_assessment found = made_rows();
  size_t count = 0;
  struct bw_assess_entry *entries = bw_assess_entries(&found, &count);
  assert_non_null(entries);
  assert_int_equal(count, 3);
  assert_ptr_equal(entries[0].requirement, &WAY); /* stops come first */
  assert_ptr_equal(entries[1].requirement, &RATE);
  assert_ptr_equal(entries[2].requirement, &HEAT);
  assert_int_equal(entries[0].tally.missed, 2);
  assert_int_equal(entries[1].tally.kept, 1);
  assert_int_equal(entries[1].tally.unassessed, 1);
  assert_int_equal(entries[2].tally.information, 2);
  bw_free(entries);
  bw_assessment_free(&found);
}

static void nearest_comes_first_whatever_the_unit(void **state) {
  (void)state;
  struct bw_assessment found = made_rows();
  size_t count = 0;
  struct bw_assess_near *missed = bw_assess_nearest(&found, true, &count);
  assert_int_equal(count, 1);
  CHECK_CLOSE(missed[0].row->result, 61.0, 0.0);
  assert_int_equal(missed[0].strategies, 2);
  struct bw_assess_near *kept = bw_assess_nearest(&found, false, &count);
  assert_int_equal(count, 2);
  CHECK_CLOSE(kept[0].row->result, 49.5, 0.0); /* 1 % of its limit, the rate 5 % */
  CHECK_CLOSE(kept[1].row->result, 5.25, 0.0);
  assert_int_equal(kept[1].strategies, 1);
  bw_free(missed);
  bw_free(kept);
  bw_assessment_free(&found);
}

static void a_limit_of_nothing_has_no_share(void **state) {
  (void)state;
  const struct bw_requirement none = {"none", BW_FIGURE_TIME, 0.0, "", "", BW_CERTAINTY_OWN};
  const struct bw_assess_row exact = {&none, .limit = 0.0, .result = 0.0, .margin = 0.0};
  const struct bw_assess_row late = {&none, .limit = 0.0, .result = 0.2, .margin = -0.2};
  CHECK_CLOSE(bw_assess_room(&exact), 0.0, 0.0);
  assert_true(bw_assess_room(&late) < -1e300);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(rows_are_counted_by_outcome),
      cmocka_unit_test(parts_follow_the_families),
      cmocka_unit_test(nearest_comes_first_whatever_the_unit),
      cmocka_unit_test(a_limit_of_nothing_has_no_share),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
