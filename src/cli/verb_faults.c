/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "data_dir.h"
#include "progress.h"
#include "report_diag.h"
#include "verbs.h"

#include <string.h>

enum { KIND_SIZE = 32, MOMENTS = 8, MOMENTS_MAX = 1000 };

static const struct bw_option OPTIONS[] = {
    {"strategy", "NAME", "the strategy; without it the case's first, or the first of all", 't',
     false},
    {"fault", "KIND", "a word of fault.kind; may be given again; without it every kind", 'k', true},
    {"condition", "KEY=VALUE", "a condition to look at; may be given again", 'c', true},
    {"moments", "COUNT", "starts tried before the search narrows, 1 to 1000; 8 without it", 'm',
     false},
    {"set", "KEY=VALUE", "override a key of the case; may be given again", 's', true},
    {"out", "DIR", "write DIR/faults.csv", 'o', false},
    {"quiet", NULL, "no progress on standard error", 'q', false},
    BW_OPTION_HELP,
};

/* the study as asked for */
struct study {
  const struct bw_arguments *arguments;
  struct bw_progress progress;
  size_t moments;
  size_t kind_count;
  char kind[BW_FAULT_KIND_COUNT][KIND_SIZE];
  size_t condition_count;
  const char **conditions;
  size_t count;
  struct bw_fault_cell *cells;
};

/* load the case with its --set options and one condition, "" for none */
static enum bw_status load(const struct study *study, const char *condition, struct bw_case **out,
                           struct bw_diag *diag) {
  const struct bw_arguments *arguments = study->arguments;
  struct bw_override *overrides = bw_alloc(arguments->setting_count + 1, sizeof *overrides);
  if (overrides == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the case");
  }
  size_t count = 0;
  for (size_t i = 0; i < arguments->setting_count; i++) {
    if (strcmp(arguments->settings[i].option->name, "set") == 0) {
      overrides[count++].text = arguments->settings[i].value;
    }
  }
  if (condition[0] != '\0') {
    overrides[count++].text = condition;
  }
  char data[BW_DATA_DIR_MAX];
  bw_data_dir(data);
  const enum bw_status status =
      bw_case_load(arguments->operands[0], data, overrides, count, out, diag);
  bw_free(overrides);
  return status;
}

/* index of a word in the choices of fault.kind, BW_FAULT_KIND_COUNT: unknown */
static size_t kind_index(const char *choices, const char *word, char *copy) {
  const char *place = choices;
  for (size_t i = 0; i < BW_FAULT_KIND_COUNT; i++) {
    const size_t length = strcspn(place, "|");
    if (copy != NULL && word == NULL) {
      (void)snprintf(copy + i * KIND_SIZE, KIND_SIZE, "%.*s", (int)length, place);
    } else if (word != NULL && strlen(word) == length && strncmp(place, word, length) == 0) {
      return i;
    }
    place += length + (place[length] == '|' ? 1 : 0);
  }
  return BW_FAULT_KIND_COUNT;
}

static enum bw_status read_moments(struct study *study, struct bw_diag *diag) {
  const char *word = bw_arguments_value(study->arguments, "moments");
  double number = (double)MOMENTS;
  if (word != NULL && (!bw_number_parse(word, strlen(word), &number) || !(number >= 1.0) ||
                       !(number <= (double)MOMENTS_MAX) || number > (double)(size_t)number)) {
    return bw_fail(diag, BW_E_USAGE, "moments '%.80s' is no count; give a whole number, 1 to %d",
                   word, MOMENTS_MAX);
  }
  study->moments = (size_t)number;
  return BW_OK;
}

static enum bw_status choose_kinds(struct study *study, const char *choices, struct bw_diag *diag) {
  char all[BW_FAULT_KIND_COUNT][KIND_SIZE];
  (void)kind_index(choices, NULL, all[0]);
  for (size_t i = 0; i < study->arguments->setting_count; i++) {
    const struct bw_setting *setting = &study->arguments->settings[i];
    if (strcmp(setting->option->name, "fault") != 0) {
      continue;
    }
    const size_t index = kind_index(choices, setting->value, NULL);
    if (index == BW_FAULT_NONE || index == BW_FAULT_KIND_COUNT) {
      return bw_fail(diag, BW_E_USAGE,
                     "unknown fault '%.80s'; 'brakeweave list parameters' names the kinds",
                     setting->value);
    }
    if (study->kind_count < BW_FAULT_KIND_COUNT) {
      memcpy(study->kind[study->kind_count++], all[index], KIND_SIZE);
    }
  }
  if (study->kind_count == 0) {
    study->kind_count = BW_FAULT_KIND_COUNT - 1;
    memcpy(study->kind, all[1], study->kind_count * KIND_SIZE);
  }
  return BW_OK;
}

static enum bw_status choose_conditions(struct study *study, bool has_grip, struct bw_diag *diag) {
  static const char *const usual[] = {"", "battery.soc_percent=95", "vehicle.load_state=laden",
                                      "tyre.surface=snow"};
  const size_t most = study->arguments->setting_count + sizeof usual / sizeof usual[0];
  study->conditions = bw_alloc(most, sizeof *study->conditions);
  if (study->conditions == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the conditions");
  }
  for (size_t i = 0; i < study->arguments->setting_count; i++) {
    const struct bw_setting *setting = &study->arguments->settings[i];
    if (strcmp(setting->option->name, "condition") == 0) {
      study->conditions[study->condition_count++] = setting->value;
    }
  }
  if (study->condition_count == 0) {
    study->condition_count = has_grip ? 4 : 3;
    memcpy(study->conditions, usual, study->condition_count * sizeof usual[0]);
  }
  study->cells = bw_alloc(study->condition_count * study->kind_count, sizeof *study->cells);
  return study->cells != NULL ? BW_OK : bw_fail(diag, BW_E_MEMORY, "out of memory for the cells");
}

