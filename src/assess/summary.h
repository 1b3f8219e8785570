/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SUMMARY_H
#define BW_SUMMARY_H

#include <stddef.h>

/** The columns of summary.csv: identifier, column name with unit, one line of explanation.
 *  This list drives the CSV, the tables for people, acceptance limits and the reference. Text
 *  columns (strategy, verdict, balance_rule, verdict_reason) stand before them. */
#define BW_SUMMARY_COLUMNS(X)                                                                      \
  X(DURATION, "duration_s", "length of the run")                                                   \
  X(DISTANCE, "distance_km", "distance driven")                                                    \
  X(BRAKING_EVENTS, "braking_events", "number of braking events")                                  \
  X(ENERGY_TRACE, "energy_trace_kj", "braking work the joined trace asks for at the road")         \
  X(ENERGY_DEMANDED, "energy_demanded_kj", "work of the braking demand, pedal and overrun")        \
  X(ENERGY_DELIVERED, "energy_delivered_kj", "work of the brake torques delivered at the road")    \
  X(ENERGY_MACHINE_AXLE, "energy_machine_axle_kj", "braking work of the machines at the axle")     \
  X(ENERGY_SHAFT, "energy_shaft_kj", "the same at the machine shafts, after the gears")            \
  X(ENERGY_DC, "energy_dc_kj", "net work into the DC link during braking")                         \
  X(ENERGY_BATTERY, "energy_battery_kj", "net work into the battery terminals during braking")     \
  X(ENERGY_CELLS, "energy_cells_kj", "net work into the cells during braking")                     \
  X(ENERGY_OVERRUN, "energy_overrun_kj", "machine work at the axle asked for by overrun")          \
  X(ENERGY_AUXILIARIES, "energy_auxiliaries_kj", "auxiliaries' part during braking")               \
  X(ENERGY_FRICTION_FRONT, "energy_friction_front_kj", "friction heat, front axle")                \
  X(ENERGY_FRICTION_REAR, "energy_friction_rear_kj", "friction heat, rear axle")                   \
  X(ENERGY_RECOVERABLE_PLANT, "energy_recoverable_plant_kj",                                       \
    "best split of the braking delivered, plant limits only, no lag")                              \
  X(ENERGY_RECOVERABLE_RULE, "energy_recoverable_rule_kj",                                         \
    "the same inside the balance rule and the road's grip")                                        \
  X(ENERGY_CEILING_PLANT, "energy_ceiling_plant_kj",                                               \
    "proven ceiling of any blend of the braking delivered, plant limits only")                     \
  X(ENERGY_CEILING_RULE, "energy_ceiling_rule_kj",                                                 \
    "the same inside the balance rule and the road's grip")                                        \
  X(ENERGY_REACHED_PLANT, "energy_reached_plant_kj",                                               \
    "reached by a blend of it that knows the future, plant limits; lower end beside the ceiling")  \
  X(ENERGY_REACHED_RULE, "energy_reached_rule_kj",                                                 \
    "the same inside the balance rule and the road's grip")                                        \
  X(BALANCE_SLOPE, "balance_slope", "slope c of the balance rule used")                            \
  X(RECOVERED_SHARE, "recovered_share",                                                            \
    "energy_battery over energy_trace; of a manoeuvre over energy_demanded")                       \
  X(OF_RECOVERABLE_PLANT, "of_recoverable_plant", "energy_battery over energy_recoverable_plant")  \
  X(OF_RECOVERABLE_RULE, "of_recoverable_rule", "energy_battery over energy_recoverable_rule")     \
  X(OF_CEILING_PLANT, "of_ceiling_plant", "energy_battery over energy_ceiling_plant")              \
  X(OF_CEILING_RULE, "of_ceiling_rule",                                                            \
    "energy_battery over energy_ceiling_rule; a rating only where is_rated_by_rule is 1")          \
  X(IS_RATED_BY_RULE, "is_rated_by_rule",                                                          \
    "1: no violation of the balance rule and its bounds rate the run; 0: flagged, unranked")       \
  X(FRICTION_SHARE_FRONT, "friction_share_front", "front friction work over delivered work")       \
  X(FRICTION_SHARE_REAR, "friction_share_rear", "rear friction work over delivered work")          \
  X(HANDOVERS, "handovers", "hand-overs between machine and friction")                             \
  X(GAP_PEAK, "gap_peak_nm", "greatest raw |demanded - delivered| axle torque while braking")      \
  X(GAP_RMS, "gap_rms_nm", "RMS of the raw gap while braking")                                     \
  X(DIP_PEAK, "dip_peak_mps2", "greatest deceleration missing below the lag envelope")             \
  X(DIP_P95, "dip_p95_mps2", "95th percentile of the hand-overs' dips")                            \
  X(SURGE_PEAK, "surge_peak_mps2", "greatest deceleration above the lag envelope")                 \
  X(TIME_ABOVE_FELT, "time_above_felt_s", "time with dip or surge above the felt line")            \
  X(SPEED_NOT_TAKEN_OFF, "speed_not_taken_off_mps", "time integral of all dips")                   \
  X(WORST_EVENT, "worst_event", "number of the event with the greatest dip")                       \
  X(WORST_EVENT_TIME, "worst_event_time_s", "when that dip happened")                              \
  X(GAP_JERK_PEAK, "gap_jerk_peak_mps3", "greatest |jerk| of the filtered gap while braking")      \
  X(GAP_JERK_RMS, "gap_jerk_rms_mps3", "RMS jerk of the filtered gap while braking")               \
  X(JERK_CUTOFF, "jerk_cutoff_hz", "cut-off of the jerk filter")                                   \
  X(BODY_JERK_PEAK, "body_jerk_peak_mps3",                                                         \
    "greatest |jerk| of the body, same filter (slip; rolling, it is that of the torques)")         \
  X(SLIP_PEAK, "slip_peak", "greatest slip of a wheel above 15 km/h (slip)")                       \
  X(WHEEL_LOCKED, "wheel_locked_s", "time with a slip above 0.9 above 15 km/h (slip)")             \
  X(ANTILOCK_TIME, "antilock_s", "time with an antilock intervention (slip)")                      \
  X(SHAFT_TORQUE_PEAK, "shaft_torque_peak_nm",                                                     \
    "greatest torque of a driveline at its axle (slip)")                                           \
  X(ROLL_BACK, "roll_back_m", "distance rolled backward (slip)")                                   \
  X(AXLE_VIOLATIONS, "axle_violations", "violations of the balance rule lasting long enough")      \
  X(AXLE_VIOLATION_TIME, "axle_violation_s", "time in such violations")                            \
  X(AXLE_VIOLATION_ENERGY, "axle_violation_kj", "braking work during such violations")             \
  X(AXLE_MARGIN_WORST, "axle_margin_worst", "worst distance of adhesion used from the rule")       \
  X(ADHESION_EXCEEDED, "adhesion_exceeded_s", "time an axle asked for more grip than there is")    \
  X(TRACE_OUTSIDE, "trace_outside_s", "time outside the published trace tolerance")                \
  X(TRACE_EXCURSIONS, "trace_excursions", "times it left the published trace tolerance")           \
  X(TRACE_LONGEST, "trace_excursion_longest_s", "longest of these excursions")                     \
  X(NET_CONSUMPTION, "net_consumption_wh_per_km", "battery energy used per distance (cycles)")     \
  X(SOC_START, "soc_start_percent", "state of charge at the start")                                \
  X(SOC_END, "soc_end_percent", "state of charge at the end")                                      \
  X(CHARGE_CURRENT_PEAK, "charge_current_peak_a", "greatest charging current")                     \
  X(CHARGE_VOLTAGE_PEAK, "charge_voltage_peak_v", "greatest terminal voltage")                     \
  X(CHARGE_CEILING, "charge_ceiling_s", "time the charge limit held regeneration back")            \
  X(MACHINE_PEAK, "machine_peak_c", "hottest machine")                                             \
  X(MACHINE_DERATED, "machine_derated_s", "time a machine was derated by heat")                    \
  X(ROTOR_FRONT_PEAK, "rotor_front_peak_c", "hottest front rotor")                                 \
  X(ROTOR_REAR_PEAK, "rotor_rear_peak_c", "hottest rear rotor")                                    \
  X(FACE_FRONT_PEAK, "face_front_peak_c", "hottest rubbed face of the front discs, ring's mean")   \
  X(FACE_REAR_PEAK, "face_rear_peak_c", "hottest rubbed face of the rear discs, ring's mean")      \
  X(FRICTION_APPLICATIONS, "friction_applications_per_100km", "friction brake applications")       \
  X(FRICTION_WORK, "friction_work_per_100km_kj", "friction work per distance")                     \
  X(LAMP_MUST_ON, "lamp_must_on_s", "stop lamp dark though above 1.3 m/s2")                        \
  X(LAMP_MUST_OFF, "lamp_must_off_s", "stop lamp lit though not above 0.7 m/s2, pedal released")   \
  X(STOPPING_DISTANCE, "stopping_distance_m", "from the start of the demand to rest (stops)")      \
  X(MFDD, "mfdd_mps2", "mean fully developed deceleration, 0.8 to 0.1 of the speed (stops)")       \
  X(JOLT_AT_REST, "jolt_at_rest_mps2", "deceleration that vanishes at the moment of rest, worst")  \
  X(CLIPPINGS, "clippings", "control periods in which the plant clipped a request")                \
  X(FIRST_CLIPPING, "first_clipping_s", "when the first clipping happened")                        \
  X(MESSAGES_LOST, "messages_lost", "messages to the machines that never arrived (message.*)")     \
  X(MESSAGE_AGE, "message_age_longest_ms", "oldest command that a machine acted on (message.*)")   \
  X(MESSAGE_TIMED_OUT, "message_timed_out_s",                                                      \
    "time a machine had had no message for too long (message.*)")                                  \
  X(HOLD_SHORTFALL, "hold_shortfall_n", "greatest force the brakes lacked to hold the car")        \
  X(LEDGER_MECHANICAL, "ledger_residual_mechanical", "unaccounted share of mechanical work")       \
  X(LEDGER_ELECTRICAL, "ledger_residual_electrical", "unaccounted share of electrical work")       \
  X(KINEMATIC_CHECK, "kinematic_check_worst", "worst event residual of the kinematic check")       \
  X(LIMIT_NONE_TIME, "limit_none_time_share", "braking time with no limit touched")                \
  X(LIMIT_PEAK_TORQUE_TIME, "limit_peak_torque_time_share", "braking time at peak torque")         \
  X(LIMIT_PEAK_POWER_TIME, "limit_peak_power_time_share", "braking time at peak power")            \
  X(LIMIT_FIELD_TIME, "limit_field_time_share", "braking time at the breakdown limit")             \
  X(LIMIT_SPEED_TIME, "limit_speed_time_share", "braking time above the top shaft speed")          \
  X(LIMIT_LOW_SPEED_TIME, "limit_low_speed_time_share", "braking time at the low-speed limit")     \
  X(LIMIT_DERATING_TIME, "limit_derating_time_share", "braking time at thermal derating")          \
  X(LIMIT_CHARGE_CURRENT_TIME, "limit_charge_current_time_share",                                  \
    "braking time at the current limit")                                                           \
  X(LIMIT_CHARGE_VOLTAGE_TIME, "limit_charge_voltage_time_share",                                  \
    "braking time at the voltage limit")                                                           \
  X(LIMIT_NONE_ENERGY, "limit_none_energy_share", "delivered work with no limit touched")          \
  X(LIMIT_PEAK_TORQUE_ENERGY, "limit_peak_torque_energy_share", "delivered work at peak torque")   \
  X(LIMIT_PEAK_POWER_ENERGY, "limit_peak_power_energy_share", "delivered work at peak power")      \
  X(LIMIT_FIELD_ENERGY, "limit_field_energy_share", "delivered work at the breakdown limit")       \
  X(LIMIT_SPEED_ENERGY, "limit_speed_energy_share", "delivered work above the top shaft speed")    \
  X(LIMIT_LOW_SPEED_ENERGY, "limit_low_speed_energy_share",                                        \
    "delivered work at the low-speed limit")                                                       \
  X(LIMIT_DERATING_ENERGY, "limit_derating_energy_share", "delivered work at thermal derating")    \
  X(LIMIT_CHARGE_CURRENT_ENERGY, "limit_charge_current_energy_share",                              \
    "delivered work at the current limit")                                                         \
  X(LIMIT_CHARGE_VOLTAGE_ENERGY, "limit_charge_voltage_energy_share",                              \
    "delivered work at the voltage limit")

