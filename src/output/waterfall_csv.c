/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/waterfall_csv.h"

#include "output/csv_write.h"
#include "output/grid.h"
#include "output/wrap.h"

#include <math.h>

#define KJ 1e-3

/* where a block of rows belongs to */
struct place {
  const char *strategy;
  double from_kmh;
  double to_kmh; /* infinite: an empty field */
};

static void put_row(struct bw_csv_row *row, const struct place *place, const char *step,
                    double energy, double last_in) {
  bw_csv_put_text(row, place->strategy);
  bw_csv_put_number(row, place->from_kmh);
  bw_csv_put_number(row, place->to_kmh);
  bw_csv_put_text(row, step);
  bw_csv_put_number(row, energy * KJ);
  bw_csv_put_number(row, last_in * KJ);
  bw_csv_end_row(row);
}

static void put_bin(struct bw_csv_row *row, const struct place *place,
                    const struct bw_waterfall_bin *bin) {
  put_row(row, place, "delivered", bin->delivered, (double)NAN);
  for (int i = 0; i < BW_WATERFALL_COUNT; i++) {
    put_row(row, place, bw_waterfall_name((enum bw_waterfall_step)i), bin->step[i],
            bin->last_in[i]);
  }
  put_row(row, place, "cells", bin->cells, (double)NAN);
}

bool bw_write_waterfall_csv(const struct bw_results *results, FILE *stream) {
  struct bw_csv_row row = {.stream = stream};
  static const char *const header[] = {"strategy", "speed_from_kmh", "speed_to_kmh",
                                       "step",     "energy_kj",      "last_in_kj"};
  for (size_t i = 0; i < sizeof header / sizeof header[0]; i++) {
    bw_csv_put_text(&row, header[i]);
  }
  bw_csv_end_row(&row);
  for (size_t i = 0; i < results->count; i++) {
    const struct bw_result *result = &results->result[i];
    if (result->status != BW_OK) {
      continue;
    }
    const struct bw_waterfall *waterfall = &result->evaluation.waterfall;
    const struct bw_waterfall_bin total = bw_waterfall_total(waterfall);
    struct place place = {result->strategy->name, 0.0, (double)INFINITY};
    put_bin(&row, &place, &total);
    for (size_t b = 0; b < BW_WATERFALL_BINS; b++) {
      place.from_kmh = bw_waterfall_edge_kmh(b);
      place.to_kmh = bw_waterfall_edge_kmh(b + 1);
      put_bin(&row, &place, &waterfall->bin[b]);
    }
  }
  return !row.has_failed;
}

/* a column of the page: two header lines and what it shows */
struct column {
  const char *top;
  const char *bottom;
  enum bw_waterfall_step step; /* BW_WATERFALL_COUNT: an end of the waterfall */
};

static const struct column SET_COLUMNS[] = {
    {"", "delivered", BW_WATERFALL_COUNT},      {"axle", "split", BW_WATERFALL_SPLIT},
    {"grip,", "balance", BW_WATERFALL_RULE},    {"machine", "envelope", BW_WATERFALL_ENVELOPE},
    {"derat-", "ing", BW_WATERFALL_DERATING},   {"low", "speed", BW_WATERFALL_LOW_SPEED},
    {"battery", "limit", BW_WATERFALL_BATTERY},
};
static const struct column USE_COLUMNS[] = {
    {"not", "asked for", BW_WATERFALL_NOT_ASKED},
    {"beyond", "limits", BW_WATERFALL_OUTSIDE},
    {"", "lag", BW_WATERFALL_LAG},
};
static const struct column LOSS_COLUMNS[] = {
    {"tyre", "slip", BW_WATERFALL_TYRE},
    {"driv-", "ing", BW_WATERFALL_DRIVE},
    {"", "gear", BW_WATERFALL_GEAR},
    {"machine,", "inverter", BW_WATERFALL_MACHINE},
    {"auxi-", "liaries", BW_WATERFALL_AUXILIARIES},
    {"battery", "resistance", BW_WATERFALL_RESISTANCE},
    {"into", "cells", BW_WATERFALL_COUNT},
};
static const struct column LIFTED_COLUMNS[] = {
    {"axle", "split", BW_WATERFALL_SPLIT},          {"grip,", "balance", BW_WATERFALL_RULE},
    {"machine", "envelope", BW_WATERFALL_ENVELOPE}, {"derat-", "ing", BW_WATERFALL_DERATING},
    {"low", "speed", BW_WATERFALL_LOW_SPEED},       {"battery", "limit", BW_WATERFALL_BATTERY},
};

