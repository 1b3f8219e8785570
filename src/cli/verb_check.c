/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "data_dir.h"
#include "report_diag.h"
#include "verbs.h"

#include <string.h>

static const struct bw_option OPTIONS[] = {
    {"set", "KEY=VALUE", "override a key of the case; may be given again", 's', true},
    BW_OPTION_HELP,
};

int bw_verb_load_case(const struct bw_arguments *arguments, struct bw_case **out) {
  struct bw_diag diag = {0};
  *out = NULL;
  struct bw_override *overrides = bw_alloc(arguments->setting_count, sizeof *overrides);
  if (overrides == NULL) {
    return bw_report_diag(&diag, BW_E_MEMORY);
  }
  size_t count = 0;
  for (size_t i = 0; i < arguments->setting_count; i++) {
    if (strcmp(arguments->settings[i].option->name, "set") == 0) {
      overrides[count++].text = arguments->settings[i].value;
    }
  }
  char data[BW_DATA_DIR_MAX];
  bw_data_dir(data);
  const enum bw_status status =
      bw_case_load(arguments->operands[0], data, overrides, count, out, &diag);
  bw_free(overrides);
  return bw_report_diag(&diag, status);
}

static int run(const struct bw_arguments *arguments) {
  struct bw_case *loaded = NULL;
  const int exit_status = bw_verb_load_case(arguments, &loaded);
  if (loaded == NULL) {
    return exit_status;
  }
  (void)printf("%s is sound\n", loaded->name);
  (void)bw_case_header_print(loaded, stdout);
  (void)puts("\nParameters as used");
  (void)bw_param_print_resolved(loaded, stdout);
  bw_case_destroy(loaded);
  return exit_status; /* main looks at standard output */
}

const struct bw_verb BW_VERB_CHECK = {
    .name = "check",
    .purpose = "Validate a case and print every parameter as it would be used",
    .example = "brakeweave check cases/hatchback-wltc.cfg",
    .usage = "CASE [--set KEY=VALUE]...",
    .details =
        "CASE is a case file. All its faults are reported, up to 20, each with file and line.",
    .options = OPTIONS,
    .option_count = sizeof OPTIONS / sizeof OPTIONS[0],
    .operand = "case file",
    .operand_count = 1,
    .run = run,
};
