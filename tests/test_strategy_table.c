/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "case_files.h"
#include "input/param.h"
#include <stdbool.h>

/** Tables that a case gives to a strategy: read in any order of rows and columns, handed over in
 *  edge units, written to the resolved case; holes, doubles, NaN and shares outside 0..1 refused
 *  with file and line. */

static struct bw_case *load_with(const char *path, const char *set) {
  const struct bw_override override = {set};
  return load_case(path, &override, set != NULL ? 1 : 0);
}

static void check_table(const struct bw_case *loaded) {
  struct bw_blend_info info;
  bw_case_blend_info(loaded, &info);
  assert_int_equal(info.table_count, 1);
  const struct bw_blend_table *table = &info.tables[0];
  assert_string_equal(table->name, "share-table.table");
  assert_int_equal(table->axes, 3);
  static const size_t count[] = {2, 1, 3};
  static const double speed[] = {5.0, 20.0};
  static const double charge[] = {10.0, 80.0, 95.0};
  static const double share[] = {0.1, 0.2, 0.3, 0.4, 0.5, 0.6};
  assert_memory_equal(table->count, count, sizeof count);
  assert_memory_equal(table->axis[0], speed, sizeof speed);
  CHECK_CLOSE(table->axis[1][0], 2.0, 0.0);
  assert_memory_equal(table->axis[2], charge, sizeof charge);
  assert_memory_equal(table->values, share, sizeof share);
}

/* rows and columns in any order; a resolved case gives the same table again */
static void file_reaches_the_strategy(void **state) {
  (void)state;
  struct test_files files;
  files_begin(&files);
  static const char text[] = "# machine's share\n"
                             "soc_percent,speed_kmh,machine_share,decel_mps2\n"
                             "95,20,0.6,2\n10,5,0.1,2\n80,5,0.2,2\n95,5,0.3,2\n10,20,0.4,2\n"
                             "80,20,0.5,2\n";
  (void)files_write(&files, "shares.csv", text, sizeof text - 1);
  const char *path = files_case(&files, "with-table.cfg",
                                "strategy: { share-table: { table = \"shares.csv\"; }; };\n");
  struct bw_case *loaded = load_with(path, NULL);
  check_table(loaded);
  const char *again = files_path(&files, "resolved.cfg");
  FILE *stream = fopen(again, "w");
  assert_non_null(stream);
  assert_true(bw_param_write_resolved(loaded, stream));
  assert_int_equal(fclose(stream), 0);
  bw_case_destroy(loaded);
  loaded = load_with(again, NULL);
  check_table(loaded);
  bw_case_destroy(loaded);
  files_end(&files);
}

static void typed_rows_do_as_well(void **state) {
  (void)state;
  struct test_files files;
  files_begin(&files);
  const char *path =
      files_case(&files, "typed.cfg",
                 "strategy: { share-table: { table = ((5, 2, 10, 0.1), (5, 2, 80, 0.2), "
                 "(5, 2, 95, 0.3), (20, 2, 10, 0.4), (20, 2, 80, 0.5), (20, 2, 95, 0.6)); }; };\n");
  struct bw_case *loaded = load_with(path, NULL);
  check_table(loaded);
  bw_case_destroy(loaded);
  loaded = load_with(path, "strategy.share-table.table="); /* taken away again */
  struct bw_blend_info info;
  bw_case_blend_info(loaded, &info);
  assert_int_equal(info.table_count, 0);
  bw_case_destroy(loaded);
  files_end(&files);
}

/* `body` under the usual header must be refused at `line` with `fragment` */
static void refused(const char *body, int line, const char *fragment) {
  struct test_files files;
  files_begin(&files);
  char text[2048];
  const int length =
      snprintf(text, sizeof text, "speed_kmh,decel_mps2,soc_percent,machine_share\n%s", body);
  assert_true(length > 0 && (size_t)length < sizeof text);
  const char *table = files_write(&files, "bad.csv", text, (size_t)length);
  const char *path =
      files_case(&files, "bad.cfg", "strategy: { share-table: { table = \"bad.csv\"; }; };\n");
  struct bw_diag diag = {0};
  struct bw_case *loaded = NULL;
  const enum bw_status status = bw_case_load(path, "cases", NULL, 0, &loaded, &diag);
  assert_null(loaded);
  assert_int_equal(bw_status_exit(status), 2);
  char place[FILES_PATH + 16];
  (void)snprintf(place, sizeof place, "%s:%d: ", table, line);
  bool is_said = false;
  for (size_t i = 0; i < diag.count && i < BW_DIAG_LINES; i++) {
    is_said = is_said || (strncmp(diag.line[i], place, strlen(place)) == 0 &&
                          strstr(diag.line[i], fragment) != NULL);
  }
  if (!is_said) {
    fail_msg("wanted '%s...%s', got '%s'", place, fragment, diag.line[0]);
  }
  files_end(&files);
}

static void bad_tables_are_refused(void **state) {
  (void)state;
  refused("5,2,10,0.1\n5,2,80,0.2\n20,2,10,0.3\n", 4,
          "the row for speed_kmh 20, decel_mps2 2, soc_percent 80 is missing; give the full grid");
  refused("5,2,10,0.1\n5,2,10,0.2\n", 3,
          "speed_kmh 5, decel_mps2 2, soc_percent 10 stands there twice; keep one");
  refused("5,2,10,nan\n", 2, "not finite");
  refused("5,2,10,\n", 2, "; ");
  refused("5,2,10,1.01\n", 2, "machine_share of 1.01 is out of range; give 0 to 1");
  refused("5,2,10,0.5\n5,2,20,-0.1\n", 3, "machine_share of -0.1 is out of range; give 0 to 1");
  refused("5,2,110,0.5\n", 2, "soc_percent of 110 is out of range; give 0 to 100 %");
  refused("-5,2,10,0.5\n", 2, "speed_kmh of -5 is out of range");
  refused("5,2,10\n", 2, "; ");
  char many[2048] = "";
  for (size_t i = 0, used = 0; i < 65; i++) {
    used += (size_t)snprintf(many + used, sizeof many - used, "%zu,2,10,0.5\n", i);
  }
  refused(many, 2, "too many different values of speed_kmh; give at most 64");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(file_reaches_the_strategy),
      cmocka_unit_test(typed_rows_do_as_well),
      cmocka_unit_test(bad_tables_are_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
