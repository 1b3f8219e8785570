/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "case_files.h"

#include "alloc.h"
#include "input/param.h"
#include "strategies/registry.h"

static const char *const SHIPPED[] = {"cases/hatchback-wltc.cfg", "cases/hatchback-udds.cfg",
                                      "cases/van-nycc.cfg", "cases/crossover-us06.cfg",
                                      "cases/stop-100.cfg"};
enum { SHIPPED_COUNT = sizeof SHIPPED / sizeof SHIPPED[0] };

static struct bw_case *load(const char *path, const char *const *set, size_t count) {
  struct bw_override overrides[16];
  assert_true(count <= 16);
  for (size_t i = 0; i < count; i++) {
    overrides[i].text = set[i];
  }
  struct bw_diag diag = {0};
  struct bw_case *loaded = NULL;
  const enum bw_status status = bw_case_load(path, "cases", overrides, count, &loaded, &diag);
  if (status != BW_OK) {
    fail_msg("%s refused: %s", path, diag.count > 0 ? diag.line[0] : "no message");
  }
  return loaded;
}

static void shipped_cases_load(void **state) {
  (void)state;
  for (size_t i = 0; i < SHIPPED_COUNT; i++) {
    struct bw_case *loaded = load(SHIPPED[i], NULL, 0);
    assert_non_null(strstr(SHIPPED[i], loaded->name));
    assert_non_null(strstr(loaded->note, "invented"));
    assert_true(loaded->trace.n >= 2);
    assert_true(loaded->accept_count > 2);
    assert_int_equal(loaded->strategy_count, 0);
    assert_true(bw_case_effective_mass(loaded) > loaded->vehicle.load[BW_LOAD_UNLADEN].mass);
    bw_case_destroy(loaded);
  }
}

static void machines_peak_near_95_percent(void **state) {
  (void)state;
  /* the invented machines shall be plausible: best efficiency of machine and inverter 94 to 96 % */
  for (size_t i = 0; i < SHIPPED_COUNT; i++) {
    struct bw_case *loaded = load(SHIPPED[i], NULL, 0);
    for (int axle = 0; axle < BW_AXLES; axle++) {
      const struct bw_machine *machine = &loaded->machine[axle];
      if (!machine->is_fitted) {
        continue;
      }
      double best = 0.0;
      for (int i_w = 0; 50.0 + 20.0 * i_w < machine->omega_max; i_w++) {
        const double w = 50.0 + 20.0 * i_w;
        const double most = fmin(machine->shaft_torque_peak, machine->power_peak / w);
        for (int i_t = 1; 5.0 * i_t <= most; i_t++) {
          const double t = 5.0 * i_t;
          best = fmax(best, t * w / (t * w + bw_machine_loss(machine, w, t, true)));
        }
      }
      CHECK_WITHIN(best, 0.94, 0.96);
    }
    bw_case_destroy(loaded);
  }
}

