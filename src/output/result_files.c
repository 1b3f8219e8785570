/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/result_files.h"

#include "input/param.h"
#include "output/comfort_csv.h"
#include "output/result_csv.h"
#include "output/waterfall_csv.h"

static bool write_resolved(const struct bw_results *results, FILE *stream) {
  return bw_param_write_resolved(results->loaded, stream);
}

enum bw_status bw_result_files_write(struct bw_folder *folder, const struct bw_results *results,
                                     struct bw_diag *diag) {
  static const struct {
    const char *name;
    bool (*write)(const struct bw_results *results, FILE *stream);
  } files[] = {
      {"summary.csv", bw_write_summary_csv},     {"events.csv", bw_write_events_csv},
      {"handovers.csv", bw_write_handovers_csv}, {"ledger.csv", bw_write_ledger_csv},
      {"waterfall.csv", bw_write_waterfall_csv}, {"resolved.cfg", write_resolved},
      {"comfort.csv", bw_write_comfort_csv},
  };
  const bool has_comfort = results->count > 0 && results->result[0].comfort != NULL;
  const size_t count = sizeof files / sizeof files[0] - (has_comfort ? 0 : 1);
  for (size_t i = 0; i < count; i++) {
    FILE *stream = NULL;
    BW_TRY(bw_folder_create_file(folder, files[i].name, &stream, diag));
    const bool is_written = files[i].write(results, stream);
    BW_TRY(bw_folder_close_file(folder, files[i].name, stream, is_written, diag));
  }
  return BW_OK;
}
