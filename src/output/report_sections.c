/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/report.h"

#include "alloc.h"

#include <math.h>
#include <string.h>

enum { DEEPEST = 10, HANDOVERS_MOST = 2500, BALANCE_MOST = 1500, TEXT_LENGTH = 64 };

static const struct bw_report_column STRATEGIES[] = {
    {"strategy", "strategy", 0, 0},
    {"verdict", "verdict", 0, 0},
    {"energy_battery_kj", "recovered at terminals, kJ", 0, 1},
    {"recovered_share", "of trace or demand, %", 100, 2},
    {"of_recoverable_plant", "of plant bound, %", 100, 2},
    {"of_recoverable_rule", "of rule bound, %", 100, 2},
    {"friction_share_front", "friction front, %", 100, 2},
    {"friction_share_rear", "friction rear, %", 100, 2},
    {"dip_peak_mps2", "deepest dip, m/s²", 0, 3},
    {"surge_peak_mps2", "greatest surge, m/s²", 0, 3},
    {"time_above_felt_s", "felt for, s", 0, 2},
    {"net_consumption_wh_per_km", "net use, Wh/km", 0, 1},
    {"stopping_distance_m", "stop, m", 0, 2},
};
static const struct bw_report_column HANDOVERS[] = {
    {"strategy", "strategy", 0, 0},
    {"handover", "no.", 0, 0},
    {"event", "event", 0, 0},
    {"cause", "cause", 0, 0},
    {"start_s", "start, s", 0, 2},
    {"end_s", "end, s", 0, 2},
    {"speed_start_kmh", "from, km/h", 0, 1},
    {"speed_end_kmh", "to, km/h", 0, 1},
    {"dip_peak_mps2", "dip, m/s²", 0, 3},
    {"surge_peak_mps2", "surge, m/s²", 0, 3},
    {"time_above_felt_s", "felt, s", 0, 2},
    {"speed_not_taken_off_mps", "speed not taken off, m/s", 0, 4},
    {"gap_jerk_peak_mps3", "jerk, m/s³", 0, 2},
};
static const struct bw_report_column BALANCE[] = {
    {"strategy", "strategy", 0, 0},
    {"balance_rule", "rule", 0, 0},
    {"balance_slope", "slope c", 0, 3},
    {"axle_margin_worst", "smallest margin, adhesion", 0, 4},
    {"axle_violations", "violations", 0, 0},
    {"axle_violation_s", "violated, s", 0, 2},
    {"axle_violation_kj", "braking meanwhile, kJ", 0, 1},
    {"adhesion_exceeded_s", "beyond the grip, s", 0, 2},
};
static const struct bw_report_column SURVEY[] = {
    {"strategy", "strategy", 0, 0},
    {"load_state", "load", 0, 0},
    {"charge", "charge", 0, 0},
    {"braking_rate", "braking rate z", 0, 3},
    {"front_used_low", "front, lowest", 0, 4},
    {"front_used_high", "front, highest", 0, 4},
    {"rear_used_low", "rear, lowest", 0, 4},
    {"rear_used_high", "rear, highest", 0, 4},
    {"first_to_lock", "locks first", 0, 0},
    {"line_c085", "line, c 0.85", 0, 4},
    {"line_c070", "line, c 0.7", 0, 4},
    {"line_own", "line of the case", 0, 4},
    {"order_asked", "order asked for", 0, 0},
};
static const struct bw_report_column LEDGER[] = {
    {"strategy", "strategy", 0, 0},
    {"drive_axle_kj", "drive, kJ", 0, 1},
    {"road_load_kj", "road, kJ", 0, 1},
    {"machine_axle_kj", "machines at the axles, kJ", 0, 1},
    {"friction_front_kj", "friction front, kJ", 0, 1},
    {"friction_rear_kj", "friction rear, kJ", 0, 1},
    {"tyre_slip_kj", "tyres, kJ", 0, 1},
    {"gear_loss_kj", "gears, kJ", 0, 1},
    {"machine_loss_kj", "machine losses, kJ", 0, 1},
    {"auxiliaries_kj", "auxiliaries, kJ", 0, 1},
    {"terminals_in_kj", "terminals, in, kJ", 0, 1},
    {"terminals_out_kj", "terminals, out, kJ", 0, 1},
    {"cells_kj", "cells, kJ", 0, 1},
    {"residual_mechanical", "mechanical residual", 0, BW_REPORT_POWER},
    {"residual_electrical", "electrical residual", 0, BW_REPORT_POWER},
};
static const struct bw_report_column CHECKS[] = {
    {"strategy", "strategy", 0, 0},
    {"kinematic_check_worst", "kinematic check, worst event", 0, BW_REPORT_POWER},
    {"trace_outside_s", "outside the trace, s", 0, 2},
    {"clippings", "requests clipped, periods", 0, 0},
    {"first_clipping_s", "first clipped, s", 0, 2},
    {"charge_ceiling_s", "held back by the charge limit, s", 0, 2},
    {"machine_peak_c", "hottest machine, °C", 0, 1},
    {"rotor_front_peak_c", "front disc, °C", 0, 1},
    {"rotor_rear_peak_c", "rear disc, °C", 0, 1},
    {"hold_shortfall_n", "force lacking to hold, N", 0, 0},
};
static const struct bw_report_column COMFORT[] = {
    {"strategy", "strategy", 0, 0},
    {"felt_limit_mps2", "felt limit, m/s²", 0, 3},
    {"band_at_2_mps2_kmh", "band at 2 m/s², km/h", 0, 2},
    {"energy_recoverable_kj", "recoverable, kJ", 0, 1},
    {"share_of_unlimited", "of that without a limit, %", 100, 2},
};

