/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "data_dir.h"
#include "report_diag.h"
#include "verbs.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static const struct bw_option OPTIONS[] = {
    {"svg", NULL, "figures as SVG (default)", '\0', false},
    {"png", NULL, "figures as PNG", '\0', false},
    {"pdf", NULL, "figures as PDF", '\0', false},
    {"strategy", "NAME", "only the figures of this strategy; may be given again", 't', true},
    BW_OPTION_HELP,
};

enum { PATH_LENGTH = 4096, HEADER_MAX = 16384, STRATEGIES_MAX = 512, NOT_STARTED = 127 };

/* a figure: its script, and the columns that it reads of a file */
struct figure {
  const char *name;
  bool needs_trace;    /* one per strategy that has one */
  const char *rows_of; /* file that needs a row of the strategy; NULL: none */
};

static const struct figure FIGURES[] = {
    {"energy", false, NULL},
    {"brake-torque", true, NULL},
    {"torque-over-speed", true, NULL},
    {"hand-over", true, "handovers.csv"},
    {"force-plane", true, NULL},
    {"adhesion", true, NULL},
    {"waterfall", true, "waterfall.csv"},
    {"charge-and-heat", true, NULL},
};

enum { FIGURE_COUNT = sizeof FIGURES / sizeof FIGURES[0] };

#define SUMMARY_COLUMNS                                                                            \
  "strategy,balance_slope,energy_battery_kj,energy_machine_axle_kj,energy_friction_front_kj,"      \
  "energy_friction_rear_kj,energy_recoverable_rule_kj"
#define HANDOVER_COLUMNS  "strategy,start_s,end_s,dip_peak_mps2"
#define WATERFALL_COLUMNS "strategy,speed_from_kmh,speed_to_kmh,step,energy_kj"
#define TRACE_COLUMNS                                                                              \
  "time_s,speed_kmh,deceleration_mps2,demand_nm,charge_limit_kw,soc_percent,"                      \
  "machine_torque_front_nm,friction_torque_front_nm,machine_temperature_front_c,"                  \
  "rotor_temperature_front_c,axle_load_front_n,brake_force_front_n,machine_torque_rear_nm,"        \
  "friction_torque_rear_nm,machine_temperature_rear_c,rotor_temperature_rear_c,"                   \
  "axle_load_rear_n,brake_force_rear_n"

/* what is drawn, and where to */
struct drawing {
  const char *folder;
  const char *ending; /* svg, png or pdf */
  char plots[PATH_LENGTH];
  char target[PATH_LENGTH];
  size_t count;
  char *strategy[STRATEGIES_MAX]; /* (count) owned */
};

static enum bw_status join(char path[PATH_LENGTH], const char *folder, const char *name,
                           struct bw_diag *diag) {
  const int length = snprintf(path, PATH_LENGTH, "%s/%s", folder, name);
  if (length < 0 || length >= PATH_LENGTH) {
    return bw_fail_at(diag, BW_E_USAGE, folder, 0, "path is too long; choose a shorter one");
  }
  return BW_OK;
}

/* whether the comma-separated `list` holds the `length` characters of `word` */
static bool holds(const char *list, const char *word, size_t length) {
  for (const char *at = list; at != NULL; at = strchr(at, ',')) {
    at += at[0] == ',' ? 1 : 0;
    if (strncmp(at, word, length) == 0 && (at[length] == ',' || at[length] == '\0')) {
      return true;
    }
  }
  return false;
}

static enum bw_status read_header(const char *path, char header[HEADER_MAX], struct bw_diag *diag) {
  FILE *stream = fopen(path, "rb");
  if (stream == NULL) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0,
                      errno == ENOENT || errno == ENOTDIR
                          ? "no such file; run the case again with this version and --out"
                          : "cannot be opened; check its permissions");
  }
  const bool is_read = fgets(header, HEADER_MAX, stream) != NULL;
  (void)fclose(stream);
  if (!is_read) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0, "is empty; run the case again with --out");
  }
  header[strcspn(header, "\r\n")] = '\0';
  return BW_OK;
}

