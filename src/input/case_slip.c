/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/case_loader.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/** The fidelity `slip`: what is derived from its parameters, and checks between them. */

enum { KEY_SIZE = 96 };

/* kg m2; a wheel without inertia has no speed of its own */
static const double LEAST_INERTIA = 0.05;
/* a step is to resolve a shaft's oscillation: (natural frequency x step)^2 stays below this */
static const double STIFFEST = 1.0;

static const char *const AXLE_WORDS[BW_AXLES] = {"front", "rear"};

void bw_case_resolve_slip(struct bw_case_loader *loader) {
  struct bw_case *target = loader->target;
  for (int i = 0; i < BW_AXLES; i++) {
    target->brakes.axle[i].dead_time += bw_hydraulics_line_delay(
        &target->slip.hydraulics[i],
        1e9 * bw_param_number(loader->values, "hydraulics.bulk_modulus_gpa"),
        bw_param_number(loader->values, "hydraulics.density_kgpm3"));
  }
  struct bw_param_value *adhesion = bw_param_value(loader->values, "road.adhesion");
  if (target->fidelity != BW_FIDELITY_SLIP) {
    return;
  }
  struct bw_diag inner = {0};
  if (bw_tyre_prepare(&target->slip.tyre, &inner) != BW_OK) {
    bw_loader_fail_key(loader, "tyre.model", "%.380s", bw_message_bare(inner.line[0]));
    return;
  }
  if (!adhesion->is_given) {
    adhesion->number = target->slip.tyre.peak;
    adhesion->is_set = true;
    target->vehicle.adhesion = target->slip.tyre.peak;
  }
}

void bw_case_store_surface(struct bw_case_loader *loader, const struct bw_table_rows *rows) {
  double distance[BW_SURFACE_MAX];
  double side[2][BW_SURFACE_MAX];
  if (rows->count == 0) {
    return;
  }
  if (rows->count > BW_SURFACE_MAX) {
    bw_loader_fail_key(loader, "road.patches", "%zu rows are too many; give at most %d",
                       rows->count, (int)BW_SURFACE_MAX);
    return;
  }
  for (size_t i = 0; i < rows->count; i++) {
    const double *cell = &rows->cell[i * rows->columns];
    distance[i] = cell[0];
    side[0][i] = cell[1];
    side[1][i] = cell[rows->columns - 1];
  }
  if (distance[0] > 0.0) {
    bw_loader_fail_key(loader, "road.patches", "the first row stands at %.15g m; start at 0 m",
                       distance[0]);
    return;
  }
  bw_loader_note(loader, bw_surface_make(distance, side[0], side[1], rows->count,
                                         &loader->target->slip.surface, loader->diag));
}

/* the farthest that the run can get, m: a manoeuvre never drives, a cycle keeps to its trace */
static double reach(const struct bw_case *target) {
  const struct bw_trace *trace = &target->trace;
  return trace->kind == BW_TRACE_SPEED ? trace->integral[trace->n - 1]
                                       : target->driver.initial_speed * bw_trace_duration(trace);
}

static bool is_downhill(const struct bw_trace *trace) {
  for (size_t i = 0; i < trace->grade_n; i++) {
    if (trace->grade_sin[i] < 0.0) {
      return true;
    }
  }
  return false;
}

static void check_patches(struct bw_case_loader *loader) {
  const struct bw_case *target = loader->target;
  const struct bw_param_value *value = bw_param_value(loader->values, "road.patches");
  if (target->slip.surface.n == 0 || target->trace.n == 0 || is_downhill(&target->trace)) {
    return;
  }
  const double farthest = reach(target);
  for (size_t i = 0; i < target->slip.surface.n; i++) {
    if (target->slip.surface.distance[i] > farthest) {
      BW_LOADER_FAIL(loader, value->file, value->rows.line[i],
                     "road.patches: distance_m %.15g lies beyond the run, which covers at most "
                     "%.5g m; move the patch or lengthen the run",
                     target->slip.surface.distance[i], farthest);
    }
  }
}

