/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_WATERFALL_STEPS_H
#define BW_WATERFALL_STEPS_H

#include <stddef.h>

/** The steps of the waterfall from the braking delivered to the cells: identifier, name in
 *  waterfall.csv. See waterfall.h for what each means. */
#define BW_WATERFALL_STEPS(X)                                                                      \
  X(SPLIT, "axle_split")                                                                           \
  X(RULE, "adhesion_and_balance")                                                                  \
  X(ENVELOPE, "machine_envelope")                                                                  \
  X(DERATING, "derating")                                                                          \
  X(LOW_SPEED, "low_speed")                                                                        \
  X(BATTERY, "battery_limit")                                                                      \
  X(NOT_ASKED, "not_asked_for")                                                                    \
  X(OUTSIDE, "realised_outside_sets")                                                              \
  X(LAG, "lag")                                                                                    \
  X(TYRE, "tyre_slip")                                                                             \
  X(DRIVE, "driving")                                                                              \
  X(GEAR, "gear")                                                                                  \
  X(MACHINE, "machine_and_inverter")                                                               \
  X(AUXILIARIES, "auxiliaries")                                                                    \
  X(RESISTANCE, "battery_resistance")

enum bw_waterfall_step {
#define BW_WATERFALL_ENUM(id, name) BW_WATERFALL_##id,
  BW_WATERFALL_STEPS(BW_WATERFALL_ENUM)
#undef BW_WATERFALL_ENUM
      BW_WATERFALL_COUNT
};

/** Name of a step, constant. */
const char *bw_waterfall_name(enum bw_waterfall_step step);

/** Bins over road speed: from 0, 10, 20, 30, 50, 70, 100 and 130 km/h on. */
enum { BW_WATERFALL_BINS = 8 };

/** Lower edge (km/h) of a bin; infinite for BW_WATERFALL_BINS. */
double bw_waterfall_edge_kmh(size_t bin);

/** One waterfall, J. */
struct bw_waterfall_bin {
  double delivered;
  double step[BW_WATERFALL_COUNT];
  double last_in[BW_WATERFALL_COUNT];
  double cells;
};

struct bw_waterfall {
  struct bw_waterfall_bin bin[BW_WATERFALL_BINS];
};

/** Sum over all bins. */
struct bw_waterfall_bin bw_waterfall_total(const struct bw_waterfall *waterfall);

#endif
