/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "data_dir.h"
#include "report_diag.h"
#include "verbs.h"

#include <string.h>

static const struct bw_option OPTIONS[] = {
    {"set", "KEY=VALUE", "override a key of the case; may be given again", 's', true},
    {"strategy", "PATH", "a controller whose parameters the case may set; may be given again", 't',
     true},
    BW_OPTION_DEADLINE,
    BW_OPTION_HELP,
};

int bw_verb_load_case(const struct bw_arguments *arguments,
                      const struct bw_controllers *controllers, struct bw_case **out) {
  struct bw_diag diag = {0};
  *out = NULL;
  struct bw_override *overrides = NULL;
  size_t count = 0;
  enum bw_status status = bw_arguments_overrides(arguments, 2, &overrides, &count, &diag);
  if (status != BW_OK) {
    return bw_report_diag(&diag, status);
  }
  if (bw_arguments_has(arguments, "bounds")) {
    overrides[count++].text = "assess.ceiling=true";
  }
  char descent[BW_PATH_MAX + 32];
  if (bw_arguments_has(arguments, "descent")) {
    (void)snprintf(descent, sizeof descent, "descent.profile=%s",
                   bw_arguments_value(arguments, "descent"));
    overrides[count++].text = descent;
  }
  char data[BW_DATA_DIR_MAX];
  bw_data_dir(data);
  const struct bw_case_source source = {arguments->operands[0], data, count, overrides};
  const struct bw_extra_strategies extra = bw_controllers_extra(controllers);
  status = bw_case_load_with(&source, &extra, out, &diag);
  bw_free(overrides);
  return bw_report_diag(&diag, status);
}

static int check(const struct bw_arguments *arguments, const struct bw_controllers *controllers) {
  struct bw_case *loaded = NULL;
  const int exit_status = bw_verb_load_case(arguments, controllers, &loaded);
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

static int run(const struct bw_arguments *arguments) {
  struct bw_diag diag = {0};
  struct bw_controllers controllers;
  enum bw_status status = bw_controllers_load(arguments, &controllers, &diag);
  for (size_t i = 0; i < arguments->setting_count && status == BW_OK; i++) {
    const struct bw_setting *setting = &arguments->settings[i];
    const struct bw_blend_strategy *unused = NULL;
    if (strcmp(setting->option->name, "strategy") == 0) {
      status = bw_controllers_strategy(&controllers, setting->value, &unused, &diag);
    }
  }
  const int exit_status =
      status == BW_OK ? check(arguments, &controllers) : bw_report_diag(&diag, status);
  bw_controllers_free(&controllers);
  return exit_status;
}

const struct bw_verb BW_VERB_CHECK = {
    .name = "check",
    .purpose = "Validate a case and print every parameter as it would be used",
    .example = "brakeweave check cases/hatchback-wltc.cfg",
    .usage = "CASE [OPTIONS]",
    .details =
        "CASE is a case file. All its faults are reported, up to 20, each with file and line.",
    .options = OPTIONS,
    .option_count = sizeof OPTIONS / sizeof OPTIONS[0],
    .operand = "case file",
    .operand_count = 1,
    .run = run,
};
