/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/balance_rules.h"

#include "assess/balance.h"

#include <math.h>

/* share of adhesion: closer than this is rounding */
static const double SAME = 1e-9;
/* braking rate: a point meant to lie on a rule's end */
static const double ON_END = 1e-6;

/* c of a line; 0 for rules without a slope */
static double slope_of(enum bw_balance_rule rule, double own) {
  switch (rule) {
  case BW_BALANCE_LINE_FAMILY:
    return 0.85;
  case BW_BALANCE_LINE_CAR:
    return 0.7;
  case BW_BALANCE_LINE_OWN:
    return own;
  case BW_BALANCE_ORDER:
  case BW_BALANCE_ORDER_EASED:
  case BW_BALANCE_REAR_LINE:
  case BW_BALANCE_RULE_COUNT:
    break;
  }
  return 0.0;
}

static bool is_within(double rate, double from, double to) {
  return rate >= from - ON_END && rate <= to + ON_END;
}

/* false where the rule asks nothing */
static bool find(enum bw_balance_rule rule, double slope, double rate, const double used[2],
                 double figures[2]) {
  if (slope > 0.0) {
    figures[0] = bw_balance_line(rate, slope);
    figures[1] = bw_max(used[0], used[1]);
    return isfinite(figures[0]);
  }
  if (!is_within(rate, BW_BALANCE_ORDER_FROM, BW_BALANCE_ORDER_TO)) {
    return false;
  }
  figures[0] = rule == BW_BALANCE_REAR_LINE ? rate / 0.9 : used[0];
  figures[1] = used[1];
  if (rule == BW_BALANCE_ORDER_EASED && is_within(rate, 0.30, 0.45)) {
    figures[0] = bw_max(figures[0], rate + 0.05);
  }
  return true;
}

bool bw_balance_rule_look(enum bw_balance_rule rule, double slope, double rate,
                          const double used[2], double *limit, double *result) {
  double figures[2];
  if (!find(rule, slope_of(rule, slope), rate, used, figures)) {
    return false;
  }
  *limit = figures[0];
  *result = fabs(figures[1] - figures[0]) <= SAME ? figures[0] : figures[1];
  return true;
}

double bw_balance_single_axle(int axle, double grip, double front_to_cg, double wheelbase,
                              double height) {
  return axle == 0 ? grip * (wheelbase - front_to_cg) / (wheelbase - grip * height)
                   : grip * front_to_cg / (wheelbase + grip * height);
}
