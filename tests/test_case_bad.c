/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "case_files.h"

#include "input/case.h"

/* libconfig 1.5 forgets a text it has just read when a syntax error follows; nothing of ours */
const char *__lsan_default_suppressions(void);  /* NOLINT: the leak checker's name */
const char *__lsan_default_suppressions(void) { /* NOLINT */
  return "leak:strbuf_append";
}

/** Bad input: where the message points to, and what it says. */

static bool has_line(const struct bw_diag *diag, const char *start, const char *fragment) {
  const size_t kept = diag->count < BW_DIAG_LINES ? diag->count : BW_DIAG_LINES;
  for (size_t i = 0; i < kept; i++) {
    if (strncmp(diag->line[i], start, strlen(start)) == 0 &&
        strstr(diag->line[i], fragment) != NULL) {
      return true;
    }
  }
  return false;
}

static void print_lines(const struct bw_diag *diag) {
  for (size_t i = 0; i < diag->count && i < BW_DIAG_LINES; i++) {
    print_error("  %s\n", diag->line[i]);
  }
}

/* loading must fail with a message that starts with `place` and holds `fragment` */
static void expect(const char *path, const char *set, const char *place, const char *fragment) {
  struct bw_diag diag = {0};
  struct bw_case *loaded = NULL;
  const struct bw_override override = {set};
  const enum bw_status status =
      bw_case_load(path, "cases", &override, set != NULL ? 1 : 0, &loaded, &diag);
  assert_null(loaded);
  assert_int_equal(bw_status_exit(status), 2);
  if (!has_line(&diag, place, fragment)) {
    print_lines(&diag);
    fail_msg("no message '%s...%s'", place, fragment);
  }
  for (size_t i = 0; i < diag.count && i < BW_DIAG_LINES; i++) {
    /* every message says how to mend it, or asks */
    assert_true(strstr(diag.line[i], "; ") != NULL || strchr(diag.line[i], '?') != NULL);
  }
}

/* `text` stands from line 3 of a case on */
struct bad_text {
  const char *text;
  int line; /* 0: the message has none */
  const char *fragment;
};

static void expect_texts(const struct bad_text *rows, size_t count) {
  for (size_t i = 0; i < count; i++) {
    struct test_files files;
    files_begin(&files);
    const char *path = files_case(&files, "bad.cfg", rows[i].text);
    char place[FILES_PATH + 16];
    if (rows[i].line > 0) {
      (void)snprintf(place, sizeof place, "%s:%d: ", path, rows[i].line);
    } else {
      (void)snprintf(place, sizeof place, "%s: ", path);
    }
    expect(path, NULL, place, rows[i].fragment);
    files_end(&files);
  }
}

#define EXPECT_TEXTS(rows) expect_texts(rows, sizeof(rows) / sizeof((rows)[0]))

static void unknown_and_doubled_keys(void **state) {
  (void)state;
  const struct bad_text rows[] = {
      {"battery: { soc_percnt = 37; };", 3,
       "unknown key 'battery.soc_percnt'; did you mean 'battery.soc_percent'?"},
      {"\n\nbatery: { soc_percent = 37; };", 5, "unknown group 'batery'; did you mean 'battery'?"},
      {"qqqqqqqqqqqqqq = 1;", 3, "unknown key 'qqqqqqqqqqqqqq'; see"},
      {"battery: {\n  soc_percent = 37;\n  soc_percent = 38;\n};", 5,
       "duplicate key 'soc_percent'"},
      {"battery: { soc_percent = 37; soc_percent = 38; };", 3, "duplicate key 'soc_percent'"},
      {"battery: { soc_percent = 37; };\nbattery: { temperature_c = 3; };", 4,
       "duplicate key 'battery'"},
      {"strategy: { series: { fade_strt_kmh = 3; }; };", 3,
       "did you mean 'strategy.series.fade_start_kmh'?"},
  };
  EXPECT_TEXTS(rows);
}

