/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/comparison.h"

#include "alloc.h"
#include "output/case_header.h"
#include "output/comfort_csv.h"
#include "output/grid.h"
#include "output/waterfall_csv.h"
#include "output/wrap.h"

#include <math.h>
#include <string.h>

#define PERCENT 100.0

enum { HEADER_ROWS = 3, INDENT = 2 };

static void put_value(struct bw_grid *grid, double value, int decimals, const char *mark) {
  if (!isfinite(value)) {
    bw_grid_put(grid, "-");
  } else if (decimals < 0) {
    bw_grid_putf(grid, "%.1e%s", value + 0.0, mark);
  } else {
    bw_grid_putf(grid, "%.*f%s", decimals, value + 0.0, mark);
  }
}

static bool does_apply(const struct bw_results *results, const struct bw_block *block) {
  for (size_t i = 0; i < results->count; i++) {
    for (size_t k = 0; k < block->count; k++) {
      if (isfinite(bw_result_value(&results->result[i], block->figures[k].column))) {
        return true;
      }
    }
  }
  return false;
}

static bool has_violation(const struct bw_result *result) {
  return bw_result_value(result, BW_SUMMARY_AXLE_VIOLATIONS) > 0.0;
}

static bool has_any_violation(const struct bw_results *results) {
  for (size_t i = 0; i < results->count; i++) {
    if (has_violation(&results->result[i])) {
      return true;
    }
  }
  return false;
}

/* a ratio to the rule's ceiling rates only runs that keep the rule; a blank keeps figures in line
 */
static const char *mark_of(const struct bw_results *results, const struct bw_result *result,
                           enum bw_summary_column column) {
  if (column != BW_SUMMARY_OF_CEILING_RULE) {
    return "";
  }
  return has_violation(result) ? "*" : has_any_violation(results) ? " " : "";
}

static void fill_block(struct bw_grid *grid, const struct bw_results *results, const size_t *order,
                       const struct bw_block *block) {
  for (int line = 0; line < HEADER_ROWS; line++) {
    bw_grid_put(grid, line == 1 ? "strategy" : "");
    for (size_t k = 0; k < block->count; k++) {
      const char *const text[HEADER_ROWS] = {block->figures[k].top, block->figures[k].bottom,
                                             block->figures[k].unit};
      bw_grid_put(grid, text[line]);
    }
  }
  for (size_t i = 0; i < results->count; i++) {
    const struct bw_result *result = &results->result[order[i]];
    bw_grid_put(grid, result->strategy->name);
    for (size_t k = 0; k < block->count; k++) {
      const struct bw_block_figure *figure = &block->figures[k];
      put_value(grid, bw_result_value(result, figure->column) * figure->scale, figure->decimals,
                mark_of(results, result, figure->column));
    }
  }
}

static enum bw_status print_block(const struct bw_results *results, const size_t *order,
                                  const struct bw_block *block, FILE *stream) {
  if (!does_apply(results, block)) {
    return BW_OK;
  }
  struct bw_grid *grid = bw_grid_create(block->count + 1);
  if (grid == NULL) {
    return BW_E_MEMORY;
  }
  (void)fprintf(stream, "\n%s\n", block->title);
  fill_block(grid, results, order, block);
  const enum bw_status status = bw_grid_print(grid, BW_GRID_TEXT, HEADER_ROWS, INDENT, stream);
  bw_grid_destroy(grid);
  bw_wrap_print("  ", block->note, stream);
  return status;
}

static void put_verdict(struct bw_grid *grid, const struct bw_results *results, size_t index) {
  const struct bw_result *result = &results->result[index];
  const bool has_reason = bw_result_reason(result)[0] != '\0';
  const char *mark = results->count > 1 && bw_results_is_undominated(results, index) ? " +" : "";
  bw_grid_putf(grid, "%s%s%s", bw_result_verdict(result), mark, has_reason ? ", see below" : "");
}

/* what the trace asks for is the same for every strategy that ran; NaN of a manoeuvre */
static double trace_energy(const struct bw_results *results) {
  for (size_t i = 0; i < results->count; i++) {
    const double energy = bw_result_value(&results->result[i], BW_SUMMARY_ENERGY_TRACE);
    if (isfinite(energy)) {
      return energy;
    }
  }
  return (double)NAN;
}

