/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_shaft.h"
#include "reference.h"

/** The machine's envelope, and shaft and lash between machine and wheels. */

static void envelope(struct reference_list *list) {
  static const struct reference_origin FORM = {"constant torque up to P/T, then constant power",
                                               MARK_DERIVED};
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 310.0, 150e3);
  made->machine[BW_FRONT].ratio = 9.0;
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  make_stop(made, 90.0 / 3.6, 50.0, 30.0);
  struct test_record record = {0};
  record_run(made, &TEST_MACHINE, NULL, &record);
  const struct test_row *slow = &record.rows[record.n / 2];
  const double force = slow->machine / 0.32;
  /* the corner, where the power of the fast rows meets the force of the slow ones */
  const struct test_row *fast = &record.rows[20];
  const double power = fast->machine / 0.32 * 0.5 * (fast->speed_start + fast->speed_end);
  const double corner = power / force;
  reference_add(list, "MOT-1", "N", FORM, (struct reference_pair){8718.75, force, 0.9},
                "310 N m, ratio 9, r 0.32 m: force at the wheels");
  reference_add(list, "MOT-1", "m/s2", FORM,
                (struct reference_pair){5.81, slow->deceleration, 0.0051},
                "its deceleration of 1500 kg");
  reference_add(list, "MOT-1", "km/h", FORM, (struct reference_pair){61.935, corner * 3.6, 6e-3},
                "corner speed at 150 kW");
  reference_add(list, "MOT-1", "1/min", FORM,
                (struct reference_pair){4620.6, corner / 0.32 * 9.0 * 30.0 / acos(-1.0), 0.46},
                "the same at the shaft");
  free_record(&record);
  free_case(made);
}

static void shuffle(struct reference_list *list) {
  static const struct reference_origin MODE = {"two inertias on one spring", MARK_DERIVED};
  reference_add(list, "DRV-1", "Hz", MODE,
                (struct reference_pair){8.012, shaft_frequency(10e3), 0.01},
                "shuffle, 4.05 and 153.6 kg m2, 10 kN m/rad");
  reference_explain(list, "ours has wheels of 2.2 kg m2 and tyres besides");
}

static void ring(struct reference_list *list) {
  static const struct reference_origin ENERGY = {"energy of the undamped ring", MARK_DERIVED};
  struct shaft_bench bench;
  make_shaft_bench((struct bw_driveline){.stiffness = 10e3}, &bench);
  const double torque = 730.0;
  bench.torques.machine[0] = torque;
  double peak = 0.0;
  for (int i = 0; i < 20000; i++) {
    shaft_step(&bench, 2e-5);
    peak = fmax(peak, -10e3 * bench.slip.axle[0].twist);
  }
  reference_add(
      list, "DRV-8", "N m", ENERGY,
      (struct reference_pair){2.0 * torque * bench.car / (bench.machine + bench.car), peak, 4.3},
      "peak shaft torque after a step of 730 N m");
  reference_explain(list, "the tyres take a little of the ring");
  free_case(bench.made);
}

static void lash(struct reference_list *list) {
  static const struct reference_origin FREE = {"constant torque on a free inertia", MARK_DERIVED};
  const double play = 0.035;
  const double torque = 61.0;
  struct shaft_bench bench;
  make_shaft_bench((struct bw_driveline){.stiffness = 20e3, .lash = play}, &bench);
  bench.slip.axle[0].twist = 0.5 * play;
  bench.torques.machine[0] = torque;
  const double wheel = bench.slip.axle[0].wheel[0].omega;
  double time = 0.0;
  while (bench.slip.axle[0].twist > -0.5 * play && time < 1.0) {
    shaft_step(&bench, 1e-5);
    time += 1e-5;
  }
  reference_add(list, "DRV-7", "s", FREE,
                (struct reference_pair){sqrt(2.0 * play * bench.machine / torque), time, 2e-5},
                "crossing 0.035 rad of lash with 61 N m");
  reference_explain(list, "seen at the end of a step of 10 us");
  reference_add(list, "DRV-7", "rad/s", FREE,
                (struct reference_pair){sqrt(2.0 * torque * play / bench.machine),
                                        wheel - bench.slip.axle[0].machine_omega, 1e-3},
                "the same, speed at the impact");
  free_case(bench.made);
}

void reference_driveline(struct reference_list *list) {
  envelope(list);
  shuffle(list);
  ring(list);
  lash(list);
}