static void wrong_types(void **state) {
  (void)state;
  const struct bad_text rows[] = {
      {"battery: { soc_percent = \"high\"; };", 3,
       "battery.soc_percent: a text stands there; give a number in %, 0 to 100"},
      {"battery: { soc_percent = true; };", 3, "battery.soc_percent: 'true' stands there"},
      {"battery: { soc_percent = { a = 1; }; };", 3, "battery.soc_percent: a group stands there"},
      {"battery: { soc_percent = [37.0]; };", 3, "battery.soc_percent: a list stands there"},
      {"friction: { prefill = 1; };", 3, "friction.prefill: a number stands there; give true or"},
      {"friction: { layout = 2; };", 3, "give one of \"per-axle|common|pedal-coupled\""},
      {"friction: { layout = \"comon\"; };", 3, "'comon' is unknown; give one of per-axle|common"},
      {"vehicle: { name = 3; };", 3, "vehicle.name: a number stands there; give a text"},
      {"machine: { front: { loss_map = 3; }; };", 3, "give the path of a CSV file or rows"},
      {"friction = 3;", 3, "friction: a number stands there; give a group"},
      {"strategies = 3;", 3, "strategies: a number stands there"},
      {"strategies = (\n\"series\",\n 3);", 5, "strategies: a number stands in the list"},
      {"accept = 3;", 3, "accept: a number stands there"},
  };
  EXPECT_TEXTS(rows);
}

static void out_of_range_and_not_finite(void **state) {
  (void)state;
  const struct bad_text rows[] = {
      {"battery: { soc_percent = 100.5; };", 3,
       "battery.soc_percent: 100.5 is above 100 %; give 0 to 100 %"},
      {"machine: { front: {\n speed_max_rpm = 950000; }; };", 4,
       "machine.front.speed_max_rpm: 950000 is above 40000 rev/min; give 100 to 40000 rev/min"},
      {"control: { period_ms = -3; };", 3, "control.period_ms: -3 is below 1 ms"},
      {"battery: { soc_percent = 1e999; };", 3, "battery.soc_percent: inf is no finite number"},
      {"battery: {\n soc_percent = nan; };", 4, "'nan' is no finite number"},
      {"battery: {\n soc_percent = -inf; };", 4, "'inf' is no finite number"},
      {"strategy: { series: { fade_start_kmh = 1e5; }; };", 3,
       "strategy.series.fade_start_kmh: 100000 is above"},
      {"assess: { lamp_on_mps2 = 0.7; };", 3, "is not above 0.7 m/s2"},
  };
  EXPECT_TEXTS(rows);
}

static void tables_typed_in(void **state) {
  (void)state;
  const struct bad_text rows[] = {
      {"battery: { ocv = ((0, 300),\n (50, 310),\n (40, 320)); };", 5,
       "battery.ocv: soc_percent 40 does not rise above 50 of the row before"},
      {"battery: { ocv = ((0, 300),\n (50, 310),\n (50, 320)); };", 5, "does not rise above 50"},
      {"battery: { ocv = ((0, 300),\n (50, 310),\n (60, 305)); };", 5,
       "battery.ocv: voltage_v 305 falls below 310"},
      {"battery: { ocv = ((0, 300),\n (50)); };", 4, "battery.ocv: row 2 has 1 cells; give 2"},
      {"battery: { ocv = ((0, 300),\n 7); };", 4, "battery.ocv: row 2 is a number"},
      {"battery: { ocv = ((0, 300),\n (50, \"x\")); };", 4, "a text stands in row 2"},
      {"battery: { ocv = ((0, 300),\n (101, 310)); };", 4, "soc_percent of 101 is out of range"},
      {"battery: { ocv = (); };", 3, "battery.ocv: an empty list stands there"},
      {"battery: { resistance = ((0, 10, 99),\n(0, 50, 98),\n(10, 10, 97)); };", 5,
       "the row for temperature_c 10, soc_percent 50 is missing"},
      {"battery: { resistance = ((0, 10, 99),\n(0, 10, 98)); };", 4, "stands there twice"},
      {"battery: { charge_limits = ((0, 10, 20),\n(10, 30, 25)); };", 4,
       "pulse_a 25 is below continuous_a 30"},
      {"battery: { ocv = \"\"; };", 3, "battery.ocv: an empty text stands there"},
  };
  EXPECT_TEXTS(rows);
}

