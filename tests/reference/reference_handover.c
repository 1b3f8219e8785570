/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "make_swap.h"
#include "reference.h"
#include "strategies/registry.h"

#include <string.h>

/** Laws of a hand-over behind dead time and lag, and of regeneration lost at once: simulated. */

static const struct reference_origin LAG = {
    "dead time and first-order lag in closed form; confirmed by time-stepping", MARK_DERIVED};
/* N m of a dip in m/s2 of RV-1 */
static const double PER_TORQUE = 1.0 / (0.32 * 1500.0);

static void areas(struct reference_list *list) {
  static const struct {
    struct swap swap;
    double area;
  } WANTED[] = {{{1000.0, 1.0, 0.05, 0.10}, 150.0},
                {{1000.0, 1.0 / 3.0, 0.05, 0.10}, 150.0},
                {{1500.0, 1.0, 0.02, 0.06}, 120.0}};
  for (size_t i = 0; i < sizeof WANTED / sizeof *WANTED; i++) {
    const struct swap *swap = &WANTED[i].swap;
    struct test_record record = {0};
    run_swap(swap, 0.01, &record);
    reference_add(list, "HO-1", "N m s", LAG,
                  (struct reference_pair){WANTED[i].area, record.gap_area, 1e-4 * WANTED[i].area},
                  "area, %.0f N m over %.2f s, lag %.2f s, dead time %.2f s", swap->torque,
                  swap->ramp, swap->lag, swap->dead_time);
    free_record(&record);
  }
}

static void peaks(struct reference_list *list) {
  static const char *const STAIR = "requests held for ever shorter periods, extrapolated";
  const struct swap slow = {1000.0, 1.0, 0.05, 0.10};
  double held = 0.0;
  const double peak = swap_peak(&slow, &held);
  reference_add(list, "HO-2", "N m", LAG, (struct reference_pair){149.9925, peak, 0.15},
                "peak, 1000 N m/s for 1 s");
  reference_explain(list, STAIR);
  reference_add(list, "HO-2", "N m", LAG, (struct reference_pair){155.06, held, 0.78},
                "the same, requests held for 10 ms");
  reference_explain(list, "depends on where the stair meets the ramp");
  const struct swap fast = {1000.0, 1.0 / 3.0, 0.05, 0.10};
  reference_add(list, "HO-2", "N m", LAG,
                (struct reference_pair){432.355, swap_peak(&fast, &held), 4.3},
                "peak, 3000 N m/s for 1/3 s");
  reference_explain(list, "no period divides this ramp, so its last stair is shorter");
  static const double RAMP[4] = {0.5, 1.0, 1.5, 2.0};
  static const double DIP[4] = {0.5164, 0.2600, 0.1733, 0.1300};
  for (int i = 0; i < 4; i++) {
    const struct swap swap = {2.0 * 1500.0 * 0.32, RAMP[i], 0.03, 0.10};
    reference_add(
        list, "HO-3", "m/s2", LAG,
        (struct reference_pair){DIP[i], swap_peak(&swap, &held) * PER_TORQUE, 1e-3 * DIP[i]},
        "dip, 2 m/s2 swapped within %.1f s", RAMP[i]);
    reference_explain(list, STAIR);
    struct test_record record = {0};
    run_swap(&swap, 0.01, &record);
    reference_add(list, "HO-3", "m/s", LAG,
                  (struct reference_pair){0.26, record.gap_area * PER_TORQUE, 2.6e-5},
                  "the same, speed not taken off");
    free_record(&record);
  }
}

static void speed_bands(struct reference_list *list) {
  static const struct reference_origin FELT = {
      "a^2 (tau + theta)/felt line; 0.015 g: Lee et al., Ergonomics 50 (2007), abstract read",
      MARK_DERIVED};
  static const double BAND_KMH[3] = {2.45, 9.79, 22.0};
  const double felt = 0.015 * BW_GRAVITY;
  for (int i = 0; i < 3; i++) {
    const double rate = 1.0 + i;
    /* over speed the dip itself slows the hand-over and stays below the line by 1 + felt/rate */
    const double coarse = swap_band_dip(rate, BAND_KMH[i] / 3.6, 0.01);
    const double fine = swap_band_dip(rate, BAND_KMH[i] / 3.6, 0.005);
    reference_add(
        list, "HO-4", "m/s2", FELT,
        (struct reference_pair){felt / (1.0 + felt / rate), 2.0 * fine - coarse, 5e-3 * felt},
        "dip across %.2f km/h at %.0f m/s2, lag and dead time 0.1 s", BAND_KMH[i], rate);
    reference_explain(list, "the band is printed to three places");
  }
}

