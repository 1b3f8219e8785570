/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_swap.h"

/** Stops, hand-overs, descents and standstill of the simulated car against closed forms. The
 *  identifiers MOT-, HO-, CYC- and DES-n number the project's list of physics checks; all values
 *  here are marked there as derived, the hand-over laws confirmed by time-stepping. */

static const double KMH = 1.0 / 3.6;
/* relative: a decaying pressure is set onto its target at 1e-9 of the greatest pressure */
static const double AREA = 3e-8;

static void mot_1_torque_envelope(void **state) {
  (void)state;
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 310.0, 150e3);
  made->machine[BW_FRONT].ratio = 9.0;
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  make_stop(made, 90.0 * KMH, 50.0, 30.0);
  struct test_record record = {0};
  record_run(made, &TEST_MACHINE, NULL, &record);
  /* MOT-1, [D]: 150 kW, 310 N m, ratio 9, r 0.32 m: 8718.75 N at the wheels below the corner
   * v_b = 61.935 km/h, that is 4620.6 rpm; 5.81 m/s2 on 1500 kg */
  const double corner = 150e3 / 8718.75;
  CHECK_RELATIVE(corner, 61.935 * KMH, 1e-5);
  CHECK_RELATIVE(corner / 0.32 * 9.0 * 60.0 / (2.0 * acos(-1.0)), 4620.6, 1e-5);
  size_t above = 0;
  size_t below = 0;
  for (size_t i = 5; i + 1 < record.n; i++) {
    const struct test_row *row = &record.rows[i];
    const double force = row->machine / 0.32;
    if (row->speed_end > corner) {
      const double mean = 0.5 * (row->speed_start + row->speed_end);
      CHECK_RELATIVE(force * mean, 150e3, 1e-4);
      above++;
    } else if (row->speed_start < corner) {
      CHECK_RELATIVE(force, 8718.75, 1e-12);
      CHECK_RELATIVE(row->deceleration, 8718.75 / 1500.0, 1e-9);
      below++;
    }
  }
  assert_true(above > 100 && below > 100);
  free_record(&record);
  free_case(made);
}

/* ------------------------------------------------------------------------------------------- */

static double peak_law(const struct swap *swap) {
  const double rate = swap->torque / swap->ramp;
  return rate *
         (swap->dead_time + swap->lag * (1.0 - exp(-(swap->ramp - swap->dead_time) / swap->lag)));
}

static void ho_1_area_law(void **state) {
  (void)state;
  /* HO-1, [D]: integral of the deficit = Delta (tau + theta) whatever the ramp */
  static const struct {
    struct swap swap;
    double area;
  } wanted[] = {{{1000.0, 1.0, 0.05, 0.10}, 150.0},
                {{1000.0, 1.0 / 3.0, 0.05, 0.10}, 150.0},
                {{1500.0, 1.0, 0.02, 0.06}, 120.0},
                /* a dead time inside a period and inside a sub-step keeps the law */
                {{1000.0, 0.7, 0.03137, 0.10}, 131.37}};
  for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
    struct test_record record = {0};
    run_swap(&wanted[i].swap, 0.01, &record);
    CHECK_RELATIVE(record.gap_area, wanted[i].area, AREA);
    /* so the speed not taken off is (Delta F / m)(tau + theta): the car against the same car
     * whose braking never failed */
    const double rate = wanted[i].swap.torque / 0.32 / 1500.0;
    const double end = record.last.time + record.last.duration;
    CHECK_RELATIVE(record.last.speed_end - (40.0 - rate * end), wanted[i].area / 0.32 / 1500.0,
                   1e-7);
    free_record(&record);
  }
}

static void ho_1_holds_for_a_dead_time_on_the_edge_of_a_period(void **state) {
  (void)state;
  /* 290 ms in periods of 10 ms and steps of 1 ms: 0.29/0.001/10 rounds to 29, 0.29/0.01 to just
   * below; using both moved the friction by one period */
  const struct swap swap = {1000.0, 1.0, 0.29, 0.10};
  struct test_record record = {0};
  run_swap(&swap, 0.01, &record);
  CHECK_RELATIVE(record.gap_area, 390.0, AREA);
  free_record(&record);
}

