/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "scratch.h"

#include "output/figures.h"
#include "output/trace_thin.h"

/* A long trace thinned for drawing; the table of figures. */

enum { ROWS = 3700, PIECES = 37, WINDOW_PIECES = 900, LINE = 256 };

/* the spikes that must survive: single rows, one up and one down, anywhere in a stretch */
enum { UP = 1234, DOWN = 2901 };

static double signal_at(int row) {
  return row == UP ? 50.0 : row == DOWN ? -40.0 : sin(0.01 * row);
}

static const char *write_trace(struct scratch *scratch) {
  char *text = test_calloc(ROWS + 1, LINE);
  size_t used = (size_t)sprintf(text, "time_s,unused,speed_kmh,demand_nm\n");
  for (int i = 0; i < ROWS; i++) {
    used += (size_t)sprintf(text + used, "%.10g,word,%.10g,%.10g\n", 0.01 * i, 100.0 - 0.01 * i,
                            signal_at(i));
  }
  const char *path = scratch_write_bytes(scratch, text, used);
  test_free(text);
  return path;
}

struct thinned {
  size_t rows;
  size_t in_window;
  double least;
  double greatest;
};

static struct thinned thin(const char *path, double from, double to, size_t window_pieces) {
  struct thinned out = {.least = 1e300, .greatest = -1e300};
  const struct bw_trace_thinning thinning = {"time_s,speed_kmh,demand_nm", PIECES, from, to,
                                             window_pieces};
  char line[LINE];
  FILE *stream = tmpfile();
  assert_non_null(stream);
  assert_int_equal(bw_trace_thin(path, &thinning, stream, NULL), BW_OK);
  rewind(stream);
  assert_non_null(fgets(line, LINE, stream));
  assert_string_equal(line, "time_s,speed_kmh,demand_nm\n");
  double last = -1.0;
  while (fgets(line, LINE, stream) != NULL) {
    double time = 0.0;
    double speed = 0.0;
    double demand = 0.0;
    /* NOLINTNEXTLINE(cert-err34-c): numbers in range, written above */
    assert_int_equal(sscanf(line, "%lf,%lf,%lf", &time, &speed, &demand), 3);
    assert_true(time > last);
    CHECK_CLOSE(speed, 100.0 - time, 1e-7);
    last = time;
    out.rows++;
    out.in_window += time >= from && time <= to ? 1 : 0;
    out.least = demand < out.least ? demand : out.least;
    out.greatest = demand > out.greatest ? demand : out.greatest;
  }
  CHECK_CLOSE(last, 0.01 * (ROWS - 1), 1e-9);
  (void)fclose(stream);
  return out;
}

static void thinning_keeps_every_peak(void **state) {
  (void)state;
  struct scratch scratch;
  scratch_open(&scratch);
  const struct thinned out = thin(write_trace(&scratch), 0.0, -1.0, WINDOW_PIECES);
  CHECK_CLOSE(out.greatest, 50.0, 0.0);
  CHECK_CLOSE(out.least, -40.0, 0.0);
  /* first, last, two extremes of each of two columns */
  assert_true(out.rows <= (size_t)PIECES * 6);
  assert_true(out.rows >= (size_t)PIECES * 2);
  scratch_close(&scratch);
}

static void thinning_keeps_the_window_whole(void **state) {
  (void)state;
  struct scratch scratch;
  scratch_open(&scratch);
  const struct thinned out = thin(write_trace(&scratch), 9.995, 12.005, WINDOW_PIECES);
  assert_int_equal(out.in_window, 201);
  assert_true(out.rows < (size_t)PIECES * 6 + 201);
  scratch_close(&scratch);
}

/* a window over nearly all rows, as of a long hand-over sampled fast, is thinned like the rest */
static void thinning_thins_a_long_window(void **state) {
  (void)state;
  struct scratch scratch;
  scratch_open(&scratch);
  const struct thinned out = thin(write_trace(&scratch), 1.0, 36.0, 50);
  CHECK_CLOSE(out.greatest, 50.0, 0.0);
  CHECK_CLOSE(out.least, -40.0, 0.0);
  /* derived: pieces of 0.7 s hold 70 rows; each gives at most first, last and four extremes */
  assert_true(out.in_window >= (size_t)50 * 2);
  assert_true(out.in_window <= (size_t)51 * 6);
  scratch_close(&scratch);
}

static void thinning_refuses_a_missing_column(void **state) {
  (void)state;
  struct scratch scratch;
  struct bw_diag diag = {0};
  scratch_open(&scratch);
  const struct bw_trace_thinning thinning = {"time_s,grade_percent", PIECES, 0.0, -1.0, 1};
  FILE *stream = tmpfile();
  assert_non_null(stream);
  assert_int_equal(bw_trace_thin(write_trace(&scratch), &thinning, stream, &diag), BW_E_INPUT);
  assert_non_null(strstr(diag.line[0], "a column is missing"));
  (void)fclose(stream);
  scratch_close(&scratch);
}

/* each figure: a name of its own, words for people, a first file, and a script that is there */
static void the_table_of_figures_is_whole(void **state) {
  (void)state;
  for (size_t i = 0; i < bw_figure_count(); i++) {
    const struct bw_plot_figure *figure = bw_figure_at(i);
    char path[LINE];
    (void)snprintf(path, sizeof path, "plots/%s.gp", figure->script);
    assert_int_equal(access(path, R_OK), 0);
    assert_true(strlen(figure->title) > 10 && strlen(figure->reading) > 30);
    assert_non_null(figure->need[0].file);
    for (size_t k = 0; k < i; k++) {
      assert_string_not_equal(figure->name, bw_figure_at(k)->name);
    }
  }
}

static const struct bw_plot_figure *figure_named(const char *name) {
  for (size_t i = 0; i < bw_figure_count(); i++) {
    if (strcmp(bw_figure_at(i)->name, name) == 0) {
      return bw_figure_at(i);
    }
  }
  fail_msg("no figure %s", name);
  return NULL;
}

static void names_of_files_are_harmless(void **state) {
  (void)state;
  char name[BW_FIGURE_FILE_MAX];
  char strategy[301];
  struct bw_figure_item item = {figure_named("brake-torque"), "a/b <c>"};
  bw_figure_file(&item, "svg", name);
  assert_string_equal(name, "brake-torque-a%2Fb%20%3Cc%3E.svg");
  for (size_t i = 0; i < 300; i += 2) {
    memcpy(strategy + i, "\xc3\xb6", 2);
  }
  strategy[300] = '\0';
  item.strategy = strategy;
  bw_figure_file(&item, "svg", name);
  assert_true(strlen(name) < 255);
  /* cut between letters: as many first bytes as second ones */
  size_t first = 0;
  size_t second = 0;
  for (const char *at = name; *at != '\0'; at++) {
    first += *at == '\xc3' ? 1 : 0;
    second += *at == '\xb6' ? 1 : 0;
  }
  assert_int_equal(first, second);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(thinning_keeps_every_peak),
      cmocka_unit_test(thinning_keeps_the_window_whole),
      cmocka_unit_test(thinning_thins_a_long_window),
      cmocka_unit_test(thinning_refuses_a_missing_column),
      cmocka_unit_test(the_table_of_figures_is_whole),
      cmocka_unit_test(names_of_files_are_harmless),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