static void tables_from_files(void **state) {
  (void)state;
  const struct {
    const char *csv;
    int line;
    const char *fragment;
  } rows[] = {
      {"soc_percent,voltage_v\n0,300\n50,310\n40,320\n", 4, "does not rise above 50"},
      {"# note\nsoc_percent,voltage_v\n0,300\n50,2000\n", 4, "voltage_v of 2000 is out of range"},
      {"soc_percent,voltag_v\n0,300\n50,310\n", 1, "voltag_v"},
      {"soc_percent,voltage_v\n0,300\n50,nan\n", 3, "nan"},
      {"soc_percent,voltage_v\n0,300\n50\n", 3, ""},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    struct test_files files;
    files_begin(&files);
    const char *csv = files_write(&files, "ocv.csv", rows[i].csv, strlen(rows[i].csv));
    /* named beside the case file */
    const char *path = files_case(&files, "bad.cfg", "battery: { ocv = \"ocv.csv\"; };");
    char place[FILES_PATH + 16];
    (void)snprintf(place, sizeof place, "%s:%d: ", csv, rows[i].line);
    expect(path, NULL, place, rows[i].fragment);
    files_end(&files);
  }
  const struct bad_text missing[] = {
      {"battery: {\n ocv = \"no-such.csv\"; };", 4, "table 'no-such.csv' was refused"}};
  EXPECT_TEXTS(missing);
}

static void syntax(void **state) {
  (void)state;
  const struct bad_text rows[] = {
      {"battery: { soc_percent 80.0; };", 3, "syntax error near 'battery: { soc_percent 80.0; };'"},
      {"battery: { soc_percent = 80.0;\n", 4, "syntax error near the end of file"},
      {"vehicle: { name = \"no end; };\n", 3, "a quote is left open on this line; close it"},
      {"vehicle: { name = \"a \\\" b; };\n# \"", 3, "a quote is left open"},
      {"\n/* no end\n\n", 4, "comment without end"},
      {"\n} = 3;", 4, "syntax error near '} = 3;'"},
      {"@include \"x\n", 3, "include without a path"},
      {"battery: {\n@include \"x.cfg\"\n};", 4, "include inside a group"},
  };
  EXPECT_TEXTS(rows);
}

static void whole_files(void **state) {
  (void)state;
  struct test_files files;
  files_begin(&files);
  char place[FILES_PATH + 64];
  const char *path = files_path(&files, "no-such.cfg");
  (void)snprintf(place, sizeof place, "%s: ", path);
  expect(path, NULL, place, "does not exist; check the path");
  (void)snprintf(place, sizeof place, "%s: ", files.folder);
  expect(files.folder, NULL, place, "is a folder");
  path = files_write(&files, "empty.cfg", "", 0);
  (void)snprintf(place, sizeof place, "%s: ", path);
  expect(path, NULL, place, "is empty");
  path = files_write(&files, "blank.cfg", " \n\t\r\n", 5);
  (void)snprintf(place, sizeof place, "%s: ", path);
  expect(path, NULL, place, "is empty");
  path = files_write(&files, "binary.cfg", "a = 1;\n\0\1\2\377", 11);
  (void)snprintf(place, sizeof place, "%s:2: ", path);
  expect(path, NULL, place, "byte 0x00 is no text");
  files_end(&files);
}

