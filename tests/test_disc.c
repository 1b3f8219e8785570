/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_case.h"
#include "samples.h"
#include "whole_case.h"

#include "assess/disc_heat.h"
#include "model/disc.h"

#include <string.h>

/** The rubbed face of a disc. FRI-n number the project's list of physics checks. */

/* FRI-5: half-space of rho c k = 7250 x 460 x 50, q0 = 1.635 MW/m2 falling to 0 in 3.53947 s */
static const double FLUX = 1.635e6;
static const double STOP = 3.53947;

static struct bw_disc cast_iron(double depth) {
  return (struct bw_disc){.area = 0.08,
                          .depth = depth,
                          .density = 7250.0,
                          .specific_heat = 460.0,
                          .conductivity = 50.0};
}

/* rise (K) of the face at time t: 2 q0/sqrt(pi rho c k) sqrt(t) (1 - 2 t/(3 t_s)) */
static double half_space(double time) {
  const double effusivity = sqrt(7250.0 * 460.0 * 50.0);
  return 2.0 * FLUX / (sqrt(acos(-1.0)) * effusivity) * sqrt(time) *
         (1.0 - 2.0 * time / (3.0 * STOP));
}

static void fri_5_flux_that_falls_linearly(void **state) {
  (void)state;
  /* FRI-5, derived; the factor 0.53 of its maximum is in Limpert, from memory */
  CHECK_CLOSE(half_space(1.770), 126.70, 0.01);
  CHECK_CLOSE(4.0 / 3.0 / sqrt(2.0 * acos(-1.0)), 0.53192, 5e-6);
  const double at_most = 0.53192304 * FLUX * sqrt(STOP / (7250.0 * 460.0 * 50.0));
  CHECK_CLOSE(half_space(0.5 * STOP), at_most, 1e-4);
  /* 25 mm: within the stop, the far side notices nothing */
  const struct bw_disc disc = cast_iron(0.025);
  const double length = STOP / 4000.0;
  const struct bw_disc_step step = bw_disc_step_make(&disc, length);
  struct bw_disc_face face = {{0.0}};
  double mean = 0.0;
  double peak = 0.0;
  double peak_time = 0.0;
  for (int k = 0; k < 4000; k++) {
    const double power = disc.area * FLUX * (1.0 - (k + 0.5) / 4000.0);
    mean += power * length / bw_disc_capacity(&disc);
    const double rise = mean + bw_disc_face_advance(&step, &face, power);
    const double time = (k + 1) * length;
    if (time > 0.1) {
      CHECK_RELATIVE(rise, half_space(time), 1e-3);
    }
    if (rise > peak) {
      peak = rise;
      peak_time = time;
    }
  }
  CHECK_CLOSE(peak, 126.70, 0.02);
  CHECK_CLOSE(peak_time, 1.770, 0.02);
}

/* face of a slab by explicit finite differences, a way of its own: cells of L/200 */
static double finite_differences(const struct bw_disc *disc, double flux, double on, double end) {
  enum { CELLS = 200 };
  double t[CELLS] = {0.0};
  const double h = disc->depth / CELLS;
  const double diffusivity = disc->conductivity / (disc->density * disc->specific_heat);
  const double step = 0.4 * h * h / diffusivity;
  const double per_flux = step / (disc->density * disc->specific_heat * h);
  for (int n = 0; n * step < end; n++) {
    double from = n * step < on ? flux : 0.0;
    for (int i = 0; i < CELLS; i++) {
      const double to = i + 1 < CELLS ? disc->conductivity * (t[i] - t[i + 1]) / h : 0.0;
      t[i] += per_flux * (from - to);
      from = to;
    }
  }
  return t[0] + (end < on ? 0.5 * flux * h / disc->conductivity : 0.0);
}

static void a_cheek_of_finite_depth(void **state) {
  (void)state;
  /* 9 mm, 0.9 MW/m2 for 2 s, then none: while it heats, at the end, and after it */
  const struct bw_disc disc = cast_iron(0.009);
  const double ends[4] = {0.3, 1.9, 2.2, 3.0};
  for (int i = 0; i < 4; i++) {
    const struct bw_disc_step on = bw_disc_step_make(&disc, fmin(ends[i], 2.0));
    const struct bw_disc_step off = bw_disc_step_make(&disc, fmax(0.0, ends[i] - 2.0));
    struct bw_disc_face face = {{0.0}};
    double excess = bw_disc_face_advance(&on, &face, 0.9e6 * disc.area);
    excess = ends[i] > 2.0 ? bw_disc_face_advance(&off, &face, 0.0) : excess;
    const double mean = 0.9e6 * disc.area * fmin(ends[i], 2.0) / bw_disc_capacity(&disc);
    CHECK_RELATIVE(mean + excess, finite_differences(&disc, 0.9e6, 2.0, ends[i]), 2e-3);
  }
}

