/* SPDX-License-Identifier: MIT-0 */
#ifndef EXISTING_CONTROLLER_H
#define EXISTING_CONTROLLER_H

/** Stands for controller code that exists already and must not be touched: its own units, its own
 *  period, its state in static variables. wrapped-controller.c puts it behind the contract. */

/** ms between two calls of ec_step(). */
#define EC_PERIOD_MS 20

/** Signals in, in the units of the control unit. */
struct ec_in {
  float vehicle_speed_kmh;
  float brake_request_nm;   /**< at the wheels, whole car */
  float release_request_nm; /**< accelerator released */
  float machine_limit_nm;   /**< at the machine's shaft */
  float gear_ratio;         /**< shaft turns per wheel turn */
};

/** Signals out. */
struct ec_out {
  float machine_torque_nm; /**< at the machine's shaft */
  float friction_share;    /**< 0..1 of brake_request_nm and release_request_nm */
};

/** Set the state back and the share of the machine, 0..1. */
void ec_init(float machine_share);

/** One period. */
void ec_step(const struct ec_in *in, struct ec_out *out);

#endif