static void values_reach_their_fields_in_si(void **state) {
  (void)state;
  const char *const set[] = {"battery.soc_percent=37",
                             "battery.temperature_c=-7.5",
                             "machine.front.speed_max_rpm=11700",
                             "friction.rear.torque_per_pressure_nm_per_bar=23.7",
                             "friction.rear.pressure_max_bar=123",
                             "friction.front.lag_ms=73",
                             "friction.layout=pedal-coupled",
                             "friction.prefill=true",
                             "machine.front.idle=gated-off",
                             "overrun.fill=friction",
                             "driver.decel_means=vehicle",
                             "assess.felt_line_g=0.02",
                             "vehicle.load_state=laden",
                             "vehicle.name=a \"quoted\" \\ name",
                             "ambient.temperature_c=11",
                             "control.period_ms=20"};
  struct bw_case *loaded = load("cases/hatchback-udds.cfg", set, sizeof set / sizeof set[0]);
  CHECK_CLOSE(loaded->battery.start_charge, 0.37, 1e-15);
  CHECK_CLOSE(loaded->battery.temperature, 265.65, 1e-12);
  CHECK_RELATIVE(loaded->battery.capacity, 140.0 * 3600.0, 1e-15);
  CHECK_RELATIVE(loaded->machine[0].omega_max, 11700.0 * 2.0 * 3.14159265358979323846 / 60.0,
                 1e-14);
  CHECK_RELATIVE(loaded->brakes.axle[1].per_pressure, 23.7e-5, 1e-14);
  CHECK_RELATIVE(loaded->brakes.axle[1].pressure_max, 123e5, 1e-14);
  CHECK_RELATIVE(loaded->brakes.axle[0].lag, 0.073, 1e-14);
  assert_int_equal(loaded->brakes.layout, BW_LAYOUT_PEDAL_COUPLED);
  assert_true(loaded->brakes.is_prefilled);
  assert_true(loaded->machine[0].is_gated_off_idle);
  assert_false(loaded->machine[1].is_fitted);
  assert_int_equal(loaded->overrun.fill, BW_OVERRUN_FILL_FRICTION);
  assert_int_equal(loaded->driver.decel_means, BW_DECEL_VEHICLE);
  CHECK_CLOSE(loaded->assess.felt_deceleration, 0.1962, 1e-15);
  assert_int_equal(loaded->vehicle.load_state, BW_LOAD_LADEN);
  assert_string_equal(loaded->vehicle_name, "a \"quoted\" \\ name");
  CHECK_CLOSE(loaded->ambient_temperature, 284.15, 1e-12);
  CHECK_CLOSE(loaded->control_period, 0.02, 1e-17);
  CHECK_CLOSE(loaded->trace_period, 0.1, 1e-16); /* follows when not given */
  CHECK_CLOSE(loaded->driver.drive_front_share, 1.0, 0.0);
  CHECK_CLOSE(loaded->assess.balance_slope, 0.85, 0.0);
  assert_string_equal(loaded->assess.balance_rule, "un-r13-family");
  /* the tables of the vehicle file */
  CHECK_CLOSE(bw_table1_at(&loaded->battery.ocv, 0.55), 0.5 * (355.5 + 364.0), 1e-9);
  CHECK_CLOSE(bw_table2_at(&loaded->battery.resistance, 263.15, 0.7), 0.222, 1e-9);
  CHECK_CLOSE(bw_table1_at(&loaded->battery.charge_continuous, 273.15), 40.0, 1e-9);
  CHECK_CLOSE(bw_table1_at(&loaded->battery.charge_pulse, 273.15), 85.0, 1e-9);
  CHECK_CLOSE(bw_table1_at(&loaded->brakes.axle[0].pad, 623.15), 0.392, 1e-12);
  bw_case_destroy(loaded);
}

static void csv_tables_are_read_beside_the_vehicle(void **state) {
  (void)state;
  struct bw_case *loaded = load("cases/van-nycc.cfg", NULL, 0);
  const struct bw_machine *machine = &loaded->machine[BW_REAR];
  const double rpm = 2.0 * 3.14159265358979323846 / 60.0;
  assert_int_equal(machine->loss_map.nx, 13);
  assert_int_equal(machine->loss_map.ny, 10);
  assert_int_equal(machine->torque_table.nx, 23);
  assert_int_equal(machine->torque_table.ny, 1);
  CHECK_CLOSE(bw_table2_at(&machine->torque_table, 6000.0 * rpm, 0.31), 175.1, 0.05);
  CHECK_CLOSE(bw_table2_at(&machine->loss_map, 0.0, 30.0), 180.0 + 9.0 + 135.0, 0.05);
  bw_case_destroy(loaded);
}

static void road_load_has_two_sources(void **state) {
  (void)state;
  struct bw_case *coast = load("cases/hatchback-udds.cfg", NULL, 0);
  /* f0 + f1 V + f2 V^2 with V in km/h, at 100 km/h */
  CHECK_RELATIVE(bw_vehicle_road_load(&coast->vehicle, 100.0 / 3.6),
                 118.0 + 0.55 * 100.0 + 0.0335 * 1e4, 1e-12);
  bw_case_destroy(coast);
  const char *const set[] = {"ambient.air_density_kgpm3=1.1"};
  struct bw_case *drag = load("cases/van-nycc.cfg", set, 1);
  CHECK_RELATIVE(bw_vehicle_road_load(&drag->vehicle, 17.0),
                 0.0105 * 3300.0 * 9.81 + 0.5 * 1.1 * 1.28 * 17.0 * 17.0, 1e-12);
  bw_case_destroy(drag);
}