static void fill_verdicts(struct bw_grid *grid, const struct bw_results *results,
                          const size_t *order) {
  /* the share has another denominator where there is no trace */
  const char *whole = isfinite(trace_energy(results)) ? "trace" : "demand";
  const char *const header[] = {
      "",         "recovered",    "of",  "of plant", "of rule", "net",   "",
      "strategy", "at terminals", whole, "bound",    "bound",   "use",   "verdict",
      "",         "kJ",           "%",   "%",        "%",       "Wh/km", ""};
  for (size_t i = 0; i < sizeof header / sizeof header[0]; i++) {
    bw_grid_put(grid, header[i]);
  }
  /* a blank in place of the mark keeps the figures in line */
  const char *no_mark = has_any_violation(results) ? " " : "";
  for (size_t i = 0; i < results->count; i++) {
    const struct bw_result *result = &results->result[order[i]];
    bw_grid_put(grid, result->strategy->name);
    put_value(grid, bw_result_value(result, BW_SUMMARY_ENERGY_BATTERY), 1, "");
    put_value(grid, bw_result_value(result, BW_SUMMARY_RECOVERED_SHARE) * PERCENT, 2, "");
    put_value(grid, bw_result_value(result, BW_SUMMARY_OF_RECOVERABLE_PLANT) * PERCENT, 2, "");
    put_value(grid, bw_result_value(result, BW_SUMMARY_OF_RECOVERABLE_RULE) * PERCENT, 2,
              has_violation(result) ? "*" : no_mark);
    put_value(grid, bw_result_value(result, BW_SUMMARY_NET_CONSUMPTION), 1, "");
    put_verdict(grid, results, order[i]);
  }
}

static void print_mark(const struct bw_results *results, FILE *stream) {
  bool has_mark = false;
  for (size_t i = 0; i < results->count; i++) {
    has_mark = has_mark || bw_results_is_undominated(results, i);
  }
  if (has_mark && results->count > 1) {
    bw_wrap_print("  + ",
                  "not dominated: no other strategy that keeps every limit is as good in energy, "
                  "greatest dip and balance margin at once and better in one of them",
                  stream);
  }
}

static void print_reasons(const struct bw_results *results, const size_t *order, FILE *stream) {
  for (size_t i = 0; i < results->count; i++) {
    const struct bw_result *result = &results->result[order[i]];
    const char *reason = bw_result_reason(result);
    if (reason[0] != '\0') {
      char text[BW_DIAG_LENGTH + 128];
      (void)snprintf(text, sizeof text, "%s, %s: %s", result->strategy->name,
                     bw_result_verdict(result), reason);
      bw_wrap_print("  ! ", text, stream);
    }
  }
  if (has_any_violation(results)) {
    bw_wrap_print("  * ",
                  "this run violates the balance rule, so its ratio to the rule bound is no "
                  "certificate and may exceed 100 %",
                  stream);
  }
}

/* which whole the shares of the verdicts are parts of */
static void print_shares(double energy_trace, FILE *stream) {
  char text[512];
  if (isfinite(energy_trace)) {
    (void)snprintf(text, sizeof text,
                   "Recovered: net energy into the battery terminals during braking. Of trace: "
                   "over the %.1f kJ of braking work that the trace asks for at the road, the same "
                   "for every strategy. Of bounds: over the strategy's own bound, see below. Net "
                   "use: net energy out of the battery terminals over the whole run, per distance.",
                   energy_trace);
    bw_wrap_print("  ", text, stream);
    return;
  }
  bw_wrap_print("  ",
                "Recovered: net energy into the battery terminals during braking. Of demand: over "
                "the strategy's own work demanded, which differs with the way it takes to slow "
                "down. Of bounds: over the strategy's own bound, see below.",
                stream);
}

static enum bw_status print_verdicts(const struct bw_results *results, const size_t *order,
                                     FILE *stream) {
  enum { VERDICT_COLUMNS = 7 };
  struct bw_grid *grid = bw_grid_create(VERDICT_COLUMNS);
  if (grid == NULL) {
    return BW_E_MEMORY;
  }
  (void)fputs("\nResult: what keeps every limit first, each by energy recovered\n", stream);
  bw_grid_align_left(grid, VERDICT_COLUMNS - 1);
  fill_verdicts(grid, results, order);
  const enum bw_status status = bw_grid_print(grid, BW_GRID_TEXT, HEADER_ROWS, INDENT, stream);
  bw_grid_destroy(grid);
  print_mark(results, stream);
  print_reasons(results, order, stream);
  print_shares(trace_energy(results), stream);
  return status;
}

/* where the slope of the balance rule comes from, and how sure that is */
static const char *rule_source(const char *rule) {
  if (strcmp(rule, "un-r13-family") == 0) {
    return "EU 2015/68 Annex II App. 1 point 4.1.1.1, read; sibling text of the passenger-car rule";
  }
  if (strcmp(rule, "un-r13h") == 0) {
    return "believed to be UN R13-H Annex 5, from memory and not read: confirm before relying on "
           "it";
  }
  return "set by the case";
}

