/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "make_shaft.h"

#include "check.h"
#include "make_slip.h"

void make_shaft_bench(struct bw_driveline line, struct shaft_bench *bench) {
  struct bw_case *made = make_slip_case(BW_TYRE_ASPHALT_DRY);
  made->slip.tyre = (struct bw_tyre){
      .surface = BW_TYRE_CUSTOM, .c = {1.0, 3000.0, 0.0}, .relaxation = 0.0, .low_speed = 0.1};
  assert_int_equal(bw_tyre_prepare(&made->slip.tyre, NULL), BW_OK);
  make_machine(made, BW_FRONT, 1e5, 1e9);
  made->machine[BW_FRONT].ratio = 9.0;
  made->machine[BW_FRONT].inertia = 0.05;
  made->slip.driveline[BW_FRONT] = line;
  *bench = (struct shaft_bench){.made = made, .machine = 0.05 * 81.0};
  bench->car = 1500.0 * 0.32 * 0.32 + 2.2;
  bw_slip_start(made, 20.0, &bench->slip);
  bw_vehicle_axle_loads(&made->vehicle, 0.0, 0.0, bench->slip.load);
  bench->torques.grip[0] = bench->torques.grip[1] = 1.0;
}

void shaft_step(struct shaft_bench *bench, double length) {
  struct bw_slip_works works = {0};
  bw_slip_step(bench->made, &bench->torques, length, &bench->slip, &works);
}

double shaft_frequency(double stiffness) {
  struct shaft_bench bench;
  make_shaft_bench((struct bw_driveline){.stiffness = stiffness}, &bench);
  bench.slip.axle[0].twist = 0.01;
  bench.slip.axle[0].shaft_torque = 0.01 * stiffness;
  const double length = 2e-5;
  double first = 0.0;
  double last = 0.0;
  int crossings = 0;
  for (int i = 1; i < 50000; i++) {
    const double before = bench.slip.axle[0].twist;
    shaft_step(&bench, length);
    const double after = bench.slip.axle[0].twist;
    if (before < 0.0 && after >= 0.0) {
      const double at = length * ((double)i - after / (after - before));
      first = crossings == 0 ? at : first;
      last = at;
      crossings++;
    }
  }
  assert_true(crossings >= 7);
  free_case(bench.made);
  return (double)(crossings - 1) / (last - first);
}
