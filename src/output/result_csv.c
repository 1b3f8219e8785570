/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/result_csv.h"

/* a figure of a record: column name, place in the struct, SI to the column's unit */
struct figure {
  const char *name;
  size_t offset;
  double scale;
};

#define KJ  1e-3
#define KMH 3.6

#define EVENT(name, field, scale)                                                                  \
  { name, offsetof(struct bw_event, field), scale }

static const struct figure EVENT_FIGURES[] = {
    EVENT("start_s", start, 1.0),
    EVENT("end_s", end, 1.0),
    EVENT("speed_start_kmh", speed_start, KMH),
    EVENT("speed_end_kmh", speed_end, KMH),
    EVENT("distance_m", distance, 1.0),
    EVENT("deceleration_peak_mps2", deceleration_peak, 1.0),
    EVENT("deceleration_mean_mps2", deceleration_mean, 1.0),
    EVENT("energy_demanded_kj", demanded, KJ),
    EVENT("energy_delivered_kj", delivered, KJ),
    EVENT("energy_machine_axle_kj", machine_axle, KJ),
    EVENT("energy_battery_kj", battery, KJ),
    EVENT("energy_friction_front_kj", friction_front, KJ),
    EVENT("energy_friction_rear_kj", friction_rear, KJ),
    EVENT("energy_recoverable_plant_kj", recoverable_plant, KJ),
    EVENT("energy_recoverable_rule_kj", recoverable_rule, KJ),
    EVENT("dip_peak_mps2", dip_peak, 1.0),
    EVENT("dip_peak_time_s", dip_peak_time, 1.0),
    EVENT("surge_peak_mps2", surge_peak, 1.0),
    EVENT("time_above_felt_s", time_above_felt, 1.0),
    EVENT("speed_not_taken_off_mps", speed_not_taken_off, 1.0),
    EVENT("gap_jerk_peak_mps3", gap_jerk_peak, 1.0),
    EVENT("axle_margin_worst", axle_margin_worst, 1.0),
    EVENT("axle_violation_s", violation_time, 1.0),
    EVENT("kinematic_check", kinematic_residual, 1.0),
    EVENT("stopping_distance_m", stopping_distance, 1.0),
    EVENT("mfdd_mps2", mfdd, 1.0),
};

#define HANDOVER(name, field, scale)                                                               \
  { name, offsetof(struct bw_handover, field), scale }

static const struct figure HANDOVER_FIGURES[] = {
    HANDOVER("start_s", start, 1.0),
    HANDOVER("end_s", end, 1.0),
    HANDOVER("speed_start_kmh", speed_start, KMH),
    HANDOVER("speed_end_kmh", speed_end, KMH),
    HANDOVER("machine_share_start", share_start, 1.0),
    HANDOVER("machine_share_end", share_end, 1.0),
    HANDOVER("dip_peak_mps2", dip_peak, 1.0),
    HANDOVER("dip_peak_g", dip_peak, 1.0 / BW_GRAVITY),
    HANDOVER("surge_peak_mps2", surge_peak, 1.0),
    HANDOVER("surge_peak_g", surge_peak, 1.0 / BW_GRAVITY),
    HANDOVER("time_above_felt_s", time_above_felt, 1.0),
    HANDOVER("speed_not_taken_off_mps", speed_not_taken_off, 1.0),
    HANDOVER("added_distance_m", added_distance, 1.0),
    HANDOVER("gap_jerk_peak_mps3", jerk_peak, 1.0),
    HANDOVER("gap_jerk_rms_mps3", jerk_rms, 1.0),
    HANDOVER("steady_step_mps2", steady_step, 1.0),
};

#define LEDGER(name, field, scale)                                                                 \
  { name, offsetof(struct bw_ledger, field), scale }

static const struct figure LEDGER_FIGURES[] = {
    LEDGER("kinetic_start_kj", kinetic_start, KJ),
    LEDGER("kinetic_end_kj", kinetic_end, KJ),
    LEDGER("potential_gained_kj", potential, KJ),
    LEDGER("drive_axle_kj", drive, KJ),
    LEDGER("road_load_kj", road, KJ),
    LEDGER("machine_axle_kj", machine, KJ),
    LEDGER("friction_front_kj", friction[BW_FRONT], KJ),
    LEDGER("friction_rear_kj", friction[BW_REAR], KJ),
    LEDGER("tyre_slip_kj", tyre, KJ),
    LEDGER("driveline_kj", driveline, KJ),
    LEDGER("gear_loss_kj", gear, KJ),
    LEDGER("machine_loss_kj", machine_loss, KJ),
    LEDGER("dc_in_kj", dc_in, KJ),
    LEDGER("dc_out_kj", dc_out, KJ),
    LEDGER("auxiliaries_kj", auxiliaries, KJ),
    LEDGER("terminals_in_kj", terminals_in, KJ),
    LEDGER("terminals_out_kj", terminals_out, KJ),
    LEDGER("cells_kj", cells, KJ),
    LEDGER("rc_pair_kj", rc, KJ),
    LEDGER("resistance_loss_kj", resistance, KJ),
    LEDGER("residual_mechanical", residual_mechanical, 1.0),
    LEDGER("residual_electrical", residual_electrical, 1.0),
};