static void print_settings(const struct bw_case *loaded, FILE *stream) {
  const struct bw_assess_options *assess = &loaded->assess;
  char text[512];
  (void)snprintf(text, sizeof text,
                 "%s, z >= 0.1 + c (k - 0.2) with c = %g (%s); a violation lasts %g s or more; the "
                 "car has %s brakes, so the order of the curves %s",
                 assess->balance_rule, assess->balance_slope, rule_source(assess->balance_rule),
                 assess->balance_violation_time, assess->has_antilock ? "antilock" : "no antilock",
                 assess->has_antilock ? "is information" : "counts");
  bw_wrap_print("  balance rule  ", text, stream);
  (void)snprintf(text, sizeof text,
                 "%g m/s2 (%g g); jerk filter: second-order Butterworth, cut-off %g Hz; felt dips "
                 "are judged against the lags of the two paths, so an exchange during a fast "
                 "change of demand is partly hidden",
                 assess->felt_deceleration, assess->felt_deceleration / BW_GRAVITY,
                 assess->jerk_cutoff);
  bw_wrap_print("  felt line     ", text, stream);
  (void)snprintf(text, sizeof text, "controller %g ms, plant %g ms", loaded->control_period * 1e3,
                 loaded->step * 1e3);
  bw_wrap_print("  time steps    ", text, stream);
}

/* what stands between the car and its controllers, when anything does */
static void print_signals(const struct bw_case *loaded, FILE *stream) {
  const struct bw_sensors *sensors = &loaded->sensors;
  const bool has_sensors = bw_sensor_acts(&sensors->speed) || bw_sensor_acts(&sensors->pressure) ||
                           bw_sensor_acts(&sensors->torque);
  const bool has_messages = bw_message_acts(&loaded->message);
  if (!has_sensors && !has_messages) {
    return;
  }
  char text[256];
  (void)snprintf(text, sizeof text,
                 "%s%s%s are those of the case (sensor.*, message.*); chance is that of seed %.0f, "
                 "repetition %.0f, the same for every strategy",
                 has_sensors ? "sensors" : "", has_sensors && has_messages ? " and " : "",
                 has_messages ? "messages to the machines" : "", loaded->seed.seed,
                 loaded->seed.run);
  bw_wrap_print("  signals       ", text, stream);
}

static void print_footer(const struct bw_case *loaded, FILE *stream) {
  (void)fputs("\nAssumptions and limits of this page\n", stream);
  print_settings(loaded, stream);
  print_signals(loaded, stream);
  bw_wrap_print("  bounds        ",
                "best split of the braking really delivered, moment by moment, with every limit of "
                "machines and battery but without dead times, lags and slew; temperatures, charge "
                "and pulse budget are taken as this run had them, so the bounds are no proven "
                "ceilings of another history; run --bounds works those out, and what an optimal "
                "blend reaches below them",
                stream);
  bw_wrap_print("  cannot tell   ",
                loaded->fidelity == BW_FIDELITY_SLIP
                    ? "lateral dynamics (straight running only), how a person works the pedal (no "
                      "human pedal model), wear, noise, what a stability system does, what the "
                      "car's own antilock differs in from the generic one here; this is no type "
                      "approval and no proof of compliance"
                    : "lateral dynamics (straight running only), how a person works the pedal (no "
                      "human pedal model), wear, noise, anything an antilock or stability system "
                      "does; this is no type approval and no proof of compliance",
                stream);
  bw_wrap_print("  caution       ",
                "work on roads, rigs, high voltage and brake hydraulics belongs to trained and "
                "licensed people under the codes that hold where they are; confirm every figure on "
                "the car before it is released",
                stream);
}

enum bw_status bw_comparison_print(const struct bw_results *results, const char *version,
                                   FILE *stream) {
  size_t *order = bw_alloc(results->count, sizeof *order);
  if (order == NULL) {
    return BW_E_MEMORY;
  }
  bw_results_order(results, order);
  (void)fprintf(stream, "brakeweave %s: blending strategies on ", version);
  bw_clean_print(results->loaded->name, stream);
  (void)fputc('\n', stream);
  (void)bw_case_header_print(results->loaded, stream);
  enum bw_status status = print_verdicts(results, order, stream);
  for (size_t i = 0; i < bw_block_count() && status == BW_OK; i++) {
    status = print_block(results, order, bw_block_at(i), stream);
    if (i == 0 && status == BW_OK) {
      status = bw_waterfall_print(results, order, stream);
    }
  }
  if (status == BW_OK) {
    status = bw_comfort_print(results, order, stream);
  }
  bw_free(order);
  print_footer(results->loaded, stream);
  return status == BW_OK && ferror(stream) != 0 ? BW_E_IO : status;
}
