/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SAMPLE_H
#define BW_SAMPLE_H

#include "input/case.h"
#include "strategies/blend.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/** What the simulator hands to observers after each control period: everything an assessment may
 *  know about the run. Torques are at the axle (N m), positive when they retard; energies in J
 *  over this period; 'mean' is the mean over time within the period. */

enum {
  BW_SUBSTEPS_MAX = 200,
  BW_DELAY_PERIODS = 256 /**< longest dead time in control periods, plus two */
};

/** Requests that the plant had to clip, as bits of bw_sample.clipped. */
enum {
  BW_CLIP_MACHINE_FRONT = 1, /**< more than the machine or battery could give */
  BW_CLIP_MACHINE_REAR = 2,
  BW_CLIP_FRICTION_FRONT = 4, /**< more than the greatest pressure gives */
  BW_CLIP_FRICTION_REAR = 8,
  BW_CLIP_PEDAL_FLOOR = 16 /**< less friction than a coupled pedal leaves */
};

struct bw_sample_axle {
  double machine_request;     /**< N m, what the strategy asked for */
  double machine_command;     /**< N m, after clipping; negative when driving */
  double machine_torque;      /**< N m, mean; negative when driving */
  double friction_request;    /**< N m, nominal */
  double friction_command;    /**< N m, nominal, after clipping and plumbing */
  double friction_torque;     /**< N m, mean, real pad friction */
  double pressure;            /**< Pa at the end of the period */
  double available;           /**< N m, both machines braking at once, as told to the strategy */
  double available_alone;     /**< N m, the limit of this axle's machine with battery */
  double envelope;            /**< N m, the same without the battery */
  enum bw_limit limit;        /**< what binds `available_alone` */
  double load;                /**< N, real axle load (slope and deceleration) */
  double load_level;          /**< N, level-road load at the braking rate z of the brake forces */
  double brake_force;         /**< N, contact force from brake torques only, mean, >= 0 */
  double contact_force;       /**< N, contact force with driving torque too, mean, signed */
  double slip;                /**< 1, mean, positive when braking */
  double omega;               /**< rad/s, mean shaft speed of the machine, 0 where none */
  double machine_temperature; /**< K at the end */
  double rotor_temperature;   /**< K at the end */
  double machine_work;        /**< J taken out at the axle by the machine while braking, >= 0 */
  double drive_work;          /**< J put in at the axle by the machine while driving, >= 0 */
  double shaft_work;          /**< J at the machine shaft, positive when generating, signed */
  double gear_loss;           /**< J */
  double machine_loss;        /**< J, machine and inverter */
  double dc_work;             /**< J into the DC link, signed */
  double friction_work;       /**< J turned to heat in the friction brakes, >= 0 */
  double tyre_loss;           /**< J, slip */
  /* fidelity `slip` only, 0 else */
  double slip_peak;    /**< greatest |slip| of a wheel above 15 km/h */
  double shaft_torque; /**< N m, greatest |torque| on the wheels from the machine's side */
  double shaft_loss;   /**< J, damping of a compliant driveline */
};

/** What is, where the controller reads something else: at the moment of its decision. */
struct bw_sample_truth {
  double speed;       /**< m/s, >= 0 */
  double rim[2];      /**< m/s, rim speed of an axle's wheels, >= 0 */
  double slip[2];     /**< 1, mean of the last period */
  double pressure[2]; /**< Pa */
  double machine[2];  /**< N m, torque of the machine */
  double friction[2]; /**< N m, nominal, from the pressure */
};

struct bw_sample {
  double time;            /**< s, start of the period */
  double duration;        /**< s, usually the control period; shorter when the run ends inside */
  size_t substeps;        /**< entries of `delivered`; 0 while parked */
  double substep;         /**< s */
  bool is_parked;         /**< at rest, held by the brakes, nothing moved */
  double speed_start;     /**< m/s */
  double speed_end;       /**< m/s */
  double distance_start;  /**< m */
  double distance;        /**< m covered in this period */
  double height;          /**< m gained in this period */
  double sin_slope;       /**< sine of the slope, held over the period */
  double deceleration;    /**< m/s2, mean, positive when slowing */
  double reference_speed; /**< m/s at the start; NaN for manoeuvres */
  double reference_acceleration;     /**< m/s2; NaN for manoeuvres */
  double demand;                     /**< N m, braking demand D x r (pedal and overrun), held */
  double demand_pedal;               /**< N m */
  double demand_overrun;             /**< N m */
  double drive;                      /**< N m, driving demand, >= 0, held */
  double delivered[BW_SUBSTEPS_MAX]; /**< (substeps) N m, retarding torque of both axles, mean of
                                          each sub-step; driving torque counts negative */
  double road_work;                  /**< J taken by road load */
  double kinetic_start;              /**< J, half m_eff v^2; slip: body, rotation, wound shafts */
  double kinetic_end;                /**< J */
  double potential;                  /**< J gained, m g height */
  struct bw_sample_axle axle[2];
  double charge_power;        /**< W the DC link could take (terminals and auxiliaries) */
  enum bw_limit charge_limit; /**< what binds charge_power */
  bool is_charge_capped;      /**< the charge limit held back a command in this period */
  double battery_work;        /**< J at the terminals, positive into the battery */
  double cells_work;          /**< J, integral of OCV dq */
  double rc_work;             /**< J into the RC pair */
  double resistance_loss;     /**< J */
  double auxiliaries_work;    /**< J drawn by the auxiliaries */
  double current;             /**< A, positive charging */
  double voltage;             /**< V at the terminals */
  double charge;              /**< state of charge 0..1 at the end */
  uint32_t clipped;           /**< BW_CLIP_* bits */
  double fault_level;         /**< 0..1, of the case's fault */
  double hold_shortfall;      /**< N that the brakes lacked to hold the car at rest */
  /* fidelity `slip` only, 0 else */
  double body_deceleration[BW_SUBSTEPS_MAX]; /**< (substeps) m/s2, mean of each sub-step */
  double antilock_time;                      /**< s with an antilock intervention */
  double locked_time; /**< s with a wheel locked (slip above 0.9) above 15 km/h */
  /* signals; all 0 unless the case has sensors, messages or a fault */
  bool is_sensed;               /**< the controller may not read what is: `truth` holds */
  struct bw_sample_truth truth; /**< as the period begins */
  unsigned messages_lost;       /**< in this period, to both machines */
  double message_age;           /**< s, oldest command that acted in this period */
  double message_timed_out;     /**< s in which a machine had had no message for too long */
};

#endif
