/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "make_case.h"

#include "alloc.h"
#include "check.h"

#include <stdio.h>
#include <string.h>

/* stands for 'no limit' where the model wants a number */
static const double PLENTY = 1e9;
/* slip at full grip is then below 1e-15: a rolling wheel */
static const double RIGID_TYRE = 1e15;

static struct bw_table1 constant1(double value) {
  struct bw_table1 table = {0};
  const double x = 0.0;
  assert_int_equal(bw_table1_make(&x, &value, 1, &table, NULL), BW_OK);
  return table;
}

static void make_vehicle(struct bw_vehicle *vehicle) {
  const struct bw_load load = {.mass = 1500.0, .cg_to_front = 1.20, .cg_height = 0.54};
  vehicle->load[BW_LOAD_UNLADEN] = load;
  vehicle->load[BW_LOAD_LADEN] = load;
  vehicle->wheelbase = 2.70;
  vehicle->tyre_radius = 0.32;
  vehicle->slip_stiffness = RIGID_TYRE;
  vehicle->adhesion = 1.0;
  vehicle->road_f0 = 1500.0 * BW_GRAVITY * 0.01;
  vehicle->road_f2 = 0.5 * 1.202 * 0.6;
}

static void make_brakes(struct bw_brakes *brakes) {
  const double per_pressure[2] = {4e-4, 2e-4}; /* N m/Pa */
  brakes->layout = BW_LAYOUT_PER_AXLE;
  brakes->parallel_ratio = 1.0;
  for (int i = 0; i < 2; i++) {
    struct bw_friction *friction = &brakes->axle[i];
    friction->per_pressure = per_pressure[i];
    friction->pressure_max = 2e7;
    friction->build = PLENTY * 1e6;
    friction->release = PLENTY * 1e6;
    friction->pad_nominal = 0.4;
    friction->pad_scale = 1.0;
    friction->heat_capacity = 6000.0;
    friction->cooling = 10.0;
    friction->cooling_speed = 2.0;
    friction->radiating_area = 0.2;
    friction->heat_share = 0.9;
    friction->start_temperature = 293.15;
  }
}

static void make_battery(struct bw_battery *battery) {
  const double zero = 0.0;
  battery->capacity = PLENTY;
  battery->start_charge = 0.5;
  battery->temperature = 298.15;
  battery->ocv = constant1(400.0);
  assert_int_equal(bw_table2_make(&zero, 1, &zero, 1, &zero, &battery->resistance, NULL), BW_OK);
  battery->voltage_max = 500.0;
  battery->voltage_min = 100.0;
  battery->charge_continuous = constant1(1e6);
  battery->charge_pulse = constant1(1e6);
  battery->pulse_time = 10.0;
  battery->discharge_current_max = 1e6;
}

struct bw_case *make_case(void) {
  struct bw_case *made = bw_alloc(1, sizeof *made);
  assert_non_null(made);
  (void)snprintf(made->name, sizeof made->name, "rv-1");
  (void)snprintf(made->vehicle_name, sizeof made->vehicle_name, "RV-1");
  make_vehicle(&made->vehicle);
  make_brakes(&made->brakes);
  make_battery(&made->battery);
  made->driver = (struct bw_driver){.gain = 2.0,
                                    .integral_gain = 0.2,
                                    .stop_deceleration = 0.5,
                                    .hold_deceleration = 0.5,
                                    .drive_front_share = 1.0,
                                    .decel_means = BW_DECEL_BRAKE,
                                    .pedal_full_deceleration = 10.0};
  made->overrun = (struct bw_overrun){.fade_zero = 1.0, .fade_full = 2.0};
  made->assess = (struct bw_assess_options){.felt_deceleration = 0.015 * BW_GRAVITY,
                                            .jerk_cutoff = 10.0,
                                            .balance_slope = 0.85,
                                            .balance_rule = "custom",
                                            .balance_violation_time = 0.05,
                                            .lamp_on = 1.0,
                                            .lamp_filter = 0.1,
                                            .lamp_delay = 0.2,
                                            .compensation_time = 0.6,
                                            .event_on = 0.1,
                                            .event_off = 0.05,
                                            .event_gap = 0.5};
  made->ambient_temperature = 293.15;
  made->trace_period = 0.1;
  make_steps(made, 0.01, 10);
  return made;
}

void free_case(struct bw_case *made) {
  if (made != NULL) {
    bw_trace_free(&made->trace);
    bw_free(made);
  }
}

