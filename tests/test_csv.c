/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "alloc.h"
#include "input/csv.h"
#include "scratch.h"

static struct scratch scratch;

static int setup(void **state) {
  (void)state;
  scratch_open(&scratch);
  return 0;
}

static int teardown(void **state) {
  (void)state;
  scratch_close(&scratch);
  return 0;
}

/** Message of the only or first fault must be `PATH:line: text...`; line 0: `PATH: text...`. */
static void check_message(const struct bw_diag *diag, size_t index, const char *path, int line,
                          const char *text) {
  char start[600];
  if (line > 0) {
    (void)snprintf(start, sizeof start, "%s:%d: %s", path, line, text);
  } else {
    (void)snprintf(start, sizeof start, "%s: %s", path, text);
  }
  if (diag->count <= index || strncmp(diag->line[index], start, strlen(start)) != 0) {
    print_error("message %zu is '%s'\n    wanted '%s...'\n", index,
                diag->count <= index ? "(none)" : diag->line[index], start);
    fail();
  }
  if (strstr(diag->line[index], "; ") == NULL && strchr(diag->line[index], '?') == NULL) {
    fail_msg("no cure in '%s'", diag->line[index]);
  }
}

static void refuse_bytes(const char *bytes, size_t length, int line, const char *text) {
  struct bw_csv csv;
  struct bw_diag diag = {0};
  const char *path = scratch_write_bytes(&scratch, bytes, length);
  assert_int_equal(bw_csv_read(path, &csv, &diag), BW_E_INPUT);
  check_message(&diag, 0, path, line, text);
  static const struct bw_csv zero;
  assert_memory_equal(&csv, &zero, sizeof csv);
  assert_int_equal(bw_csv_read(path, &csv, NULL), BW_E_INPUT); /* no diag is fine */
}

static void refuse(const char *content, int line, const char *text) {
  refuse_bytes(content, strlen(content), line, text);
}

static struct bw_csv read_good(const char *content) {
  struct bw_csv csv;
  struct bw_diag diag = {0};
  const char *path = scratch_write(&scratch, content);
  if (bw_csv_read(path, &csv, &diag) != BW_OK) {
    fail_msg("refused: %s", diag.line[0]);
  }
  assert_int_equal(diag.count, 0);
  assert_string_equal(csv.path, path);
  return csv;
}

static void numbers_names_and_lines_are_kept(void **state) {
  (void)state;
  struct bw_csv csv = read_good("# made for a test, 1996\n#second\n\ntime_s, speed_kmh\n0,12.5\n"
                                "# between\n  0.25 , -3e2\n\n1,7\n");
  assert_string_equal(csv.comment, "made for a test, 1996");
  assert_int_equal(csv.columns, 2);
  assert_string_equal(csv.names[0], "time_s");
  assert_string_equal(csv.names[1], "speed_kmh");
  assert_int_equal(csv.header_line, 4);
  assert_int_equal(csv.rows, 3);
  static const int lines[] = {5, 7, 9};
  static const double values[] = {0.0, 12.5, 0.25, -300.0, 1.0, 7.0};
  for (size_t i = 0; i < 3; i++) {
    assert_int_equal(csv.lines[i], lines[i]);
  }
  for (size_t i = 0; i < 6; i++) {
    CHECK_CLOSE(csv.values[i], values[i], 0.0);
  }
  assert_int_equal(bw_csv_column(&csv, "speed_kmh"), 1);
  assert_int_equal(bw_csv_column(&csv, "speed"), 2);
  bw_csv_free(&csv);
  bw_csv_free(&csv); /* fine on a zeroed one */
}

static void words_are_kept_as_typed(void **state) {
  (void)state;
  const char *path = scratch_write(&scratch, "# words\nstrategy, soc\nseries, 60.10\n\n"
                                             "\"a,\"\"b\"\"\",  \xc3\xa9 t\xc3\xa9 \nx,y\n");
  static const char *const words[] = {"series", "60.10", "a,\"b\"", "\xc3\xa9 t\xc3\xa9", "x", "y"};
  struct bw_csv csv;
  assert_int_equal(bw_csv_read_words(path, &csv, NULL), BW_OK);
  assert_int_equal(csv.rows, 3);
  assert_null(csv.values);
  assert_int_equal(csv.lines[1], 5);
  for (size_t i = 0; i < 6; i++) {
    assert_string_equal(bw_csv_word(&csv, i / 2, i % 2), words[i]);
  }
  bw_csv_free(&csv);
  struct bw_diag diag = {0};
  assert_int_equal(bw_csv_read_words(scratch_write(&scratch, "a,b\n1,\n2,3\n4\n"), &csv, &diag),
                   BW_E_INPUT);
  assert_int_equal(diag.count, 2);
  assert_non_null(strstr(diag.line[0], "input.csv:2: cell of column 'b' is empty"));
  assert_non_null(strstr(diag.line[1], "input.csv:4: row has 1 cell"));
}

