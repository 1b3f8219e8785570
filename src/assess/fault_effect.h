/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FAULT_EFFECT_H
#define BW_FAULT_EFFECT_H

#include "assess/fault_drive.h"

/** What one fault does to one deceleration. Severity figures are meant for a hazard analysis; no
 *  rating is derived from them.
 *
 *  The car with the fault is compared with the sound car: at the same moment (deceleration,
 *  speed), at the same place (speed left) and at the end of the window or manoeuvre (way). Slip,
 *  balance and grip count from the fault on; for a contactor that opens, from the rise of the
 *  voltage on. */
struct bw_fault_effect {
  double start;        /**< s */
  double end;          /**< s, end of what was judged: of the deceleration, or of the drive */
  double speed;        /**< m/s when the fault begins */
  double lost;         /**< m/s2, greatest loss of deceleration */
  double lost_time;    /**< s with a loss above what a driver notices */
  double lost_speed;   /**< m/s, greatest speed above the sound car's */
  double gained;       /**< m/s2, greatest unintended deceleration */
  double gained_time;  /**< s with one above what a driver notices */
  double gained_speed; /**< m/s, greatest speed below the sound car's */
  double way;          /**< m further than the sound car at the end */
  double more_way;     /**< m, longer stopping distance; NaN unless both cars stopped */
  double speed_left;   /**< m/s above the sound car's speed at the place where that one ended */
  double slip;         /**< 1, greatest */
  double slip_sound;   /**< 1, of the sound car in the same time */
  double lock_time;    /**< s without grip, see struct bw_fault_row */
  double lock_time_sound;
  double margin;          /**< 1, least axle balance; NaN: not judged */
  double margin_sound;    /**< 1 */
  double violation_time;  /**< s with a margin below 0 */
  double rear_first_time; /**< s with the rear axle nearer to locking than the front */
  double until_met; /**< s until the demand is missed by no more than the sound car misses it at the
                         same speed and a driver notices; NaN: not before the end */
};

/** Compare a drive with the fault of `loaded` to the sound one; both have rows from the same
 *  period on. */
void bw_fault_effect_find(const struct bw_case *loaded, const struct bw_fault_drive *sound,
                          const struct bw_fault_drive *hurt, struct bw_fault_effect *effect);

/** What makes one start or cell worse than another. */
enum bw_fault_order {
  BW_FAULT_BY_WAY,     /**< way; a thousandth of the unintended deceleration breaks ties */
  BW_FAULT_BY_SPEED,   /**< speed left */
  BW_FAULT_BY_LOSS,    /**< lost deceleration */
  BW_FAULT_BY_GAIN,    /**< unintended deceleration */
  BW_FAULT_BY_SLIP,    /**< slip */
  BW_FAULT_BY_LOCK,    /**< time without grip */
  BW_FAULT_BY_BALANCE, /**< axle balance, least first */
  BW_FAULT_BY_TIME,    /**< time until the demand is met, never first */
  BW_FAULT_ORDER_COUNT
};

/** Name of an order, and the order of a name (BW_FAULT_ORDER_COUNT: unknown). */
const char *bw_fault_order_name(enum bw_fault_order order);
enum bw_fault_order bw_fault_order_find(const char *name);

/** The larger the worse; all orders but the first break ties by a millionth of the way. */
double bw_fault_effect_rank(const struct bw_fault_effect *effect, enum bw_fault_order order);

#endif
