/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_cycle.h"
#include "make_swap.h"
#include "reference.h"

/** How fast the simulator's error falls when its period is halved, for the closed forms of the
 *  other groups that it meets to 1e-4 at its default step. Not here, because they are exact at any
 *  step and no error is left that could fall: constant deceleration (KIN-1 to 3, STOP), the area
 *  law and lost regeneration (HO-1, HO-8, fault: 1e-8 from 100 ms to 5 ms), steady descents (DES),
 *  the battery (BAT) and a disc at constant power (FRI-6, 7). Wheels of their own are held against
 * a stiff solver in tests/test_slip_reference.c. */

static const double KMH = 1.0 / 3.6;
static const double MASS = 1500.0; /* kg, RV-1 */
static const double SPEED = 100.0 / 3.6;
static const double INSTANT = 48.0; /* s of a coast-down, a multiple of every period here */

/* RV-1 rolling out with road load a + b v, and the air's part if wanted */
static struct bw_case *coasting(double a, double b, bool has_air, double period) {
  struct bw_case *made = make_case();
  made->vehicle.road_f0 = a < 0.0 ? made->vehicle.road_f0 : a;
  made->vehicle.road_f1 = b;
  made->vehicle.road_f2 = has_air ? made->vehicle.road_f2 : 0.0;
  make_stop(made, SPEED, 0.0, 400.0);
  make_steps(made, period, 1);
  return made;
}

/* m/s by which the recorded speed at `time` is above `exact`; frees the case */
static double speed_error(struct bw_case *made, const struct bw_blend_strategy *strategy,
                          double time, double exact) {
  struct test_record record = {0};
  record_run(made, strategy, NULL, &record);
  const double error = record_speed(&record, time) - exact;
  free_record(&record);
  free_case(made);
  return error;
}

static double coast_error(double period) {
  struct bw_case *made = coasting(-1.0, 0.0, true, period);
  const double a = made->vehicle.road_f0;
  const double s = sqrt(made->vehicle.road_f2 / a);
  return speed_error(made, &TEST_FRICTION, INSTANT,
                     tan(atan(SPEED * s) - INSTANT * a * s / MASS) / s);
}

/* 4AC > B^2 */
static double coast_linear_error(double period) {
  const double b = 3.0;
  struct bw_case *made = coasting(-1.0, b, true, period);
  const double c = made->vehicle.road_f2;
  const double root = sqrt(4.0 * made->vehicle.road_f0 * c - b * b);
  const double angle = atan((2.0 * c * SPEED + b) / root) - 0.5 * root * INSTANT / MASS;
  return speed_error(made, &TEST_FRICTION, INSTANT, (root * tan(angle) - b) / (2.0 * c));
}

/* 4AC < B^2 */
static double coast_steep_error(double period) {
  const double b = 30.0;
  struct bw_case *made = coasting(-1.0, b, true, period);
  const double c = made->vehicle.road_f2;
  const double root = sqrt(b * b - 4.0 * made->vehicle.road_f0 * c);
  const double start = 2.0 * c * SPEED + b;
  const double x = (start - root) / (start + root) * exp(-root * INSTANT / MASS);
  return speed_error(made, &TEST_FRICTION, INSTANT, (root * (1.0 + x) / (1.0 - x) - b) / (2.0 * c));
}

static double air_error(double period) {
  struct bw_case *made = coasting(0.0, 0.0, true, period);
  const double c = made->vehicle.road_f2;
  return speed_error(made, &TEST_FRICTION, INSTANT, SPEED / (1.0 + c / MASS * SPEED * INSTANT));
}

/* RV-1 without road load from `speed` (m/s), braked by one machine as hard as it can */
static struct bw_case *machine_stop(double force, double power, double speed, double period) {
  struct bw_case *made = coasting(0.0, 0.0, false, period);
  make_machine(made, BW_FRONT, force * made->vehicle.tyre_radius, power);
  make_stop(made, speed, 50.0, 60.0);
  return made;
}

static double power_error(double period) {
  const double power = 30e3;
  const double time = 12.8;
  return speed_error(machine_stop(1e6, power, SPEED, period), &TEST_MACHINE, time,
                     sqrt(SPEED * SPEED - 2.0 * power * time / MASS));
}

/* constant power down to 80 km/h, constant force below */
static double corner_error(double period) {
  const double start = 120.0 * KMH;
  const double corner = 80.0 * KMH;
  const double power = 100e3;
  const double force = 4500.0;
  const double time = 9.6;
  const double bent = MASS * (start * start - corner * corner) / (2.0 * power);
  return speed_error(machine_stop(force, power, start, period), &TEST_MACHINE, time,
                     corner - force / MASS * (time - bent));
}

/* share of the kinetic energy that a machine takes which fades from 12 to 7 km/h:
 *   1 - (integral of (1 - s(v)) v dv)/(v0^2/2) = 1 - (from^2 + from to + to^2)/(3 v0^2),
 * s straight from 0 at `to` to 1 at `from` */
static double fade_error(double period) {
  const double speed = 30.0 * KMH;
  const double from = 12.0 * KMH;
  const double to = 7.0 * KMH;
  return swap_fade_share(speed, from, to, period) -
         (1.0 - (from * from + from * to + to * to) / (3.0 * speed * speed));
}

