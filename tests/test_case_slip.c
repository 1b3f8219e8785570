/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "case_files.h"

#include "input/case.h"

/** The parameters of the fidelity `slip`: what they become, and what is refused. */

static void expect(const char *text, int line, const char *fragment) {
  struct test_files files;
  files_begin(&files);
  const char *path = files_case(&files, "bad.cfg", text);
  struct bw_diag diag = {0};
  struct bw_case *loaded = NULL;
  const enum bw_status status = bw_case_load(path, "cases", NULL, 0, &loaded, &diag);
  assert_null(loaded);
  assert_int_equal(bw_status_exit(status), 2);
  char place[FILES_PATH + 16];
  (void)snprintf(place, sizeof place, line > 0 ? "%s:%d: " : "%s: ", path, line);
  if (diag.count != 1 || strncmp(diag.line[0], place, strlen(place)) != 0 ||
      strstr(diag.line[0], fragment) == NULL || strstr(diag.line[0], "; ") == NULL) {
    fail_msg("%zu messages, '%s' is not '%s...%s'", diag.count, diag.line[0], place, fragment);
  }
  files_end(&files);
}

static void bad_values_are_named(void **state) {
  (void)state;
#define SLIP "simulation: { fidelity = \"slip\"; };\n"
  expect(SLIP "driveline: { front: { stiffness_nm_per_rad = -5000.0; }; };", 4,
         "driveline.front.stiffness_nm_per_rad: -5000 is below 0 N m/rad");
  expect(SLIP "driveline: { front: { stiffness_nm_per_rad = 9e3; lash_deg = 40.0; }; };", 4,
         "driveline.front.lash_deg: 40 is above 10 deg");
  expect(SLIP "driveline: { front: { lash_deg = 1.0; }; };", 4, "lash in a rigid driveline");
  expect(SLIP "driveline: { rear: { stiffness_nm_per_rad = 9e3; }; };", 4,
         "no machine inertia on the rear axle");
  expect("simulation: { fidelity = \"slip\"; slip_step_us = 1000.0; };\n"
         "driveline: { front: { stiffness_nm_per_rad = 9e5; damping_nms_per_rad = 900.0; }; };",
         4, "too stiff for steps of 1000 us");
  expect("simulation: { fidelity = \"slip\"; slip_step_us = 300.0; };", 0, "no whole multiple");
  expect(SLIP "antilock: { fitted = true; period_ms = 2.5; };", 4, "no whole multiple of 1 ms");
  expect(SLIP "antilock: { fitted = true; slip_release = 0.05; };", 4, "not above");
  expect(SLIP "tyre: { surface = \"custom\"; burckhardt_c1 = 0.3; burckhardt_c2 = 30.0; "
              "burckhardt_c3 = 1.3; };",
         0, "at full slip");
  expect(SLIP "tyre: { surface = \"slush\"; };", 4, "'slush' is unknown");
  expect(SLIP "road: { patches = ((0.0, 0.9), (20000.0, 0.2)); };", 4, "lies beyond the run");
  expect(SLIP "road: { patches = ((5.0, 0.9), (20.0, 0.2)); };", 4, "start at 0 m");
  expect(SLIP "road: { patches = ((0.0, 0.9), (20.0, -0.2)); };", 4, "adhesion of -0.2");
  expect(SLIP "road: { patches = ((0.0, 0.9), (0.0, 0.2)); };", 4, "does not rise");
  expect(SLIP "vehicle: { wheel_inertia_rear_kgm2 = 0.0; };", 4, "too little for a wheel");
  expect("road: { patches = ((0.0, 0.9), (20.0, 0.2)); };", 3, "set simulation.fidelity to slip");
  expect("antilock: { fitted = true; };", 3, "set simulation.fidelity to slip");
  expect("hydraulics: { rear: { hysteresis_bar = 2.0; }; };", 3, "has no calipers");
  expect(SLIP "hydraulics: { front: { flow_cm3_per_s = -3.0; }; };", 4, "is below 0 cm3/s");
#undef SLIP
}

static void grip_comes_from_the_curve_unless_given(void **state) {
  (void)state;
  struct test_files files;
  files_begin(&files);
  struct bw_case *own =
      files_load(&files, "simulation: { fidelity = \"slip\"; };\ntyre: { surface = \"snow\"; };");
  CHECK_CLOSE(own->vehicle.adhesion, own->slip.tyre.peak, 0.0);
  CHECK_CLOSE(own->vehicle.adhesion, 0.19, 1e-4); /* TYR-6, from memory */
  bw_case_destroy(own);
  struct bw_case *given =
      files_load(&files, "simulation: { fidelity = \"slip\"; };\nroad: { adhesion = 0.35; };");
  CHECK_CLOSE(given->vehicle.adhesion, 0.35, 0.0);
  bw_case_destroy(given);
  struct bw_case *rolling = files_load(&files, "tyre: { surface = \"snow\"; };");
  CHECK_CLOSE(rolling->vehicle.adhesion, 0.9, 0.0);
  bw_case_destroy(rolling);
  files_end(&files);
}

static void units_and_sides_arrive(void **state) {
  (void)state;
  struct test_files files;
  files_begin(&files);
  struct bw_case *loaded = files_load(
      &files, "simulation: { fidelity = \"slip\"; slip_step_us = 50.0; };\n"
              "driveline: { front: { stiffness_nm_per_rad = 9e3; lash_deg = 2.0; }; };\n"
              "road: { patches = ((0.0, 0.9, 0.8), (30.0, 0.3, 0.8)); };\n"
              "antilock: { fitted = true; channels = \"wheel\"; build_bar_per_s = 150.0; };");
  CHECK_CLOSE(loaded->slip.step, 50e-6, 1e-18);
  CHECK_CLOSE(loaded->slip.driveline[0].lash, acos(-1.0) / 90.0, 1e-15);
  CHECK_CLOSE(loaded->slip.antilock.build, 1.5e7, 1e-6);
  assert_true(loaded->slip.antilock.is_per_wheel);
  assert_true(bw_surface_is_split(&loaded->slip.surface));
  CHECK_CLOSE(loaded->slip.surface.adhesion[0][1], 0.3, 0.0);
  CHECK_CLOSE(loaded->slip.surface.adhesion[1][1], 0.8, 0.0);
  bw_case_destroy(loaded);
  files_end(&files);
}

static void a_line_lengthens_the_dead_time(void **state) {
  (void)state;
  struct test_files files;
  files_begin(&files);
  struct bw_case *without = files_load(&files, "");
  struct bw_case *with = files_load(&files, "hydraulics: { rear: { line_length_m = 5.0; }; };");
  /* 5 m at sqrt(1.8 GPa/1060 kg/m3) = 1303 m/s (HYD-1, derived) are 3.8 ms */
  const double longer =
      with->brakes.axle[BW_REAR].dead_time - without->brakes.axle[BW_REAR].dead_time;
  CHECK_CLOSE(longer, 5.0 / 1303.0, 2e-6);
  CHECK_CLOSE(with->brakes.axle[BW_FRONT].dead_time, without->brakes.axle[BW_FRONT].dead_time, 0.0);
  bw_case_destroy(with);
  bw_case_destroy(without);
  files_end(&files);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(bad_values_are_named),
      cmocka_unit_test(grip_comes_from_the_curve_unless_given),
      cmocka_unit_test(units_and_sides_arrive),
      cmocka_unit_test(a_line_lengthens_the_dead_time),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
