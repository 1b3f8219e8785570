/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_BALANCE_RULES_H
#define BW_BALANCE_RULES_H

#include <stdbool.h>

/** Published rules on the two adhesion-utilisation curves f_1(z), f_2(z), one point at a time. */

enum bw_balance_rule {
  /** z >= 0.1 + c (f_i - 0.2), c = 0.85, both axles. Read: EU 2015/68 Annex II App. 1 4.1.1.1 */
  BW_BALANCE_LINE_FAMILY,
  /** c = 0.7. From memory: UN R13-H Annex 5 3.1(A) */
  BW_BALANCE_LINE_CAR,
  /** c of the case */
  BW_BALANCE_LINE_OWN,
  /** f_1 >= f_2, z 0.15 to 0.8. From memory: UN R13-H Annex 5 3.1(B) */
  BW_BALANCE_ORDER,
  /** the same, but from z 0.30 to 0.45 f_2 may be on top up to 0.05 over k = z.
   *  Read: 71/320/EEC Annex II App. 3.1.1, category M1 */
  BW_BALANCE_ORDER_EASED,
  /** f_2 <= z / 0.9, z 0.15 to 0.8. From memory: UN R13-H Annex 5 App. 2, 49 CFR 571.135 S7.4 */
  BW_BALANCE_REAR_LINE,
  BW_BALANCE_RULE_COUNT
};

/** Limit and figure of `rule` at braking rate `rate` with adhesion used `used`; `slope` is c of
 *  BW_BALANCE_LINE_OWN. Kept when *result <= *limit; equal up to rounding counts as equal. False
 *  where the rule asks nothing; both are then untouched. */
bool bw_balance_rule_look(enum bw_balance_rule rule, double slope, double rate,
                          const double used[2], double *limit, double *result);

/** Greatest braking rate (z) by one axle alone before it uses the grip `grip`:
 *
 *    front  mu b/(L - mu h),   rear  mu a/(L + mu h)
 *
 *  Statics, derived (BAL-6). `front_to_cg` a, `wheelbase` L and `height` h in m. */
double bw_balance_single_axle(int axle, double grip, double front_to_cg, double wheelbase,
                              double height);

#endif
