/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/lamp.h"
#include "assess/requirements.h"
#include "check.h"
#include "reference.h"

/** Limits of published rules as the program holds results against them. Predictions for
 *  engineering; approval is the authority's. */

static const struct reference_origin ARITHMETIC = {"c = 1/(25.92 d): a lag of 0.36 s, then d",
                                                   MARK_DERIVED};

/* printed factor and deceleration of one rule belong together */
static void stops(struct reference_list *list) {
  static const struct reference_origin COLD = {"70 m: 49 CFR 571.135 S7.5, two notes", MARK_QUOTED};
  static const struct reference_origin MFDD = {"UN R13-H Annex 3 2.1.1(A)", MARK_QUOTED};
  static const struct reference_origin PARTIAL = {"168 m: 49 CFR 571.135 S7.11", MARK_QUOTED};
  static const struct reference_origin MEMORY = {"UN R13-H Annex 3", MARK_FROM_MEMORY};
  const struct {
    enum bw_requirement_id id;
    const char *unit;
    struct reference_origin origin;
    double expected;
    double tolerance;
    const char *what;
  } LIMITS[] = {
      {BW_REQUIREMENT_COLD_DISTANCE, "m", COLD, 70.0, 0.05, "cold stop from 100 km/h: distance"},
      {BW_REQUIREMENT_COLD_DECELERATION, "m/s2", MFDD, 6.43, 0.0, "cold stop: mean deceleration"},
      {BW_REQUIREMENT_FAST_DISTANCE, "m", MEMORY, 77.0, 0.05,
       "high-speed rule at 100 km/h: distance"},
      {BW_REQUIREMENT_FAST_DECELERATION, "m/s2", MEMORY, 5.76, 0.0,
       "high-speed rule: mean deceleration"},
      {BW_REQUIREMENT_RESIDUAL_DISTANCE, "m", PARTIAL, 168.0, 0.05,
       "one circuit or assistance lost, from 100 km/h: distance"},
      {BW_REQUIREMENT_RESIDUAL_DECELERATION, "m/s2", MEMORY, 2.44, 0.0,
       "one circuit or assistance lost: mean deceleration"},
  };
  for (size_t i = 0; i < sizeof LIMITS / sizeof *LIMITS; i++) {
    const struct bw_requirement *rule = bw_requirement_at(LIMITS[i].id);
    reference_add(list, "2.3", LIMITS[i].unit, LIMITS[i].origin,
                  (struct reference_pair){LIMITS[i].expected,
                                          bw_requirement_limit(rule, 100.0 / 3.6),
                                          LIMITS[i].tolerance},
                  "%s", LIMITS[i].what);
    if (rule->figure == BW_FIGURE_DECELERATION && i > 0) {
      const double factor = bw_requirement_at(LIMITS[i - 1].id)->limit;
      reference_add(list, "2.2", "1", ARITHMETIC,
                    (struct reference_pair){1.0 / (25.92 * LIMITS[i].expected), factor, 5.1e-5},
                    "factor of v2 that goes with %.2f m/s2", LIMITS[i].expected);
    }
  }
  static const double TOP[3] = {125.0, 160.0, 250.0};
  static const double FAST[3] = {0.0, 128.0, 160.0};
  for (int i = 0; i < 3; i++) {
    reference_add(
        list, "2.3", "km/h", MEMORY,
        (struct reference_pair){FAST[i], 3.6 * bw_requirement_fast_speed(TOP[i] / 3.6), 1e-9},
        "speed of the high-speed stop, top speed %.0f km/h", TOP[i]);
  }
}

/* lit after a second at a deceleration, from dark or lit */
static double lit(double threshold, double before, double deceleration) {
  struct bw_lamp lamp = bw_lamp_make(threshold, 0.05);
  for (int i = 0; i < 200; i++) {
    (void)bw_lamp_step(&lamp, i < 100 ? before : deceleration, false, 0.01);
  }
  return lamp.is_lit ? 1.0 : 0.0;
}

static void stop_lamp(struct reference_list *list) {
  static const struct reference_origin RULE = {"UN R13-H 5.2.22.4, bands 0.7 and 1.3 m/s2",
                                               MARK_QUOTED};
  static const struct reference_origin RELEASE = {"UN R13-H 5.2.22.4, release at 0.7",
                                                  MARK_FROM_MEMORY};
  static const struct {
    double threshold;
    double before;
    double deceleration;
    double lit;
  } ROWS[] = {{1.3, 0.0, 0.69, 0.0},  {1.3, 0.0, 1.29, 0.0},  {1.3, 0.0, 1.31, 1.0},
              {0.71, 0.0, 0.69, 0.0}, {0.71, 0.0, 0.72, 1.0}, {1.0, 1.31, 0.71, 1.0},
              {1.0, 1.31, 0.69, 0.0}};
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    reference_add(
        list, "FEEL-9", "1", ROWS[i].before > 0.0 ? RELEASE : RULE,
        (struct reference_pair){ROWS[i].lit,
                                lit(ROWS[i].threshold, ROWS[i].before, ROWS[i].deceleration), 0.0},
        "lamp set to %.2f m/s2, from %.2f to %.2f m/s2: lit", ROWS[i].threshold, ROWS[i].before,
        ROWS[i].deceleration);
  }
}

void reference_rules(struct reference_list *list) {
  stops(list);
  stop_lamp(list);
}
