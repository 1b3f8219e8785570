/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_FAULT_MODEL_H
#define BW_FAULT_MODEL_H

/** One fault of a run. It is at full level from `start` for `duration` s and then fades to nothing
 *  over `recovery` s; figures below are those at full level. Times count in control periods: a
 *  fault acts from the first period that begins at or after its start. */

enum bw_fault_kind {
  BW_FAULT_NONE,
  BW_FAULT_MACHINE_TRIP,   /**< the inverter blocks: no torque, no losses */
  BW_FAULT_CONTACTOR_OPEN, /**< the battery is cut off, both machines give nothing; before it, the
                                voltage rises over `lead` s by `voltage` */
  BW_FAULT_CHARGE_LIMIT,   /**< the battery takes `share` less than it could */
  BW_FAULT_SHORTED,        /**< a shorted machine drags: bw_fault_drag(), all of it heat */
  BW_FAULT_BOOSTER,        /**< brake pressure is `share` less than commanded, both axles */
  BW_FAULT_CIRCUIT,        /**< the same on the axles chosen, and pressure escapes at once */
  BW_FAULT_LATE,           /**< torque messages to the machines arrive `delay` s later */
  BW_FAULT_FROZEN,         /**< the last message before the start keeps acting */
  BW_FAULT_LOST,           /**< no message: the machine gives nothing */
  BW_FAULT_SIGN,           /**< messages act with the wrong sign */
  BW_FAULT_TORQUE_BIAS,    /**< `torque` too much in the inverter's estimate */
  BW_FAULT_PRESSURE_BIAS,  /**< `pressure` too much in what the controller reads */
  BW_FAULT_SPEED_BIAS,     /**< `speed` too much in what the controller reads */
  BW_FAULT_DRAG,           /**< friction of at least `torque` per axle, whatever is commanded */
  BW_FAULT_KIND_COUNT
};

enum bw_fault_axle { BW_FAULT_BOTH_AXLES, BW_FAULT_FRONT_AXLE, BW_FAULT_REAR_AXLE };

struct bw_fault {
  enum bw_fault_kind kind;
  enum bw_fault_axle axle;
  double start;      /**< s */
  double duration;   /**< s */
  double recovery;   /**< s */
  double detection;  /**< s until the controller is told of limits that fell */
  double share;      /**< 0..1 */
  double torque;     /**< N m at the axle */
  double peak_speed; /**< m/s at which the drag of a shorted machine is greatest */
  double pressure;   /**< Pa */
  double speed;      /**< m/s */
  double delay;      /**< s */
  double voltage;    /**< V */
  double lead;       /**< s */
};

#endif
