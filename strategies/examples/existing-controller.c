/* SPDX-License-Identifier: MIT-0 */
#include "existing-controller.h"

/* The kind of state that code for a control unit keeps: found afresh in every run, because the
 * evaluator opens the object anew for each. */
static float ec_share;
static float ec_machine_nm; /* at the wheels, after the ramp */

/* N m at the wheels that the machine may rise in one period */
#define EC_RISE_NM 60.0f

void ec_init(float machine_share) {
  ec_share = machine_share;
  ec_machine_nm = 0.0f;
}

void ec_step(const struct ec_in *in, struct ec_out *out) {
  const float request = in->brake_request_nm + in->release_request_nm;
  const float limit = in->machine_limit_nm * in->gear_ratio;
  float machine = request * ec_share;
  if (in->vehicle_speed_kmh < 8.0f) {
    machine = 0.0f;
  } else if (in->vehicle_speed_kmh < 14.0f) {
    machine *= (in->vehicle_speed_kmh - 8.0f) / 6.0f;
  }
  if (machine > ec_machine_nm + EC_RISE_NM) {
    machine = ec_machine_nm + EC_RISE_NM;
  }
  if (machine > limit) {
    machine = limit;
  }
  ec_machine_nm = machine;
  out->machine_torque_nm = in->gear_ratio > 0.0f ? machine / in->gear_ratio : 0.0f;
  out->friction_share = request > 0.0f ? 1.0f - machine / request : 1.0f;
}
