/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/param_row.h"

#define FAULT(field) (offsetof(struct bw_case, fault) + offsetof(struct bw_fault, field))

static const struct bw_param_row ROWS[] = {
    BW_CHOICE("fault.kind",
              "none|machine-trip|contactor-open|charge-limit|shorted-machine|booster-loss|"
              "circuit-loss|message-late|message-frozen|message-lost|message-wrong-sign|"
              "torque-bias|pressure-bias|speed-bias|dragging-brake",
              BW_STORE_ENUM, FAULT(kind), 14, 0, "what goes wrong during the run"),
    BW_CHOICE("fault.axle", "both|front|rear", BW_STORE_ENUM, FAULT(axle), 2, 0, "axles it is on"),
    BW_NUMBER("fault.start_s", "s", FAULT(start), 0.0, 1e6, 0.0,
              "acts from the control period that begins at or after this"),
    BW_NUMBER("fault.duration_s", "s", FAULT(duration), 0.0, 1e6, 1e6, "time at full level"),
    BW_NUMBER("fault.recovery_s", "s", FAULT(recovery), 0.0, 1e4, 0.0,
              "time in which it fades afterwards"),
    BW_NUMBER("fault.detection_s", "s", FAULT(detection), 0.0, 1e4, 0.0,
              "time until the strategy is told of limits that fell"),
    BW_NUMBER("fault.share", "", FAULT(share), 0.0, 1.0, 1.0,
              "charge-limit, booster-loss, circuit-loss: share lost"),
    BW_NUMBER("fault.torque_nm", "N m", FAULT(torque), -20000.0, 20000.0, 500.0,
              "shorted-machine: greatest; torque-bias: error; dragging-brake: per axle"),
    BW_NUMBER("fault.peak_speed_kmh", "km/h", FAULT(peak_speed), 0.1, 400.0, 10.0,
              "shorted-machine: speed of the greatest torque"),
    BW_NUMBER("fault.pressure_bar", "bar", FAULT(pressure), -500.0, 500.0, 10.0,
              "pressure-bias: error"),
    BW_NUMBER("fault.speed_kmh", "km/h", FAULT(speed), -100.0, 100.0, 10.0, "speed-bias: error"),
    BW_NUMBER("fault.delay_ms", "ms", FAULT(delay), 0.0, 60000.0, 100.0, "message-late: delay"),
    BW_NUMBER("fault.voltage_v", "V", FAULT(voltage), 0.0, 2000.0, 0.0,
              "contactor-open: rise of the voltage ahead of it, off the room to its limit"),
    BW_NUMBER("fault.lead_s", "s", FAULT(lead), 0.0, 100.0, 0.1,
              "contactor-open: time over which the voltage rises"),
};

struct bw_param_rows bw_params_fault(void) {
  return BW_ROWS(ROWS);
}
