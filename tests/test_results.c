/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "make_case.h"

#include "brakeweave.h"
#include "output/csv_write.h"
#include "output/utf8.h"
#include "output/wrap.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* a name that every writer must survive */
#define HOSTILE "s\"e,r\n\xC3\xBC-\xE6\x97\xA5"

static const struct bw_blend_strategy PLAIN = {.name = "plain"};
static const struct bw_blend_strategy WILD = {.name = HOSTILE};
static const struct bw_blend_strategy BROKEN = {.name = "broken"};

enum { RESULT_COUNT = 4 };

/* four made-up results: not ranked with most energy, kept, failed, missed with more than kept */
static void fill_results(struct bw_result *result) {
  const struct bw_blend_strategy *const strategies[RESULT_COUNT] = {&WILD, &PLAIN, &BROKEN, &PLAIN};
  const enum bw_verdict verdicts[RESULT_COUNT] = {BW_VERDICT_NOT_RANKED, BW_VERDICT_KEPT,
                                                  BW_VERDICT_KEPT, BW_VERDICT_MISSED};
  memset(result, 0, RESULT_COUNT * sizeof *result);
  for (size_t i = 0; i < RESULT_COUNT; i++) {
    struct bw_summary *summary = &result[i].evaluation.summary;
    result[i].strategy = strategies[i];
    summary->verdict = verdicts[i];
    for (int column = 0; column < BW_SUMMARY_COUNT; column++) {
      summary->value[column] = 0.1 + 0.37 * column + (double)i;
    }
    summary->value[BW_SUMMARY_MFDD] = (double)NAN;
    (void)snprintf(summary->balance_rule, sizeof summary->balance_rule, "un-r13-family");
  }
  (void)snprintf(result[0].evaluation.summary.reason, 64, "axle_violations 3, at most 0");
  result[0].evaluation.summary.value[BW_SUMMARY_ENERGY_BATTERY] = 2371.0;
  result[1].evaluation.summary.value[BW_SUMMARY_ENERGY_BATTERY] = 1013.25;
  result[3].evaluation.summary.value[BW_SUMMARY_ENERGY_BATTERY] = 1733.5;
  result[2].status = BW_E_NUMERIC;
  (void)snprintf(result[2].failure, sizeof result[2].failure, "torque is not finite at 3.7 s");
  memset(&result[2].evaluation, 0, sizeof result[2].evaluation);
}

/* what `write` wrote; caller frees */
static char *text_of(bool (*write)(const struct bw_results *, FILE *),
                     const struct bw_results *results) {
  char *text = NULL;
  size_t size = 0;
  FILE *stream = open_memstream(&text, &size);
  assert_non_null(stream);
  assert_true(write(results, stream));
  assert_int_equal(fclose(stream), 0);
  return text;
}

static size_t count_of(const char *text, const char *part) {
  size_t count = 0;
  for (const char *at = strstr(text, part); at != NULL; at = strstr(at + 1, part)) {
    count++;
  }
  return count;
}

static void order_puts_ranked_first_by_energy(void **state) {
  (void)state;
  struct bw_result *result = calloc(RESULT_COUNT, sizeof *result);
  assert_non_null(result);
  fill_results(result);
  const struct bw_results results = {NULL, RESULT_COUNT, result};
  size_t order[RESULT_COUNT];
  bw_results_order(&results, order);
  /* the missed one recovered more than the kept one, the one that is not ranked most of all */
  const size_t expected[RESULT_COUNT] = {1, 3, 0, 2};
  for (size_t i = 0; i < RESULT_COUNT; i++) {
    assert_int_equal(order[i], expected[i]);
  }
  free(result);
}

