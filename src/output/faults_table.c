/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/faults_table.h"

#include "output/csv_write.h"
#include "output/grid.h"

#include <errno.h>
#include <math.h>
#include <string.h>
#include <sys/stat.h>

enum { PATH_SIZE = 4096 };

#define TO_KMH 3.6

void bw_fault_cells_sort(struct bw_fault_cell *cells, size_t count) {
  for (size_t i = 1; i < count; i++) {
    const struct bw_fault_cell cell = cells[i];
    const double rank = bw_fault_effect_rank(&cell.effect);
    size_t k = i;
    while (k > 0 && bw_fault_effect_rank(&cells[k - 1].effect) < rank) {
      cells[k] = cells[k - 1];
      k--;
    }
    cells[k] = cell;
  }
}

static void put_figure(struct bw_grid *grid, const char *format, double value) {
  char text[32];
  (void)snprintf(text, sizeof text, format[0] == '1' ? "%.1f" : "%.2f", value);
  bw_grid_put(grid, isfinite(value) ? text : "-");
}

static void put_row(struct bw_grid *grid, const struct bw_fault_cell *cell) {
  const struct bw_fault_effect *effect = &cell->effect;
  bw_grid_put(grid, cell->kind);
  bw_grid_put(grid, cell->condition);
  put_figure(grid, "2", effect->start);
  put_figure(grid, "1", effect->speed * TO_KMH);
  put_figure(grid, "2", effect->lost);
  put_figure(grid, "2", effect->lost_time);
  put_figure(grid, "2", effect->gained);
  put_figure(grid, "2", effect->more_way);
  put_figure(grid, "1", effect->speed_left * TO_KMH);
  put_figure(grid, "2", effect->slip_peak);
  put_figure(grid, "2", effect->margin);
  put_figure(grid, "2", effect->until_met);
}

enum bw_status bw_fault_cells_print(const struct bw_fault_cell *cells, size_t count, FILE *stream) {
  static const char *const heads[2][12] = {
      {"fault", "condition", "start", "at", "lost", "for", "gained", "further", "left", "slip",
       "margin", "until met"},
      {"", "", "s", "km/h", "m/s2", "s", "m/s2", "m", "km/h", "", "", "s"},
  };
  struct bw_grid *grid = bw_grid_create(12);
  if (grid == NULL) {
    return BW_E_MEMORY;
  }
  bw_grid_align_left(grid, 0);
  bw_grid_align_left(grid, 1);
  for (size_t i = 0; i < 24; i++) {
    bw_grid_put(grid, heads[i / 12][i % 12]);
  }
  for (size_t i = 0; i < count; i++) {
    put_row(grid, &cells[i]);
  }
  const enum bw_status status = bw_grid_print(grid, BW_GRID_TEXT, 2, 0, stream);
  bw_grid_destroy(grid);
  return status;
}

static bool write_rows(const struct bw_fault_cell *cells, size_t count, FILE *stream) {
  static const char *const names[] = {"fault",          "condition", "start_s",
                                      "speed_kmh",      "lost_mps2", "lost_time_s",
                                      "gained_mps2",    "further_m", "stopping_distance_more_m",
                                      "speed_left_kmh", "slip_peak", "axle_margin_worst",
                                      "until_met_s"};
  struct bw_csv_row row = {.stream = stream};
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
    bw_csv_put_text(&row, names[i]);
  }
  bw_csv_end_row(&row);
  for (size_t i = 0; i < count; i++) {
    const struct bw_fault_effect *effect = &cells[i].effect;
    const double values[] = {effect->start,     effect->speed * TO_KMH,
                             effect->lost,      effect->lost_time,
                             effect->gained,    effect->way,
                             effect->more_way,  effect->speed_left * TO_KMH,
                             effect->slip_peak, effect->margin,
                             effect->until_met};
    bw_csv_put_text(&row, cells[i].kind);
    bw_csv_put_text(&row, cells[i].condition);
    for (size_t k = 0; k < sizeof values / sizeof values[0]; k++) {
      bw_csv_put_number(&row, values[k]);
    }
    bw_csv_end_row(&row);
  }
  return !row.has_failed;
}

enum bw_status bw_fault_cells_write(const struct bw_fault_cell *cells, size_t count,
                                    const char *folder, struct bw_diag *diag) {
  char partial[PATH_SIZE];
  char path[PATH_SIZE];
  const int length = snprintf(partial, sizeof partial, "%s/.partial-faults.csv", folder);
  if (folder[0] == '\0' || length < 0 || length >= PATH_SIZE) {
    return bw_fail(diag, BW_E_USAGE, "--out is empty or too long; name a folder");
  }
  (void)snprintf(path, sizeof path, "%s/faults.csv", folder);
  if (mkdir(folder, 0777) != 0 && errno != EEXIST) {
    return bw_fail_at(diag, BW_E_USAGE, folder, 0,
                      "cannot make the folder (%s); name another one whose parent exists",
                      strerror(errno));
  }
  FILE *stream = fopen(partial, "wb");
  if (stream == NULL) {
    return bw_fail_at(diag, BW_E_USAGE, folder, 0, "cannot write into it (%s); name another folder",
                      strerror(errno));
  }
  const bool is_written = write_rows(cells, count, stream);
  const bool is_closed = fclose(stream) == 0;
  if (!is_written || !is_closed || rename(partial, path) != 0) {
    const int error = errno;
    (void)remove(partial);
    return bw_fail_at(diag, BW_E_IO, path, 0,
                      "cannot be written (%s); make room or name another "
                      "folder",
                      strerror(error));
  }
  return BW_OK;
}