/* the rows of the summary as they are ranked, as `view` wants them but for its table and rows */
static void put_ranked(const struct bw_report *report, const struct bw_report_view *view) {
  struct bw_report_view ranked = *view;
  ranked.table = &report->table[BW_REPORT_SUMMARY];
  ranked.row = report->ranked;
  ranked.rows = ranked.table->rows;
  bw_html_table(report->stream, &ranked);
}

void bw_report_put_strategies(const struct bw_report *report) {
  if (!bw_report_has(report, BW_REPORT_SUMMARY)) {
    return;
  }
  bw_html_section(report->stream, "strategies", "Strategies");
  put_ranked(report,
             &(struct bw_report_view){
                 .id = "table-strategies",
                 .caption =
                     "What keeps every limit first, each by energy. Recovered is net: "
                     "what reached the battery's terminals while braking. Of trace or demand: "
                     "over the braking work that the trace of a cycle asks for, or that a "
                     "manoeuvre's run demanded. The bounds are "
                     "the best split of the braking delivered, under the plant's limits "
                     "and under the balance rule too. A dip is deceleration missing.",
                 .column = STRATEGIES,
                 .columns = BW_REPORT_COUNT(STRATEGIES)});
}

/* the rows with the deepest dips, deepest first; gives their number */
static size_t find_deepest(const struct bw_report_table *table, size_t row[DEEPEST]) {
  double dip[DEEPEST];
  size_t count = 0;
  for (size_t i = 0; i < table->rows; i++) {
    const double here = bw_report_number(table, i, "dip_peak_mps2");
    size_t place = count;
    while (place > 0 && here > dip[place - 1]) {
      place--;
    }
    if (!isfinite(here) || place == DEEPEST) {
      continue;
    }
    count += count < DEEPEST ? 1 : 0;
    for (size_t k = count - 1; k > place; k--) {
      dip[k] = dip[k - 1];
      row[k] = row[k - 1];
    }
    dip[place] = here;
    row[place] = i;
  }
  return count;
}

