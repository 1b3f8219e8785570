/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "interrupt.h"
#include "ranks.h"
#include "report_diag.h"
#include "verbs.h"

#include <errno.h>
#include <fcntl.h>
#include <gsl/gsl_errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const struct bw_verb *const VERBS[] = {
    &BW_VERB_RUN,    &BW_VERB_CHECK, &BW_VERB_LIST,   &BW_VERB_EXPLAIN, &BW_VERB_FAULTS,
    &BW_VERB_ASSESS, &BW_VERB_PLOT,  &BW_VERB_REPORT, &BW_VERB_SWEEP,   &BW_VERB_JOIN};

enum { VERB_COUNT = sizeof VERBS / sizeof VERBS[0] };

#define PURPOSE                                                                                    \
  "brakeweave compares blending strategies for the electric and friction brakes of cars"
#define USAGE   "brakeweave VERB [OPTIONS] [ARGUMENT]"
#define EXAMPLE "brakeweave run cases/hatchback-wltc.cfg"

static int print_help(void) {
  (void)printf("Example:\n  %s\n\n%s.\n\nUsage: %s\n\nVerbs:\n", EXAMPLE, PURPOSE, USAGE);
  for (size_t i = 0; i < VERB_COUNT; i++) {
    (void)printf("  %-8s %s\n", VERBS[i]->name, VERBS[i]->purpose);
  }
  (void)puts(
      "\nOptions:\n"
      "  -h, --help     print this help and exit; works behind every verb\n"
      "      --version  print the version and exit\n\n"
      "Exit status: 0 done; 1 done, but an acceptance limit failed; 2 wrong usage or bad\n"
      "input, nothing written; 3 numerical failure, or a loaded controller that failed; 4 read,\n"
      "write or memory failed; 70 a defect of the program; 130 interrupted.");
  return 0;
}

static int print_short_usage(void) {
  (void)fprintf(stderr, "%s\nusage: %s\nexample: %s\n'brakeweave --help' tells more\n", PURPOSE,
                USAGE, EXAMPLE);
  return bw_status_exit(BW_E_USAGE);
}

static int fail_unknown(const char *word) {
  const char *names[VERB_COUNT + 2];
  for (size_t i = 0; i < VERB_COUNT; i++) {
    names[i] = VERBS[i]->name;
  }
  names[VERB_COUNT] = "--help";
  names[VERB_COUNT + 1] = "--version";
  struct bw_diag diag = {0};
  const size_t count = sizeof names / sizeof names[0];
  const size_t nearest = bw_nearest(word, names, count);
  const char *kind = word[0] == '-' ? "option" : "verb";
  enum bw_status status = BW_OK;
  if (nearest < count) {
    status = bw_fail(&diag, BW_E_USAGE, "unknown %s '%s'; did you mean '%s'?", kind, word,
                     names[nearest]);
  } else {
    status = bw_fail(&diag, BW_E_USAGE, "unknown %s '%s'; 'brakeweave --help' lists the verbs",
                     kind, word);
  }
  return bw_report_diag(&diag, status);
}

static int run_verb(const struct bw_verb *verb, size_t count, char *const *words) {
  struct bw_diag diag = {0};
  struct bw_arguments arguments;
  const enum bw_status status = bw_options_parse(verb, count, words, &arguments, &diag);
  if (status != BW_OK) {
    /* one of many ranks says it; at another's failure the launcher would end that one first */
    return bw_ranks_is_first() ? bw_report_diag(&diag, status) : 0;
  }
  int exit_status = 0;
  if (bw_arguments_has(&arguments, "help")) {
    bw_options_print_help(verb, stdout);
  } else {
    exit_status = verb->run(&arguments);
  }
  bw_arguments_free(&arguments);
  return exit_status;
}

static int dispatch(size_t count, char *const *words) {
  if (count == 0) {
    return print_short_usage();
  }
  if (strcmp(words[0], "--help") == 0 || strcmp(words[0], "-h") == 0) {
    return print_help();
  }
  if (strcmp(words[0], "--version") == 0) {
    (void)puts("brakeweave " BW_VERSION);
    return 0;
  }
  for (size_t i = 0; i < VERB_COUNT; i++) {
    if (strcmp(words[0], VERBS[i]->name) == 0) {
      return run_verb(VERBS[i], count - 1, words + 1);
    }
  }
  return fail_unknown(words[0]);
}

/* a stream that the caller closed must not become the descriptor of a results file; opened the
   wrong way round, so that writing to it still fails */
static void occupy_standard_streams(void) {
  for (int stream = 0; stream <= STDERR_FILENO; stream++) {
    if (fcntl(stream, F_GETFD) == -1 && errno == EBADF) {
      (void)open("/dev/null", stream == STDIN_FILENO ? O_WRONLY : O_RDONLY);
    }
  }
}

static int close_output(int exit_status) {
  errno = 0;
  const bool is_sound = fflush(stdout) == 0 && ferror(stdout) == 0;
  const int error = errno;
  if (fclose(stdout) == 0 && is_sound) {
    return exit_status;
  }
  struct bw_diag diag = {0};
  const enum bw_status status =
      bw_fail(&diag, BW_E_IO, "cannot write to standard output (%s); what it shows is cut off",
              strerror(error != 0 ? error : EIO));
  const int failed = bw_report_diag(&diag, status);
  return exit_status > failed ? exit_status : failed;
}

int main(int argc, char **argv) {
  occupy_standard_streams();
  bw_interrupt_outlive_file_limit();
  (void)gsl_set_error_handler_off();
  const size_t count = argc > 1 ? (size_t)(argc - 1) : 0;
  return close_output(dispatch(count, argv + (argc > 0 ? 1 : 0)));
}