/* energy, dip and margin of six runs by hand: which are not dominated */
static void undominated_are_marked(void **state) {
  (void)state;
  /* NOLINTNEXTLINE(clang-analyzer-optin.performance.Padding): rows are written in this order */
  static const struct {
    enum bw_verdict verdict;
    double energy;
    double dip;
    double margin;
    bool is_marked;
  } run[] = {{BW_VERDICT_KEPT, 100.0, 0.10, 0.05, true},
             {BW_VERDICT_KEPT, 100.0, 0.10, 0.04, false}, /* the first is better in one */
             {BW_VERDICT_KEPT, 90.0, 0.05, 0.05, true},
             {BW_VERDICT_KEPT, 80.0, 0.06, 0.06, true}, /* best margin */
             {BW_VERDICT_KEPT, 80.0, 0.07, 0.06, false},
             {BW_VERDICT_MISSED, 200.0, 0.0, 0.2, false},        /* best of all, outside a limit */
             {BW_VERDICT_KEPT, 85.0, 0.07, (double)NAN, false}}; /* by the third, without margin */
  enum { RUNS = sizeof run / sizeof run[0] };
  struct bw_result *result = calloc(RUNS, sizeof *result);
  assert_non_null(result);
  for (size_t i = 0; i < RUNS; i++) {
    struct bw_summary *summary = &result[i].evaluation.summary;
    result[i].strategy = &PLAIN;
    summary->verdict = run[i].verdict;
    summary->value[BW_SUMMARY_ENERGY_BATTERY] = run[i].energy;
    summary->value[BW_SUMMARY_DIP_PEAK] = run[i].dip;
    summary->value[BW_SUMMARY_AXLE_MARGIN_WORST] = run[i].margin;
  }
  const struct bw_results results = {NULL, RUNS, result};
  for (size_t i = 0; i < RUNS; i++) {
    assert_int_equal(bw_results_is_undominated(&results, i), run[i].is_marked);
  }
  result[2].status = BW_E_NUMERIC; /* gone: the one it dominated comes up */
  assert_true(bw_results_is_undominated(&results, RUNS - 1));
  assert_true(isnan(bw_results_undominated(&results, 2)));
  free(result);
}

static void equal_rows_stay_in_order(void **state) {
  (void)state;
  struct bw_result *result = calloc(3, sizeof *result);
  assert_non_null(result);
  for (size_t i = 0; i < 3; i++) {
    result[i].strategy = &PLAIN;
    result[i].evaluation.summary.value[BW_SUMMARY_ENERGY_BATTERY] = i == 1 ? (double)NAN : 23.7;
  }
  const struct bw_results results = {NULL, 3, result};
  size_t order[3];
  bw_results_order(&results, order);
  assert_int_equal(order[0], 0);
  assert_int_equal(order[1], 2);
  assert_int_equal(order[2], 1);
  free(result);
}

static void summary_csv_quotes_and_leaves_empty(void **state) {
  (void)state;
  struct bw_result *result = calloc(RESULT_COUNT, sizeof *result);
  assert_non_null(result);
  fill_results(result);
  const struct bw_results results = {NULL, RESULT_COUNT, result};
  char *text = text_of(bw_write_summary_csv, &results);
  assert_int_equal(strncmp(text, BW_SUMMARY_CSV_START, strlen(BW_SUMMARY_CSV_START)), 0);
  /* RFC 4180: quotes doubled, the rest as it was */
  assert_non_null(
      strstr(text, "\n\"s\"\"e,r\n\xC3\xBC-\xE6\x97\xA5\",not ranked,\"axle_violations 3,"));
  assert_non_null(strstr(text, "\nbroken,failed,torque is not finite at 3.7 s,,,"));
  assert_null(strstr(text, "nan"));
  assert_null(strstr(text, "inf"));
  /* every row has as many cells: 3 header and rows without quotes */
  const size_t cells = BW_SUMMARY_COUNT + 5;
  const char *line = strstr(text, "\nplain,kept,") + 1;
  size_t commas = 0;
  for (const char *c = line; *c != '\n'; c++) {
    commas += *c == ',';
  }
  assert_int_equal(commas, cells - 1);
  assert_non_null(strstr(line, ",1013.25,"));
  free(text);
  free(result);
}

static void numbers_come_back_from_csv(void **state) {
  (void)state;
  uint64_t seed = 20251125;
  for (int i = 0; i < 500; i++) {
    const double value = test_uniform(&seed, -1.0, 1.0) * pow(10.0, test_uniform(&seed, -30, 30));
    char *text = NULL;
    size_t size = 0;
    FILE *stream = open_memstream(&text, &size);
    struct bw_csv_row row = {.stream = stream};
    bw_csv_put_number(&row, value);
    bw_csv_put_number(&row, -0.0);
    bw_csv_put_number(&row, (double)NAN);
    bw_csv_end_row(&row);
    assert_int_equal(fclose(stream), 0);
    char *end = NULL;
    CHECK_CLOSE(strtod(text, &end), value, 0.0);
    assert_string_equal(end, ",0,\n");
    free(text);
  }
}

