/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/requirements.h"

#include "extrema.h"
#include "status.h"

#include <stdbool.h>

static const double KMH_PER_MPS = 3.6;

static const struct bw_requirement REQUIREMENTS[BW_REQUIREMENT_COUNT] = {
    [BW_REQUIREMENT_COLD_DISTANCE] = {"cold_stop_distance", BW_FIGURE_DISTANCE, 0.0060, "UN R13-H",
                                      "Annex 3 2.1.1(A)", BW_CERTAINTY_QUOTED},
    [BW_REQUIREMENT_COLD_DECELERATION] = {"cold_stop_mfdd", BW_FIGURE_DECELERATION, 6.43,
                                          "UN R13-H", "Annex 3 2.1.1(A)", BW_CERTAINTY_QUOTED},
    [BW_REQUIREMENT_FAST_DISTANCE] = {"fast_stop_distance", BW_FIGURE_DISTANCE, 0.0067, "UN R13-H",
                                      "Annex 3 2.1.1(B)", BW_CERTAINTY_MEMORY},
    [BW_REQUIREMENT_FAST_DECELERATION] = {"fast_stop_mfdd", BW_FIGURE_DECELERATION, 5.76,
                                          "UN R13-H", "Annex 3 2.1.1(B)", BW_CERTAINTY_MEMORY},
    [BW_REQUIREMENT_RESIDUAL_DISTANCE] = {"residual_distance", BW_FIGURE_DISTANCE, 0.0158,
                                          "UN R13-H", "Annex 3 2.2", BW_CERTAINTY_QUOTED},
    [BW_REQUIREMENT_RESIDUAL_DECELERATION] = {"residual_mfdd", BW_FIGURE_DECELERATION, 2.44,
                                              "UN R13-H", "Annex 3 2.2", BW_CERTAINTY_MEMORY},
    [BW_REQUIREMENT_BOOSTER_DISTANCE] = {"booster_distance", BW_FIGURE_DISTANCE, 0.0158,
                                         "49 CFR 571.135", "S7.11", BW_CERTAINTY_QUOTED},
    [BW_REQUIREMENT_BOOSTER_DECELERATION] = {"booster_mfdd", BW_FIGURE_DECELERATION, 2.44,
                                             "UN R13-H", "Annex 3 2.2", BW_CERTAINTY_MEMORY},
};

static const struct {
  const char *unit;
  bool is_least;
  int places;
} FIGURES[] = {
    [BW_FIGURE_DISTANCE] = {"m", false, 2},
    [BW_FIGURE_DECELERATION] = {"m/s2", true, 2},
    [BW_FIGURE_DECELERATION_MOST] = {"m/s2", false, 3},
    [BW_FIGURE_TIME] = {"s", false, 2},
    [BW_FIGURE_SHARE_MOST] = {"1", false, 3},
    [BW_FIGURE_SHARE_LEAST] = {"1", true, 3},
    [BW_FIGURE_FORCE] = {"N", true, 0},
    [BW_FIGURE_CLAMP] = {"kN", false, 2},
    [BW_FIGURE_ENERGY] = {"kJ", false, 0},
    [BW_FIGURE_LENGTH] = {"m", false, 0},
    [BW_FIGURE_TEMPERATURE] = {"degC", false, 0},
    [BW_FIGURE_COUNT] = {"times", false, 0},
    [BW_FIGURE_SPEED] = {"km/h", false, 3},
    [BW_FIGURE_PERCENT_LEAST] = {"%", true, 2},
    [BW_FIGURE_PERCENT_MOST] = {"%", false, 2},
};

const char *bw_figure_unit(enum bw_requirement_figure figure) {
  return FIGURES[figure].unit;
}

int bw_figure_places(enum bw_requirement_figure figure) {
  return FIGURES[figure].places;
}

const struct bw_requirement *bw_requirement_at(enum bw_requirement_id id) {
  BW_ASSERT(id < BW_REQUIREMENT_COUNT);
  return &REQUIREMENTS[id];
}

const char *bw_certainty_text(enum bw_certainty certainty) {
  static const char *const text[] = {"read",      "quoted",    "from memory", "derived",
                                     "own limit", "no source", "no limit"};
  return text[certainty];
}

double bw_requirement_limit(const struct bw_requirement *requirement, double speed) {
  const double speed_kmh = speed * KMH_PER_MPS;
  return requirement->figure == BW_FIGURE_DISTANCE
             ? speed_kmh * (0.1 + requirement->limit * speed_kmh)
             : requirement->limit;
}

double bw_requirement_margin(const struct bw_requirement *requirement, double limit,
                             double result) {
  return FIGURES[requirement->figure].is_least ? result - limit : limit - result;
}

double bw_requirement_fast_speed(double top_speed) {
  if (!(top_speed * KMH_PER_MPS > 125.0)) {
    return 0.0;
  }
  return bw_min(0.8 * top_speed, 160.0 / KMH_PER_MPS);
}