static void a_steady_flux_stands_a_third_of_the_depth_above_the_mean(void **state) {
  (void)state;
  /* derived: parabola across the slab, face minus mean = q L/(3 k) */
  const struct bw_disc disc = cast_iron(0.011);
  const struct bw_disc_step step = bw_disc_step_make(&disc, 60.0);
  struct bw_disc_face face = {{0.0}};
  const double excess = bw_disc_face_advance(&step, &face, 237e3 * disc.area);
  CHECK_RELATIVE(excess, 237e3 * 0.011 / (3.0 * 50.0), 1e-12);
}

static void steps_of_any_length_agree(void **state) {
  (void)state;
  const struct bw_disc disc = cast_iron(0.009);
  const struct bw_disc_step whole = bw_disc_step_make(&disc, 0.7);
  const struct bw_disc_step part = bw_disc_step_make(&disc, 0.07);
  struct bw_disc_face one = {{0.0}};
  struct bw_disc_face ten = {{0.0}};
  const double wanted = bw_disc_face_advance(&whole, &one, 31e3);
  double excess = 0.0;
  for (int i = 0; i < 10; i++) {
    excess = bw_disc_face_advance(&part, &ten, 31e3);
  }
  CHECK_RELATIVE(excess, wanted, 1e-12);
}

static void time_without_friction_is_caught_up(void **state) {
  (void)state;
  struct bw_case *made = samples_case();
  made->disc[BW_FRONT] = cast_iron(0.009);
  made->brakes.axle[BW_FRONT].heat_share = 0.9;
  const struct bw_judge judge = bw_judge_make(made);
  struct bw_disc_heat heat = bw_disc_heat_start(&judge);
  struct bw_disc_face face = {{0.0}};
  const struct bw_disc_step step = bw_disc_step_make(&made->disc[BW_FRONT], 0.01);
  double peak = 0.0;
  for (int k = 0; k < 300; k++) {
    /* 0.5 s of 41 kW, 1.5 s without, again */
    const double power = k % 200 < 50 ? 41e3 : 0.0;
    struct bw_sample sample = {.duration = 0.01};
    sample.axle[BW_FRONT].friction_work = power * 0.01;
    sample.axle[BW_FRONT].rotor_temperature = 350.0;
    sample.axle[BW_REAR].rotor_temperature = 321.0;
    bw_disc_heat_watch(&heat, &sample);
    peak = fmax(peak, bw_disc_face_advance(&step, &face, 0.9 * power));
  }
  CHECK_RELATIVE(heat.peak[BW_FRONT], 350.0 + peak, 1e-12);
  struct bw_summary summary;
  bw_disc_heat_finish(&heat, &summary);
  CHECK_CLOSE(summary.value[BW_SUMMARY_FACE_FRONT_PEAK], 350.0 + peak - 273.15, 1e-9);
  /* no faces are given for the rear axle */
  assert_true(isnan(summary.value[BW_SUMMARY_FACE_REAR_PEAK]));
  free_case(made);
}

static void a_stop_ends_in_the_summary(void **state) {
  (void)state;
  /* the stop of FRI-5: RV-1 from 100 km/h at 0.8 g takes 3.53947 s; the front discs take what is
   * 1.635 MW/m2 at first */
  struct bw_case *made = samples_case();
  make_stop(made, 100.0 / 3.6, 0.8 * BW_GRAVITY, 10.0);
  struct bw_brakes *brakes = &made->brakes;
  const double share = brakes->axle[BW_FRONT].per_pressure /
                       (brakes->axle[BW_FRONT].per_pressure + brakes->axle[BW_REAR].per_pressure);
  struct bw_friction *front = &brakes->axle[BW_FRONT];
  const double power = share * bw_case_effective_mass(made) * 0.8 * BW_GRAVITY * 100.0 / 3.6;
  made->disc[BW_FRONT] = cast_iron(0.025);
  made->disc[BW_FRONT].area = front->heat_share * power / FLUX;
  front->heat_capacity = bw_disc_capacity(&made->disc[BW_FRONT]);
  front->cooling = front->cooling_speed = front->radiating_area = 0.0;
  struct bw_evaluation evaluation = evaluate_case(made, &TEST_FRICTION);
  const double rise =
      evaluation.summary.value[BW_SUMMARY_FACE_FRONT_PEAK] + 273.15 - front->start_temperature;
  print_message("face %.2f K above the start, FRI-5 126.71 K\n", rise);
  CHECK_RELATIVE(rise, 126.708, 2e-3);
  /* the disc as a whole is far cooler */
  assert_true(evaluation.summary.value[BW_SUMMARY_FACE_FRONT_PEAK] >
              evaluation.summary.value[BW_SUMMARY_ROTOR_FRONT_PEAK] + 50.0);
  bw_evaluation_free(&evaluation);
  free_case(made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(fri_5_flux_that_falls_linearly),
      cmocka_unit_test(a_cheek_of_finite_depth),
      cmocka_unit_test(a_steady_flux_stands_a_third_of_the_depth_above_the_mean),
      cmocka_unit_test(steps_of_any_length_agree),
      cmocka_unit_test(time_without_friction_is_caught_up),
      cmocka_unit_test(a_stop_ends_in_the_summary),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