static void ho_2_peak_law(void **state) {
  (void)state;
  double held = 0.0;
  /* HO-2, [D]: 1000 N m/s over 1 s: 149.9925 N m; requests held for 10 ms give 155.06 */
  const struct swap slow = {1000.0, 1.0, 0.05, 0.10};
  CHECK_RELATIVE(peak_law(&slow), 149.9925, 1e-6);
  CHECK_RELATIVE(swap_peak(&slow, &held), 149.9925, 1e-3);
  print_message("HO-2: held for 10 ms %.4f N m, periods extrapolated %.4f N m\n", held,
                swap_peak(&slow, &held));
  CHECK_RELATIVE(held, 155.06, 5e-3);
  /* 3000 N m/s over 1/3 s: 432.355 N m, ceiling 450; a period does not divide this ramp, so the
   * last stair is shorter and the extrapolation not smooth */
  const struct swap fast = {1000.0, 1.0 / 3.0, 0.05, 0.10};
  CHECK_RELATIVE(peak_law(&fast), 432.355, 1e-6);
  CHECK_RELATIVE(swap_peak(&fast, &held), 432.355, 1e-2);
  CHECK_WITHIN(held, 432.355, 450.0 * 1.034);
  /* the same law where the periods do divide the ramp */
  const struct swap even = {1000.0, 0.3, 0.05, 0.10};
  CHECK_RELATIVE(swap_peak(&even, &held), peak_law(&even), 1e-3);
}

static void ho_3_worked_dip(void **state) {
  (void)state;
  /* HO-3, [D]: 2 m/s2 fully swapped, tau 0.10, theta 0.03; dip 0.5164 / 0.2600 / 0.1733 / 0.1300
   * m/s2 for ramps of 0.5 / 1 / 1.5 / 2 s, and always 0.26 m/s not taken off */
  const double ramp[4] = {0.5, 1.0, 1.5, 2.0};
  const double dip[4] = {0.5164, 0.2600, 0.1733, 0.1300};
  for (int i = 0; i < 4; i++) {
    const struct swap swap = {2.0 * 1500.0 * 0.32, ramp[i], 0.03, 0.10};
    double held = 0.0;
    CHECK_RELATIVE(swap_peak(&swap, &held) / (0.32 * 1500.0), dip[i], 1e-3);
    struct test_record record = {0};
    run_swap(&swap, 0.01, &record);
    CHECK_RELATIVE(record.gap_area / (0.32 * 1500.0), 0.26, AREA);
    free_record(&record);
  }
}

static void ho_4_speed_band_rule(void **state) {
  (void)state;
  /* HO-4, [D]: the hand-over must span dv = a^2 (tau + theta)/a_thr to keep the dip at a_thr;
   * 0.015 g, tau + theta = 0.10 s: 2.45 / 9.79 / 22.0 km/h at 1 / 2 / 3 m/s2 */
  const double felt = 0.015 * BW_GRAVITY;
  const double band_kmh[3] = {2.45, 9.79, 22.0};
  for (int i = 0; i < 3; i++) {
    const double rate = 1.0 + i;
    const double band = rate * rate * 0.10 / felt;
    CHECK_RELATIVE(band, band_kmh[i] * KMH, 3e-3);
    /* over time at the planned deceleration, the rule gives exactly the felt line */
    const struct swap swap = {rate * 1500.0 * 0.32, band / rate, 0.03, 0.07};
    double held = 0.0;
    CHECK_RELATIVE(swap_peak(&swap, &held) / (0.32 * 1500.0), felt, 5e-3);
    /* over speed the dip itself slows the hand-over: (a/dv)(a - dip)(tau + theta) = dip, so it
     * stays below the line by the factor 1/(1 + a_thr/a); the rule is on the safe side */
    const double coarse = swap_band_dip(rate, band, 0.01);
    const double fine = swap_band_dip(rate, band, 0.005);
    const double dip = 2.0 * fine - coarse;
    CHECK_RELATIVE(dip, felt / (1.0 + felt / rate), 5e-3);
    CHECK_WITHIN(dip, 0.0, felt);
  }
}