enum bw_summary_column {
#define BW_SUMMARY_ENUM(id, name, help) BW_SUMMARY_##id,
  BW_SUMMARY_COLUMNS(BW_SUMMARY_ENUM)
#undef BW_SUMMARY_ENUM
      BW_SUMMARY_COUNT
};

/** How a run stands against the case's limits. */
enum bw_verdict {
  BW_VERDICT_KEPT,      /**< every limit kept */
  BW_VERDICT_MISSED,    /**< an acceptance limit of the case missed */
  BW_VERDICT_NOT_RANKED /**< outside the model's or the rule's ground; the reason says why */
};

/** The result of one run. Values in the unit of their column; NaN means not applicable and is
 *  written as an empty field. */
struct bw_summary {
  char strategy[64];
  enum bw_verdict verdict;
  char reason[256]; /**< why the verdict is not 'kept', empty otherwise */
  char balance_rule[32];
  double value[BW_SUMMARY_COUNT];
};

/** Name of a column, and its explanation; constant strings. */
const char *bw_summary_name(enum bw_summary_column column);
const char *bw_summary_help(enum bw_summary_column column);

/** Which end of a column's values is the worse one, for the worst case of a sweep. */
enum bw_worst { BW_WORST_NONE, BW_WORST_HIGH, BW_WORST_LOW };
enum bw_worst bw_summary_worst(enum bw_summary_column column);

/** Column called `name`, BW_SUMMARY_COUNT if there is none. */
enum bw_summary_column bw_summary_find(const char *name);

/** 'kept', 'missed' or 'not ranked'. */
const char *bw_verdict_text(enum bw_verdict verdict);

#endif
