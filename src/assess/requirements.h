/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_REQUIREMENTS_H
#define BW_REQUIREMENTS_H

/** Published requirements and how a predicted figure is held against them; those on stops are
 *  listed here, each other family of requirements keeps its own list.
 *
 *  Distance:      s <= v (0.1 + c v), v in km/h, s in m;   deceleration: d_m at least a number.
 *  0.1 v is a fixed 0.36 s of lag and c = 1 / (25.92 d_m), 25.92 = 2 x 3.6^2.
 *  Predictions for engineering: type approval is the authority's, done on the vehicle. */

/** How sure the source of a limit is. */
enum bw_certainty {
  BW_CERTAINTY_READ,     /**< the rule's own words were read */
  BW_CERTAINTY_QUOTED,   /**< read second-hand */
  BW_CERTAINTY_MEMORY,   /**< from memory, unverified limit */
  BW_CERTAINTY_DERIVED,  /**< no rule: a closed form of mechanics */
  BW_CERTAINTY_OWN,      /**< no rule: a limit of the case */
  BW_CERTAINTY_PRACTICE, /**< common practice, no source */
  BW_CERTAINTY_NONE      /**< a figure without a published limit */
};

/** What is held against a limit: its unit, and on which side of the limit it must lie. */
enum bw_requirement_figure {
  BW_FIGURE_DISTANCE,          /**< m of a stop, at most; the limit is c */
  BW_FIGURE_DECELERATION,      /**< m/s2, at least */
  BW_FIGURE_DECELERATION_MOST, /**< m/s2, at most */
  BW_FIGURE_TIME,              /**< s, at most */
  BW_FIGURE_SHARE_MOST,        /**< 1, at most */
  BW_FIGURE_SHARE_LEAST,       /**< 1, at least */
  BW_FIGURE_FORCE,             /**< N, at least */
  BW_FIGURE_CLAMP,             /**< kN, at most */
  BW_FIGURE_ENERGY,            /**< kJ */
  BW_FIGURE_LENGTH,            /**< m, other than of a stop */
  BW_FIGURE_TEMPERATURE,       /**< degC, at most */
  BW_FIGURE_COUNT,             /**< times, at most */
  BW_FIGURE_SPEED,             /**< km/h, at most */
  BW_FIGURE_PERCENT_LEAST,     /**< %, at least */
  BW_FIGURE_PERCENT_MOST       /**< %, at most */
};

/** Unit of a figure as printed, such as m/s2; 1 for a ratio. */
const char *bw_figure_unit(enum bw_requirement_figure figure);

/** Places behind the point that a person wants to read. */
int bw_figure_places(enum bw_requirement_figure figure);

/** Requirements on stops, in the order they are reported. */
enum bw_requirement_id {
  BW_REQUIREMENT_COLD_DISTANCE,
  BW_REQUIREMENT_COLD_DECELERATION,
  BW_REQUIREMENT_FAST_DISTANCE,
  BW_REQUIREMENT_FAST_DECELERATION,
  BW_REQUIREMENT_RESIDUAL_DISTANCE,
  BW_REQUIREMENT_RESIDUAL_DECELERATION,
  BW_REQUIREMENT_BOOSTER_DISTANCE,
  BW_REQUIREMENT_BOOSTER_DECELERATION,
  BW_REQUIREMENT_COUNT
};

/* NOLINTNEXTLINE(clang-analyzer-optin.performance.Padding): rows are written in this order */
struct bw_requirement {
  const char *name; /**< as in assess.csv */
  enum bw_requirement_figure figure;
  double limit; /**< distance: c, m/(km/h)^2; else in the unit of the figure */
  const char *source;
  const char *paragraph;
  enum bw_certainty certainty;
};

/** The requirement on stops `id`. */
const struct bw_requirement *bw_requirement_at(enum bw_requirement_id id);

/** 'read', 'quoted', 'from memory', 'derived', 'own limit', 'no source' or 'no limit'. */
const char *bw_certainty_text(enum bw_certainty certainty);

/** The limit for a stop from `speed` (m/s, the actual one), in the figure's unit. */
double bw_requirement_limit(const struct bw_requirement *requirement, double speed);

/** How far `result` is on the good side of `limit`, in the figure's unit; negative when missed,
 *  NaN when the result is NaN. */
double bw_requirement_margin(const struct bw_requirement *requirement, double limit, double result);

/** Speed (m/s) of the high-speed stop: 80 % of the car's top speed, at most 160 km/h; 0 where it
 *  is not asked for, that is up to a top speed of 125 km/h. From memory: UN R13-H Annex 3
 *  2.1.1(B), 49 CFR 571.135 S7.6. */
double bw_requirement_fast_speed(double top_speed);

/** Speed (m/s) of the other stops: 100 km/h. Source as their limits. */
#define BW_REQUIREMENT_SPEED (100.0 / 3.6)

#endif
