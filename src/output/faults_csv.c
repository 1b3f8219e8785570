/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/csv_write.h"
#include "output/faults_table.h"
#include "output/resolved_file.h"
#include "output/table_file.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#define TO_KMH 3.6
#define FIGURE(name, field, factor)                                                                \
  { name, offsetof(struct bw_fault_effect, field), factor }

static const struct {
  const char *name;
  size_t offset;
  double factor; /* column unit per SI */
} FIGURES[] = {
    FIGURE("start_s", start, 1.0),
    FIGURE("end_s", end, 1.0),
    FIGURE("speed_kmh", speed, TO_KMH),
    FIGURE("lost_mps2", lost, 1.0),
    FIGURE("lost_time_s", lost_time, 1.0),
    FIGURE("faster_kmh", lost_speed, TO_KMH),
    FIGURE("gained_mps2", gained, 1.0),
    FIGURE("gained_time_s", gained_time, 1.0),
    FIGURE("slower_kmh", gained_speed, TO_KMH),
    FIGURE("further_m", way, 1.0),
    FIGURE("stopping_distance_more_m", more_way, 1.0),
    FIGURE("speed_left_kmh", speed_left, TO_KMH),
    FIGURE("slip_peak", slip, 1.0),
    FIGURE("slip_peak_sound", slip_sound, 1.0),
    FIGURE("no_grip_s", lock_time, 1.0),
    FIGURE("no_grip_sound_s", lock_time_sound, 1.0),
    FIGURE("axle_margin_worst", margin, 1.0),
    FIGURE("axle_margin_worst_sound", margin_sound, 1.0),
    FIGURE("axle_violation_s", violation_time, 1.0),
    FIGURE("rear_first_s", rear_first_time, 1.0),
    FIGURE("until_met_s", until_met, 1.0),
};

enum { FIGURE_COUNT = sizeof FIGURES / sizeof FIGURES[0] };

static void put_head(const struct bw_fault_conditions *conditions, struct bw_csv_row *row) {
  bw_csv_put_text(row, "fault");
  bw_csv_put_text(row, "condition");
  for (size_t i = 0; i < conditions->key_count; i++) {
    bw_csv_put_text(row, conditions->key[i]);
  }
  for (size_t i = 0; i < FIGURE_COUNT; i++) {
    bw_csv_put_text(row, FIGURES[i].name);
  }
  bw_csv_put_text(row, "status");
  bw_csv_put_text(row, "reason");
  bw_csv_end_row(row);
}

static void put_cell(const struct bw_fault_conditions *conditions, const struct bw_fault_cell *cell,
                     struct bw_csv_row *row) {
  const bool is_done = cell->status == BW_OK;
  bw_csv_put_text(row, cell->kind);
  bw_csv_put_count(row, cell->condition + 1);
  for (size_t i = 0; i < conditions->key_count; i++) {
    bw_csv_put_text(row, conditions->value[cell->condition * conditions->key_count + i]);
  }
  for (size_t i = 0; i < FIGURE_COUNT; i++) {
    double value = (double)NAN;
    memcpy(&value, (const char *)&cell->worst.effect + FIGURES[i].offset, sizeof value);
    bw_csv_put_number(row, is_done ? value * FIGURES[i].factor : (double)NAN);
  }
  bw_csv_put_text(row, is_done ? "done" : "failed");
  bw_csv_put_text(row, cell->failure);
  bw_csv_end_row(row);
}

static bool write_rows(const struct bw_fault_study *study, FILE *stream) {
  struct bw_csv_row row = {.stream = stream};
  put_head(study->conditions, &row);
  for (size_t i = 0; i < study->count; i++) {
    put_cell(study->conditions, &study->cells[i], &row);
  }
  return !row.has_failed;
}

static const char TABLE[] = "faults.csv";

enum bw_status bw_fault_cells_try(const char *folder, struct bw_diag *diag) {
  return bw_table_file_try(folder, TABLE, diag);
}

enum bw_status bw_fault_cells_write(const struct bw_fault_study *study,
                                    const struct bw_case *loaded, const char *folder,
                                    struct bw_diag *diag) {
  struct bw_table_file file;
  BW_TRY(bw_resolved_file_write(folder, "faults", loaded, diag));
  BW_TRY(bw_table_file_open(&file, folder, TABLE, diag));
  return bw_table_file_close(&file, write_rows(study, file.stream), diag);
}
