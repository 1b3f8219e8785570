/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_BATTERY_H
#define BW_BATTERY_H

#include "model/machine.h"
#include "model/table.h"

/** Traction battery: open-circuit voltage, resistance, one RC pair, charge limits.
 *
 *    V = OCV(soc) + U_rc + R I,   I positive when charging,   dU_rc/dt = (R_rc I - U_rc) / t_rc
 *    I = 2 P / (U + sqrt(U^2 + 4 R P)),   U = OCV + U_rc
 *    I_max = min(I_pulse-limited, (V_max - U) / R) >= 0,   P_max = I_max (U + R I_max)
 *    pulse budget w in [0, W], W = (I_p^2 - I_c^2) t_p,   dw/dt = I_c^2 - I^2,
 *    I_lim = I_c + (I_p - I_c) min(1, w / (BW_PULSE_FADE W))
 *  DC power available to the machines = P_max + auxiliaries, which take their part first.
 *  Two guards beyond the formulas: neither current may fill or empty what is left of the charge
 *  within one second, so that the charge stays in 0..1; and the discharge current stays below
 *  0.45 U / R, so that the root of a step (real up to 0.5 U / R) exists while U moves. */

/** Share of the pulse budget below which the pulse current fades to the continuous one. */
#define BW_PULSE_FADE 0.2

struct bw_battery {
  double capacity;                    /**< A s */
  double start_charge;                /**< 0..1 */
  double temperature;                 /**< K, held */
  struct bw_table1 ocv;               /**< V over state of charge 0..1, pack level, never falling */
  struct bw_table2 resistance;        /**< ohm over (temperature K, state of charge) */
  double rc_resistance;               /**< ohm */
  double rc_time;                     /**< s */
  double voltage_max;                 /**< V */
  double voltage_min;                 /**< V */
  struct bw_table1 charge_continuous; /**< A over temperature K */
  struct bw_table1 charge_pulse;      /**< A over temperature K, >= continuous */
  double pulse_time;                  /**< s */
  double discharge_current_max;       /**< A */
  double auxiliaries;                 /**< W, drawn all the time */
};

/** What a battery remembers. */
struct bw_battery_state {
  double charge;       /**< 0..1, up to 0.01 A s above */
  double rc_voltage;   /**< V */
  double pulse_budget; /**< A^2 s */
  /** What the held temperature fixes, looked up once by bw_battery_start(). */
  struct bw_battery_held {
    double continuous;                /**< A, charge current for as long as one likes */
    double continuous_square;         /**< A2 */
    double extra;                     /**< A, pulse less continuous, >= 0 */
    double surplus;                   /**< A2, pulse^2 - continuous^2 */
    double per_surplus;               /**< 1/A2, 0 without surplus */
    double budget;                    /**< A2 s, surplus x pulse time */
    struct bw_table_place resistance; /**< place of the temperature in the resistance table */
  } held;
  /** What the tables say at `at`, looked up once per step: good while `charge` is `at`. */
  struct bw_battery_look {
    double at;         /**< 0..1 */
    size_t segment;    /**< of the open-circuit voltage, as bw_table1_segment() */
    double ocv;        /**< V */
    size_t column;     /**< of the resistance table, likewise */
    double resistance; /**< ohm */
  } look;
  /** What the length of a step fixes: good while steps are `duration` long. */
  struct bw_battery_pace {
    double duration;        /**< s */
    double kept_mean;       /**< mean of what is left of the RC voltage over the step */
    double pair_resistance; /**< ohm, what the RC pair adds to the mean over the step */
    double gone;            /**< share of the RC pair's way that is covered at the end */
    double charge_per_amp;  /**< 1/A */
  } pace;
};

/** What the battery allows at one moment. */
struct bw_battery_limits {
  double charge_current;  /**< A, >= 0 */
  double charge_power;    /**< W at the terminals, >= 0 */
  double discharge_power; /**< W at the terminals, >= 0 */
  double pulse_left;      /**< s of pulse current left in the budget; pulse_time when pulse and
                               continuous current are the same */
  enum bw_limit binding;  /**< BW_LIMIT_CHARGE_CURRENT or BW_LIMIT_CHARGE_VOLTAGE */
};

/** What one step did. Energies in J, positive into the battery. */
struct bw_battery_step {
  double current;    /**< A, constant over the step */
  double voltage;    /**< V at the terminals, mean over the step */
  double terminals;  /**< P dt */
  double cells;      /**< integral of OCV dq */
  double rc;         /**< integral of I U_rc dt: RC pair, lost or stored for a moment */
  double resistance; /**< R I^2 dt */
};

struct bw_battery_state bw_battery_start(const struct bw_battery *battery);

void bw_battery_limits(const struct bw_battery *battery, const struct bw_battery_state *state,
                       struct bw_battery_limits *limits);

/** Advance by `duration` (s) with terminal power `power` (W, positive charging). The current is
 *  constant over the step and so chosen that power x duration = cells + rc + resistance, each an
 *  exact integral; the resistance is that of the charge at the start.
 *  BW_E_NUMERIC when the battery cannot give the power, or the charge leaves 0..1 by more than
 *  the 0.01 A s by which a forecast of the charge limit may miss it above; the state is then
 *  untouched. */
BW_MUST_CHECK enum bw_status bw_battery_advance(const struct bw_battery *battery,
                                                struct bw_battery_state *state, double power,
                                                double duration, struct bw_battery_step *step);

#endif