static void marks_line_ends_and_quotes_are_accepted(void **state) {
  (void)state;
  static const char *const same[] = {"a,b\n1,2\n3,4\n",
                                     "a,b\n1,2\n3,4",
                                     "a,b\r\n1,2\r\n3,4\r\n",
                                     "\xef\xbb\xbf\x61,b\r\n1,2\r\n3,4\r",
                                     "\"a\",\"b\"\n\"1\",2\n3,\" 4 \"\n",
                                     "a,b\n\n1,2\n \t\n3,4\n\n\n"};
  for (size_t i = 0; i < sizeof same / sizeof same[0]; i++) {
    struct bw_csv csv = read_good(same[i]);
    assert_string_equal(csv.names[0], "a");
    assert_int_equal(csv.rows, 2);
    CHECK_CLOSE(csv.values[0], 1.0, 0.0);
    CHECK_CLOSE(csv.values[3], 4.0, 0.0);
    bw_csv_free(&csv);
  }
}

static void long_comment_is_cut_between_characters(void **state) {
  (void)state;
  char text[700] = "#";
  for (int i = 0; i < 300; i++) {
    strncat(text, "\xc3\xa4", sizeof text - strlen(text) - 1); /* 600 bytes of two-byte letters */
  }
  strncat(text, "\na\n1\n", sizeof text - strlen(text) - 1);
  struct bw_csv csv = read_good(text);
  assert_int_equal(strlen(csv.comment), 510);
  bw_csv_free(&csv);
}

static void no_plain_file_is_refused(void **state) {
  (void)state;
  struct bw_csv csv;
  struct bw_diag diag = {0};
  assert_int_equal(bw_csv_read("/nowhere/at/all.csv", &csv, &diag), BW_E_INPUT);
  check_message(&diag, 0, "/nowhere/at/all.csv", 0, "no such file");
  assert_int_equal(bw_csv_read(scratch.folder, &csv, &diag), BW_E_INPUT);
  check_message(&diag, 1, scratch.folder, 0, "is a folder");
  assert_int_equal(bw_csv_read("/dev/null", &csv, &diag), BW_E_INPUT);
  check_message(&diag, 2, "/dev/null", 0, "is no ordinary file");
  char path[1200];
  memset(path, 'a', sizeof path - 1);
  path[sizeof path - 1] = '\0';
  assert_int_equal(bw_csv_read(path, &csv, &diag), BW_E_INPUT);
  assert_non_null(strstr(diag.line[3], "too long"));
}

/** A link that leads to itself: there is a name but nobody, not even the superuser, can read. */
static void unreadable_file_is_io(void **state) {
  (void)state;
  char path[100];
  (void)snprintf(path, sizeof path, "%s/loop.csv", scratch.folder);
  assert_int_equal(symlink(path, path), 0);
  struct bw_csv csv;
  struct bw_diag diag = {0};
  const enum bw_status status = bw_csv_read(path, &csv, &diag);
  assert_int_equal(unlink(path), 0);
  assert_int_equal(status, BW_E_IO);
  check_message(&diag, 0, path, 0, "cannot be read (");
}

/** A file that says it has more than the limit, without taking the room. */
static void huge_file_is_refused(void **state) {
  (void)state;
  const char *path = scratch_write(&scratch, "a\n1\n");
  assert_int_equal(truncate(path, (off_t)300 * 1024 * 1024), 0);
  struct bw_csv csv;
  struct bw_diag diag = {0};
  assert_int_equal(bw_csv_read(path, &csv, &diag), BW_E_INPUT);
  check_message(&diag, 0, path, 0, "is larger than 256 MiB");
}

static void files_without_rows_are_refused(void **state) {
  (void)state;
  refuse("", 0, "is empty");
  refuse("\xef\xbb\xbf", 0, "holds no header line");
  refuse("# only\n# words\n", 2, "holds no header line");
  refuse("# words\ntime_s,speed_kmh\n", 2, "header without rows");
  refuse("0,1\n1,2\n", 1, "starts with numbers");
  refuse("time_s;speed_kmh\n0;1\n", 1, "cells are not separated by commas");
  refuse("a,,c\n1,2,3\n", 1, "column 2 has no name");
}