static enum bw_status check_columns(const struct drawing *drawing, const char *name,
                                    const char *columns, struct bw_diag *diag) {
  char path[PATH_LENGTH];
  char header[HEADER_MAX];
  BW_TRY(join(path, drawing->folder, name, diag));
  BW_TRY(read_header(path, header, diag));
  for (const char *at = columns; at[0] != '\0';) {
    const size_t length = strcspn(at, ",");
    if (!holds(header, at, length)) {
      return bw_fail_at(diag, BW_E_INPUT, path, 1,
                        "column '%.*s' is missing; run the case again with this version",
                        (int)length, at);
    }
    at += length + (at[length] == ',' ? 1 : 0);
  }
  return BW_OK;
}

static enum bw_status check_summary(const struct drawing *drawing, struct bw_diag *diag) {
  struct stat info;
  char path[PATH_LENGTH];
  char header[HEADER_MAX];
  BW_TRY(join(path, drawing->folder, "summary.csv", diag));
  if (stat(path, &info) != 0 || !S_ISREG(info.st_mode)) {
    return bw_fail_at(
        diag, BW_E_INPUT, drawing->folder, 0,
        "is no results folder; name one that 'brakeweave run CASE --out FOLDER' made");
  }
  BW_TRY(read_header(path, header, diag));
  if (strncmp(header, "strategy,verdict,", strlen("strategy,verdict,")) != 0) {
    return bw_fail_at(diag, BW_E_INPUT, path, 1,
                      "is no summary of results; name a folder that 'brakeweave run' made");
  }
  return check_columns(drawing, "summary.csv", SUMMARY_COLUMNS, diag);
}

static int compare_names(const void *a, const void *b) {
  const char *const *first = a;
  const char *const *second = b;
  return strcmp(*first, *second);
}

static enum bw_status keep_strategy(struct drawing *drawing, const char *name, size_t length,
                                    struct bw_diag *diag) {
  if (drawing->count >= STRATEGIES_MAX) {
    return bw_fail_at(diag, BW_E_INPUT, drawing->folder, 0,
                      "more than %d traces; name some with --strategy", (int)STRATEGIES_MAX);
  }
  char *copy = bw_alloc(length + 1, 1);
  if (copy == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the names of strategies");
  }
  memcpy(copy, name, length);
  copy[length] = '\0';
  drawing->strategy[drawing->count++] = copy;
  return BW_OK;
}

/* strategies with a trace, by name */
static enum bw_status find_traces(struct drawing *drawing, struct bw_diag *diag) {
  DIR *stream = opendir(drawing->folder);
  if (stream == NULL) {
    return bw_fail_at(diag, BW_E_INPUT, drawing->folder, 0,
                      "cannot be read; check its permissions");
  }
  enum bw_status status = BW_OK;
  const struct dirent *entry = NULL;
  while (status == BW_OK && (entry = readdir(stream)) != NULL) { /* NOLINT(concurrency-mt-unsafe) */
    const char *name = entry->d_name;
    const size_t length = strlen(name);
    if (length > 10 && strncmp(name, "trace-", 6) == 0 && strcmp(name + length - 4, ".csv") == 0) {
      status = keep_strategy(drawing, name + 6, length - 10, diag);
    }
  }
  (void)closedir(stream);
  qsort(drawing->strategy, drawing->count, sizeof drawing->strategy[0], compare_names);
  return status;
}

static enum bw_status keep_named(struct drawing *drawing, const struct bw_arguments *arguments,
                                 struct bw_diag *diag) {
  for (size_t i = 0; i < arguments->setting_count; i++) {
    const struct bw_setting *setting = &arguments->settings[i];
    if (strcmp(setting->option->name, "strategy") == 0) {
      BW_TRY(keep_strategy(drawing, setting->value, strlen(setting->value), diag));
    }
  }
  return drawing->count > 0 ? BW_OK : find_traces(drawing, diag);
}