static void json_escapes_and_writes_null(void **state) {
  (void)state;
  struct bw_result *result = calloc(RESULT_COUNT, sizeof *result);
  assert_non_null(result);
  fill_results(result);
  const struct bw_results results = {NULL, RESULT_COUNT, result};
  char *text = text_of(bw_write_summary_json, &results);
  assert_non_null(strstr(text, "\"strategy\": \"s\\\"e,r\\u000a\xC3\xBC-\xE6\x97\xA5\""));
  /* one for each of three runs, and every figure of the failed one */
  assert_int_equal(count_of(text, ": null"), 3 + BW_SUMMARY_COUNT + 1);
  assert_int_equal(count_of(text, "\"mfdd_mps2\": null"), RESULT_COUNT);
  assert_int_equal(count_of(text, "\"energy_battery_kj\": 1013.25,"), 1);
  assert_int_equal(text[0], '[');
  assert_int_equal(text[strlen(text) - 2], ']');
  free(text);
  free(result);
}

static void invalid_bytes_become_one_sign(void **state) {
  (void)state;
  const char *text = "a\xFF\xC0\xAF\xED\xA0\x80\xE2\x82";
  const char *at = text;
  size_t replaced = 0;
  size_t points = 0;
  for (uint32_t point = bw_utf8_next(&at); point != 0; point = bw_utf8_next(&at)) {
    replaced += point == BW_UTF8_REPLACEMENT;
    points++;
  }
  assert_int_equal(points, 9);
  assert_int_equal(replaced, 8);
  at = "\xF0\x9F\x9A\x97";
  assert_int_equal(bw_utf8_next(&at), 0x1F697);
}

static void width_counts_columns(void **state) {
  (void)state;
  assert_int_equal(bw_utf8_width("series"), 6);
  assert_int_equal(bw_utf8_width("s\xC3\xA9rie"), 5);
  assert_int_equal(bw_utf8_width("se\xCC\x81rie"), 5); /* combining accent */
  assert_int_equal(bw_utf8_width("\xE6\x97\xA5\xE6\x9C\xAC"), 4);
}

/* display column at which the last cell of each row ends is the same */
static void grid_stays_aligned(void **state) {
  (void)state;
  static const char *const names[] = {"name", "s\xC3\xA9rie", "\xE6\x97\xA5\xE6\x9C\xAC", "a\nb"};
  char *text = NULL;
  size_t size = 0;
  FILE *stream = open_memstream(&text, &size);
  struct bw_grid *grid = bw_grid_create(2);
  assert_non_null(grid);
  for (size_t i = 0; i < 4; i++) {
    bw_grid_put(grid, names[i]);
    bw_grid_putf(grid, "%.1f", 23.7 * (double)(i + 1));
  }
  assert_int_equal(bw_grid_print(grid, BW_GRID_TEXT, 1, 3, stream), BW_OK);
  bw_grid_destroy(grid);
  assert_int_equal(fclose(stream), 0);
  size_t lines = 0;
  for (char *line = strtok(text, "\n"); line != NULL; line = strtok(NULL, "\n")) {
    assert_int_equal(bw_utf8_width(line), 3 + 5 + 2 + 4);
    lines++;
  }
  assert_int_equal(lines, 5);
  free(text);
}

/* fails the n-th request */
static bool fail_nth(void *context) {
  size_t *left = context;
  return (*left)-- != 1;
}

static void grid_survives_missing_memory(void **state) {
  (void)state;
  for (size_t n = 1; n <= 4; n++) {
    size_t left = n;
    bw_alloc_set_hook(fail_nth, &left);
    struct bw_grid *grid = bw_grid_create(2);
    if (grid != NULL) {
      bw_grid_put(grid, "one");
      bw_grid_put(grid, "two");
      assert_int_equal(bw_grid_print(grid, BW_GRID_TEXT, 1, 0, stderr), BW_E_MEMORY);
    }
    assert_true(grid != NULL || n == 1);
    bw_grid_destroy(grid);
    bw_alloc_set_hook(NULL, NULL);
  }
}

static void page_names_every_strategy_once_per_block(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  make_stop(made, 13.7, 3.1, 3.0);
  struct bw_result *result = calloc(RESULT_COUNT, sizeof *result);
  assert_non_null(result);
  fill_results(result);
  result[0].strategy = &TEST_FRICTION;
  const struct bw_results results = {made, RESULT_COUNT, result};
  char *text = NULL;
  size_t size = 0;
  FILE *stream = open_memstream(&text, &size);
  assert_int_equal(bw_comparison_print(&results, "0.0.7", stream), BW_OK);
  assert_int_equal(fclose(stream), 0);
  assert_non_null(strstr(text, "brakeweave 0.0.7"));
  assert_int_equal(count_of(text, "\n  broken "), bw_block_count() + 1);
  assert_true(strstr(text, "1013.2") < strstr(text, "1733.5"));
  assert_true(strstr(text, "1733.5") < strstr(text, "2371.0"));
  assert_non_null(strstr(text, "broken, failed: torque is not finite at 3.7 s"));
  assert_non_null(strstr(text, "approval"));
  assert_null(strstr(text, "nan"));
  for (char *line = strtok(text, "\n"); line != NULL; line = strtok(NULL, "\n")) {
    CHECK_WITHIN((double)bw_utf8_width(line), 1.0, (double)BW_PAGE_WIDTH);
  }
  free(text);
  free(result);
  free_case(made);
}