static void binary_bytes_are_refused(void **state) {
  (void)state;
  refuse_bytes("a,b\n1,\0002\n", 9, 2, "byte 0x00 at column 3");
  refuse_bytes("\x89PNG\r\n\x1a\n\0\0", 10, 2, "byte 0x1a at column 1");
  refuse_bytes("\xff\xfe\x61\0,\0b\0", 8, 1, "byte 0x00 at column 4"); /* UTF-16 */
  refuse("a,b\n1,2\r3,4\n", 2, "byte 0x0d at column 4");               /* bare carriage return */
  refuse("a,b\n1,\x7f\n", 2, "byte 0x7f");
}

static void faulty_rows_are_named(void **state) {
  (void)state;
  refuse("a,b\n1,2\n3\n", 3, "row has 1 cell, the header has 2");
  refuse("a,b\n1,2,3\n", 2, "row has 3 cells, the header has 2");
  refuse("a,b\n1,2,\n", 2, "row has 3 cells, the header has 2");
  refuse("a,b\n1,\n", 2, "cell of column 'b' is empty");
  refuse("a,b\n,1\n", 2, "cell of column 'a' is empty");
  refuse("a,b\n1,fast\n", 2, "'fast' in column 'b' is not a number");
  refuse("a,b\n1,0x1F\n", 2, "'0x1F' in column 'b' is not a number");
  refuse("a,b\n1, 2 km/h \n", 2, "'2 km/h' in column 'b' is not a number");
  refuse("a,b\n1,\xc2\xb0\n", 2, "'\\xc2\\xb0' in column 'b' is not a number");
  refuse("a,b\n1,abcdefghijklmnopqrstuvwxyz\n", 2, "'abcdefghijklmnopqrstuvwx...' in column");
  refuse("a,b\n1,NaN\n", 2, "'NaN' in column 'b' is not finite");
  refuse("a,b\n-inf,1\n", 2, "'-inf' in column 'a' is not finite");
  refuse("a,b\n1,1e999\n", 2, "'1e999' in column 'b' is not a number");
}

static void stray_quotes_are_refused(void **state) {
  (void)state;
  refuse("a,b\n1,\"2\n3,4\n", 2, "a quote is left open");
  refuse("a,b\n1,\"2", 2, "a quote is left open");
  refuse("\"a,b\n1,2\n", 1, "a quote is left open");
  refuse("a,b\n1,2\"3\n", 2, "a quote stands inside a cell");
  refuse("a,b\n1,\"2\"3\n", 2, "a quote stands inside a cell");
}

static void all_faults_up_to_twenty_are_told(void **state) {
  (void)state;
  struct bw_csv csv;
  struct bw_diag diag = {0};
  const char *path = scratch_write(&scratch, "a,b\nx,1\n1,2\n1,\"2\n4\n5,6\n7,nan\n");
  assert_int_equal(bw_csv_read(path, &csv, &diag), BW_E_INPUT);
  assert_int_equal(diag.count, 4);
  check_message(&diag, 0, path, 2, "'x' in column 'a'");
  check_message(&diag, 1, path, 4, "a quote is left open");
  check_message(&diag, 2, path, 5, "row has 1 cell");
  check_message(&diag, 3, path, 7, "'nan' in column 'b'");
  char text[400] = "a\n";
  for (int i = 0; i < 57; i++) {
    strncat(text, "x\n", sizeof text - strlen(text) - 1);
  }
  struct bw_diag many = {0};
  assert_int_equal(bw_csv_read(scratch_write(&scratch, text), &csv, &many), BW_E_INPUT);
  assert_int_equal(many.count, 20);
}

static void header_is_held_against_known_names(void **state) {
  (void)state;
  static const char *const known[] = {"time_s", "speed_kmh", "grade_percent"};
  struct bw_csv csv = read_good("# c\nspeed_kmh,time_s\n0,1\n");
  struct bw_diag diag = {0};
  assert_int_equal(bw_csv_expect(&csv, known, 3, 2, &diag), BW_OK);
  assert_int_equal(diag.count, 0);
  assert_int_equal(bw_csv_expect(&csv, known, 3, 3, &diag), BW_E_INPUT);
  check_message(&diag, 0, csv.path, 2, "column 'grade_percent' is missing");
  bw_csv_free(&csv);
  csv = read_good("time_s,sped_kmh,weather,time_s\n0,1,2,3\n");
  struct bw_diag wrong = {0};
  assert_int_equal(bw_csv_expect(&csv, known, 3, 2, &wrong), BW_E_INPUT);
  assert_int_equal(wrong.count, 4);
  check_message(&wrong, 0, csv.path, 1, "unknown column 'sped_kmh'; did you mean 'speed_kmh'?");
  check_message(&wrong, 1, csv.path, 1,
                "unknown column 'weather'; take it out (known: time_s, speed_kmh, grade_percent)");
  check_message(&wrong, 2, csv.path, 1, "column 'time_s' appears twice");
  check_message(&wrong, 3, csv.path, 1, "column 'speed_kmh' is missing");
  bw_csv_free(&csv);
}

