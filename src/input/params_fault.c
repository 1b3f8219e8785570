/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/param_row.h"

#define FAULT(field) (offsetof(struct bw_case, fault) + offsetof(struct bw_fault, field))

/* the sizes are chosen here, of the order of what hurts a small car; no source */
static const struct bw_param_row ROWS[] = {
    BW_CHOICE("fault.kind",
              "none|machine-trip|contactor-open|charge-limit|shorted-machine|booster-loss|"
              "circuit-loss|message-late|message-frozen|message-lost|message-wrong-sign|"
              "torque-bias|pressure-bias|speed-bias|dragging-brake",
              BW_STORE_ENUM, FAULT(kind), BW_FAULT_KIND_COUNT - 1, 0,
              "what goes wrong during the run"),
    BW_CHOICE("fault.axle", "both|front|rear", BW_STORE_ENUM, FAULT(axle), 2, 0,
              "axles whose machine, message, torque or pressure reading it is on"),
    BW_NUMBER("fault.start_s", "s", FAULT(start), 0.0, 1e6, 0.0,
              "acts from the control period that begins at or after this"),
    BW_NUMBER("fault.duration_s", "s", FAULT(duration), 0.0, 1e6, 1e6, "time at full level"),
    BW_NUMBER("fault.recovery_s", "s", FAULT(recovery), 0.0, 1e4, 0.0,
              "time in which it fades afterwards"),
    BW_NUMBER("fault.detection_s", "s", FAULT(detection), 0.0, 1e4, 0.0,
              "time until the strategy is told of limits that fell"),
    BW_NUMBER("fault.charge_lost_share", "", FAULT(charge_share), 0.0, 1.0, 1.0,
              "charge-limit: share of the charge limit that is lost"),
    BW_NUMBER("fault.booster_lost_share", "", FAULT(booster_share), 0.0, 1.0, 0.7,
              "booster-loss: share of the commanded pressure that is lost, both axles"),
    BW_CHOICE("fault.circuit", "front|rear|diagonal", BW_STORE_ENUM, FAULT(circuit), 2, 0,
              "circuit-loss: the circuit; diagonal takes one wheel of each axle"),
    BW_NUMBER("fault.circuit_lost_share", "", FAULT(circuit_share), 0.0, 1.0, 1.0,
              "circuit-loss: share of the circuit's pressure that is lost"),
    BW_NUMBER("fault.shorted_torque_nm", "N m", FAULT(shorted_torque), 0.0, 20000.0, 500.0,
              "shorted-machine: greatest braking torque at the axle"),
    BW_NUMBER("fault.shorted_peak_speed_kmh", "km/h", FAULT(peak_speed), 0.1, 400.0, 10.0,
              "shorted-machine: speed of the greatest torque"),
    BW_NUMBER("fault.message_delay_ms", "ms", FAULT(delay), 0.0, 60000.0, 100.0,
              "message-late: delay"),
    BW_NUMBER("fault.torque_bias_nm", "N m", FAULT(bias_torque), -20000.0, 20000.0, 200.0,
              "torque-bias: too much in the inverter's estimate, at the axle"),
    BW_NUMBER("fault.pressure_bias_bar", "bar", FAULT(pressure), -500.0, 500.0, 10.0,
              "pressure-bias: too much in what the controller reads"),
    BW_NUMBER("fault.speed_bias_kmh", "km/h", FAULT(speed), -100.0, 100.0, 10.0,
              "speed-bias: too much in what the controller reads"),
    BW_CHOICE("fault.dragging_axle", "both|front|rear", BW_STORE_ENUM, FAULT(drag_axle), 2, 2,
              "dragging-brake: axles"),
    BW_NUMBER("fault.dragging_torque_nm", "N m", FAULT(drag_torque), 0.0, 20000.0, 300.0,
              "dragging-brake: least friction torque per axle"),
    BW_NUMBER("fault.voltage_rise_v", "V", FAULT(voltage), 0.0, 2000.0, 40.0,
              "contactor-open: rise of the voltage ahead of it, off the room to its limit"),
    BW_NUMBER("fault.voltage_lead_s", "s", FAULT(lead), 0.0, 100.0, 0.1,
              "contactor-open: time over which the voltage rises"),
    BW_TEXT("faults.conditions", BW_STORE_TEXT, offsetof(struct bw_case, fault_conditions),
            BW_FAULT_CONDITIONS_MAX, "", false,
            "verb faults: lists KEY=VALUE,VALUE joined by ';' that its conditions combine; not "
            "given: charge, grip, grade, load and speed"),
};

struct bw_param_rows bw_params_fault(void) {
  return BW_ROWS(ROWS);
}
