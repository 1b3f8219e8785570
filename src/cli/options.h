/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_OPTIONS_H
#define BW_OPTIONS_H

#include "brakeweave.h"

/** The command line: one table per verb drives parser, help and messages. */

/** One option. `--name VALUE`, `--name=VALUE`, and `-l VALUE` where it has a letter. */
struct bw_option {
  const char *name;     /**< without the dashes */
  const char *argument; /**< what the value is called in the help; NULL: takes no value */
  const char *help;     /**< one line */
  char letter;          /**< short form, '\0' for none */
  bool is_repeatable;
};

/** The row of verbs that load controllers. */
#define BW_OPTION_DEADLINE                                                                         \
  {                                                                                                \
    "deadline", "SECONDS",                                                                         \
        "wall time of a run (default: none; loaded controllers: by its length)", '\0', false       \
  }

/** Every verb's last row. */
#define BW_OPTION_HELP                                                                             \
  { "help", NULL, "print this help and exit", 'h', true }

/** A heading in the help of a verb with many options. */
struct bw_option_group {
  const char *first;   /**< option that it stands over */
  const char *heading; /**< without its colon */
};

struct bw_arguments;

/** One verb. */
struct bw_verb {
  const char *name;
  const char *purpose; /**< one line */
  const char *example; /**< a command line that works */
  const char *usage;   /**< behind the verb's name */
  const char *details; /**< further lines of the help, may be empty */
  const struct bw_option *options;
  size_t option_count;
  const struct bw_option_group *groups; /**< NULL: all under one heading */
  size_t group_count;
  const char *operand;                              /**< what an operand is called, for messages */
  size_t operand_count;                             /**< operands wanted */
  bool takes_more;                                  /**< or more of them */
  int (*run)(const struct bw_arguments *arguments); /**< gives the exit status */
};

/** A value given for an option. */
struct bw_setting {
  const struct bw_option *option;
  const char *value; /**< "" for options without value */
};

/** A parsed command line. Texts are borrowed from argv; free with bw_arguments_free(). */
struct bw_arguments {
  const struct bw_verb *verb;
  size_t setting_count;
  struct bw_setting *settings; /**< (setting_count) in the order given */
  size_t operand_count;
  const char **operands; /**< (operand_count) */
};

/** Parse the `count` words behind the verb. Unknown options (nearest name given), missing or
 *  superfluous values and operands, options given twice: BW_E_USAGE. `--` ends the options, a
 *  lone `-` is an operand. With --help the number of operands is not checked. On error *out is
 *  zeroed. */
BW_MUST_CHECK enum bw_status bw_options_parse(const struct bw_verb *verb, size_t count,
                                              char *const *words, struct bw_arguments *out,
                                              struct bw_diag *diag);

void bw_arguments_free(struct bw_arguments *arguments);

/** Last value of option `name`, NULL when it was not given. */
const char *bw_arguments_value(const struct bw_arguments *arguments, const char *name);

/** True when option `name` was given. */
bool bw_arguments_has(const struct bw_arguments *arguments, const char *name);

/** The whole number from `min` to `max` that is given for option `name`; *number stays as it is
 * when none is given. BW_E_USAGE. */
BW_MUST_CHECK enum bw_status bw_arguments_whole(const struct bw_arguments *arguments,
                                                const char *name, size_t min, size_t max,
                                                size_t *number, struct bw_diag *diag);

/** The values of --set, in the order given, with room for `more` further ones; free *list with
 *  bw_free(). BW_E_MEMORY. */
BW_MUST_CHECK enum bw_status bw_arguments_overrides(const struct bw_arguments *arguments,
                                                    size_t more, struct bw_override **list,
                                                    size_t *count, struct bw_diag *diag);

/** Print a verb's help, the example first. */
void bw_options_print_help(const struct bw_verb *verb, FILE *stream);

#endif