static enum bw_status check_files(struct drawing *drawing, struct bw_diag *diag) {
  BW_TRY(check_summary(drawing, diag));
  if (drawing->count == 0) {
    return BW_OK;
  }
  BW_TRY(check_columns(drawing, "handovers.csv", HANDOVER_COLUMNS, diag));
  BW_TRY(check_columns(drawing, "waterfall.csv", WATERFALL_COLUMNS, diag));
  for (size_t i = 0; i < drawing->count; i++) {
    char name[PATH_LENGTH];
    const int length = snprintf(name, sizeof name, "trace-%s.csv", drawing->strategy[i]);
    if (length >= PATH_LENGTH || strchr(drawing->strategy[i], '/') != NULL) {
      return bw_fail(diag, BW_E_USAGE, "no strategy '%s' in the results; give a name of its table",
                     drawing->strategy[i]);
    }
    BW_TRY(check_columns(drawing, name, TRACE_COLUMNS, diag));
  }
  return BW_OK;
}

/* beside the case data when installed, beside cases/ in a source tree */
static enum bw_status find_scripts(struct drawing *drawing, struct bw_diag *diag) {
  static const char *const places[] = {"plots", "../plots"};
  char data[BW_DATA_DIR_MAX];
  char style[PATH_LENGTH];
  bw_data_dir(data);
  for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
    BW_TRY(join(drawing->plots, data, places[i], diag));
    BW_TRY(join(style, drawing->plots, "style.gp", diag));
    if (access(style, R_OK) == 0) {
      return BW_OK;
    }
  }
  return bw_fail_at(diag, BW_E_INPUT, data, 0,
                    "no plots/style.gp with it; set BRAKEWEAVE_DATA to the program's data folder");
}

/* run gnuplot without a shell and without the user's settings; gives its exit status, -1 when
   it did not end by itself */
static int run_gnuplot(const char *const *words) {
  const pid_t child = fork();
  if (child == 0) {
    const int null = open("/dev/null", O_RDWR);
    if (null >= 0) {
      (void)dup2(null, STDIN_FILENO);
      (void)dup2(null, STDOUT_FILENO);
      (void)dup2(null, STDERR_FILENO);
    }
    (void)execvp("gnuplot", (char *const *)(uintptr_t)words);
    _exit(NOT_STARTED);
  }
  int state = 0;
  while (child > 0 && waitpid(child, &state, 0) < 0) {
    if (errno != EINTR) {
      return -1;
    }
  }
  return child > 0 && WIFEXITED(state) ? WEXITSTATUS(state) : -1;
}

static enum bw_status draw_figure(const struct drawing *drawing, const struct figure *figure,
                                  const char *strategy, struct bw_diag *diag) {
  char script[PATH_LENGTH];
  char name[PATH_LENGTH];
  char file[PATH_LENGTH];
  struct stat info;
  (void)snprintf(name, sizeof name, "%s.gp", figure->name);
  BW_TRY(join(script, drawing->plots, name, diag));
  (void)snprintf(name, sizeof name, "%s%s%s.%s", figure->name, strategy != NULL ? "-" : "",
                 strategy != NULL ? strategy : "", drawing->ending);
  BW_TRY(join(file, drawing->target, name, diag));
  const char *const words[] = {"gnuplot",       "-d", "-c",     script,
                               drawing->folder, file, strategy, NULL};
  (void)unlink(file);
  const int ended = run_gnuplot(words);
  if (ended == 0 && stat(file, &info) == 0 && info.st_size > 0) {
    return BW_OK;
  }
  (void)unlink(file);
  return bw_fail_at(diag, BW_E_IO, file, 0,
                    "gnuplot could not draw it; 'gnuplot -c %s' with folder, file and strategy "
                    "tells why",
                    script);
}

static enum bw_status make_target(struct drawing *drawing, struct bw_diag *diag) {
  BW_TRY(join(drawing->target, drawing->folder, "figures", diag));
  if (mkdir(drawing->target, 0777) != 0 && errno != EEXIST) {
    return bw_fail_at(diag, BW_E_IO, drawing->target, 0,
                      "cannot be made; check the permissions of the results folder");
  }
  return BW_OK;
}

/* whether `file` has a row of this strategy */
static bool has_row(const struct drawing *drawing, const char *file, const char *strategy) {
  char path[PATH_LENGTH];
  char line[HEADER_MAX];
  const size_t length = strlen(strategy);
  bool is_found = false;
  FILE *stream = join(path, drawing->folder, file, NULL) == BW_OK ? fopen(path, "rb") : NULL;
  while (stream != NULL && !is_found && fgets(line, HEADER_MAX, stream) != NULL) {
    is_found = strncmp(line, strategy, length) == 0 && line[length] == ',';
  }
  if (stream != NULL) {
    (void)fclose(stream);
  }
  return is_found;
}

