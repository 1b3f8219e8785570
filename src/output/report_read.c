/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/path.h"
#include "output/report.h"

#include "alloc.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { WHOLE = 1000000, MANY = 100000, SOME = 5000 };

/* a file of the folder: rows that are kept, and columns without which it is an older version's */
struct source {
  const char *name;
  size_t keep;
  const char *columns; /* separated by commas */
};

static const struct source SOURCES[BW_REPORT_FILES] = {
    [BW_REPORT_SUMMARY] = {"summary.csv", WHOLE,
                           "strategy,verdict,verdict_reason,energy_battery_kj,recovered_share,"
                           "of_recoverable_rule,friction_share_front,friction_share_rear,"
                           "dip_peak_mps2,surge_peak_mps2,time_above_felt_s,"
                           "net_consumption_wh_per_km,balance_rule,axle_margin_worst,"
                           "axle_violations,axle_violation_s,adhesion_exceeded_s,"
                           "kinematic_check_worst,clippings"},
    [BW_REPORT_HANDOVERS] = {"handovers.csv", SOME,
                             "strategy,handover,event,cause,start_s,end_s,speed_start_kmh,"
                             "speed_end_kmh,dip_peak_mps2,surge_peak_mps2,gap_jerk_peak_mps3"},
    [BW_REPORT_LEDGER] = {"ledger.csv", WHOLE,
                          "strategy,machine_axle_kj,friction_front_kj,friction_rear_kj,cells_kj,"
                          "residual_mechanical,residual_electrical"},
    [BW_REPORT_COMFORT] = {"comfort.csv", SOME, "strategy"},
    [BW_REPORT_ASSESS] = {"assess.csv", SOME,
                          "strategy,requirement,limit,result,margin,unit,outcome,note,source,"
                          "paragraph,certainty"},
    [BW_REPORT_BALANCE] = {"balance.csv", SOME,
                           "strategy,load_state,charge,braking_rate,front_used_high,"
                           "rear_used_high,first_to_lock"},
    [BW_REPORT_DESCENT] = {"descent.csv", MANY,
                           "strategy,profile,load_state,charge,distance_m,speed_kmh,soc_percent,"
                           "charge_limit_kw,machine_axle_kw,friction_kw,rotor_front_c"},
    [BW_REPORT_FAULTS] = {"faults.csv", SOME,
                          "fault,condition,start_s,lost_mps2,gained_mps2,further_m,"
                          "speed_left_kmh,status,reason"},
    [BW_REPORT_SWEEP] = {"sweep.csv", SOME, "status,reason,strategy,verdict"},
    [BW_REPORT_STATISTICS] = {"sweep-statistics.csv", SOME,
                              "strategy,column,runs,failed,missed,mean,std,min,p50,max"},
    [BW_REPORT_FIND] = {"find.csv", SOME, "strategy,find,along,result,first,clear,note"},
};

bool bw_report_has(const struct bw_report *report, enum bw_report_file file) {
  return report->table[file].columns > 0;
}

const char *bw_report_file_name(enum bw_report_file file) {
  return SOURCES[file].name;
}

const char *bw_report_cell(const struct bw_report_table *table, size_t row, const char *column) {
  const size_t index = bw_report_table_column(table, column);
  return index < table->columns ? bw_report_table_text(table, row, index) : "";
}

double bw_report_number(const struct bw_report_table *table, size_t row, const char *column) {
  const char *text = bw_report_cell(table, row, column);
  char *end = NULL;
  const double number = strtod(text, &end);
  return text[0] != '\0' && *end == '\0' ? number : (double)NAN;
}

static enum bw_status check_columns(const char *path, const struct bw_report_table *table,
                                    const char *columns, struct bw_diag *diag) {
  for (const char *at = columns; at[0] != '\0';) {
    char name[64];
    const size_t length = strcspn(at, ",");
    (void)snprintf(name, sizeof name, "%.*s", (int)length, at);
    if (bw_report_table_column(table, name) == table->columns) {
      return bw_fail_at(diag, BW_E_INPUT, path, 1,
                        "column '%s' is missing; run the case again with this version", name);
    }
    at += length + (at[length] == ',' ? 1 : 0);
  }
  return BW_OK;
}

