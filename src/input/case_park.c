/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/case_loader.h"
#include "input/config_file.h"
#include "input/descent_read.h"

/** What only the assessment reads: parking brake and a descent of the user's own. */

void bw_case_check_park(struct bw_case_loader *loader) {
  static const struct {
    const char *key;
    const char *wanted;
  } needed[] = {{"park_brake.clamp_force_kn", "the clamp force set at each caliper, in kN"},
                {"park_brake.effective_radius_m", "the radius at which the pads act, in m"},
                {"park_brake.pad_friction_static", "the static friction of pads on disc"}};
  if (loader->target->assess_data.park.axle == BW_PARK_NONE) {
    return;
  }
  for (size_t i = 0; i < sizeof needed / sizeof *needed; i++) {
    if (!(bw_param_number(loader->values, needed[i].key) > 0.0)) {
      bw_loader_fail_key(loader, needed[i].key,
                         "must be above 0 with park_brake.axle; give %s, or axle none",
                         needed[i].wanted);
    }
  }
}

void bw_case_read_descent(struct bw_case_loader *loader) {
  static const char *const key = "descent.profile";
  struct bw_param_value *value = bw_param_value(loader->values, key);
  if (value->text == NULL || value->text[0] == '\0') {
    return;
  }
  char base[BW_PATH_MAX];
  char path[BW_PATH_MAX];
  bw_case_base_of(value, base);
  if (!bw_path_beside(base[0] != '\0' ? base : NULL, value->text, path)) {
    bw_loader_fail_key(loader, key, "path is too long; give at most %d bytes",
                       (int)BW_PATH_MAX - 1);
    return;
  }
  const enum bw_status status =
      bw_descent_read(path, &loader->target->assess_data.descent, loader->diag);
  bw_loader_note(loader, status);
  if (status == BW_OK && !bw_case_make_absolute(loader, value, path)) {
    bw_loader_fail_key(loader, key, "path cannot be resolved; check it");
  }
}