/* a stop from 50 km/h at 3 m/s2 by the machine, which trips at once */
static void fault_stop(double dead_time, double lag, struct test_record *record) {
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 1e5, 1e9);
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  make_stop(made, 50.0 / 3.6, 3.0, 30.0);
  if (dead_time > 0.0) {
    made->fault = (struct bw_fault){
        .kind = BW_FAULT_MACHINE_TRIP, .duration = 1e6, .axle = BW_FAULT_BOTH_AXLES};
    make_friction_delay(made, dead_time, lag);
  }
  record_run(made, &TEST_FILL, NULL, record);
  free_case(made);
}

static void lost_regeneration(struct reference_list *list) {
  static const struct reference_origin TRIP = {"the lag's area, and its way", MARK_DERIVED};
  static const struct {
    double dead_time;
    double lag;
    double speed;
    double way;
  } WANTED[] = {{0.05, 0.10, 0.45, 2.07}, {0.10, 0.15, 0.75, 3.44}, {0.20, 0.20, 1.20, 5.50}};
  struct test_record record = {0};
  fault_stop(0.0, 0.0, &record);
  const double whole = record.rows[record.n - 1].distance;
  reference_add(list, "fault", "m", TRIP, (struct reference_pair){32.150, whole, 3.3e-3},
                "3 m/s2 from 50 km/h, sound");
  free_record(&record);
  for (size_t i = 0; i < sizeof WANTED / sizeof *WANTED; i++) {
    fault_stop(WANTED[i].dead_time, WANTED[i].lag, &record);
    reference_add(list, "fault", "m/s", TRIP,
                  (struct reference_pair){WANTED[i].speed,
                                          record_speed(&record, 3.5) - (50.0 / 3.6 - 10.5), 1e-4},
                  "regeneration lost, dead time %.2f s, lag %.2f s: speed not taken off",
                  WANTED[i].dead_time, WANTED[i].lag);
    reference_add(
        list, "fault", "m", TRIP,
        (struct reference_pair){WANTED[i].way, record.rows[record.n - 1].distance - whole, 6e-3},
        "the same: added distance");
    free_record(&record);
  }
}

/* area (N m s) that lag-compensated leaves in a stop from 60 km/h at 2 m/s2, friction with a dead
 * time of 50 ms and a lag of 100 ms, of which it believes `dead_time_ms` and `lag_ms`; the exchange
 * goes from `from_kmh` to 5 km/h */
static double led_area(double dead_time_ms, double lag_ms, double correction_percent,
                       double from_kmh) {
  enum { MOST = 16 };
  const struct bw_blend_strategy *led = bw_strategy_find("lag-compensated");
  const struct {
    const char *name;
    double value;
  } set[] = {{"dead_time_ms", dead_time_ms},
             {"lag_ms", lag_ms},
             {"correction_percent", correction_percent},
             {"fade_start_kmh", from_kmh}};
  double params[MOST] = {0.0};
  assert_true(led != NULL && led->param_count <= MOST);
  for (size_t i = 0; i < led->param_count; i++) {
    params[i] = led->params[i].fallback;
    for (size_t k = 0; k < sizeof set / sizeof *set; k++) {
      params[i] = strcmp(led->params[i].name, set[k].name) == 0 ? set[k].value : params[i];
    }
  }
  struct bw_case *made = make_case();
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  make_machine(made, BW_FRONT, 3000.0, 1e9);
  make_friction_delay(made, 0.05, 0.1);
  make_stop(made, 60.0 / 3.6, 2.0, 60.0);
  struct test_record record = {.gap_from = 2.0};
  record_run(made, led, params, &record);
  const double area = record.gap_area;
  free_record(&record);
  free_case(made);
  return area;
}

