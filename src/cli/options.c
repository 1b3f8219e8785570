/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "options.h"

#include <string.h>

enum { OPTIONS_MAX = 32 };

/* where the parser stands */
struct parser {
  const struct bw_verb *verb;
  size_t count;
  char *const *words;
  size_t at;
  struct bw_arguments *out;
  struct bw_diag *diag;
};

static const struct bw_option *find_long(const struct bw_verb *verb, const char *name,
                                         size_t length) {
  for (size_t i = 0; i < verb->option_count; i++) {
    if (strlen(verb->options[i].name) == length &&
        strncmp(verb->options[i].name, name, length) == 0) {
      return &verb->options[i];
    }
  }
  return NULL;
}

static const struct bw_option *find_short(const struct bw_verb *verb, const char *word) {
  for (size_t i = 0; i < verb->option_count && word[2] == '\0'; i++) {
    if (verb->options[i].letter == word[1]) {
      return &verb->options[i];
    }
  }
  return NULL;
}

static enum bw_status fail_unknown(const struct parser *parser, const char *word, size_t length) {
  const char *names[OPTIONS_MAX];
  char bare[128];
  const size_t dashes = strspn(word, "-");
  (void)snprintf(bare, sizeof bare, "%.*s", (int)(length - dashes), word + dashes);
  for (size_t i = 0; i < parser->verb->option_count; i++) {
    names[i] = parser->verb->options[i].name;
  }
  const size_t nearest = bw_nearest(bare, names, parser->verb->option_count);
  if (nearest < parser->verb->option_count) {
    return bw_fail(parser->diag, BW_E_USAGE, "unknown option '%.*s'; did you mean '--%s'?",
                   (int)length, word, names[nearest]);
  }
  return bw_fail(parser->diag, BW_E_USAGE,
                 "unknown option '%.*s'; 'brakeweave %s --help' lists the options", (int)length,
                 word, parser->verb->name);
}

/* the value of an option that wants one: behind '=', or the next word */
static enum bw_status take_value(struct parser *parser, const struct bw_option *option,
                                 const char *attached, const char **value) {
  if (option->argument == NULL) {
    *value = "";
    return attached == NULL ? BW_OK
                            : bw_fail(parser->diag, BW_E_USAGE,
                                      "option '--%s' takes no value, got '%s'; leave it out",
                                      option->name, attached);
  }
  if (attached != NULL) {
    *value = attached;
    return BW_OK;
  }
  const char *next = parser->at + 1 < parser->count ? parser->words[parser->at + 1] : NULL;
  if (next == NULL || strncmp(next, "--", 2) == 0) {
    return bw_fail(parser->diag, BW_E_USAGE,
                   "option '--%s' needs a value; write --%s %s, or --%s=%s if it starts with '--'",
                   option->name, option->name, option->argument, option->name, option->argument);
  }
  parser->at++;
  *value = next;
  return BW_OK;
}

static enum bw_status take_option(struct parser *parser) {
  const char *word = parser->words[parser->at];
  const bool is_long = word[1] == '-';
  const size_t length = is_long ? strcspn(word, "=") : strlen(word);
  const struct bw_option *option =
      is_long ? find_long(parser->verb, word + 2, length - 2) : find_short(parser->verb, word);
  if (option == NULL) {
    return fail_unknown(parser, word, length);
  }
  if (!option->is_repeatable && bw_arguments_has(parser->out, option->name)) {
    return bw_fail(parser->diag, BW_E_USAGE, "option '--%s' is given twice; give it once",
                   option->name);
  }
  const char *value = NULL;
  BW_TRY(take_value(parser, option, word[length] == '=' ? word + length + 1 : NULL, &value));
  parser->out->settings[parser->out->setting_count++] = (struct bw_setting){option, value};
  return BW_OK;
}

static enum bw_status check_operands(const struct parser *parser) {
  const struct bw_verb *verb = parser->verb;
  const struct bw_arguments *out = parser->out;
  if (bw_arguments_has(out, "help") || out->operand_count == verb->operand_count ||
      (verb->takes_more && out->operand_count > verb->operand_count)) {
    return BW_OK;
  }
  if (out->operand_count < verb->operand_count) {
    return bw_fail(parser->diag, BW_E_USAGE, "no %s given; for instance: %s", verb->operand,
                   verb->example);
  }
  return bw_fail(parser->diag, BW_E_USAGE, "superfluous word '%s'; 'brakeweave %s' takes one %s",
                 out->operands[verb->operand_count], verb->name, verb->operand);
}

