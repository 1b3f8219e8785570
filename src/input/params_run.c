/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/param_row.h"

#define CASE(field)    offsetof(struct bw_case, field)
#define DRIVER(field)  (CASE(driver) + offsetof(struct bw_driver, field))
#define OVERRUN(field) (CASE(overrun) + offsetof(struct bw_overrun, field))
#define ASSESS(field)  (CASE(assess) + offsetof(struct bw_assess_options, field))
#define RUST_CARE(axle)                                                                            \
  (CASE(rust_care) + offsetof(struct bw_rust_care, work_per_distance) + (axle) * sizeof(double))

static const struct bw_param_row ROWS[] = {
    BW_TEXT("case.name", BW_STORE_TEXT, CASE(name), BW_NAME_MAX, "", false,
            "name of the case in reports; not given: the file's name"),
    BW_TEXT("cycle.name", BW_STORE_NONE, 0, BW_PATH_MAX, "", true,
            "published cycle by name, or path of a cycle or manoeuvre CSV"),
    BW_CHOICE("cycle.join", "box|linear", BW_STORE_NONE, 0, 1, 0,
              "joining of the cycle's points: smoothed straight lines, or straight lines"),
    BW_NUMBER_ASIDE("cycle.join_s", "s", 0.01, 1.0, 0.2, "width of the smoothing box"),
    BW_TEXT("cycle.grade_profile", BW_STORE_NONE, 0, BW_PATH_MAX, "", false,
            "path of a CSV distance_m,grade_percent; empty: level road or the cycle's own"),
    BW_NUMBER("driver.gain_per_s", "1/s", DRIVER(gain), 0.0, 50.0, 1.5,
              "demanded acceleration per speed error"),
    BW_NUMBER("driver.integral_gain_per_s2", "1/s2", DRIVER(integral_gain), 0.0, 50.0, 0.3,
              "the same per summed speed error"),
    BW_NUMBER("driver.stop_decel_mps2", "m/s2", DRIVER(stop_deceleration), 0.0, 10.0, 0.5,
              "least braking while the trace stands and the car still rolls"),
    BW_NUMBER("driver.hold_decel_mps2", "m/s2", DRIVER(hold_deceleration), 0.0, 10.0, 1.0,
              "brake demand held at rest"),
    BW_NUMBER("driver.drive_front_share", "", DRIVER(drive_front_share), 0.0, 1.0, 0.5,
              "front share of the driving torque; with one machine it is that machine's"),
    BW_CHOICE("driver.decel_means", "brake|vehicle", BW_STORE_ENUM, DRIVER(decel_means), 1, 0,
              "a manoeuvre's deceleration: that of the brakes alone, or of the car"),
    BW_NUMBER("driver.initial_speed_kmh", "km/h", DRIVER(initial_speed), 0.0, 400.0, 0.0,
              "speed at the start of a manoeuvre; cycles bring their own"),
    BW_NUMBER("driver.pedal_full_decel_mps2", "m/s2", DRIVER(pedal_full_deceleration), 0.1, 20.0,
              10.0, "brake demand at pedal 100 %"),
    BW_NUMBER("driver.soft_stop_kmh", "km/h", DRIVER(soft_stop_speed), 0.0, 30.0, 0.0,
              "manoeuvres: below this speed the brake demand eases, straight with speed; 0: never"),
    BW_NUMBER("driver.soft_stop_percent", "%", DRIVER(soft_stop_share), 1.0, 100.0, 40.0,
              "part of it left just before rest, above what holds the car on the grade"),
    BW_FLAG("driver.run_on_at_rest", DRIVER(goes_on_at_rest), 0,
            "a manoeuvre goes on to the end of its table when the car has come to rest"),
    BW_NUMBER("overrun.decel_mps2", "m/s2", OVERRUN(deceleration), 0.0, 5.0, 0.0,
              "retardation asked for on accelerator release; 0: none"),
    BW_NUMBER("overrun.fade_zero_kmh", "km/h", OVERRUN(fade_zero), 0.0, 100.0, 5.0,
              "no overrun retardation below this speed"),
    BW_NUMBER("overrun.fade_full_kmh", "km/h", OVERRUN(fade_full), 0.1, 150.0, 12.0,
              "all of it above this speed, straight between"),
    BW_CHOICE("overrun.fill", "none|friction", BW_STORE_ENUM, OVERRUN(fill), 1, 0,
              "what the machine cannot give in overrun: left out, or friction fills it"),
    BW_NUMBER("control.period_ms", "ms", CASE(control_period), 1.0, 200.0, 10.0,
              "time between two decisions of the strategy"),
    BW_NUMBER("simulation.step_ms", "ms", CASE(step), 0.01, 20.0, 1.0,
              "plant sub-step, the control period is a whole multiple"),
    BW_CHOICE("simulation.fidelity", "rolling|slip", BW_STORE_ENUM, CASE(fidelity), 1, 0,
              "wheels that roll with a small slip, or wheels, shafts and antilock of their own"),
    BW_NUMBER("simulation.slip_step_us", "us", CASE(slip) + offsetof(struct bw_slip_setup, step),
              1.0, 2000.0, 100.0,
              "slip: wheel and shaft step, simulation.step_ms is a whole multiple"),
    BW_NUMBER(
        "output.trace_period_ms", "ms", CASE(trace_period), 1.0, 60000.0, 100.0,
        "spacing of trace rows, a whole multiple of the control period; not given: the first from "
        "100 ms on"),
    BW_NUMBER("assess.felt_line_g", "g", ASSESS(felt_deceleration), 0.001, 0.5, 0.015,
              "smallest dip a driver notices"),
    BW_NUMBER("assess.jerk_cutoff_hz", "Hz", ASSESS(jerk_cutoff), 0.5, 40.0, 10.0,
              "cut-off of the second-order jerk filter"),
    BW_CHOICE("assess.balance_rule", "un-r13-family|un-r13h|custom", BW_STORE_NONE, 0, 2, 0,
              "slope c of z >= 0.1 + c (k - 0.2): 0.85 (EU 2015/68 Annex II App. 1, 4.1.1.1), "
              "0.7 (from memory, unverified), or balance_slope"),
    BW_NEEDED_IF("assess.balance_slope", "", ASSESS(balance_slope), 0.1, 2.0,
                 "slope c, with balance_rule custom", "assess.balance_rule", 2),
    BW_NUMBER("assess.balance_violation_ms", "ms", ASSESS(balance_violation_time), 0.0, 5000.0,
              50.0, "shorter excursions beyond the rule are lag transients"),
    BW_FLAG(
        "assess.ceiling", ASSESS(has_ceiling), 0,
        "work out what an optimal blend reaches and the proven ceilings, for half a run's time, "
        "twice that where the battery holds back; run --bounds does"),
    BW_FLAG("assess.antilock", ASSESS(has_antilock), 1,
            "the car has antilock brakes: balance curves inform, they do not fail"),
    BW_NUMBER("assess.lamp_on_mps2", "m/s2", ASSESS(lamp_on), 0.7, 1.3, 1.0,
              "stop lamp threshold, above 0.7"),
    BW_NUMBER("assess.lamp_filter_ms", "ms", ASSESS(lamp_filter), 1.0, 2000.0, 100.0,
              "low-pass of the lamp's deceleration"),
    BW_NUMBER(
        "assess.lamp_delay_ms", "ms", ASSESS(lamp_delay), 0.0, 5000.0, 500.0,
        "shorter violations of the stop lamp are the delay of sensing (own figure, no source)"),
    BW_NUMBER("assess.compensation_ms", "ms", ASSESS(compensation_time), 0.0, 10000.0, 600.0,
              "time in which a change of regeneration must be made good (no rule found; 0.6 s is "
              "the general response time)"),
    BW_NUMBER("assess.event_on_mps2", "m/s2", ASSESS(event_on), 0.01, 2.0, 0.1,
              "brake demand that starts a braking event"),
    BW_NUMBER("assess.event_off_mps2", "m/s2", ASSESS(event_off), 0.001, 2.0, 0.05,
              "brake demand that ends it"),
    BW_NUMBER("assess.event_gap_s", "s", ASSESS(event_gap), 0.0, 10.0, 0.5,
              "shorter gaps between events are merged"),
    BW_NUMBER("rust_care.front_kj_per_100km", "kJ/100km", RUST_CARE(0), 0.0, 1e5, 0.0,
              "least friction work of the front brakes, for clean rotors; 0: off"),
    BW_NUMBER("rust_care.rear_kj_per_100km", "kJ/100km", RUST_CARE(1), 0.0, 1e5, 0.0,
              "the same at the rear"),
};

struct bw_param_rows bw_params_run(void) {
  return BW_ROWS(ROWS);
}