static void includes(void **state) {
  (void)state;
  struct test_files files;
  files_begin(&files);
  char place[FILES_PATH + 64];
  const char *text = "cycle: { name = \"udds\"; };\n@include \"gone.cfg\"\n";
  const char *path = files_write(&files, "a.cfg", text, strlen(text));
  (void)snprintf(place, sizeof place, "%s:2: ", path);
  expect(path, NULL, place, "gone.cfg' does not exist");
  text = "@include \".\"\n";
  path = files_write(&files, "b.cfg", text, strlen(text));
  (void)snprintf(place, sizeof place, "%s:1: ", path);
  expect(path, NULL, place, "is a folder");
  text = "\n@include \"c.cfg\"\n";
  path = files_write(&files, "c.cfg", text, strlen(text));
  (void)snprintf(place, sizeof place, "%s:2: ", path);
  expect(path, NULL, place, "includes itself");
  text = "battery: { soc_percent = 300; };\n";
  const char *inner = files_write(&files, "d.cfg", text, strlen(text));
  path = files_case(&files, "e.cfg", "@include \"d.cfg\"\n@include \"d.cfg\"\n");
  (void)snprintf(place, sizeof place, "%s:1: ", inner);
  expect(path, NULL, place, "battery.soc_percent: 300 is above 100 %");
  (void)snprintf(place, sizeof place, "%s:4: ", path);
  expect(path, NULL, place, "included twice");
  /* the same key in two files of one level */
  text = "battery: { capacity_ah = 91; };\n";
  inner = files_write(&files, "f.cfg", text, strlen(text));
  path = files_case(&files, "g.cfg", "@include \"f.cfg\"\n");
  (void)snprintf(place, sizeof place, "%s:1: ", inner);
  expect(path, NULL, place, "duplicate key 'battery.capacity_ah', also in");
  files_end(&files);
}

static void missing_keys(void **state) {
  (void)state;
  struct test_files files;
  files_begin(&files);
  char place[FILES_PATH + 64];
  const char *text = "machine: { rear: { fitted = true; }; };\nbattery: { capacity_ah = 91; };\n";
  const char *path = files_write(&files, "a.cfg", text, strlen(text));
  (void)snprintf(place, sizeof place, "%s: ", path);
  expect(path, NULL, place, "'cycle.name' is missing");
  expect(
      path, NULL, place,
      "'machine.rear.ratio' is missing (shaft turns per wheel turn, when fitted); give a number, "
      "0.5 to 50");
  struct bw_diag diag = {0};
  struct bw_case *loaded = NULL;
  assert_int_equal(bw_status_exit(bw_case_load(path, "cases", NULL, 0, &loaded, &diag)), 2);
  assert_true(diag.count > BW_DIAG_LINES); /* counted beyond those kept */
  assert_false(has_line(&diag, place, "'machine.front.ratio'"));
  assert_false(has_line(&diag, place, "'battery.capacity_ah'"));
  assert_int_equal(bw_status_exit(bw_case_load(path, "cases", NULL, 0, &loaded, NULL)), 2);
  files_end(&files);
}

static void names(void **state) {
  (void)state;
  const struct bad_text rows[] = {
      {"strategies = (\"series\",\n \"seres\");", 4,
       "unknown strategy 'seres'; did you mean 'series'? there are friction-only"},
      {"strategies = (\"series\", \"series\");", 3, "'series' is named twice"},
      {"accept: { dip_peak_mps_max = 1; };", 3, "did you mean 'dip_peak_mps2'?"},
      {"accept: {\n dip_peak_mps2 = 1; };", 4, "put _max or _min behind"},
      {"accept: { recovered_share_min = 0.9;\n recovered_share_max = 0.1; };", 4,
       "least value 0.9 is above the greatest 0.1"},
      {"accept: { recovered_share_min = \"x\"; };", 3, "a text stands there; give a number"},
      {"assess: { balance_rule = \"un-r13\"; };", 3, "perhaps un-r13h"},
  };
  EXPECT_TEXTS(rows);
  struct test_files files;
  files_begin(&files);
  char text[1024];
  char place[FILES_PATH + 64];
  const int length =
      snprintf(text, sizeof text,
               "@include \"%s/cases/vehicles/small-hatchback.cfg\"\n\ncycle: { name = \"uds\"; };",
               files.root);
  const char *path = files_write(&files, "a.cfg", text, (size_t)length);
  (void)snprintf(place, sizeof place, "%s:3: ", path);
  expect(path, NULL, place, "cycle.name: unknown cycle 'uds'; did you mean 'udds'?");
  files_end(&files);
}