static enum bw_status choose_strategy(const struct study *study, const struct bw_case *loaded,
                                      const struct bw_blend_strategy **out, struct bw_diag *diag) {
  const char *name = bw_arguments_value(study->arguments, "strategy");
  *out = loaded->strategy_count > 0 ? loaded->strategies[0] : bw_strategy_at(0);
  if (name != NULL) {
    *out = bw_strategy_find(name);
  }
  return *out != NULL
             ? BW_OK
             : bw_fail(diag, BW_E_USAGE,
                       "unknown strategy '%.80s'; 'brakeweave list strategies' names them", name);
}

static enum bw_status study_condition(struct study *study, const char *condition,
                                      struct bw_diag *diag) {
  struct bw_case *loaded = NULL;
  const struct bw_blend_strategy *strategy = NULL;
  BW_TRY(load(study, condition, &loaded, diag));
  enum bw_status status = choose_strategy(study, loaded, &strategy, diag);
  const char *choices = bw_param_find(bw_case_params(loaded), "fault.kind")->choices;
  for (size_t k = 0; k < study->kind_count && status == BW_OK; k++) {
    const size_t total = study->condition_count * study->kind_count;
    bw_progress_show(&study->progress, study->count, total, study->kind[k]);
    struct bw_fault_cell *cell = &study->cells[study->count++];
    cell->kind = study->kind[k];
    cell->condition = condition[0] != '\0' ? condition : "as given";
    loaded->fault.kind = (enum bw_fault_kind)kind_index(choices, cell->kind, NULL);
    status = bw_fault_effect_worst(loaded, strategy, study->moments, &cell->effect, diag);
  }
  bw_case_destroy(loaded);
  return status;
}

static enum bw_status prepare(struct study *study, const struct bw_blend_strategy **strategy,
                              struct bw_diag *diag) {
  struct bw_case *loaded = NULL;
  BW_TRY(read_moments(study, diag));
  BW_TRY(load(study, "", &loaded, diag));
  enum bw_status status = choose_strategy(study, loaded, strategy, diag);
  if (status == BW_OK) {
    status =
        choose_kinds(study, bw_param_find(bw_case_params(loaded), "fault.kind")->choices, diag);
  }
  if (status == BW_OK) {
    status = choose_conditions(study, loaded->fidelity == BW_FIDELITY_SLIP, diag);
  }
  if (status == BW_OK && loaded->fault.kind != BW_FAULT_NONE) {
    status = bw_fail(diag, BW_E_USAGE,
                     "the case has a fault of its own; set fault.kind to none and name it with "
                     "--fault");
  }
  bw_case_destroy(loaded);
  return status;
}

static enum bw_status study_all(struct study *study, struct bw_diag *diag) {
  const struct bw_blend_strategy *strategy = NULL;
  BW_TRY(prepare(study, &strategy, diag));
  enum bw_status status = BW_OK;
  study->progress = bw_progress_make(bw_arguments_has(study->arguments, "quiet"));
  for (size_t i = 0; i < study->condition_count && status == BW_OK; i++) {
    status = study_condition(study, study->conditions[i], diag);
  }
  bw_progress_clear(&study->progress);
  BW_TRY(status);
  bw_fault_cells_sort(study->cells, study->count);
  const char *out = bw_arguments_value(study->arguments, "out");
  if (out != NULL) {
    BW_TRY(bw_fault_cells_write(study->cells, study->count, out, diag));
  }
  (void)printf("brakeweave " BW_VERSION ": faults of %s with %s, worst first\n\n",
               study->arguments->operands[0], strategy->name);
  status = bw_fault_cells_print(study->cells, study->count, stdout);
  (void)puts("\nEach row is the worst start found. Losses are against the sound car at the same\n"
             "moment; 'left' is the speed where the sound car came to rest; '-': not reached.\n"
             "Predictions for a hazard analysis; no rating is assigned.");
  return status == BW_E_IO ? BW_OK : status; /* main tells a failed standard output, once */
}

static int run(const struct bw_arguments *arguments) {
  struct bw_diag diag = {0};
  struct study study = {.arguments = arguments};
  const enum bw_status status = study_all(&study, &diag);
  bw_free(study.conditions);
  bw_free(study.cells);
  return bw_report_diag(&diag, status);
}

const struct bw_verb BW_VERB_FAULTS = {
    .name = "faults",
    .purpose = "Let parts fail at the worst moment of a manoeuvre and tell what it costs",
    .example = "brakeweave faults cases/stop-100.cfg --strategy series --fault machine-trip",
    .usage = "CASE [OPTIONS]",
    .details = "CASE is a case file with a manoeuvre. Every kind of fault is tried in every\n"
               "condition: the case as given, a charge of 95 %, laden and, with fidelity slip, on\n"
               "snow; --condition replaces that list. The fault's size, axle, duration and\n"
               "recovery are those of fault.* in the case. Of its start, the worst is searched:\n"
               "that with the longest way, or else with the greatest deceleration too much.",
    .options = OPTIONS,
    .option_count = sizeof OPTIONS / sizeof OPTIONS[0],
    .operand = "case file",
    .operand_count = 1,
    .run = run,
};