enum part { SETS, USE, LOSSES, LIFTED, PARTS };

static const struct {
  const char *title;
  const struct column *column;
  size_t count;
} PART[PARTS] = {
    {"Where each joule went: what kept braking from the machines", SET_COLUMNS,
     sizeof SET_COLUMNS / sizeof SET_COLUMNS[0]},
    {"Where each joule went, continued: what the strategy made of what was left", USE_COLUMNS,
     sizeof USE_COLUMNS / sizeof USE_COLUMNS[0]},
    {"Where each joule went, continued: what the machines' braking lost on its way", LOSS_COLUMNS,
     sizeof LOSS_COLUMNS / sizeof LOSS_COLUMNS[0]},
    {"What lifting one limit alone would have given", LIFTED_COLUMNS,
     sizeof LIFTED_COLUMNS / sizeof LIFTED_COLUMNS[0]},
};

static double shown(const struct bw_waterfall_bin *total, enum part part,
                    const struct column *column) {
  if (column->step == BW_WATERFALL_COUNT) {
    return part == SETS ? total->delivered : total->cells;
  }
  return part == LIFTED ? total->last_in[column->step] : total->step[column->step];
}

static void put_header(struct bw_grid *grid, enum part part) {
  bw_grid_put(grid, "");
  for (size_t k = 0; k < PART[part].count; k++) {
    bw_grid_put(grid, PART[part].column[k].top);
  }
  bw_grid_put(grid, "strategy");
  for (size_t k = 0; k < PART[part].count; k++) {
    bw_grid_put(grid, PART[part].column[k].bottom);
  }
  bw_grid_put(grid, "");
  for (size_t k = 0; k < PART[part].count; k++) {
    bw_grid_put(grid, "kJ");
  }
}

static enum bw_status print_part(const struct bw_results *results, const size_t *order,
                                 enum part part, FILE *stream) {
  enum { HEADER_ROWS = 3, INDENT = 2 };
  struct bw_grid *grid = bw_grid_create(PART[part].count + 1);
  if (grid == NULL) {
    return BW_E_MEMORY;
  }
  (void)fprintf(stream, "\n%s\n", PART[part].title);
  put_header(grid, part);
  for (size_t i = 0; i < results->count; i++) {
    const struct bw_result *result = &results->result[order[i]];
    if (result->status != BW_OK) {
      continue;
    }
    const struct bw_waterfall_bin total = bw_waterfall_total(&result->evaluation.waterfall);
    bw_grid_put(grid, result->strategy->name);
    for (size_t k = 0; k < PART[part].count; k++) {
      /* a rounded nothing has no sign */
      const double value = shown(&total, part, &PART[part].column[k]) * KJ;
      bw_grid_putf(grid, "%.1f", fabs(value) < 0.05 ? 0.0 : value);
    }
  }
  const enum bw_status status = bw_grid_print(grid, BW_GRID_TEXT, HEADER_ROWS, INDENT, stream);
  bw_grid_destroy(grid);
  return status;
}

static bool has_waterfall(const struct bw_results *results) {
  for (size_t i = 0; i < results->count; i++) {
    if (results->result[i].status == BW_OK) {
      return true;
    }
  }
  return false;
}

enum bw_status bw_waterfall_print(const struct bw_results *results, const size_t *order,
                                  FILE *stream) {
  if (!has_waterfall(results)) {
    return BW_OK;
  }
  BW_TRY(print_part(results, order, SETS, stream));
  BW_TRY(print_part(results, order, USE, stream));
  BW_TRY(print_part(results, order, LOSSES, stream));
  bw_wrap_print("  ",
                "Delivered less all steps of these three tables is the energy into the cells. Each "
                "limit shrinks what the machines could have taken within those before it, so their "
                "order matters. Axle split: no machine takes what was braked at another axle. "
                "Beyond limits: what machines took beyond these limits, such as more than the "
                "balance rule allows; negative, because a step before has booked it as kept from "
                "them. Lag: asked for less realised, either sign. Driving: work of the machines "
                "against the brakes.",
                stream);
  BW_TRY(print_part(results, order, LIFTED, stream));
  bw_wrap_print("  ",
                "More work at the tyre within all the other limits, had the strategy asked for it. "
                "By speed: waterfall.csv.",
                stream);
  return ferror(stream) != 0 ? BW_E_IO : BW_OK;
}
