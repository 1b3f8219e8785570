/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_JERK_FILTER_H
#define BW_JERK_FILTER_H

/** Second-order Butterworth low-pass whose states are the output and its time derivative.
 *
 *    y'' + sqrt(2) w y' + w^2 y = w^2 u,   w = (2/h) tan(pi f h)
 *
 *  The states (y, y') advance by the trapezoidal rule, which is the bilinear transform of the
 *  filter, pre-warped so that the gain at the cut-off is exactly 1/sqrt(2). y' is the derivative
 *  in the same transform, (2/h)(z - 1)/(z + 1) y: a jerk without any extra differencing. */
struct bw_jerk_filter {
  double output; /**< y */
  double slope;  /**< y' */
  double input;  /**< u of the last step */
  double output_from_output;
  double output_from_slope;
  double output_from_input; /**< times u_before + u_now */
  double slope_from_output;
  double slope_from_slope;
  double slope_from_input;
};

/** Coefficients for `cutoff` (Hz, above 0 and below half of 1/step) and `step` (s). */
struct bw_jerk_filter bw_jerk_filter_make(double cutoff, double step);

/** Start in the steady state of `input`: output = input, slope 0. */
static inline void bw_jerk_filter_settle(struct bw_jerk_filter *filter, double input) {
  filter->output = input;
  filter->slope = 0.0;
  filter->input = input;
}

/** Advance one step with the new `input`. */
static inline void bw_jerk_filter_step(struct bw_jerk_filter *filter, double input) {
  const double drive = filter->input + input;
  const double output = filter->output_from_output * filter->output +
                        filter->output_from_slope * filter->slope +
                        filter->output_from_input * drive;
  filter->slope = filter->slope_from_output * filter->output +
                  filter->slope_from_slope * filter->slope + filter->slope_from_input * drive;
  filter->output = output;
  filter->input = input;
}

#endif