static enum bw_status read_one(struct bw_report *report, enum bw_report_file file, bool is_needed,
                               struct bw_diag *diag) {
  char path[BW_FILE_PATH_MAX];
  struct stat info;
  if (!bw_path_join(path, report->folder, SOURCES[file].name)) {
    return bw_fail_at(diag, BW_E_USAGE, report->folder, 0, "path is too long; move the folder");
  }
  if (!is_needed && stat(path, &info) != 0 && errno == ENOENT) {
    return BW_OK;
  }
  struct bw_report_table *table = &report->table[file];
  BW_TRY(bw_report_table_read(path, SOURCES[file].keep, table, diag));
  return check_columns(path, table, SOURCES[file].columns, diag);
}

/* not ranked or failed behind missed behind kept */
static int grade(const struct bw_report_table *summary, size_t row) {
  const char *verdict = bw_report_cell(summary, row, "verdict");
  return strcmp(verdict, "kept") == 0 ? 0 : strcmp(verdict, "missed") == 0 ? 1 : 2;
}

static bool is_before(const struct bw_report_table *summary, size_t a, size_t b) {
  const int first = grade(summary, a);
  const int second = grade(summary, b);
  if (first != second) {
    return first < second;
  }
  return bw_report_number(summary, a, "energy_battery_kj") >
         bw_report_number(summary, b, "energy_battery_kj");
}

/* insertion keeps the file's order among equals; there are few strategies */
static enum bw_status rank(struct bw_report *report, struct bw_diag *diag) {
  const struct bw_report_table *summary = &report->table[BW_REPORT_SUMMARY];
  report->ranked = bw_alloc(summary->rows + 1, sizeof *report->ranked);
  if (report->ranked == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the report");
  }
  for (size_t row = 0; row < summary->rows; row++) {
    size_t place = row;
    for (; place > 0 && is_before(summary, row, report->ranked[place - 1]); place--) {
      report->ranked[place] = report->ranked[place - 1];
    }
    report->ranked[place] = row;
  }
  return BW_OK;
}

enum bw_status bw_report_read(struct bw_report *report, struct bw_diag *diag) {
  report->table[BW_REPORT_SWEEP].tally[0] =
      (struct bw_report_tally){.column = "status", .value = "failed"};
  report->table[BW_REPORT_SWEEP].tally[1] =
      (struct bw_report_tally){.column = "verdict", .value = "missed"};
  report->table[BW_REPORT_SWEEP].tally[2] =
      (struct bw_report_tally){.column = "verdict", .value = "not ranked"};
  report->table[BW_REPORT_FIND].tally[0] =
      (struct bw_report_tally){.column = "result", .value = "found"};
  report->table[BW_REPORT_FIND].tally[1] =
      (struct bw_report_tally){.column = "result", .value = "at-start"};
  report->table[BW_REPORT_FIND].tally[2] =
      (struct bw_report_tally){.column = "result", .value = "none"};
  bool has_any = false;
  for (enum bw_report_file file = 0; file < BW_REPORT_FILES; file++) {
    const bool is_of_run = file == BW_REPORT_HANDOVERS || file == BW_REPORT_LEDGER;
    BW_TRY(read_one(report, file, is_of_run && bw_report_has(report, BW_REPORT_SUMMARY), diag));
    has_any = has_any || bw_report_has(report, file);
  }
  if (!has_any) {
    return bw_fail_at(diag, BW_E_INPUT, report->folder, 0,
                      "is no results folder; name one that run, assess, faults, sweep or join made "
                      "with --out");
  }
  return rank(report, diag);
}

void bw_report_free(struct bw_report *report) {
  for (enum bw_report_file file = 0; file < BW_REPORT_FILES; file++) {
    bw_report_table_free(&report->table[file]);
  }
  bw_free(report->ranked);
  report->ranked = NULL;
}