static void check_line(struct bw_case_loader *loader, int i) {
  const struct bw_case *target = loader->target;
  const struct bw_driveline *line = &target->slip.driveline[i];
  const struct bw_machine *machine = &target->machine[i];
  const double wheels = target->vehicle.wheel_inertia[i];
  const char *word = AXLE_WORDS[i];
  char key[KEY_SIZE];
  if (!(wheels >= LEAST_INERTIA)) {
    (void)snprintf(key, KEY_SIZE, "vehicle.wheel_inertia_%s_kgm2", word);
    bw_loader_fail_key(loader, key,
                       "%.15g kg m2 is too little for a wheel with a speed of its own; give at "
                       "least %g",
                       wheels, LEAST_INERTIA);
  }
  (void)snprintf(key, KEY_SIZE, "driveline.%s.lash_deg", word);
  if (!(line->stiffness > 0.0)) {
    if (line->lash > 0.0) {
      bw_loader_fail_key(loader, key,
                         "lash in a rigid driveline; give driveline.%s.stiffness_nm_per_rad too",
                         word);
    }
    return;
  }
  (void)snprintf(key, KEY_SIZE, "driveline.%s.stiffness_nm_per_rad", word);
  const double rotor =
      machine->is_fitted ? machine->inertia * machine->ratio * machine->ratio : 0.0;
  if (!(rotor >= LEAST_INERTIA)) {
    bw_loader_fail_key(loader, key,
                       "no machine inertia on the %s axle for the shafts to work against; fit a "
                       "machine with machine.%s.inertia_kgm2, or leave the driveline out",
                       word, word);
    return;
  }
  const double turn = line->stiffness * (1.0 / rotor + 1.0 / wheels) * target->slip.step;
  const double damped = line->damping * (1.0 / rotor + 1.0 / wheels);
  if (!((turn + damped) * target->slip.step < STIFFEST)) {
    bw_loader_fail_key(loader, key,
                       "stiffness and damping are too stiff for steps of %.15g us; shorten "
                       "simulation.slip_step_us or make the driveline rigid with 0",
                       target->slip.step * 1e6);
  }
}

/* `total` (s, the value of `key`) must be a whole multiple of `part` */
static void check_whole(struct bw_case_loader *loader, const char *key, double total, double part) {
  const double ratio = total / part;
  const double whole = round(ratio);
  if (whole < 1.0 || fabs(ratio - whole) > 1e-9 * whole) {
    bw_loader_fail_key(loader, key, "%.15g ms is no whole multiple of %.15g ms; change one of them",
                       total * 1e3, part * 1e3);
  }
}

static void check_antilock(struct bw_case_loader *loader) {
  const struct bw_antilock *setup = &loader->target->slip.antilock;
  if (!setup->is_fitted) {
    return;
  }
  check_whole(loader, "antilock.period_ms", setup->period, loader->target->step);
  if (!(setup->slip_release > setup->slip_build)) {
    bw_loader_fail_key(loader, "antilock.slip_release",
                       "%.15g is not above antilock.slip_build of %.15g; raise it",
                       setup->slip_release, setup->slip_build);
  }
}

static void refuse_rolling_hydraulics(struct bw_case_loader *loader, int i) {
  const struct bw_hydraulics *hydraulics = &loader->target->slip.hydraulics[i];
  const char *leaf = hydraulics->flow > 0.0 ? "flow_cm3_per_s" : "hysteresis_bar";
  if (hydraulics->flow > 0.0 || hydraulics->hysteresis > 0.0) {
    char key[KEY_SIZE];
    (void)snprintf(key, KEY_SIZE, "hydraulics.%s.%s", AXLE_WORDS[i], leaf);
    bw_loader_fail_key(loader, key,
                       "the rolling fidelity has no calipers; set simulation.fidelity to slip");
  }
}

void bw_case_check_slip(struct bw_case_loader *loader) {
  const struct bw_case *target = loader->target;
  if (target->fidelity != BW_FIDELITY_SLIP) {
    for (int i = 0; i < BW_AXLES; i++) {
      refuse_rolling_hydraulics(loader, i);
    }
    if (target->slip.surface.n > 0) {
      bw_loader_fail_key(loader, "road.patches",
                         "rolling wheels cannot follow the grip; set simulation.fidelity to slip");
    }
    if (target->slip.antilock.is_fitted) {
      bw_loader_fail_key(loader, "antilock.fitted",
                         "rolling wheels never slip; set simulation.fidelity to slip");
    }
    return;
  }
  check_whole(loader, "simulation.step_ms", target->step, target->slip.step);
  check_line(loader, BW_FRONT);
  check_line(loader, BW_REAR);
  check_antilock(loader);
  check_patches(loader);
}