void make_machine(struct bw_case *made, int axle, double torque_peak, double power_peak) {
  made->machine[axle] = (struct bw_machine){.is_fitted = true,
                                            .is_gated_off_idle = true,
                                            .shaft_torque_peak = torque_peak,
                                            .shaft_torque_continuous = torque_peak,
                                            .power_peak = power_peak,
                                            .omega_max = PLENTY,
                                            .omega_breakdown = PLENTY,
                                            .low_speed_zero = -2.0,
                                            .low_speed_full = -1.0,
                                            .ratio = 1.0,
                                            .efficiency = 1.0,
                                            .shaft_slew = PLENTY * 1e3,
                                            .heat_capacity = PLENTY,
                                            .cooling = 1.0,
                                            .coolant_temperature = 300.0,
                                            .start_temperature = 300.0,
                                            .derate_start = 400.0,
                                            .derate_end = 500.0};
}

void make_friction_delay(struct bw_case *made, double dead_time, double lag) {
  for (int i = 0; i < 2; i++) {
    made->brakes.axle[i].dead_time = dead_time;
    made->brakes.axle[i].lag = lag;
  }
}

void make_trace(struct bw_case *made, enum bw_trace_kind kind, const double *time,
                const double *value, size_t n) {
  struct bw_trace *trace = &made->trace;
  bw_trace_free(trace);
  const struct bw_trace_points points = {.kind = kind, .n = n, .time = time, .value = value};
  assert_int_equal(bw_trace_make(&points, 0.0, trace, NULL), BW_OK);
  (void)snprintf(trace->name, sizeof trace->name, "made");
}

void make_stop(struct bw_case *made, double speed, double deceleration, double duration) {
  const double time[2] = {0.0, duration};
  const double value[2] = {deceleration, deceleration};
  make_trace(made, BW_TRACE_DECEL, time, value, 2);
  made->driver.initial_speed = speed;
}

void make_grade(struct bw_case *made, double grade) {
  struct bw_trace *trace = &made->trace;
  trace->grade_n = 2;
  trace->grade_distance = bw_alloc(2, sizeof *trace->grade_distance);
  trace->grade_sin = bw_alloc(2, sizeof *trace->grade_sin);
  assert_true(trace->grade_distance != NULL && trace->grade_sin != NULL);
  trace->grade_distance[1] = 1e6;
  /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference): asserted above */
  trace->grade_sin[0] = trace->grade_sin[1] = sin(atan(grade));
}

void make_steps(struct bw_case *made, double period, size_t substeps) {
  made->control_period = period;
  made->step = period / (double)substeps;
}

static void add_row(struct test_record *record, const struct bw_sample *sample) {
  if (record->n == record->room) {
    const size_t room = record->room > 0 ? 2 * record->room : 4096;
    struct test_row *rows = bw_realloc(record->rows, room, sizeof *rows);
    assert_non_null(rows);
    record->rows = rows;
    record->room = room;
  }
  record->rows[record->n] = (struct test_row){
      .time = sample->time,
      .speed_start = sample->speed_start,
      .speed_end = sample->speed_end,
      .distance = sample->distance_start + sample->distance,
      .deceleration = sample->deceleration,
      .demand = sample->demand,
      .machine = sample->axle[0].machine_torque + sample->axle[1].machine_torque,
      .friction = sample->axle[0].friction_torque + sample->axle[1].friction_torque,
  };
  record->n++;
}

static void add_gap(struct test_record *record, const struct bw_sample *sample) {
  if (sample->time < record->gap_from) {
    return;
  }
  for (size_t k = 0; k < sample->substeps; k++) {
    const double gap = sample->demand - sample->delivered[k];
    record->gap_area += gap * sample->substep;
    record->gap_peak = fmax(record->gap_peak, gap);
  }
}

static void add_work(struct test_record *record, const struct bw_sample *sample) {
  double brake = 0.0;
  double drive = 0.0;
  double tyre = 0.0;
  for (int i = 0; i < 2; i++) {
    const struct bw_sample_axle *axle = &sample->axle[i];
    record->machine_work += axle->machine_work;
    record->friction_work += axle->friction_work;
    brake += axle->machine_work + axle->friction_work;
    drive += axle->drive_work;
    tyre += axle->tyre_loss;
  }
  record->drive_work += drive;
  record->tyre_work += tyre;
  record->road_work += sample->road_work;
  record->terminals += sample->battery_work;
  const double residual = sample->kinetic_start + drive - sample->kinetic_end - sample->potential -
                          sample->road_work - brake - tyre;
  /* the two kinetic energies are the largest numbers in the difference */
  const double scale = fmax(1.0, fmax(sample->kinetic_start, sample->kinetic_end));
  record->residual_worst = fmax(record->residual_worst, fabs(residual) / scale);
}

/* FNV-1a over the bytes of one value */
static uint64_t hash_value(uint64_t hash, double value) {
  unsigned char bytes[sizeof value];
  memcpy(bytes, &value, sizeof value);
  for (size_t i = 0; i < sizeof value; i++) {
    hash = (hash ^ bytes[i]) * 0x100000001B3u;
  }
  return hash;
}

