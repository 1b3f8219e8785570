/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FAULT_H
#define BW_FAULT_H

#include "sim/hot.h"
#include "sim/limits.h"

/** A fault at work. All levels are 0..1; at 0 every function leaves what it is given untouched to
 *  the last bit. */

enum { BW_FAULT_PERIODS = 256 }; /**< longest delay of a message in control periods, plus one */

struct bw_fault_state {
  double level;        /**< of this period */
  double told;         /**< level that the controller knows of */
  double voltage_rise; /**< V, ahead of a contactor that opens */
  bool has_started;
  double held[2]; /**< N m, the last message before the start */
  double sent[2][BW_FAULT_PERIODS];
};

/** Braking torque (N m at the axle) of a shorted machine at road speed `speed` (m/s): induction by
 *  a magnet over a winding, T = T_peak 2 x / (1 + x^2), x = v / v_peak, the form of the torque of a
 *  short-circuited synchronous machine without saliency; 0 for speed <= 0. */
double bw_fault_drag(const struct bw_fault *fault, double speed);

/** Take the state to the period that begins at `time` (s). */
void bw_fault_look(const struct bw_fault *fault, double time, struct bw_fault_state *state);

/** Lower what `input` lets the battery take, for a fault at `level`. */
void bw_fault_charge(const struct bw_fault *fault, const struct bw_fault_state *state, double level,
                     struct bw_limits_input *input);

/** Lower `limits` by what a fault at `level` takes from the machines. */
void bw_fault_limit(const struct bw_fault *fault, double level, struct bw_limits *limits);

/** What arrives at the machine of `axle` when `command` (N m) is sent, once per
 *  control period, in place `newest` of the history. */
double bw_fault_message(const struct bw_case *loaded, struct bw_fault_state *state, int axle,
                        double command, size_t newest);

/** Force the torque of a shorted machine at road speed `speed` (m/s) and slip per axle. */
void bw_fault_force(const struct bw_case *loaded, double level, double speed, const double slip[2],
                    struct bw_hot_period *period);

/** Change pressure commands, and pressures that do not follow their commands. */
void bw_fault_press(const struct bw_case *loaded, double level, struct bw_hot_period *period,
                    struct bw_hot_state *state);

/** Change what the controller measures. */
void bw_fault_sense(const struct bw_case *loaded, double level, struct bw_blend_input *input);

/** True while the machine of `axle` feeds nothing into the DC link, whatever it does. */
bool bw_fault_is_dead(const struct bw_fault *fault, double level, int axle);

/** True while nothing flows between battery and DC link. */
bool bw_fault_is_cut_off(const struct bw_fault *fault, double level);

#endif