static enum bw_status parse_words(struct parser *parser) {
  bool are_options_over = false;
  enum bw_status status = BW_OK;
  for (; parser->at < parser->count && status == BW_OK; parser->at++) {
    const char *word = parser->words[parser->at];
    if (!are_options_over && strcmp(word, "--") == 0) {
      are_options_over = true;
    } else if (!are_options_over && word[0] == '-' && word[1] != '\0') {
      status = take_option(parser);
    } else {
      parser->out->operands[parser->out->operand_count++] = word;
    }
  }
  return status == BW_OK ? check_operands(parser) : status;
}

enum bw_status bw_options_parse(const struct bw_verb *verb, size_t count, char *const *words,
                                struct bw_arguments *out, struct bw_diag *diag) {
  BW_ASSERT(verb->option_count <= OPTIONS_MAX);
  *out = (struct bw_arguments){.verb = verb};
  out->settings = bw_alloc(count, sizeof *out->settings);
  out->operands = bw_alloc(count, sizeof *out->operands);
  enum bw_status status = BW_OK;
  if (out->settings == NULL || out->operands == NULL) {
    status = bw_fail(diag, BW_E_MEMORY, "out of memory for the command line");
  } else {
    struct parser parser = {.verb = verb, .count = count, .words = words, .out = out, .diag = diag};
    status = parse_words(&parser);
  }
  if (status != BW_OK) {
    bw_arguments_free(out);
  }
  return status;
}

void bw_arguments_free(struct bw_arguments *arguments) {
  bw_free(arguments->settings);
  bw_free(arguments->operands);
  *arguments = (struct bw_arguments){0};
}

const char *bw_arguments_value(const struct bw_arguments *arguments, const char *name) {
  for (size_t i = arguments->setting_count; i-- > 0;) {
    if (strcmp(arguments->settings[i].option->name, name) == 0) {
      return arguments->settings[i].value;
    }
  }
  return NULL;
}

bool bw_arguments_has(const struct bw_arguments *arguments, const char *name) {
  return bw_arguments_value(arguments, name) != NULL;
}

enum bw_status bw_arguments_whole(const struct bw_arguments *arguments, const char *name,
                                  size_t min, size_t max, size_t *number, struct bw_diag *diag) {
  const char *word = bw_arguments_value(arguments, name);
  double read = 0.0;
  if (word == NULL) {
    return BW_OK;
  }
  if (!bw_number_parse(word, strlen(word), &read) || !(read >= (double)min) ||
      !(read <= (double)max) || read > (double)(size_t)read) {
    return bw_fail(diag, BW_E_USAGE,
                   "'%.60s' is no number for --%s; give a whole number, %zu to %zu", word, name,
                   min, max);
  }
  *number = (size_t)read;
  return BW_OK;
}

enum bw_status bw_arguments_overrides(const struct bw_arguments *arguments, size_t more,
                                      struct bw_override **list, size_t *count,
                                      struct bw_diag *diag) {
  *count = 0;
  *list = bw_alloc(arguments->setting_count + more + 1, sizeof **list);
  if (*list == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the settings");
  }
  for (size_t i = 0; i < arguments->setting_count; i++) {
    if (strcmp(arguments->settings[i].option->name, "set") == 0) {
      (*list)[(*count)++].text = arguments->settings[i].value;
    }
  }
  return BW_OK;
}

static void print_heading(const struct bw_verb *verb, size_t at, FILE *stream) {
  for (size_t i = 0; i < verb->group_count; i++) {
    if (strcmp(verb->groups[i].first, verb->options[at].name) == 0) {
      (void)fprintf(stream, "%s%s:\n", at > 0 ? "\n" : "", verb->groups[i].heading);
    }
  }
  if (verb->group_count == 0 && at == 0) {
    (void)fputs("Options:\n", stream);
  }
}

void bw_options_print_help(const struct bw_verb *verb, FILE *stream) {
  (void)fprintf(stream, "Example:\n  %s\n\n%s.\n\nUsage: brakeweave %s %s\n\n", verb->example,
                verb->purpose, verb->name, verb->usage);
  if (verb->details[0] != '\0') {
    (void)fprintf(stream, "%s\n\n", verb->details);
  }
  for (size_t i = 0; i < verb->option_count; i++) {
    const struct bw_option *option = &verb->options[i];
    const char letter[] = {'-', option->letter, ',', '\0'};
    char form[64];
    print_heading(verb, i, stream);
    (void)snprintf(form, sizeof form, "--%s%s%s", option->name, option->argument != NULL ? " " : "",
                   option->argument != NULL ? option->argument : "");
    (void)fprintf(stream, "  %-3s %-20s %s\n", option->letter != '\0' ? letter : "", form,
                  option->help);
  }
}
