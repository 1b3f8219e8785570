/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FAULT_MODEL_H
#define BW_FAULT_MODEL_H

#include <stdbool.h>

/** One fault of a run. It is at full level from `start` for `duration` s and then fades to nothing
 *  over `recovery` s; figures below are those at full level. Times count in control periods: a
 *  fault acts from the first period that begins at or after its start. */

enum bw_fault_kind {
  BW_FAULT_NONE,
  BW_FAULT_MACHINE_TRIP,   /**< the inverter blocks: no torque, no losses */
  BW_FAULT_CONTACTOR_OPEN, /**< the battery is cut off, both machines give nothing; before it, the
                                voltage rises over `lead` s by `voltage` */
  BW_FAULT_CHARGE_LIMIT,   /**< the battery takes `charge_share` less than it could */
  BW_FAULT_SHORTED,        /**< a shorted machine drags: bw_fault_drag(), all of it heat */
  BW_FAULT_BOOSTER,        /**< pressure is `booster_share` less than commanded, both axles */
  BW_FAULT_CIRCUIT,        /**< the same by `circuit_share` on `circuit`, and at once */
  BW_FAULT_LATE,           /**< torque messages to the machines arrive `delay` s later */
  BW_FAULT_FROZEN,         /**< the last message before the start keeps acting */
  BW_FAULT_LOST,           /**< no message: the machine gives nothing */
  BW_FAULT_SIGN,           /**< messages act with the wrong sign */
  BW_FAULT_TORQUE_BIAS,    /**< `bias_torque` too much in the inverter's estimate */
  BW_FAULT_PRESSURE_BIAS,  /**< `pressure` too much in what the controller reads */
  BW_FAULT_SPEED_BIAS,     /**< `speed` too much in what the controller reads */
  BW_FAULT_DRAG,           /**< friction of at least `drag_torque` per axle of `drag_axle`,
                                whatever is commanded and whatever an antilock valve lets out */
  BW_FAULT_KIND_COUNT
};

enum bw_fault_axle { BW_FAULT_BOTH_AXLES, BW_FAULT_FRONT_AXLE, BW_FAULT_REAR_AXLE };

/** What hangs on one of the two circuits. Of a diagonal one, each axle loses half: one wheel. */
enum bw_fault_circuit { BW_FAULT_CIRCUIT_FRONT, BW_FAULT_CIRCUIT_REAR, BW_FAULT_CIRCUIT_DIAGONAL };

/** Each kind has a size of its own, so that one case serves a study of all kinds. */
struct bw_fault {
  enum bw_fault_kind kind;
  enum bw_fault_axle axle;       /**< of machines, their messages, and of biased estimates */
  enum bw_fault_circuit circuit; /**< that is lost */
  enum bw_fault_axle drag_axle;  /**< whose brake drags */
  double start;                  /**< s */
  double duration;               /**< s */
  double recovery;               /**< s */
  double detection;              /**< s until the controller is told of limits that fell */
  double charge_share;           /**< 0..1 */
  double booster_share;          /**< 0..1 */
  double circuit_share;          /**< 0..1 */
  double shorted_torque;         /**< N m at the axle, greatest */
  double peak_speed;             /**< m/s at which the drag of a shorted machine is greatest */
  double bias_torque;            /**< N m at the axle */
  double drag_torque;            /**< N m at the axle */
  double pressure;               /**< Pa */
  double speed;                  /**< m/s */
  double delay;                  /**< s */
  double voltage;                /**< V */
  double lead;                   /**< s */
};

/** True when the fault is of a machine on its axles, or of that machine's messages. */
bool bw_fault_needs_machine(enum bw_fault_kind kind);

/** True when the fault is on `axle` (0 front, 1 rear): by `axle`, of a dragging brake by
 *  `drag_axle`, of a circuit by `circuit`; booster and battery serve both. */
bool bw_fault_hits(const struct bw_fault *fault, int axle);

#endif
