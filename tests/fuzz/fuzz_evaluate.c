/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines KEY=VALUE on a shipped stop, `strategy NAME` first if wanted: what the checks of the case
 * let through gives a result of finite numbers, or it is told why there is none. */
#include "assess/evaluate.h"
#include "fuzz.h"
#include "input/case.h"
#include "strategies/registry.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SETS_MAX = 32 };
#define DURATION_MAX 60.0 /* s, so that an input takes a moment only */

static const struct bw_blend_strategy *take_strategy(char **text) {
  static const char word[] = "strategy ";
  char *end = strchr(*text, '\n');
  const struct bw_blend_strategy *found = NULL;
  if (strncmp(*text, word, strlen(word)) == 0 && end != NULL) {
    *end = '\0';
    found = bw_strategy_find(*text + strlen(word));
    *text = end + 1;
  }
  return found != NULL ? found : bw_strategy_find("series");
}

static size_t take_sets(char *text, struct bw_override *sets) {
  size_t count = 0;
  for (char *line = strtok(text, "\n"); line != NULL && count < SETS_MAX;
       line = strtok(NULL, "\n")) {
    sets[count++].text = line;
  }
  return count;
}

static void check_result(const struct bw_evaluation *evaluation) {
  for (size_t i = 0; i < (size_t)BW_SUMMARY_COUNT; i++) {
    /* NaN is an empty field */
    FUZZ_CHECK(!isinf(evaluation->summary.value[i]));
  }
  FUZZ_CHECK(isfinite(evaluation->summary.value[BW_SUMMARY_ENERGY_BATTERY]));
  FUZZ_CHECK(isfinite(evaluation->ledger.friction[0] + evaluation->ledger.friction[1]));
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  struct bw_override sets[SETS_MAX];
  char *text = fuzz_text(bytes, size);
  char *rest = text;
  const struct bw_blend_strategy *strategy = take_strategy(&rest);
  const size_t count = take_sets(rest, sets);
  struct bw_case *loaded = NULL;
  struct bw_diag diag = {0};
  enum bw_status status = bw_case_load("cases/stop-100.cfg", "cases", sets, count, &loaded, &diag);
  fuzz_check_outcome(status, &diag);
  if (loaded != NULL && bw_trace_duration(&loaded->trace) <= DURATION_MAX) {
    struct bw_evaluation evaluation;
    status = bw_evaluate(loaded, strategy, NULL, &evaluation, &diag);
    fuzz_check_outcome(status, &diag);
    FUZZ_CHECK(status == BW_OK || status == BW_E_NUMERIC || status == BW_E_RANGE);
    if (status == BW_OK) {
      check_result(&evaluation);
    }
    bw_evaluation_free(&evaluation);
  }
  bw_case_destroy(loaded);
  free(text);
  return 0;
}