/* N m, a swap of 1000 N m within 1 s behind dead time 0.05 s and lag 0.10 s */
static double peak_error(double period) {
  const struct swap swap = {1000.0, 1.0, 0.05, 0.10};
  struct test_record record = {0};
  run_swap(&swap, period, &record);
  const double peak = record.gap_peak;
  free_record(&record);
  /* rate (theta + tau (1 - exp(-(ramp - theta)/tau))): at the end of the ramp */
  return peak - 1000.0 * (0.05 + 0.10 * (1.0 - exp(-9.5)));
}

/* m/s2, a hand-over over speed at 2 m/s2, dead time and lag 0.1 s; see HO-4 */
static double band_error(double period) {
  const double felt = 0.015 * BW_GRAVITY;
  const double band = 2.0 * 2.0 * 0.1 / felt;
  return swap_band_dip(2.0, band, period) - felt / (1.0 + felt / 2.0);
}

/* K, a disc of 800 K cooled at rest by radiation alone to air of 293.15 K:
 *   t = [F(T) - F(T0)]/(4 k Ta^3), F(T) = ln[(T + Ta)/(T - Ta)] + 2 atan(T/Ta), k = A sigma/C */
static double radiation_error(double period) {
  static const double STEFAN_BOLTZMANN = 5.670374419e-8;
  const double duration = 1200.0;
  const double time[2] = {0.0, duration};
  const double still[2] = {0.0, 0.0};
  struct bw_case *made = coasting(0.0, 0.0, false, period);
  make_trace(made, BW_TRACE_SPEED, time, still, 2);
  struct bw_friction *disc = &made->brakes.axle[BW_FRONT];
  disc->heat_capacity = 4000.0;
  disc->cooling = disc->cooling_speed = 0.0;
  disc->radiating_area = 0.1;
  disc->start_temperature = 800.0;
  struct test_record record = {0};
  record_run(made, &TEST_FRICTION, NULL, &record);
  const double ours = record.last.axle[BW_FRONT].rotor_temperature;
  free_record(&record);
  const double air = made->ambient_temperature;
  const double pace = 4.0 * disc->radiating_area * STEFAN_BOLTZMANN / disc->heat_capacity * air *
                      air * air * duration;
  const double start = log((disc->start_temperature + air) / (disc->start_temperature - air)) +
                       2.0 * atan(disc->start_temperature / air);
  double low = air * (1.0 + 1e-12);
  double high = disc->start_temperature;
  for (int i = 0; i < 100; i++) {
    const double middle = 0.5 * (low + high);
    const double gone = log((middle + air) / (middle - air)) + 2.0 * atan(middle / air) - start;
    *(gone > pace ? &low : &high) = middle;
  }
  free_case(made);
  return ours - 0.5 * (low + high);
}

struct form {
  const char *id;
  double (*error)(double period);
  double coarse; /**< s, period; then halved */
  int halvings;
  int spread; /**< periods that are averaged over, for a corner that falls anywhere in one */
  double order;
  double tolerance;
  const char *what;
  const char *why;
};

/* root mean square of the errors with periods from `period` down to its half */
static double typical_error(const struct form *form, double period) {
  double sum = 0.0;
  for (int i = 0; i < form->spread; i++) {
    const double error = form->error(period * (1.0 - 0.5 * i / form->spread));
    sum += error * error;
  }
  return sqrt(sum / form->spread);
}

void reference_orders(struct reference_list *list) {
  static const struct reference_origin ORDER = {"order of the integrator", MARK_DERIVED};
  static const char *const APPROACHED = "an order is only approached as the step shrinks";
  static const char *const CORNER = "a corner falls anywhere in a period, so the error jumps about";
  static const char *const HELD = "requests are held for a period: first order by their nature";
  static const char *const START = "radiation is taken at the start of a period: first order";
  static const struct form FORMS[] = {
      {"KIN-4", coast_error, 0.2, 1, 1, 2.0, 0.05, "coast-down, speed", APPROACHED},
      {"KIN-6", coast_linear_error, 0.2, 1, 1, 2.0, 0.05, "coast-down with 3 N s/m, speed",
       APPROACHED},
      {"KIN-7", coast_steep_error, 0.2, 1, 1, 2.0, 0.05, "coast-down with 30 N s/m, speed",
       APPROACHED},
      {"KIN-10", air_error, 0.2, 1, 1, 2.0, 0.05, "slowing by the air alone, speed", APPROACHED},
      {"KIN-8", power_error, 0.2, 1, 1, 2.0, 0.05, "braking at 30 kW, speed", APPROACHED},
      {"KIN-9", corner_error, 0.64, 6, 1, 2.0, 0.1, "100 kW, at most 4500 N, speed", CORNER},
      {"CYC-17", fade_error, 0.128, 4, 16, 2.0, 0.2, "fade from 12 to 7 km/h, share", CORNER},
      {"HO-2", peak_error, 0.005, 1, 1, 1.0, 0.05, "peak of a swap", HELD},
      {"HO-4", band_error, 0.01, 1, 1, 1.0, 0.05, "dip across a band", HELD},
      {"FRI-7", radiation_error, 20.0, 1, 1, 1.0, 0.05, "a disc cooled by radiation", START},
  };
  for (size_t i = 0; i < sizeof FORMS / sizeof *FORMS; i++) {
    const struct form *form = &FORMS[i];
    const double fine = ldexp(form->coarse, -form->halvings);
    const double fallen = typical_error(form, form->coarse) / typical_error(form, fine);
    reference_add(
        list, form->id, "1", ORDER,
        (struct reference_pair){form->order, log2(fallen) / form->halvings, form->tolerance},
        "%s: order of the error, periods of %g to %g s", form->what, form->coarse, fine);
    reference_explain(list, form->why);
  }
}
