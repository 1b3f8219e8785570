/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "make_swap.h"

#include "check.h"

void run_swap(const struct swap *swap, double period, struct test_record *record) {
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 1e5, 1e9);
  make_friction_delay(made, swap->dead_time, swap->lag);
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  make_steps(made, period, 10);
  make_stop(made, 40.0, swap->torque / made->vehicle.tyre_radius / 1500.0, 2.0 + swap->ramp + 4.0);
  const double params[TEST_RAMP_PARAMS] = {
      [TEST_RAMP_START] = 2.0, [TEST_RAMP_LENGTH] = swap->ramp};
  record->gap_from = 1.0;
  record_run(made, &TEST_RAMP, params, record);
  assert_true(record->last.speed_end > 1.0);
  free_case(made);
}

double swap_peak(const struct swap *swap, double *held) {
  double peak[3];
  const double period[3] = {0.01, 0.005, 0.0025};
  for (int i = 0; i < 3; i++) {
    struct test_record record = {0};
    run_swap(swap, period[i], &record);
    peak[i] = record.gap_peak;
    free_record(&record);
  }
  *held = peak[0];
  const double first = 2.0 * peak[1] - peak[0];
  const double second = 2.0 * peak[2] - peak[1];
  return (4.0 * second - first) / 3.0;
}

double swap_band_dip(double rate, double band, double period) {
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 1e5, 1e9);
  make_friction_delay(made, 0.03, 0.07);
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  make_steps(made, period, 10);
  make_stop(made, 12.0 + rate, rate, 12.0 / rate);
  const double params[TEST_FADE_PARAMS] = {[TEST_FADE_FROM] = 10.0, [TEST_FADE_TO] = 10.0 - band};
  struct test_record record = {.gap_from = 0.1};
  record_run(made, &TEST_FADE, params, &record);
  const double dip = record.gap_peak / (0.32 * 1500.0);
  free_record(&record);
  free_case(made);
  return dip;
}

double swap_fade_share(double speed, double from, double to, double period) {
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 1e5, 1e9);
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  make_steps(made, period, 10);
  make_stop(made, speed, 2.3, 60.0);
  const double params[TEST_FADE_PARAMS] = {[TEST_FADE_FROM] = from, [TEST_FADE_TO] = to};
  struct test_record record = {0};
  record_run(made, &TEST_FADE, params, &record);
  CHECK_RELATIVE(record.machine_work + record.friction_work, record.kinetic_first, 1e-10);
  const double share = record.machine_work / record.kinetic_first;
  free_record(&record);
  free_case(made);
  return share;
}