enum {
  EVENT_COUNT = sizeof EVENT_FIGURES / sizeof EVENT_FIGURES[0],
  HANDOVER_COUNT = sizeof HANDOVER_FIGURES / sizeof HANDOVER_FIGURES[0],
  LEDGER_COUNT = sizeof LEDGER_FIGURES / sizeof LEDGER_FIGURES[0]
};

static void put_names(struct bw_csv_row *row, const struct figure *figures, size_t count) {
  for (size_t i = 0; i < count; i++) {
    bw_csv_put_text(row, figures[i].name);
  }
  bw_csv_end_row(row);
}

static void put_values(struct bw_csv_row *row, const void *record, const struct figure *figures,
                       size_t count) {
  for (size_t i = 0; i < count; i++) {
    const double *field = (const void *)((const char *)record + figures[i].offset);
    bw_csv_put_number(row, *field * figures[i].scale);
  }
  bw_csv_end_row(row);
}

void bw_put_summary_names(struct bw_csv_row *row) {
  bw_csv_put_text(row, "strategy");
  bw_csv_put_text(row, "verdict");
  bw_csv_put_text(row, "verdict_reason");
  bw_csv_put_text(row, "balance_rule");
  for (int column = 0; column < BW_SUMMARY_COUNT; column++) {
    bw_csv_put_text(row, bw_summary_name((enum bw_summary_column)column));
  }
  bw_csv_put_text(row, "non_dominated");
  bw_csv_end_row(row);
}

void bw_put_summary_values(struct bw_csv_row *row, const struct bw_results *results, size_t index) {
  const struct bw_result *result = &results->result[index];
  bw_csv_put_text(row, result->strategy->name);
  bw_csv_put_text(row, bw_result_verdict(result));
  bw_csv_put_text(row, bw_result_reason(result));
  bw_csv_put_text(row, bw_result_rule(result));
  for (int column = 0; column < BW_SUMMARY_COUNT; column++) {
    bw_csv_put_number(row, bw_result_value(result, (enum bw_summary_column)column));
  }
  bw_csv_put_number(row, bw_results_undominated(results, index));
  bw_csv_end_row(row);
}

bool bw_write_summary_csv(const struct bw_results *results, FILE *stream) {
  struct bw_csv_row row = {.stream = stream};
  bw_put_summary_names(&row);
  for (size_t i = 0; i < results->count; i++) {
    bw_put_summary_values(&row, results, i);
  }
  return !row.has_failed;
}

bool bw_write_events_csv(const struct bw_results *results, FILE *stream) {
  struct bw_csv_row row = {.stream = stream};
  bw_csv_put_text(&row, "strategy");
  bw_csv_put_text(&row, "event");
  put_names(&row, EVENT_FIGURES, EVENT_COUNT);
  for (size_t i = 0; i < results->count; i++) {
    const struct bw_evaluation *evaluation = &results->result[i].evaluation;
    for (size_t k = 0; k < evaluation->event_count; k++) {
      bw_csv_put_text(&row, results->result[i].strategy->name);
      bw_csv_put_count(&row, evaluation->events[k].number);
      put_values(&row, &evaluation->events[k], EVENT_FIGURES, EVENT_COUNT);
    }
  }
  return !row.has_failed;
}

bool bw_write_handovers_csv(const struct bw_results *results, FILE *stream) {
  struct bw_csv_row row = {.stream = stream};
  bw_csv_put_text(&row, "strategy");
  bw_csv_put_text(&row, "handover");
  bw_csv_put_text(&row, "event");
  bw_csv_put_text(&row, "cause");
  put_names(&row, HANDOVER_FIGURES, HANDOVER_COUNT);
  for (size_t i = 0; i < results->count; i++) {
    const struct bw_evaluation *evaluation = &results->result[i].evaluation;
    for (size_t k = 0; k < evaluation->handover_count; k++) {
      const struct bw_handover *handover = &evaluation->handovers[k];
      const bool is_own_choice = handover->cause == BW_LIMIT_NONE;
      bw_csv_put_text(&row, results->result[i].strategy->name);
      bw_csv_put_count(&row, k + 1);
      bw_csv_put_count(&row, handover->event);
      bw_csv_put_text(&row, is_own_choice ? "strategy" : bw_limit_text(handover->cause));
      put_values(&row, handover, HANDOVER_FIGURES, HANDOVER_COUNT);
    }
  }
  return !row.has_failed;
}

bool bw_write_ledger_csv(const struct bw_results *results, FILE *stream) {
  struct bw_csv_row row = {.stream = stream};
  bw_csv_put_text(&row, "strategy");
  put_names(&row, LEDGER_FIGURES, LEDGER_COUNT);
  for (size_t i = 0; i < results->count; i++) {
    if (results->result[i].status == BW_OK) {
      bw_csv_put_text(&row, results->result[i].strategy->name);
      put_values(&row, &results->result[i].evaluation.ledger, LEDGER_FIGURES, LEDGER_COUNT);
    }
  }
  return !row.has_failed;
}
