/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/comfort_csv.h"

#include "output/csv_write.h"
#include "output/grid.h"
#include "output/wrap.h"

#include <math.h>

#define KJ  1e-3
#define KMH 3.6

/* m/s2 of the stop whose band is shown */
static const double BAND_DECELERATION = 2.0;

static bool has_curve(const struct bw_result *result) {
  return result->status == BW_OK && result->comfort != NULL;
}

/* of what could be recovered without a felt limit; NaN when that is nothing */
static double share(const struct bw_comfort *comfort, size_t index) {
  const double whole = comfort->recoverable[BW_COMFORT_POINTS - 1];
  return whole > 0.0 ? comfort->recoverable[index] / whole : (double)NAN;
}

bool bw_write_comfort_csv(const struct bw_results *results, FILE *stream) {
  struct bw_csv_row row = {.stream = stream};
  static const char *const header[] = {"strategy", "felt_limit_mps2", "band_at_2_mps2_kmh",
                                       "energy_recoverable_kj", "share_of_unlimited"};
  for (size_t i = 0; i < sizeof header / sizeof header[0]; i++) {
    bw_csv_put_text(&row, header[i]);
  }
  bw_csv_end_row(&row);
  for (size_t i = 0; i < results->count; i++) {
    const struct bw_result *result = &results->result[i];
    for (size_t k = 0; has_curve(result) && k < BW_COMFORT_POINTS; k++) {
      bw_csv_put_text(&row, result->strategy->name);
      bw_csv_put_number(&row, result->comfort->felt[k]);
      bw_csv_put_number(&row, bw_comfort_band(result->comfort, k, BAND_DECELERATION) * KMH);
      bw_csv_put_number(&row, result->comfort->recoverable[k] * KJ);
      bw_csv_put_number(&row, share(result->comfort, k));
      bw_csv_end_row(&row);
    }
  }
  return !row.has_failed;
}

static void put_header(struct bw_grid *grid, const struct bw_comfort *comfort) {
  bw_grid_put(grid, "");
  for (size_t k = 0; k < BW_COMFORT_POINTS; k++) {
    if (isfinite(comfort->felt[k])) {
      bw_grid_putf(grid, "%.3f", comfort->felt[k]);
    } else {
      bw_grid_put(grid, "none");
    }
  }
  bw_grid_put(grid, "strategy");
  for (size_t k = 0; k < BW_COMFORT_POINTS; k++) {
    bw_grid_put(grid, k + 1 < BW_COMFORT_POINTS ? "m/s2" : "");
  }
  bw_grid_put(grid, "");
  for (size_t k = 0; k < BW_COMFORT_POINTS; k++) {
    bw_grid_put(grid, "kJ");
  }
}

static const struct bw_comfort *first_curve(const struct bw_results *results) {
  for (size_t i = 0; i < results->count; i++) {
    if (has_curve(&results->result[i])) {
      return results->result[i].comfort;
    }
  }
  return NULL;
}

enum bw_status bw_comfort_print(const struct bw_results *results, const size_t *order,
                                FILE *stream) {
  enum { HEADER_ROWS = 3, INDENT = 2 };
  const struct bw_comfort *comfort = first_curve(results);
  if (comfort == NULL) {
    return BW_OK;
  }
  struct bw_grid *grid = bw_grid_create(BW_COMFORT_POINTS + 1);
  if (grid == NULL) {
    return BW_E_MEMORY;
  }
  (void)fputs("\nPrice of comfort: recoverable without preview, by felt limit\n", stream);
  put_header(grid, comfort);
  for (size_t i = 0; i < results->count; i++) {
    const struct bw_result *result = &results->result[order[i]];
    if (has_curve(result)) {
      bw_grid_put(grid, result->strategy->name);
      for (size_t k = 0; k < BW_COMFORT_POINTS; k++) {
        bw_grid_putf(grid, "%.1f", result->comfort->recoverable[k] * KJ + 0.0);
      }
    }
  }
  const enum bw_status status = bw_grid_print(grid, BW_GRID_TEXT, HEADER_ROWS, INDENT, stream);
  bw_grid_destroy(grid);
  bw_wrap_print("  ",
                "What a blend that foresees neither demand nor limits could recover of the braking "
                "delivered, under the plant's limits and without tyre slip, when every exchange it "
                "chooses spans at "
                "least the speed band a^2 (tau + theta)/(felt limit), tau + theta of the slower "
                "friction brake; with no felt limit this is the plant bound. What a falling limit "
                "or a growing demand takes away faster is not held back. Also in comfort.csv.",
                stream);
  return status;
}