static void leads(struct reference_list *list) {
  static const struct reference_origin LEAD = {
      "friction asked for theta ahead, through (tau s + 1): nothing is missing", MARK_DERIVED};
  static const struct reference_origin BELIEF = {"Delta (tau + theta - tau' - theta')",
                                                 MARK_DERIVED};
  static const double BELIEVED_MS[4][2] = {{0.0, 0.0}, {30.0, 60.0}, {80.0, 100.0}, {50.0, 160.0}};
  const double whole = 2.0 * 1500.0 * 0.32 * 0.15;
  reference_add(list, "HO-5", "N m s", LEAD,
                (struct reference_pair){0.0, led_area(50.0, 100.0, 0.0, 9.0), 0.005 * whole},
                "area left by a perfect lead, of %.0f N m s without", whole);
  reference_explain(list, "commands are held for 10 ms");
  reference_add(list, "HO-5", "N m s", LEAD,
                (struct reference_pair){0.0, led_area(0.0, 0.0, 100.0, 9.0), 0.08 * whole},
                "the same, no lead, the machine gives what friction is measured to lack");
  reference_explain(list, "it measures a period late, and ends at its own low-speed limit");
  for (int i = 0; i < 4; i++) {
    const double error = 0.15 - 1e-3 * (BELIEVED_MS[i][0] + BELIEVED_MS[i][1]);
    reference_add(list, "HO-6", "N m s", BELIEF,
                  (struct reference_pair){whole / 0.15 * error,
                                          led_area(BELIEVED_MS[i][0], BELIEVED_MS[i][1], 0.0, 25.0),
                                          0.001 * whole},
                  "area left when %.0f ms dead time, %.0f ms lag are believed of 50 and 100",
                  BELIEVED_MS[i][0], BELIEVED_MS[i][1]);
    /* seen: 4 % of its own area at 4 km/h, 0.7 % at 10, 0.2 % at 20 */
    reference_explain(list, "band of 20 km/h; a narrower one departs with its square, because the "
                            "lead extrapolates a deceleration that the error itself changes");
  }
}

/* mean rate (m/s3) of the deceleration from `from` to `to`, periods of 1 ms */
static double deceleration_rate(const struct test_record *record, double from, double to) {
  const struct test_row *a = &record->rows[lround(1e3 * from)];
  const struct test_row *b = &record->rows[lround(1e3 * to)];
  return (b->deceleration - a->deceleration) / (to - from);
}

/* the ideal total is constant, so its jerk is 0; the real one's is not */
static void jerks(struct reference_list *list) {
  static const char *const STAIR = "requests held for 1 ms";
  const struct swap swap = {1000.0, 1.0, 0.05, 0.10};
  struct test_record record = {0};
  run_swap(&swap, 0.001, &record);
  const double rate = 1000.0 * PER_TORQUE;
  const double reversed = rate * (1.0 - exp(-0.95 / 0.10));
  const struct {
    double expected;
    double from;
    double to;
    const char *what;
  } rows[] = {{0.0, 1.90, 1.99, "before the hand-over"},
              {-rate, 2.01, 2.04, "while friction is still dead"},
              {0.0, 2.90, 2.98, "once friction rises as the machine falls"},
              {reversed, 3.01, 3.04, "behind the ramp's end"}};
  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    reference_add(list, "HO-7", "m/s3", LAG,
                  (struct reference_pair){rows[i].expected,
                                          deceleration_rate(&record, rows[i].from, rows[i].to),
                                          2e-3 * rate},
                  "rate of the deceleration, 1000 N m/s for 1 s, %s", rows[i].what);
    reference_explain(list, STAIR);
  }
  free_record(&record);
}

/* pads that brake `error` more or less than believed leave a steady step */
static void wrong_pads(struct reference_list *list) {
  static const struct reference_origin STEP = {"a gain error is a steady step", MARK_DERIVED};
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 1e5, 1e9);
  made->vehicle.road_f0 = made->vehicle.road_f2 = 0.0;
  make_stop(made, 40.0, 2.0, 8.0);
  made->brakes.axle[0].pad_scale = made->brakes.axle[1].pad_scale = 0.88;
  const double params[TEST_RAMP_PARAMS] = {[TEST_RAMP_START] = 2.0, [TEST_RAMP_LENGTH] = 1.0};
  struct test_record record = {0};
  record_run(made, &TEST_RAMP, params, &record);
  const double step = 2.0 - record.rows[600].deceleration;
  reference_add(list, "HO-8", "m/s2", STEP, (struct reference_pair){0.24, step, 2.4e-5},
                "steady loss with pads 12 %% weak after 2 m/s2 is swapped");
  free_record(&record);
  free_case(made);
}

void reference_handover(struct reference_list *list) {
  areas(list);
  peaks(list);
  speed_bands(list);
  leads(list);
  jerks(list);
  lost_regeneration(list);
  wrong_pads(list);
}
