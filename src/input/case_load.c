/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "alloc.h"
#include "input/case_loader.h"
#include "input/strategy_table.h"

#include <stdio.h>
#include <string.h>

enum { KEY_SIZE = 160 };

enum bw_status bw_case_start(struct bw_param_values *values, const char *path, struct bw_case **out,
                             struct bw_diag *diag) {
  *out = bw_alloc(1, sizeof **out);
  if (*out == NULL || values == NULL) {
    bw_free(*out);
    *out = NULL;
    bw_param_values_destroy(values);
    (void)bw_fail(diag, BW_E_MEMORY, "out of memory for the case %.300s", path);
    return BW_E_MEMORY; /* said so that the compiler sees it */
  }
  (*out)->values = values;
  return BW_OK;
}

enum bw_status bw_case_complete(struct bw_case_loader *loader, struct bw_case **out) {
  if (!loader->is_incomplete) {
    bw_case_require(loader);
  }
  bw_case_read_trace(loader);
  bw_case_read_descent(loader);
  if (loader->status == BW_OK) {
    bw_case_apply(loader);
    bw_loader_note(loader, bw_strategy_tables_keep(loader->values, loader->target, loader->diag));
    bw_case_cross_check(loader);
  }
  if (loader->status != BW_OK) {
    bw_case_destroy(loader->target);
    return loader->status;
  }
  *out = loader->target;
  return BW_OK;
}

enum bw_status bw_case_load(const char *path, const char *data_dir,
                            const struct bw_override *overrides, size_t override_count,
                            struct bw_case **out, struct bw_diag *diag) {
  const struct bw_case_source source = {path, data_dir, override_count, overrides};
  return bw_case_load_with(&source, NULL, out, diag);
}

enum bw_status bw_case_load_with(const struct bw_case_source *source,
                                 const struct bw_extra_strategies *extra, struct bw_case **out,
                                 struct bw_diag *diag) {
  *out = NULL;
  struct bw_case *target = NULL;
  BW_TRY(bw_case_start(bw_param_values_create(extra), source->path, &target, diag));
  struct bw_case_loader loader = {.target = target,
                                  .values = target->values,
                                  .diag = diag,
                                  .path = source->path,
                                  .data_dir = source->data_dir};
  bw_case_read_files(&loader);
  bw_case_override(&loader, source->overrides, source->override_count);
  return bw_case_complete(&loader, out);
}

void bw_case_destroy(struct bw_case *loaded) {
  if (loaded != NULL) {
    bw_trace_free(&loaded->trace);
    bw_trace_free(&loaded->assess_data.descent);
    bw_strategy_tables_free(loaded);
    bw_param_values_destroy(loaded->values);
    bw_free(loaded);
  }
}

const struct bw_param_table *bw_case_params(const struct bw_case *loaded) {
  return loaded->values->table;
}

bool bw_case_number(const struct bw_case *loaded, const char *key, double *number) {
  const struct bw_param_table *table = bw_case_params(loaded);
  const size_t index = bw_param_index(table, key);
  if (index >= bw_param_count(table) || bw_param_at(table, index)->kind != BW_PARAM_NUMBER ||
      !loaded->values->value[index].is_set) {
    return false;
  }
  *number = loaded->values->value[index].number;
  return true;
}

void bw_case_strategy_params(const struct bw_case *loaded, const struct bw_blend_strategy *strategy,
                             double *values) {
  for (size_t i = 0; i < strategy->param_count; i++) {
    values[i] = strategy->params[i].fallback;
    if (loaded->values == NULL) { /* a case that was not read from a file */
      continue;
    }
    char key[KEY_SIZE];
    (void)snprintf(key, sizeof key, "strategy.%s.%s", strategy->name, strategy->params[i].name);
    const size_t index = bw_param_index(loaded->values->table, key);
    if (index < bw_param_count(loaded->values->table)) {
      values[i] = loaded->values->value[index].number;
    }
  }
}

double bw_case_axle_inertia(const struct bw_case *loaded, int axle) {
  const struct bw_machine *machine = &loaded->machine[axle];
  const double wheels = loaded->vehicle.wheel_inertia[axle];
  return machine->is_fitted ? wheels + machine->inertia * machine->ratio * machine->ratio : wheels;
}

double bw_case_effective_mass(const struct bw_case *loaded) {
  const struct bw_vehicle *vehicle = &loaded->vehicle;
  const double inertia =
      bw_case_axle_inertia(loaded, BW_FRONT) + bw_case_axle_inertia(loaded, BW_REAR);
  return vehicle->load[vehicle->load_state].mass +
         inertia / (vehicle->tyre_radius * vehicle->tyre_radius);
}

_Static_assert((int)BW_BLEND_LOSS_POINTS >= (int)BW_TABLE2_MAX,
               "a strategy has room for every map");

/* the case's own arrays: it outlives the run */
static struct bw_blend_loss_map loss_map_of(const struct bw_table2 *map) {
  if (map->nx == 0) {
    return (struct bw_blend_loss_map){0};
  }
  return (struct bw_blend_loss_map){
      .speeds = map->nx,
      .torques = map->ny,
      .speed = map->x,
      .torque = map->y,
      .loss = map->z,
  };
}

static void fill_machine(const struct bw_machine *machine, int axle, struct bw_blend_info *info) {
  if (!machine->is_fitted) {
    return;
  }
  /* braking: the gear's loss helps, axle torque = shaft torque x ratio / efficiency */
  info->machine_torque_peak[axle] =
      machine->shaft_torque_peak * machine->ratio / machine->efficiency;
  info->machine_ratio[axle] = machine->ratio;
  info->machine_efficiency[axle] = machine->efficiency;
  info->machine_loss[axle][0] = machine->loss_k0;
  info->machine_loss[axle][1] = machine->loss_k1;
  info->machine_loss[axle][2] = machine->loss_k2;
  info->machine_loss[axle][3] = machine->loss_kt;
  info->machine_dead_time[axle] = machine->dead_time;
  info->machine_lag[axle] = machine->lag;
  info->machine_gates_off[axle] = machine->is_gated_off_idle ? 1 : 0;
  info->machine_loss_map[axle] = loss_map_of(&machine->loss_map);
}

void bw_case_blend_info(const struct bw_case *loaded, struct bw_blend_info *info) {
  const struct bw_vehicle *vehicle = &loaded->vehicle;
  const struct bw_load *now = &vehicle->load[vehicle->load_state];
  *info = (struct bw_blend_info){
      .period = loaded->control_period,
      .mass = now->mass,
      .wheelbase = vehicle->wheelbase,
      .cg_to_front = now->cg_to_front,
      .cg_height = now->cg_height,
      .tyre_radius = vehicle->tyre_radius,
      .balance_slope = loaded->assess.balance_slope,
      .felt_deceleration = loaded->assess.felt_deceleration,
      .parallel_ratio = loaded->brakes.parallel_ratio,
      .layout = loaded->brakes.layout,
      .table_count = loaded->table_count,
      .tables = loaded->tables,
  };
  for (int axle = 0; axle < BW_AXLES; axle++) {
    const struct bw_friction *friction = &loaded->brakes.axle[axle];
    fill_machine(&loaded->machine[axle], axle, info);
    info->friction_dead_time[axle] = friction->dead_time;
    info->friction_lag[axle] = friction->lag;
    info->friction_per_pressure[axle] = friction->per_pressure;
    info->friction_torque_max[axle] =
        (friction->pressure_max - friction->threshold) * friction->per_pressure;
  }
}