static uint64_t hash_axle(uint64_t hash, const struct bw_sample_axle *axle) {
  const double values[] = {axle->machine_request,
                           axle->machine_command,
                           axle->machine_torque,
                           axle->friction_request,
                           axle->friction_command,
                           axle->friction_torque,
                           axle->pressure,
                           axle->available,
                           axle->available_alone,
                           axle->envelope,
                           (double)axle->limit,
                           axle->load,
                           axle->load_level,
                           axle->brake_force,
                           axle->contact_force,
                           axle->slip,
                           axle->omega,
                           axle->machine_temperature,
                           axle->rotor_temperature,
                           axle->machine_work,
                           axle->drive_work,
                           axle->shaft_work,
                           axle->gear_loss,
                           axle->machine_loss,
                           axle->dc_work,
                           axle->friction_work,
                           axle->tyre_loss};
  for (size_t i = 0; i < sizeof values / sizeof *values; i++) {
    hash = hash_value(hash, values[i]);
  }
  return hash;
}

static uint64_t hash_sample(uint64_t hash, const struct bw_sample *sample) {
  const double values[] = {sample->time,
                           sample->duration,
                           (double)sample->substeps,
                           sample->substep,
                           sample->is_parked ? 1.0 : 0.0,
                           sample->speed_start,
                           sample->speed_end,
                           sample->distance_start,
                           sample->distance,
                           sample->height,
                           sample->sin_slope,
                           sample->deceleration,
                           sample->reference_speed,
                           sample->reference_acceleration,
                           sample->demand,
                           sample->demand_pedal,
                           sample->demand_overrun,
                           sample->drive,
                           sample->road_work,
                           sample->kinetic_start,
                           sample->kinetic_end,
                           sample->potential,
                           sample->charge_power,
                           (double)sample->charge_limit,
                           sample->is_charge_capped ? 1.0 : 0.0,
                           sample->battery_work,
                           sample->cells_work,
                           sample->rc_work,
                           sample->resistance_loss,
                           sample->auxiliaries_work,
                           sample->current,
                           sample->voltage,
                           sample->charge,
                           (double)sample->clipped,
                           sample->hold_shortfall};
  for (size_t i = 0; i < sizeof values / sizeof *values; i++) {
    hash = hash_value(hash, values[i]);
  }
  for (size_t k = 0; k < sample->substeps; k++) {
    hash = hash_value(hash, sample->delivered[k]);
  }
  hash = hash_axle(hash, &sample->axle[0]);
  return hash_axle(hash, &sample->axle[1]);
}

static enum bw_status watch(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  (void)diag;
  struct test_record *record = context;
  if (record->n == 0) {
    record->kinetic_first = sample->kinetic_start;
    record->hash = 0xCBF29CE484222325u;
  }
  add_row(record, sample);
  add_gap(record, sample);
  add_work(record, sample);
  record->hash = hash_sample(record->hash, sample);
  record->last = *sample;
  return BW_OK;
}

void record_run(const struct bw_case *made, const struct bw_blend_strategy *strategy,
                const double *params, struct test_record *record) {
  const struct bw_observer observer = {.context = record, .watch = watch};
  struct bw_diag diag = {0};
  const enum bw_status status = bw_run(made, strategy, params, &observer, 1, &diag);
  if (status != BW_OK) {
    fail_msg("run of '%s' failed: %s", strategy->name, diag.line[0]);
  }
  assert_true(record->n > 0);
}

void free_record(struct test_record *record) {
  bw_free(record->rows);
  *record = (struct test_record){0};
}

void record_slowed(const struct test_record *record, double speed, double *time, double *distance) {
  for (size_t i = 0; i < record->n; i++) {
    const struct test_row *row = &record->rows[i];
    if (row->speed_end > speed) {
      continue;
    }
    const double before = i > 0 ? record->rows[i - 1].distance : 0.0;
    if (row->speed_end > 0.0) {
      const double late = (row->speed_start - speed) / row->deceleration;
      *time = row->time + late;
      *distance = before + 0.5 * late * (row->speed_start + speed);
      return;
    }
    /* the car comes to rest inside this period: its way tells when */
    const double rate = row->speed_start * row->speed_start / (2.0 * (row->distance - before));
    *time = row->time + (row->speed_start - speed) / rate;
    *distance = before + 0.5 * (row->speed_start - speed) / rate * (row->speed_start + speed);
    return;
  }
  fail_msg("the car never slows to %g m/s", speed);
}

double record_speed(const struct test_record *record, double time) {
  for (size_t i = 0; i + 1 < record->n; i++) {
    if (fabs(record->rows[i + 1].time - time) < 1e-9) {
      return record->rows[i].speed_end;
    }
  }
  fail_msg("no control period ends at %g s", time);
  return (double)NAN;
}

double record_friction_above(const struct test_record *record, double torque) {
  for (size_t i = 0; i < record->n; i++) {
    if (record->rows[i].friction > torque) {
      return record->rows[i].speed_start;
    }
  }
  fail_msg("friction never gives more than %g N m", torque);
  return (double)NAN;
}