/* ------------------------------------------------------------------------------------------- */

static double fade_law(double v0, double v2, double v1) {
  const double band = (pow(v2, 3.0) - pow(v1, 3.0)) / 3.0 - v1 * (v2 * v2 - v1 * v1) / 2.0;
  return (0.5 * (v0 * v0 - v2 * v2) + band / (v2 - v1)) / (0.5 * v0 * v0);
}

static void cyc_17_low_speed_fade(void **state) {
  (void)state;
  /* CYC-17, [D]: captured share of a stop from 30 / 50 / 100 km/h */
  const double speed_kmh[3] = {30.0, 50.0, 100.0};
  const double fade_12_7[3] = {0.8974, 0.9631, 0.9908};
  const double fade_10_5[3] = {0.9352, 0.9767, 0.9942};
  for (int i = 0; i < 3; i++) {
    const double v0 = speed_kmh[i] * KMH;
    const double wide = swap_fade_share(v0, 12.0 * KMH, 7.0 * KMH, 0.01);
    CHECK_RELATIVE(wide, fade_law(v0, 12.0 * KMH, 7.0 * KMH), 1e-4);
    CHECK_CLOSE(wide, fade_12_7[i], 1e-4);
    const double low = swap_fade_share(v0, 10.0 * KMH, 5.0 * KMH, 0.01);
    CHECK_RELATIVE(low, fade_law(v0, 10.0 * KMH, 5.0 * KMH), 1e-4);
    CHECK_CLOSE(low, fade_10_5[i], 1e-4);
  }
}

static void cyc_17_hard_cut(void **state) {
  (void)state;
  /* CYC-17, [D]: hard cut at 8 km/h, 1 - (v1/v0)^2. The cut falls on a tick, so it is off by at
   * most half a period's speed a T/2 to either side, and the share by v1 a T/2 over half v0^2 */
  const double speed_kmh[3] = {30.0, 50.0, 100.0};
  const double cut[3] = {0.9289, 0.9744, 0.9936};
  const double v1 = 8.0 * KMH;
  for (int i = 0; i < 3; i++) {
    const double v0 = speed_kmh[i] * KMH;
    for (int k = 0; k < 3; k++) {
      const double period = 0.01 / (double)(1 << (2 * k));
      const double slack = v1 * 2.3 * period / (v0 * v0) * 1.01;
      CHECK_CLOSE(swap_fade_share(v0, v1, v1, period), 1.0 - v1 * v1 / (v0 * v0), slack);
    }
    CHECK_CLOSE(swap_fade_share(v0, v1, v1, 0.000625), cut[i], 1.5e-4);
  }
}

/* ------------------------------------------------------------------------------------------- */

/* two points of one speed */
static void make_steady(struct bw_case *made, double speed, double duration) {
  const double time[2] = {0.0, duration};
  const double value[2] = {speed, speed};
  make_trace(made, BW_TRACE_SPEED, time, value, 2);
}