/** Lets `left` requests through, then refuses. */
static bool allow_some(void *context) {
  size_t *left = context;
  if (*left == 0) {
    return false;
  }
  --*left;
  return true;
}

static void every_failing_allocation_is_memory(void **state) {
  (void)state;
  char text[1200] = "a,b\n";
  for (int i = 0; i < 150; i++) {
    strncat(text, "1,2\n", sizeof text - strlen(text) - 1);
  }
  const char *path = scratch_write(&scratch, text);
  for (size_t allowed = 0; allowed < 40; allowed++) {
    size_t left = allowed;
    struct bw_csv csv;
    struct bw_diag diag = {0};
    bw_alloc_set_hook(allow_some, &left);
    const enum bw_status status = bw_csv_read(path, &csv, &diag);
    bw_alloc_set_hook(NULL, NULL);
    if (status == BW_OK) {
      assert_true(allowed > 5); /* content, cells, names, rows, values */
      assert_int_equal(csv.rows, 150);
      bw_csv_free(&csv);
      return;
    }
    assert_int_equal(status, BW_E_MEMORY);
    assert_int_equal(diag.count, 1);
    assert_null(csv.values);
  }
  fail_msg("never enough memory");
}

/** Random damage to a good file: read or refused with a message, nothing else. */
static void damaged_files_do_no_harm(void **state) {
  (void)state;
  static const char good[] = "# c\ntime_s,speed_kmh\n0,0.5\n1,\"2\"\n2,3e1\n3,44\n";
  static const char bytes[] = "\",\n\r#x0-. \t\0e\xff;";
  uint64_t seed = 77;
  for (int i = 0; i < 3000; i++) {
    char text[sizeof good];
    memcpy(text, good, sizeof good);
    const size_t hits = 1 + (size_t)test_uniform(&seed, 0.0, 4.0);
    for (size_t k = 0; k < hits; k++) {
      const size_t at = (size_t)test_uniform(&seed, 0.0, (double)(sizeof good - 1));
      text[at] = bytes[(size_t)test_uniform(&seed, 0.0, (double)(sizeof bytes - 1))];
    }
    const size_t length = (size_t)test_uniform(&seed, 0.0, (double)sizeof good);
    struct bw_csv csv;
    struct bw_diag diag = {0};
    const enum bw_status status =
        bw_csv_read(scratch_write_bytes(&scratch, text, length), &csv, &diag);
    if (status == BW_OK) {
      assert_int_equal(diag.count, 0);
      assert_true(csv.rows > 0 && csv.columns > 0);
      for (size_t k = 0; k < csv.rows * csv.columns; k++) {
        assert_true(isfinite(csv.values[k]));
      }
      bw_csv_free(&csv);
    } else {
      assert_int_equal(status, BW_E_INPUT);
      assert_true(diag.count > 0);
      assert_non_null(strstr(diag.line[0], "input.csv"));
    }
    if (bw_csv_read_words(scratch.path, &csv, &diag) == BW_OK) {
      for (size_t k = 0; k < csv.rows * csv.columns; k++) {
        assert_true(strlen(bw_csv_word(&csv, k / csv.columns, k % csv.columns)) > 0);
      }
      bw_csv_free(&csv);
    }
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(numbers_names_and_lines_are_kept),
      cmocka_unit_test(words_are_kept_as_typed),
      cmocka_unit_test(marks_line_ends_and_quotes_are_accepted),
      cmocka_unit_test(long_comment_is_cut_between_characters),
      cmocka_unit_test(no_plain_file_is_refused),
      cmocka_unit_test(unreadable_file_is_io),
      cmocka_unit_test(huge_file_is_refused),
      cmocka_unit_test(files_without_rows_are_refused),
      cmocka_unit_test(binary_bytes_are_refused),
      cmocka_unit_test(faulty_rows_are_named),
      cmocka_unit_test(stray_quotes_are_refused),
      cmocka_unit_test(all_faults_up_to_twenty_are_told),
      cmocka_unit_test(header_is_held_against_known_names),
      cmocka_unit_test(every_failing_allocation_is_memory),
      cmocka_unit_test(damaged_files_do_no_harm),
  };
  return cmocka_run_group_tests(tests, setup, teardown);
}