static void inertia_is_reflected_to_the_road(void **state) {
  (void)state;
  struct bw_case *loaded = load("cases/hatchback-udds.cfg", NULL, 0);
  /* wheels 1.6 and 1.4 kg m2, machine 0.035 kg m2 at ratio 9.3, tyre 0.305 m */
  const double front = 1.6 + 0.035 * 9.3 * 9.3;
  CHECK_RELATIVE(bw_case_axle_inertia(loaded, BW_FRONT), front, 1e-14);
  CHECK_RELATIVE(bw_case_axle_inertia(loaded, BW_REAR), 1.4, 1e-14);
  CHECK_RELATIVE(bw_case_effective_mass(loaded), 1350.0 + (front + 1.4) / (0.305 * 0.305), 1e-14);
  bw_case_destroy(loaded);
}

static void controller_is_told_the_car(void **state) {
  (void)state;
  struct bw_case *loaded = load("cases/van-nycc.cfg", NULL, 0);
  struct bw_blend_info info;
  bw_case_blend_info(loaded, &info);
  CHECK_CLOSE(info.period, 0.01, 1e-17);
  CHECK_CLOSE(info.mass, 3300.0, 0.0);
  CHECK_CLOSE(info.cg_to_front, 1.88, 0.0);
  CHECK_CLOSE(info.machine_torque_peak[BW_FRONT], 0.0, 0.0);
  CHECK_RELATIVE(info.machine_torque_peak[BW_REAR], 300.0 * 11.2 / 0.965, 1e-14);
  CHECK_RELATIVE(info.friction_torque_max[BW_FRONT], (160.0 - 0.6) * 62.0, 1e-13);
  CHECK_CLOSE(info.machine_loss[BW_REAR][3], 0.16, 0.0);
  CHECK_CLOSE(info.parallel_ratio, 0.8, 0.0);
  /* the map of its file, first and last row, in SI; none where no machine is */
  const struct bw_blend_loss_map *map = &info.machine_loss_map[BW_REAR];
  assert_int_equal(map->speeds, 13);
  assert_int_equal(map->torques, 10);
  CHECK_CLOSE(map->speed[0], 0.0, 0.0);
  CHECK_RELATIVE(map->speed[12], 12000.0 * acos(-1.0) / 30.0, 1e-14);
  CHECK_CLOSE(map->torque[1], 15.0, 0.0);
  CHECK_CLOSE(map->torque[9], 300.0, 0.0);
  CHECK_CLOSE(map->loss[0], 180.0, 0.0);
  CHECK_CLOSE(map->loss[1], 218.2, 0.0);
  CHECK_CLOSE(map->loss[129], 27888.7, 0.0);
  assert_int_equal(info.machine_loss_map[BW_FRONT].speeds, 0);
  assert_null(info.machine_loss_map[BW_FRONT].loss);
  bw_case_destroy(loaded);
}

static void strategy_settings_are_handed_over(void **state) {
  (void)state;
  const struct bw_blend_strategy *strategy = bw_strategy_find("series");
  assert_non_null(strategy);
  double values[32];
  assert_true(strategy->param_count <= 32);
  char set_text[200];
  const char *const set[] = {set_text};
  const double odd =
      strategy->params[0].min + 0.371 * (strategy->params[0].max - strategy->params[0].min);
  (void)snprintf(set_text, sizeof set_text, "strategy.series.%s=%.17g", strategy->params[0].name,
                 odd);
  struct bw_case *loaded = load("cases/hatchback-udds.cfg", set, 1);
  bw_case_strategy_params(loaded, strategy, values);
  CHECK_CLOSE(values[0], odd, 0.0);
  for (size_t i = 1; i < strategy->param_count; i++) {
    CHECK_CLOSE(values[i], strategy->params[i].fallback, 0.0);
  }
  bw_case_destroy(loaded);
}

