/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/gap.h"

#include <math.h>

/* m/s2 and m/s3; filter states smaller than this are set to zero before they become denormal */
static const double SNAP = 1e-12;

enum bw_status bw_gap_start(struct bw_gap *gap, const struct bw_judge *judge,
                            struct bw_diag *diag) {
  const struct bw_case *loaded = judge->loaded;
  const double cutoff = loaded->assess.jerk_cutoff;
  if (!(cutoff > 0.0 && cutoff * loaded->step < 0.5)) {
    return bw_fail(diag, BW_E_RANGE,
                   "the jerk filter's cut-off of %g Hz is not below half the sub-step rate of %g "
                   "Hz; lower the cut-off or shorten the sub-step",
                   cutoff, 1.0 / loaded->step);
  }
  *gap = (struct bw_gap){
      .per_torque = 1.0 / (judge->radius * judge->mass_effective),
      .felt_torque = loaded->assess.felt_deceleration * judge->radius * judge->mass_effective,
      .filter = bw_jerk_filter_make(cutoff, loaded->step),
  };
  return bw_envelope_make(judge, &gap->envelope, diag);
}

/* Sums over the sub-steps of a period, torques in N m. A peak is kept as its square, which is there
 * anyhow: the root of a square is the number itself. */
struct gap_sums {
  double dip;
  double surge;
  double dip_peak;
  double surge_peak;
  double felt;
  double gap_peak_square;
  double gap_squares;
  double jerk_peak_square;
  double jerk_squares;
};

/* a sub-step in which `delivered` is outside `low` to `high` */
static void add_outside(const struct bw_gap *gap, size_t j, double delivered,
                        struct gap_sums *sums) {
  const double dip = bw_max(0.0, gap->envelope.low[j] - delivered);
  const double surge = bw_max(0.0, delivered - gap->envelope.high[j]);
  sums->dip += dip;
  sums->surge += surge;
  sums->dip_peak = bw_max(sums->dip_peak, dip);
  sums->surge_peak = bw_max(sums->surge_peak, surge);
  sums->felt += bw_max(dip, surge) > gap->felt_torque ? 1.0 : 0.0;
}

/* apart from sum_steps(), where everything that changes has to stay in registers: few periods have
 * such a sub-step */
static void sum_outside(const struct bw_gap *gap, const struct bw_sample *sample,
                        struct gap_sums *sums) {
  for (size_t j = 0; j < sample->substeps; j++) {
    const double delivered = sample->delivered[j];
    if (delivered < gap->envelope.low[j] || delivered > gap->envelope.high[j]) {
      add_outside(gap, j, delivered, sums);
    }
  }
}

/* gap and jerk; whether sum_outside() has anything to find */
static bool sum_steps(struct bw_gap *gap, const struct bw_sample *sample, struct gap_sums *sums) {
  const double wanted = sample->demand - sample->drive;
  const double scale = gap->per_torque;
  struct bw_jerk_filter filter = gap->filter;
  if (!gap->is_filtering) {
    bw_jerk_filter_settle(&filter, (wanted - sample->delivered[0]) * scale);
  }
  bool is_outside = false;
  for (size_t j = 0; j < sample->substeps; j++) {
    const double delivered = sample->delivered[j];
    if (delivered < gap->envelope.low[j] || delivered > gap->envelope.high[j]) {
      is_outside = true;
    }
    const double raw = wanted - delivered;
    const double square = raw * raw;
    sums->gap_peak_square = bw_max(sums->gap_peak_square, square);
    sums->gap_squares += square;
    bw_jerk_filter_step(&filter, raw * scale);
    const double jerk_square = filter.slope * filter.slope;
    sums->jerk_peak_square = bw_max(sums->jerk_peak_square, jerk_square);
    sums->jerk_squares += jerk_square;
  }
  if (fabs(filter.output) < SNAP && fabs(filter.slope) < SNAP) {
    bw_jerk_filter_settle(&filter, filter.input);
  }
  gap->filter.output = filter.output;
  gap->filter.slope = filter.slope;
  gap->filter.input = filter.input;
  return is_outside;
}

static double dip_time(const struct bw_gap *gap, const struct bw_sample *sample, double peak) {
  for (size_t j = 0; j < sample->substeps; j++) {
    if (gap->envelope.low[j] - sample->delivered[j] >= peak) {
      return sample->time + (double)j * sample->substep;
    }
  }
  return sample->time;
}

static void keep(struct bw_gap *gap, const struct bw_sample *sample, const struct gap_sums *sums) {
  const double step = sample->substep;
  const double scale = gap->per_torque;
  struct bw_gap_period *period = &gap->period;
  *period = (struct bw_gap_period){
      .time = step * (double)sample->substeps,
      .dip_peak = sums->dip_peak * scale,
      .surge_peak = sums->surge_peak * scale,
      .felt_time = sums->felt * step,
      .dip_speed = sums->dip * scale * step,
      .excess_speed = (sums->dip - sums->surge) * scale * step,
      .jerk_peak = sqrt(sums->jerk_peak_square),
      .jerk_squares = sums->jerk_squares * step,
  };
  if (sums->dip_peak > 0.0) {
    period->dip_peak_time = dip_time(gap, sample, sums->dip_peak);
  }
  gap->time += period->time;
  gap->gap_peak_square = bw_max(gap->gap_peak_square, sums->gap_peak_square);
  gap->gap_squares += sums->gap_squares * step;
  gap->dip_peak = bw_max(gap->dip_peak, period->dip_peak);
  gap->surge_peak = bw_max(gap->surge_peak, period->surge_peak);
  gap->felt_time += period->felt_time;
  gap->dip_speed += period->dip_speed;
  gap->jerk_peak = bw_max(gap->jerk_peak, period->jerk_peak);
  gap->jerk_squares += period->jerk_squares;
}

void bw_gap_judge(struct bw_gap *gap, const struct bw_sample *sample) {
  bw_envelope_fill(&gap->envelope, sample);
  struct gap_sums sums = {0};
  if (sum_steps(gap, sample, &sums)) {
    sum_outside(gap, sample, &sums);
  }
  gap->is_filtering = true;
  keep(gap, sample, &sums);
}

static double root_mean(double squares, double time) {
  return time > 0.0 ? sqrt(squares / time) : (double)NAN;
}

void bw_gap_finish(const struct bw_gap *gap, double jerk_cutoff, struct bw_summary *summary) {
  double *value = summary->value;
  const bool is_judged = gap->time > 0.0;
  const double none = (double)NAN;
  value[BW_SUMMARY_GAP_PEAK] = is_judged ? sqrt(gap->gap_peak_square) : none;
  value[BW_SUMMARY_GAP_RMS] = root_mean(gap->gap_squares, gap->time);
  value[BW_SUMMARY_DIP_PEAK] = is_judged ? gap->dip_peak : none;
  value[BW_SUMMARY_SURGE_PEAK] = is_judged ? gap->surge_peak : none;
  value[BW_SUMMARY_TIME_ABOVE_FELT] = gap->felt_time;
  value[BW_SUMMARY_SPEED_NOT_TAKEN_OFF] = gap->dip_speed;
  value[BW_SUMMARY_GAP_JERK_PEAK] = is_judged ? gap->jerk_peak : none;
  value[BW_SUMMARY_GAP_JERK_RMS] = root_mean(gap->jerk_squares, gap->time);
  value[BW_SUMMARY_JERK_CUTOFF] = jerk_cutoff;
}