static void between_values(void **state) {
  (void)state;
  const struct bad_text rows[] = {
      {"vehicle: { laden: { mass_kg = 900; }; };", 3, "is below the unladen mass 1350 kg"},
      {"vehicle: { unladen: { cg_to_front_m = 2.6; }; };", 3, "is not ahead of the rear axle"},
      {"vehicle: { unladen: { cg_height_m = 1.3; }; };", 3, "the rear wheels lift at"},
      {"machine: { front: { low_speed_full_kmh = 2; }; };", 3, "is not above low_speed_zero_kmh"},
      {"machine: { front: { derate_end_c = 100; }; };", 3, "is not above derate_start_c"},
      {"machine: { front: { shaft_torque_continuous_nm = 251; }; };", 3,
       "251 N m is above the peak torque 250 N m"},
      {"machine: { front: { breakdown_rpm = 3000; }; };", 3, "below base speed 3819.7 rev/min"},
      {"machine: { front: { fitted = false; }; };", 3, "no machine is fitted to drive the cycle"},
      {"control: { period_ms = 10.3; };", 3, "no whole multiple of simulation.step_ms of 1 ms"},
      {"simulation: { step_ms = 0.01; };\ncontrol: { period_ms = 10; };", 4,
       "more than 200 times simulation.step_ms"},
      {"output: { trace_period_ms = 15; };", 3, "no whole multiple of control.period_ms of 10 ms"},
      {"control: { period_ms = 1; }; friction: { rear: { dead_time_ms = 255; }; };", 3,
       "control.period_ms: 1 ms is too short for a dead time of 255 ms, at most 254 periods"},
      {"battery: { voltage_max_v = 380; };", 3, "380 V is below the open-circuit voltage 383 V"},
      {"battery: { voltage_min_v = 390; };", 3, "390 V is not below the open-circuit voltage"},
      {"friction: { front: { threshold_bar = 20; pressure_max_bar = 10; }; };", 3,
       "10 bar is not above threshold_bar of 20 bar"},
      {"friction: { front: { torque_per_pressure_nm_per_bar = 0; };\n"
       "rear: { torque_per_pressure_nm_per_bar = 0; }; };",
       3, "neither axle has friction brakes"},
      {"driver: { drive_front_share = 0.4; };", 3, "only the front machine is fitted"},
      {"assess: { balance_slope = 0.8; };", 3, "is not the slope 0.85 of rule un-r13-family"},
      {"assess: { balance_rule = \"custom\"; };", 0, "'assess.balance_slope' is missing"},
      {"assess: { event_off_mps2 = 0.2; };", 3, "not below event_on_mps2"},
      {"assess: { jerk_cutoff_hz = 30; };\nsimulation: { step_ms = 10; };", 3,
       "too fast for steps"},
      {"overrun: { fade_full_kmh = 3; };", 3, "not above fade_zero_kmh"},
  };
  EXPECT_TEXTS(rows);
  expect("cases/stop-100.cfg", "driver.initial_speed_kmh=0",
         "--set driver.initial_speed_kmh: ", "the manoeuvre 'stop-100.csv' starts from rest");
}