static void full_device_is_told(void **state) {
  (void)state;
  struct bw_result *result = calloc(RESULT_COUNT, sizeof *result);
  assert_non_null(result);
  fill_results(result);
  const struct bw_results results = {NULL, RESULT_COUNT, result};
  FILE *stream = fopen("/dev/full", "w");
  if (stream == NULL) {
    free(result);
    skip();
  }
  assert_int_equal(setvbuf(stream, NULL, _IONBF, 0), 0);
  assert_false(bw_write_summary_csv(&results, stream));
  assert_false(bw_write_summary_json(&results, stream));
  (void)fclose(stream);
  free(result); /* NOLINT(clang-analyzer-unix.Malloc): skip() does not come back */
}

/* a folder of this test program; `path` joins below it */
struct place {
  char root[64];
  char path[256];
};

static const char *below(struct place *place, const char *name) {
  (void)snprintf(place->path, sizeof place->path, "%s/%s", place->root, name);
  return place->path;
}

static void write_text(const char *path, const char *text) {
  FILE *stream = fopen(path, "wb");
  assert_non_null(stream);
  assert_true(fputs(text, stream) >= 0);
  assert_int_equal(fclose(stream), 0);
}

static void put_file(struct bw_folder *folder, const char *name, const char *text) {
  FILE *stream = NULL;
  assert_int_equal(bw_folder_create_file(folder, name, &stream, NULL), BW_OK);
  const bool is_written = fputs(text, stream) >= 0;
  assert_int_equal(bw_folder_close_file(folder, name, stream, is_written, NULL), BW_OK);
}

static void open_place(struct place *place) {
  (void)snprintf(place->root, sizeof place->root, "/tmp/bw-test-XXXXXX");
  assert_non_null(mkdtemp(place->root));
}

static void remove_all(struct place *place, const char *const *names, size_t count) {
  for (size_t i = 0; i < count; i++) {
    (void)remove(below(place, names[i]));
  }
  assert_int_equal(rmdir(place->root), 0); /* nothing else was left */
}

static void folder_appears_whole(void **state) {
  (void)state;
  struct place place;
  struct bw_folder *folder = NULL;
  open_place(&place);
  assert_int_equal(bw_folder_open(below(&place, "out/"), &folder, NULL), BW_OK);
  put_file(folder, "summary.csv", BW_SUMMARY_CSV_START "x\n");
  put_file(folder, "trace-old.csv", "time_s\n");
  assert_int_not_equal(access(below(&place, "out"), F_OK), 0);
  assert_int_equal(bw_folder_commit(folder, NULL), BW_OK);
  assert_int_equal(access(below(&place, "out/trace-old.csv"), F_OK), 0);
  /* the same again: replaced, stale trace gone, the user's own file kept */
  write_text(below(&place, "out/notes.txt"), "mine\n");
  assert_int_equal(bw_folder_open(below(&place, "out"), &folder, NULL), BW_OK);
  put_file(folder, "summary.csv", BW_SUMMARY_CSV_START "y\n");
  assert_int_equal(bw_folder_commit(folder, NULL), BW_OK);
  assert_int_not_equal(access(below(&place, "out/trace-old.csv"), F_OK), 0);
  assert_int_equal(access(below(&place, "out/notes.txt"), F_OK), 0);
  static const char *const left[] = {"out/summary.csv", "out/notes.txt", "out"};
  remove_all(&place, left, 3);
}

static void abandoned_folder_leaves_nothing(void **state) {
  (void)state;
  struct place place;
  struct bw_folder *folder = NULL;
  open_place(&place);
  assert_int_equal(bw_folder_open(below(&place, "out"), &folder, NULL), BW_OK);
  put_file(folder, "summary.csv", "x\n");
  bw_folder_abandon(folder);
  bw_folder_abandon(NULL);
  remove_all(&place, NULL, 0);
}

