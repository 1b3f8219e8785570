/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_TRACE_CSV_H
#define BW_TRACE_CSV_H

#include "assess/lamp.h"
#include "output/csv_write.h"
#include "sim/run.h"

/** Observer that writes a run as trace-STRATEGY.csv: a row every output.trace_period, each with
 *  the means over its control period (or the state at its end, for temperatures, pressure and
 *  charge). Torques are at the axle and retarding torque is positive. Borrows case and stream. */
struct bw_trace_csv {
  const struct bw_case *loaded;
  struct bw_csv_row row;
  struct bw_lamp lamp;
  size_t every; /**< control periods per row, >= 1 */
  size_t seen;  /**< control periods so far */
};

/** Start a trace on `stream` and write its header line. A failed write shows in row.has_failed. */
void bw_trace_csv_start(struct bw_trace_csv *trace, const struct bw_case *loaded, FILE *stream);

/** struct bw_observer.watch with a struct bw_trace_csv as context. BW_E_IO (without a message:
 *  closing the file gives it) as soon as a write failed, so that a full disk ends the run. */
enum bw_status bw_trace_csv_watch(void *context, const struct bw_sample *sample,
                                  struct bw_diag *diag);

/** Cut the file of `stream` behind its last whole line: for a trace whose writer, a child process,
 *  died at work. False on an error. */
bool bw_trace_csv_cut(FILE *stream);

enum { BW_TRACE_FILE_NAME_MAX = 256 };

/** File name trace-STRATEGY.csv; bytes of the strategy's name that are unsafe in a file name are
 *  written as %XX, so that two names never share a file. Over-long names are cut. */
void bw_trace_csv_name(const char *strategy, char name[BW_TRACE_FILE_NAME_MAX]);

#endif