void bw_report_put_handovers(const struct bw_report *report) {
  const struct bw_report_table *table = &report->table[BW_REPORT_HANDOVERS];
  size_t deepest[DEEPEST] = {0};
  char fold[TEXT_LENGTH];
  if (!bw_report_has(report, BW_REPORT_HANDOVERS)) {
    return;
  }
  bw_html_section(report->stream, "handovers", "Hand-overs");
  if (table->rows == 0) {
    (void)fputs("<p>No exchange between machines and friction brakes took place.</p>\n",
                report->stream);
    return;
  }
  struct bw_report_view view = {.table = table,
                                .id = "table-deepest",
                                .caption = "The deepest dips of all strategies, deepest first.",
                                .column = HANDOVERS,
                                .columns = BW_REPORT_COUNT(HANDOVERS),
                                .row = deepest,
                                .rows = find_deepest(table, deepest)};
  bw_html_table(report->stream, &view);
  (void)snprintf(fold, sizeof fold, "All %zu hand-overs", table->rows_seen);
  view.id = "table-handovers";
  view.caption = "Every hand-over in the order of the file.";
  view.fold = fold;
  bw_report_put_first(report, BW_REPORT_HANDOVERS, HANDOVERS_MOST, &view);
}

void bw_report_put_balance(const struct bw_report *report) {
  const bool has_run = bw_report_has(report, BW_REPORT_SUMMARY);
  const bool has_survey = bw_report_has(report, BW_REPORT_BALANCE);
  if (!has_run && !has_survey) {
    return;
  }
  bw_html_section(report->stream, "balance", "Balance of the axles");
  if (has_run) {
    put_ranked(report,
               &(struct bw_report_view){
                   .id = "table-balance",
                   .caption = "The adhesion used by the axles along the run against z ≥ 0.1 + c "
                              "(k − 0.2); a negative margin is beyond it.",
                   .column = BALANCE,
                   .columns = BW_REPORT_COUNT(BALANCE)});
  }
  if (has_survey) {
    bw_report_put_first(
        report, BW_REPORT_BALANCE, BALANCE_MOST,
        &(struct bw_report_view){
            .id = "table-survey",
            .caption = "Adhesion used over the braking rate where each strategy settles: lowest "
                       "and highest over speed, by load and charge.",
            .column = SURVEY,
            .columns = BW_REPORT_COUNT(SURVEY),
            .fold = "Adhesion used over the braking rate, all rows"});
  }
}

void bw_report_put_ledger(const struct bw_report *report) {
  if (!bw_report_has(report, BW_REPORT_SUMMARY)) {
    return;
  }
  bw_html_section(report->stream, "ledger", "Ledger and checks");
  bw_html_table(report->stream,
                &(struct bw_report_view){
                    .table = &report->table[BW_REPORT_LEDGER],
                    .id = "table-ledger",
                    .caption = "Energy books of the whole run. A residual is the share of the work "
                               "left unexplained: at most 1e-9 mechanical and 1e-6 electrical, or "
                               "the run is an error.",
                    .column = LEDGER,
                    .columns = BW_REPORT_COUNT(LEDGER),
                    .rows = report->table[BW_REPORT_LEDGER].rows});
  put_ranked(report,
             &(struct bw_report_view){
                 .id = "table-checks",
                 .caption = "The kinematic check repeats the energy balance of each braking event "
                            "by separate code, from speed, height and torques alone.",
                 .column = CHECKS,
                 .columns = BW_REPORT_COUNT(CHECKS)});
  const struct bw_report_table *comfort = &report->table[BW_REPORT_COMFORT];
  if (bw_report_has(report, BW_REPORT_COMFORT)) {
    bw_html_table(report->stream,
                  &(struct bw_report_view){
                      .table = comfort,
                      .id = "table-comfort",
                      .caption = "The price of comfort: what could be recovered without preview, "
                                 "by felt limit (– is none).",
                      .column = COMFORT,
                      .columns = BW_REPORT_COUNT(COMFORT),
                      .rows = comfort->rows});
  }
}
