/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/balance_csv.h"

#include "batch/assess_balance.h"
#include "output/csv_write.h"

#include <math.h>

/* which band of a survey */
struct place {
  int load;
  int charge;
  int rate;
};

/* over the whole band, or 'either' when it depends on speed or charge */
static const char *first_to_lock(const struct bw_survey_band *band) {
  if (!isfinite(band->low[0])) {
    return "";
  }
  if (band->low[0] > band->high[1]) {
    return "front";
  }
  return band->low[1] > band->high[0] ? "rear" : "either";
}

static void put_limits(struct bw_csv_row *csv, double rate, double slope) {
  const double unused[2] = {0.0, 0.0};
  static const enum bw_balance_rule rules[] = {BW_BALANCE_LINE_FAMILY, BW_BALANCE_LINE_CAR,
                                               BW_BALANCE_LINE_OWN, BW_BALANCE_REAR_LINE};
  for (size_t i = 0; i < sizeof rules / sizeof *rules; i++) {
    double limit = (double)NAN;
    double result = 0.0;
    (void)bw_balance_rule_look(rules[i], slope, rate, unused, &limit, &result);
    bw_csv_put_number(csv, limit);
  }
  double limit = 0.0;
  double result = 0.0;
  const bool is_ordered =
      bw_balance_rule_look(BW_BALANCE_ORDER, slope, rate, unused, &limit, &result);
  bw_csv_put_text(csv, is_ordered ? "yes" : "no");
}

static void put_row(struct bw_csv_row *csv, const char *name, const struct place *at,
                    const struct bw_survey_band *band, double slope) {
  static const char *const charge[BW_SURVEY_CHARGES] = {"full", "own", "none", "any"};
  const double rate = bw_survey_rate(at->rate);
  bw_csv_put_text(csv, name);
  bw_csv_put_text(csv, at->load == BW_LOAD_LADEN ? "laden" : "unladen");
  bw_csv_put_text(csv, charge[at->charge]);
  bw_csv_put_number(csv, rate);
  for (int i = 0; i < 2; i++) {
    bw_csv_put_number(csv, band->low[i]);
    bw_csv_put_number(csv, band->high[i]);
  }
  bw_csv_put_text(csv, first_to_lock(band));
  put_limits(csv, rate, slope);
  bw_csv_end_row(csv);
}

static const struct bw_survey_band *band_at(const struct bw_assess_curves *curves,
                                            const struct place *at) {
  return &curves->survey.band[at->load][at->charge][at->rate];
}

static struct bw_survey_band band_of_all(const struct bw_assessment *assessment,
                                         const struct place *at) {
  struct bw_survey_band all = *band_at(&assessment->curves[0], at);
  for (size_t k = 1; k < assessment->curve_count; k++) {
    const struct bw_survey_band *band = band_at(&assessment->curves[k], at);
    for (int i = 0; i < 2; i++) {
      all.low[i] = fmin(all.low[i], band->low[i]);
      all.high[i] = fmax(all.high[i], band->high[i]);
    }
  }
  return all;
}

static void put_strategy(struct bw_csv_row *csv, const struct bw_assessment *assessment,
                         size_t index) {
  const bool is_all = index >= assessment->curve_count;
  const struct bw_assess_curves *curves = &assessment->curves[is_all ? 0 : index];
  struct place at;
  for (at.load = 0; at.load < BW_LOAD_STATES; at.load++) {
    for (at.charge = 0; at.charge < BW_SURVEY_CHARGES; at.charge++) {
      for (at.rate = 0; at.rate < BW_SURVEY_RATES; at.rate++) {
        const struct bw_survey_band band =
            is_all ? band_of_all(assessment, &at) : *band_at(curves, &at);
        put_row(csv, is_all ? "all" : curves->strategy->name, &at, &band, curves->slope);
      }
    }
  }
}

bool bw_balance_write_csv(const struct bw_assessment *assessment, FILE *stream) {
  static const char *const columns[] = {
      "strategy",        "load_state",    "charge",         "braking_rate",  "front_used_low",
      "front_used_high", "rear_used_low", "rear_used_high", "first_to_lock", "line_c085",
      "line_c070",       "line_own",      "rear_line",      "order_asked"};
  struct bw_csv_row csv = {.stream = stream};
  for (size_t i = 0; i < sizeof columns / sizeof *columns; i++) {
    bw_csv_put_text(&csv, columns[i]);
  }
  bw_csv_end_row(&csv);
  const size_t count = assessment->curve_count;
  for (size_t i = 0; i < (count > 1 ? count + 1 : count); i++) {
    put_strategy(&csv, assessment, i);
  }
  return !csv.has_failed;
}
