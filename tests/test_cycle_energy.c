/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/cycle_energy.h"
#include "check.h"
#include "make_case.h"

/** Cycle energy by the published procedure against worked examples. They are computed by hand
 *  from the procedure, [D] derived; no published figure for a named car was found. */

static const double KMH = 1.0 / 3.6;

enum { POINTS = 81 };

/* up in 10 equal steps of 1 s, steady until `down`, down in 10 equal steps */
static void make_hump(struct bw_case *made, double top, int down) {
  double time[POINTS];
  double value[POINTS];
  const int last = down + 10;
  for (int i = 0; i <= last; i++) {
    time[i] = i;
    value[i] = top * fmin(1.0, fmin(i, last - i) / 10.0);
  }
  make_trace(made, BW_TRACE_SPEED, time, value, (size_t)last + 1);
}

static void make_car(struct bw_case *made, double mass, const double f[3]) {
  made->vehicle.load[BW_LOAD_UNLADEN].mass = mass;
  made->vehicle.road_f0 = f[0];
  made->vehicle.road_f1 = f[1] / KMH;
  made->vehicle.road_f2 = f[2] / (KMH * KMH);
}

static void example_a(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  /* TM 1500 kg, f0 100 N, f2 0.03; 0 to 36 km/h in 10 s, 20 s steady, 10 s to rest, [D] */
  make_car(made, 1500.0, (const double[]){100.0, 0.0, 0.03});
  make_hump(made, 36.0 * KMH, 30);
  const struct bw_cycle_energy found = bw_cycle_energy(made);
  CHECK_CLOSE(found.distance, 300.0, 1e-9);
  CHECK_CLOSE(found.demand, 110993.14, 0.005);
  CHECK_CLOSE(found.braking, 71282.86, 0.005);
  free_case(made);
}

static void example_b(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  /* TM 2000 kg, f0 120 N, f1 0.5, f2 0.028; 0 to 100 km/h in 10 s, 60 s steady, 10 s to rest, [D]
   */
  make_car(made, 2000.0, (const double[]){120.0, 0.5, 0.028});
  make_hump(made, 100.0 * KMH, 70);
  const struct bw_cycle_energy found = bw_cycle_energy(made);
  CHECK_CLOSE(found.distance, 1944.444, 5e-4);
  CHECK_CLOSE(found.demand, 1585385.03, 0.005);
  CHECK_CLOSE(found.braking, 754121.14, 0.005);
  free_case(made);
}

static void example_c(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  /* any steady speed: E = (f0 + f1 v + f2 v^2) d, closed form, derived */
  make_car(made, 1370.0, (const double[]){107.0, 0.7, 0.031});
  make_trace(made, BW_TRACE_SPEED, (const double[]){0.0, 23.7},
             (const double[]){73.0 * KMH, 73.0 * KMH}, 2);
  const struct bw_cycle_energy found = bw_cycle_energy(made);
  const double way = 73.0 * KMH * 23.7;
  CHECK_RELATIVE(found.demand, (107.0 + 0.7 * 73.0 + 0.031 * 73.0 * 73.0) * way, 1e-12);
  CHECK_CLOSE(found.braking, 0.0, 0.0);
  free_case(made);
}

static void manoeuvre_has_none(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  make_stop(made, 20.0, 3.0, 9.0);
  assert_true(isnan(bw_cycle_energy(made).demand) && isnan(bw_cycle_energy(made).distance));
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(example_a),
      cmocka_unit_test(example_b),
      cmocka_unit_test(example_c),
      cmocka_unit_test(manoeuvre_has_none),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