/* one figure, or one for each strategy that it applies to */
static enum bw_status draw_each(const struct drawing *drawing, const struct figure *figure,
                                size_t *drawn, struct bw_diag *diag) {
  if (!figure->needs_trace) {
    (*drawn)++;
    return draw_figure(drawing, figure, NULL, diag);
  }
  for (size_t i = 0; i < drawing->count; i++) {
    if (figure->rows_of == NULL || has_row(drawing, figure->rows_of, drawing->strategy[i])) {
      BW_TRY(draw_figure(drawing, figure, drawing->strategy[i], diag));
      (*drawn)++;
    }
  }
  return BW_OK;
}

static enum bw_status draw_all(struct drawing *drawing, size_t *drawn, struct bw_diag *diag) {
  const char *const words[] = {"gnuplot", "--version", NULL};
  BW_TRY(check_files(drawing, diag));
  BW_TRY(find_scripts(drawing, diag));
  if (run_gnuplot(words) != 0) {
    return bw_fail(diag, BW_E_USAGE,
                   "figures need gnuplot, which does not run here; install it "
                   "(apt-get install gnuplot-nox), the CSV files stand");
  }
  BW_TRY(make_target(drawing, diag));
  for (size_t f = 0; f < FIGURE_COUNT; f++) {
    BW_TRY(draw_each(drawing, &FIGURES[f], drawn, diag));
  }
  return BW_OK;
}

static enum bw_status read_ending(const struct bw_arguments *arguments, const char **ending,
                                  struct bw_diag *diag) {
  static const char *const endings[] = {"svg", "png", "pdf"};
  *ending = NULL;
  for (size_t i = 0; i < sizeof endings / sizeof endings[0]; i++) {
    if (!bw_arguments_has(arguments, endings[i])) {
      continue;
    }
    if (*ending != NULL) {
      return bw_fail(diag, BW_E_USAGE, "--%s and --%s exclude each other; give one", *ending,
                     endings[i]);
    }
    *ending = endings[i];
  }
  *ending = *ending != NULL ? *ending : endings[0];
  return BW_OK;
}

static int run(const struct bw_arguments *arguments) {
  struct bw_diag diag = {0};
  size_t drawn = 0;
  struct drawing *drawing = bw_alloc(1, sizeof *drawing);
  if (drawing == NULL) {
    return bw_report_diag(&diag, BW_E_MEMORY);
  }
  drawing->folder = arguments->operands[0];
  enum bw_status status = read_ending(arguments, &drawing->ending, &diag);
  if (status == BW_OK) {
    status = keep_named(drawing, arguments, &diag);
  }
  if (status == BW_OK) {
    status = draw_all(drawing, &drawn, &diag);
  }
  if (status == BW_OK) {
    (void)printf("%zu figures in %s%s\n", drawn, drawing->target,
                 drawing->count == 0 ? "; the results hold no traces to draw more from" : "");
  }
  for (size_t i = 0; i < drawing->count; i++) {
    bw_free(drawing->strategy[i]);
  }
  bw_free(drawing);
  return bw_report_diag(&diag, status);
}

const struct bw_verb BW_VERB_PLOT = {
    .name = "plot",
    .purpose = "Draw the figures of a results folder, with gnuplot",
    .example = "brakeweave plot results --png",
    .usage = "FOLDER [OPTIONS]",
    .details = "FOLDER is what 'brakeweave run CASE --out FOLDER' made. The figures go into its\n"
               "subfolder figures/: energy by strategy, and for each strategy with a trace the\n"
               "braking torque over time and over speed, the deepest hand-over (if any), the "
               "axles' forces\n"
               "and adhesion, the energy waterfall, charge and temperatures. Files of the same\n"
               "name are replaced; draw again after another run.",
    .options = OPTIONS,
    .option_count = sizeof OPTIONS / sizeof OPTIONS[0],
    .operand = "results folder",
    .operand_count = 1,
    .run = run,
};