static void case_wins_over_what_it_includes(void **state) {
  (void)state;
  struct test_files files;
  files_begin(&files);
  const char *path =
      files_case(&files, "win.cfg",
                 "battery: { capacity_ah = 137; };\n"
                 "strategies = (\"series\", \"friction-only\");\n"
                 "accept: { dip_peak_mps2_max = 0.37; recovered_share_min = 0.1; };");
  struct bw_case *loaded = load(path, NULL, 0);
  CHECK_RELATIVE(loaded->battery.capacity, 137.0 * 3600.0, 1e-15);
  assert_int_equal(loaded->strategy_count, 2);
  assert_string_equal(loaded->strategies[0]->name, "series");
  assert_int_equal(loaded->accept_count, 2);
  assert_string_equal(loaded->accept[0].column, "dip_peak_mps2");
  assert_true(loaded->accept[0].has_max && !loaded->accept[0].has_min);
  CHECK_CLOSE(loaded->accept[0].max, 0.37, 0.0);
  assert_true(loaded->accept[1].has_min && !loaded->accept[1].has_max);
  assert_string_equal(loaded->name, "win");
  bw_case_destroy(loaded);
  const char *const set[] = {"battery.capacity_ah=91", "accept.dip_peak_mps2_max=0.2",
                             "cycle.name=wltc-3b"};
  loaded = load(path, set, 3);
  CHECK_RELATIVE(loaded->battery.capacity, 91.0 * 3600.0, 1e-15);
  CHECK_CLOSE(loaded->accept[0].max, 0.2, 0.0);
  assert_string_equal(loaded->trace.name, "wltc-3b");
  bw_case_destroy(loaded);
  files_end(&files);
}

static void mark_and_crlf_are_accepted(void **state) {
  (void)state;
  struct test_files files;
  files_begin(&files);
  char text[1024];
  const int length = snprintf(text, sizeof text,
                              "\xEF\xBB\xBF@include \"%s/cases/vehicles/small-hatchback.cfg\"\r\n"
                              "cycle: { name = \"udds\"; };\r\n# @include \"nothing\"\r\n"
                              "/* @include \"nothing\" */\r\nbattery: { soc_percent = 61; };\r\n",
                              files.root);
  struct bw_case *loaded = load(files_write(&files, "crlf.cfg", text, (size_t)length), NULL, 0);
  CHECK_CLOSE(loaded->battery.start_charge, 0.61, 1e-15);
  bw_case_destroy(loaded);
  files_end(&files);
}

static char *resolved_text(const struct bw_case *loaded, size_t *length) {
  char *text = NULL;
  FILE *stream = open_memstream(&text, length);
  assert_non_null(stream);
  assert_true(bw_param_write_resolved(loaded, stream));
  assert_int_equal(fclose(stream), 0);
  return text;
}

/* what two loads share by address is not compared */
static void check_same(const struct bw_case *one, const struct bw_case *two) {
  assert_int_equal(one->trace.n, two->trace.n);
  assert_memory_equal(one->trace.time, two->trace.time, one->trace.n * sizeof *one->trace.time);
  assert_memory_equal(one->trace.value, two->trace.value, one->trace.n * sizeof *one->trace.value);
  assert_string_equal(one->trace.name, two->trace.name);
  CHECK_CLOSE(one->trace.box, two->trace.box, 0.0);
  assert_string_equal(one->name, two->name);
  assert_string_equal(one->vehicle_name, two->vehicle_name);
  assert_string_equal(one->note, two->note);
  assert_memory_equal(&one->vehicle, &two->vehicle, sizeof one->vehicle);
  assert_memory_equal(one->machine, two->machine, sizeof one->machine);
  assert_memory_equal(&one->battery, &two->battery, sizeof one->battery);
  assert_memory_equal(&one->brakes, &two->brakes, sizeof one->brakes);
  assert_memory_equal(&one->driver, &two->driver, sizeof one->driver);
  assert_memory_equal(&one->overrun, &two->overrun, sizeof one->overrun);
  assert_memory_equal(&one->assess, &two->assess, sizeof one->assess);
  assert_memory_equal(one->accept, two->accept, sizeof one->accept);
  assert_memory_equal(one->strategies, two->strategies, sizeof one->strategies);
  CHECK_CLOSE(one->control_period, two->control_period, 0.0);
  CHECK_CLOSE(one->step, two->step, 0.0);
  CHECK_CLOSE(one->trace_period, two->trace_period, 0.0);
}