static void overrides(void **state) {
  (void)state;
  const struct {
    const char *set;
    const char *place;
    const char *fragment;
  } rows[] = {
      {"battery.soc_percent=200", "--set battery.soc_percent: ", "200 is above 100 %; give 0 to"},
      {"battery.soc_percnt=20",
       "--set battery.soc_percnt: ", "did you mean 'battery.soc_percent'?"},
      {"battery.soc_percent", "--set: ", "write --set key=value"},
      {"=3", "--set: ", "write --set key=value"},
      {"battery.soc_percent=", "--set battery.soc_percent: ", "'' stands there; give a number"},
      {"battery.soc_percent=8x", "--set battery.soc_percent: ", "'8x' stands there; give a number"},
      {"battery.soc_percent=nan", "--set battery.soc_percent: ", "'nan' stands there"},
      {"battery.soc_percent=0x10", "--set battery.soc_percent: ", "'0x10' stands there"},
      {"machine.front.fitted=yes", "--set machine.front.fitted: ", "'yes' stands there; give true"},
      {"friction.layout=commn", "--set friction.layout: ", "'commn' is unknown"},
      {"battery.ocv=/no/such.csv", "--set battery.ocv: ", "table '/no/such.csv' was refused"},
      {"accept.dip_peak_mps2_max=x", "--set accept.dip_peak_mps2_max: ", "'x' is no number"},
      {"accept.dip_peak_max=1", "--set accept.dip_peak_max: ", "unknown column 'dip_peak'"},
      {"cycle.name=uds", "--set cycle.name: ", "did you mean 'udds'?"},
      {"cycle.name=", "--set cycle.name: ", "empty text"},
      {"cycle.grade_profile=/no/such.csv", "/no/such.csv: ", "no such file"},
      {"battery.voltage_max_v=380", "--set battery.voltage_max_v: ", "open-circuit voltage"},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    expect("cases/hatchback-udds.cfg", rows[i].set, rows[i].place, rows[i].fragment);
  }
  char longest[400];
  memset(longest, 'k', sizeof longest);
  memcpy(longest + 390, "=3", 3);
  expect("cases/hatchback-udds.cfg", longest, "--set: ", "key is too long");
  char name[1200] = "vehicle.name=";
  memset(name + 13, 'n', 1100);
  expect("cases/hatchback-udds.cfg", name,
         "--set vehicle.name: ", "text of 1100 bytes is too long");
}

static void all_faults_are_told(void **state) {
  (void)state;
  struct test_files files;
  files_begin(&files);
  const char *path =
      files_case(&files, "bad.cfg",
                 "battery: { soc_percent = 101;\n temperature_c = \"x\";\n foo = 1; };\n"
                 "accept: { nothing_max = 1; };\nstrategies = (\"none\");\n");
  struct bw_diag diag = {0};
  struct bw_case *loaded = NULL;
  const struct bw_override set[] = {{"control.period_ms=0"}, {"foo=1"}};
  assert_int_equal(bw_status_exit(bw_case_load(path, "cases", set, 2, &loaded, &diag)), 2);
  if (diag.count != 7) {
    print_lines(&diag);
  }
  assert_int_equal(diag.count, 7);
  files_end(&files);
}

static void garbage_never_crashes(void **state) {
  (void)state;
  uint64_t seed = 20250311;
  const char pieces[][12] = {"{",       "}",   "(",   ")",  "=",          ";",   ":",
                             "\"",      "#",   "/*",  "*/", "\\",         "\n",  "@include",
                             "battery", "ocv", "1e3", "-7", "true",       ",",   "soc_percent",
                             "accept",  " ",   "[",   "]",  "strategies", "\\x", "'"};
  const size_t piece_count = sizeof pieces / sizeof pieces[0];
  struct test_files files;
  files_begin(&files);
  for (int i = 0; i < 400; i++) {
    char text[600] = "";
    const int count = (int)test_uniform(&seed, 1.0, 40.0);
    for (int j = 0; j < count; j++) {
      const size_t pick = (size_t)test_uniform(&seed, 0.0, (double)piece_count);
      strncat(text, pieces[pick], sizeof text - strlen(text) - 1);
    }
    files.count = 0;
    const char *path = files_write(&files, "garbage.cfg", text, strlen(text));
    struct bw_diag diag = {0};
    struct bw_case *loaded = NULL;
    const enum bw_status status = bw_case_load(path, "cases", NULL, 0, &loaded, &diag);
    assert_int_equal(bw_status_exit(status), 2);
    assert_null(loaded);
    assert_true(diag.count > 0);
  }
  files_end(&files);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(unknown_and_doubled_keys),
      cmocka_unit_test(wrong_types),
      cmocka_unit_test(out_of_range_and_not_finite),
      cmocka_unit_test(tables_typed_in),
      cmocka_unit_test(tables_from_files),
      cmocka_unit_test(syntax),
      cmocka_unit_test(whole_files),
      cmocka_unit_test(includes),
      cmocka_unit_test(missing_keys),
      cmocka_unit_test(names),
      cmocka_unit_test(between_values),
      cmocka_unit_test(overrides),
      cmocka_unit_test(all_faults_are_told),
      cmocka_unit_test(garbage_never_crashes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