static void des_1_steady_descent(void **state) {
  (void)state;
  /* DES-1, [D]: P = v [m g sin(theta) - m g f cos(theta) - C v^2], 2000 kg, drag area 0.6 m2 */
  static const struct {
    double grade;
    double speed_kmh;
    double force;
    double power;
    double energy_kwh; /* per 10 km */
  } wanted[] = {{0.08, 60.0, 1268.86, 21148.0, 3.525},
                {0.06, 80.0, 801.16, 17804.0, 2.225},
                {0.12, 40.0, 2098.31, 23315.0, 5.829}};
  for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
    struct bw_case *made = make_case();
    made->vehicle.load[BW_LOAD_UNLADEN].mass = 2000.0;
    /* the road load of the program holds whatever the slope; the form has f m g cos(theta) */
    made->vehicle.road_f0 = 2000.0 * BW_GRAVITY * 0.01 * cos(atan(wanted[i].grade));
    make_machine(made, BW_FRONT, 1e4, 1e6);
    make_steady(made, wanted[i].speed_kmh * KMH, 60.0);
    make_grade(made, -wanted[i].grade);
    struct test_record record = {0};
    record_run(made, &TEST_FILL, NULL, &record);
    const struct bw_sample *last = &record.last;
    CHECK_RELATIVE(last->speed_end, wanted[i].speed_kmh * KMH, 1e-6);
    CHECK_RELATIVE(last->axle[0].machine_torque / 0.32, wanted[i].force, 1e-5);
    CHECK_RELATIVE(last->battery_work / last->duration, wanted[i].power, 5e-5);
    CHECK_CLOSE(last->axle[0].machine_work / last->distance * 10e3 / 3.6e6, wanted[i].energy_kwh,
                6e-4);
    /* what the hill gives is what road and machine take */
    CHECK_RELATIVE(-last->potential, last->road_work + last->axle[0].machine_work, 1e-6);
    free_record(&record);
    free_case(made);
  }
}

static double shortfall(double grade, const struct bw_blend_strategy *strategy, double deceleration,
                        double *reaction) {
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 1e4, 1e6);
  made->driver.hold_deceleration = deceleration;
  make_steady(made, 0.0, 3.0);
  make_grade(made, grade);
  struct test_record record = {0};
  record_run(made, strategy, NULL, &record);
  assert_true(record.last.is_parked);
  CHECK_CLOSE(record.machine_work + record.friction_work + record.road_work, 0.0, 0.0);
  *reaction = (record.last.axle[0].friction_torque + record.last.axle[1].friction_torque) / 0.32;
  const double lacking = record.last.hold_shortfall;
  free_record(&record);
  free_case(made);
  return lacking;
}

static void des_3_holding_force(void **state) {
  (void)state;
  /* DES-3, [D]: 20 %: 0.19612 W, 30 %: 0.28735 W; 1500 kg: 2885.8 N and 4228.3 N */
  const double grade[4] = {0.20, 0.30, -0.20, -0.30};
  const double wanted[4] = {2885.8, 4228.3, 2885.8, 4228.3};
  const double share[4] = {0.19612, 0.28735, 0.19612, 0.28735};
  for (int i = 0; i < 4; i++) {
    double reaction = 0.0;
    /* brakes that only a turning machine gives hold nothing: all of the pull is missing */
    const double lacking = shortfall(grade[i], &TEST_MACHINE, 0.0, &reaction);
    CHECK_CLOSE(lacking, wanted[i], 0.06);
    CHECK_CLOSE(lacking / (1500.0 * BW_GRAVITY), share[i], 6e-6);
    CHECK_CLOSE(reaction, 0.0, 0.0);
    /* friction is told to hold at least the pull and lacks nothing, in either direction */
    CHECK_CLOSE(shortfall(grade[i], &TEST_FRICTION, 0.0, &reaction), 0.0, 1e-9);
    CHECK_RELATIVE(reaction, lacking, 1e-12);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(mot_1_torque_envelope),
      cmocka_unit_test(ho_1_area_law),
      cmocka_unit_test(ho_1_holds_for_a_dead_time_on_the_edge_of_a_period),
      cmocka_unit_test(ho_2_peak_law),
      cmocka_unit_test(ho_3_worked_dip),
      cmocka_unit_test(ho_4_speed_band_rule),
      cmocka_unit_test(cyc_17_low_speed_fade),
      cmocka_unit_test(cyc_17_hard_cut),
      cmocka_unit_test(des_1_steady_descent),
      cmocka_unit_test(des_3_holding_force),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