static void resolved_case_is_the_same_case(void **state) {
  (void)state;
  const char *const set[] = {"vehicle.name=od\"d \\n name\tx", "battery.soc_percent=77.7",
                             "driver.gain_per_s=1.37"};
  for (size_t i = 0; i < SHIPPED_COUNT; i++) {
    struct test_files files;
    files_begin(&files);
    struct bw_case *first = load(SHIPPED[i], set, 3);
    size_t length = 0;
    char *text = resolved_text(first, &length);
    struct bw_case *second = load(files_write(&files, "resolved.cfg", text, length), NULL, 0);
    size_t again_length = 0;
    char *again = resolved_text(second, &again_length);
    assert_int_equal(length, again_length);
    assert_memory_equal(text, again, length);
    check_same(first, second);
    free(text);
    free(again);
    bw_case_destroy(first);
    bw_case_destroy(second);
    files_end(&files);
  }
}

static void full_device_is_noticed(void **state) {
  (void)state;
  struct bw_case *loaded = load("cases/stop-100.cfg", NULL, 0);
  FILE *full = fopen("/dev/full", "w");
  assert_non_null(full);
  assert_int_equal(setvbuf(full, NULL, _IONBF, 0), 0);
  assert_false(bw_param_write_resolved(loaded, full));
  assert_false(bw_param_print_resolved(loaded, full));
  (void)fclose(full);
  bw_case_destroy(loaded);
}

static void people_see_no_machine_that_is_not_there(void **state) {
  (void)state;
  struct bw_case *loaded = load("cases/hatchback-udds.cfg", NULL, 0);
  char *text = NULL;
  size_t length = 0;
  FILE *stream = open_memstream(&text, &length);
  assert_non_null(stream);
  assert_true(bw_param_print_resolved(loaded, stream));
  assert_int_equal(fclose(stream), 0);
  assert_non_null(strstr(text, "machine.front.lag_ms"));
  assert_non_null(strstr(text, "machine.rear.fitted"));
  assert_null(strstr(text, "machine.rear.lag_ms"));
  assert_non_null(strstr(text, "80 %"));
  free(text);
  bw_case_destroy(loaded);
}

struct allowance {
  long left;
  bool is_spent;
};

static bool allow(void *context) {
  struct allowance *allowance = context;
  if (allowance->left-- > 0) {
    return true;
  }
  allowance->is_spent = true;
  return false;
}

static void every_failed_allocation_is_survived(void **state) {
  (void)state;
  bool is_spent = true;
  size_t refused = 0;
  /* steps of 7: a few hundred allocations, and every kind of them is met */
  for (long n = 0; is_spent; n += n < 40 ? 1 : 7) {
    struct allowance allowance = {.left = n};
    struct bw_diag diag = {0};
    struct bw_case *loaded = NULL;
    bw_alloc_set_hook(allow, &allowance);
    const enum bw_status status =
        bw_case_load("cases/van-nycc.cfg", "cases", NULL, 0, &loaded, &diag);
    bw_alloc_set_hook(NULL, NULL);
    is_spent = allowance.is_spent;
    if (status != BW_OK) {
      assert_int_equal(status, BW_E_MEMORY);
      assert_null(loaded);
      assert_true(diag.count > 0);
      refused++;
    }
    bw_case_destroy(loaded);
  }
  assert_true(refused > 20);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(shipped_cases_load),
      cmocka_unit_test(machines_peak_near_95_percent),
      cmocka_unit_test(values_reach_their_fields_in_si),
      cmocka_unit_test(csv_tables_are_read_beside_the_vehicle),
      cmocka_unit_test(road_load_has_two_sources),
      cmocka_unit_test(inertia_is_reflected_to_the_road),
      cmocka_unit_test(controller_is_told_the_car),
      cmocka_unit_test(strategy_settings_are_handed_over),
      cmocka_unit_test(case_wins_over_what_it_includes),
      cmocka_unit_test(mark_and_crlf_are_accepted),
      cmocka_unit_test(resolved_case_is_the_same_case),
      cmocka_unit_test(full_device_is_noticed),
      cmocka_unit_test(people_see_no_machine_that_is_not_there),
      cmocka_unit_test(every_failed_allocation_is_survived),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