static void foreign_targets_are_refused(void **state) {
  (void)state;
  struct place place;
  struct bw_folder *folder = NULL;
  open_place(&place);
  write_text(below(&place, "file"), "x\n");
  assert_int_equal(mkdir(below(&place, "full"), 0777), 0);
  write_text(below(&place, "full/summary.csv"), "strategy,verdict\n");
  static const char *const bad[] = {"file", "file/out", "full", "none/out"};
  static const char *const told[] = {"is a file", "file/out: cannot", "no results", "parent"};
  for (size_t i = 0; i < 4; i++) {
    struct bw_diag diag = {0};
    assert_int_equal(bw_folder_open(below(&place, bad[i]), &folder, &diag), BW_E_USAGE);
    assert_null(folder);
    assert_int_equal(diag.count, 1);
    assert_non_null(strstr(diag.line[0], told[i]));
  }
  struct bw_diag diag = {0};
  assert_int_equal(bw_folder_open("", &folder, &diag), BW_E_USAGE);
  static const char *const left[] = {"file", "full/summary.csv", "full"};
  remove_all(&place, left, 3);
}

static void trace_file_names_are_safe_and_different(void **state) {
  (void)state;
  char name[BW_TRACE_FILE_NAME_MAX];
  bw_trace_csv_name("ideal-distribution", name);
  assert_string_equal(name, "trace-ideal-distribution.csv");
  bw_trace_csv_name("../a b", name);
  assert_string_equal(name, "trace-..%2Fa%20b.csv");
  bw_trace_csv_name("..%2Fa b", name);
  assert_string_equal(name, "trace-..%252Fa%20b.csv");
  char longer[600];
  memset(longer, '/', sizeof longer - 1);
  longer[sizeof longer - 1] = '\0';
  bw_trace_csv_name(longer, name);
  CHECK_WITHIN((double)strlen(name), 200.0, (double)BW_TRACE_FILE_NAME_MAX - 1.0);
}

/* rows every trace period, columns as many as the header, speed falling in a stop */
static void trace_holds_a_row_per_period(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  make_stop(made, 13.7, 3.1, 3.0);
  make_steps(made, 0.01, 10);
  made->trace_period = 0.05;
  char *text = NULL;
  size_t size = 0;
  FILE *stream = open_memstream(&text, &size);
  struct bw_trace_csv trace;
  bw_trace_csv_start(&trace, made, stream);
  const struct bw_observer observer = {.context = &trace, .watch = bw_trace_csv_watch};
  assert_int_equal(bw_run(made, &TEST_FRICTION, NULL, &observer, 1, NULL), BW_OK);
  assert_int_equal(fclose(stream), 0);
  size_t rows = 0;
  size_t commas_wanted = 0;
  double speed_before = (double)INFINITY;
  for (char *line = strtok(text, "\n"); line != NULL; line = strtok(NULL, "\n")) {
    size_t commas = 0;
    for (const char *c = line; *c != '\0'; c++) {
      commas += *c == ',';
    }
    commas_wanted = rows == 0 ? commas : commas_wanted;
    assert_int_equal(commas, commas_wanted);
    if (rows > 0) {
      char *end = NULL;
      CHECK_CLOSE(strtod(line, &end), 0.05 * (double)(rows - 1), 1e-12);
      const double speed = strtod(end + 1, NULL);
      CHECK_WITHIN(speed, 0.0, speed_before);
      speed_before = speed;
    }
    rows++;
  }
  assert_int_equal(rows, 1 + 60);
  CHECK_CLOSE(speed_before, 3.6 * (13.7 - 3.1 * 2.95), 1.5); /* road load adds a little */
  free(text);
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(order_puts_ranked_first_by_energy),
      cmocka_unit_test(undominated_are_marked),
      cmocka_unit_test(equal_rows_stay_in_order),
      cmocka_unit_test(summary_csv_quotes_and_leaves_empty),
      cmocka_unit_test(numbers_come_back_from_csv),
      cmocka_unit_test(json_escapes_and_writes_null),
      cmocka_unit_test(invalid_bytes_become_one_sign),
      cmocka_unit_test(width_counts_columns),
      cmocka_unit_test(grid_stays_aligned),
      cmocka_unit_test(grid_survives_missing_memory),
      cmocka_unit_test(page_names_every_strategy_once_per_block),
      cmocka_unit_test(full_device_is_told),
      cmocka_unit_test(folder_appears_whole),
      cmocka_unit_test(abandoned_folder_leaves_nothing),
      cmocka_unit_test(foreign_targets_are_refused),
      cmocka_unit_test(trace_file_names_are_safe_and_different),
      cmocka_unit_test(trace_holds_a_row_per_period),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
