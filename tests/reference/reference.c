/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reference.h"

#include "check.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/** Every value from outside the project as one test each, and the table of them.
 *    reference                   the tests
 *    reference --table           README.md of this folder, on standard output
 *    reference --is-current FILE whether FILE is that table */

static const struct {
  const char *title;
  void (*add)(struct reference_list *list);
} GROUPS[] = {
    {"Kinematics and energy", reference_kinematics},
    {"Stopping distances", reference_stops},
    {"Drive cycles", reference_cycles},
    {"Where braking energy lies in a cycle, and ceilings", reference_cycle_shares},
    {"Axle balance", reference_balance},
    {"Tyres", reference_tyres},
    {"Friction brakes and hydraulics", reference_friction},
    {"The hand-over", reference_handover},
    {"Machine and driveline", reference_driveline},
    {"Battery", reference_battery},
    {"Descents and standstill", reference_descent},
    {"Rules", reference_rules},
    {"How errors fall with the step", reference_orders},
    {"Other solvers", reference_solvers},
};
enum { GROUP_COUNT = sizeof GROUPS / sizeof GROUPS[0] };

/* relative; the table prints no deviation below it, because its last digits belong to compilers */
static const double DEVIATION_SHOWN = 1e-6;

static const char *mark_text(enum reference_mark mark) {
  static const char *const TEXTS[] = {
      [MARK_READ] = "read",
      [MARK_QUOTED] = "quoted",
      [MARK_DERIVED] = "derived",
      [MARK_FROM_MEMORY] = "from memory",
      [MARK_FROM_MEMORY_DERIVED] = "derived from remembered figures",
      [MARK_PRACTICE] = "common practice, no source",
  };
  return TEXTS[mark];
}

void reference_add(struct reference_list *list, const char *id, const char *unit,
                   struct reference_origin origin, struct reference_pair pair, const char *format,
                   ...) {
  if (list->n == list->room) {
    list->room = list->room > 0 ? 2 * list->room : 256;
    list->values = realloc(list->values, list->room * sizeof *list->values);
    if (list->values == NULL) {
      (void)fputs("reference: no memory\n", stderr);
      exit(EXIT_FAILURE);
    }
  }
  struct reference_value *value = &list->values[list->n++];
  *value = (struct reference_value){.id = id,
                                    .unit = unit,
                                    .origin = origin,
                                    .expected = pair.expected,
                                    .ours = pair.ours,
                                    .tolerance = pair.tolerance};
  va_list args;
  va_start(args, format);
  (void)vsnprintf(value->what, sizeof value->what, format, args);
  va_end(args);
}

void reference_explain(struct reference_list *list, const char *why) {
  list->values[list->n - 1].why = why;
}

static void value_is_met(void **state) {
  const struct reference_value *value = *state;
  if (!(fabs(value->ours - value->expected) <= value->tolerance)) {
    fail_msg("%s %s: expected %.10g +- %.2g %s (%s), ours is %.17g", value->id, value->what,
             value->expected, value->tolerance, value->unit, mark_text(value->origin.mark),
             value->ours);
  }
}

static int check_values(const struct reference_list *list) {
  struct CMUnitTest *tests = calloc(list->n, sizeof *tests);
  char(*names)[192] = calloc(list->n, sizeof *names);
  if (tests == NULL || names == NULL) {
    free(tests);
    free(names);
    return EXIT_FAILURE;
  }
  for (size_t i = 0; i < list->n; i++) {
    (void)snprintf(names[i], sizeof names[i], "%s %s", list->values[i].id, list->values[i].what);
    tests[i] = (struct CMUnitTest){
        .name = names[i], .test_func = value_is_met, .initial_state = &list->values[i]};
  }
  const int failed = _cmocka_run_group_tests("reference", tests, list->n, NULL, NULL);
  free(tests);
  free(names);
  return failed;
}

static void print_deviation(FILE *out, const struct reference_value *value) {
  const double off = value->ours - value->expected;
  const double scale = fabs(value->expected);
  if (!(scale > 0.0)) {
    (void)(fabs(off) < DEVIATION_SHOWN ? fputs("0", out) : fprintf(out, "%+.1e", off));
  } else if (fabs(off) < DEVIATION_SHOWN * scale) {
    (void)fputs("< 1e-6", out);
  } else {
    (void)fprintf(out, "%+.1e", off / scale);
  }
}

/* what is zero but for rounding has no digits worth printing */
static void print_ours(FILE *out, const struct reference_value *value) {
  if (!(fabs(value->expected) > 0.0) && fabs(value->ours) > 0.0 &&
      fabs(value->ours) < DEVIATION_SHOWN) {
    (void)fputs("< 1e-6", out);
  } else {
    (void)fprintf(out, "%.6g", value->ours);
  }
}

static void print_row(FILE *out, const struct reference_value *value) {
  (void)fprintf(out, "| %s | %s | %s | %s | %.7g %s | ", value->id, value->what,
                value->origin.source, mark_text(value->origin.mark), value->expected, value->unit);
  print_ours(out, value);
  (void)fputs(" | ", out);
  print_deviation(out, value);
  (void)fprintf(out, " | %s |\n", value->why != NULL ? value->why : "");
}

static void print_head(FILE *out, const struct reference_list *list) {
  size_t count[MARK_PRACTICE + 1] = {0};
  for (size_t i = 0; i < list->n; i++) {
    count[list->values[i].origin.mark]++;
  }
  (void)fprintf(
      out,
      "# Values from outside, and ours\n\n"
      "Generated by `build/tests/reference/reference --table`; a test fails when this page is not\n"
      "what the program prints. Each row is a test of its own: the value was published, or "
      "follows\n"
      "from a closed form without our code, and ours comes from the library or from a simulated\n"
      "run. Predictions for engineering; nothing here is a type approval.\n\n"
      "How an expected value is known: *read* in the named source; *quoted*: read where somebody\n"
      "else quotes it; *derived*: a closed form worked out for this check, which tells whether "
      "the\n"
      "code is right, not whether the model is; *from memory*: remembered and not read, and never\n"
      "the only evidence for anything. Deviation is ours less expected, over expected.\n\n"
      "%zu values:",
      list->n);
  const char *comma = " ";
  for (int mark = 0; mark <= MARK_PRACTICE; mark++) {
    if (count[mark] > 0) {
      (void)fprintf(out, "%s%zu %s", comma, count[mark], mark_text((enum reference_mark)mark));
      comma = ", ";
    }
  }
  (void)fputs(".\n", out);
}

static void print_table(FILE *out, const struct reference_list *list, const size_t *starts) {
  print_head(out, list);
  for (size_t group = 0; group < GROUP_COUNT; group++) {
    (void)fprintf(out,
                  "\n## %s\n\n| check | what | source | known | expected | ours | deviation | why "
                  "it differs |\n|---|---|---|---|---|---|---|---|\n",
                  GROUPS[group].title);
    for (size_t i = starts[group]; i < starts[group + 1]; i++) {
      print_row(out, &list->values[i]);
    }
  }
}

/* 0 when the file at `path` holds what is printed */
static int compare_table(const char *path, const struct reference_list *list,
                         const size_t *starts) {
  FILE *wanted = tmpfile();
  FILE *found = fopen(path, "r");
  bool is_same = wanted != NULL && found != NULL;
  int line = 1;
  if (is_same) {
    print_table(wanted, list, starts);
    rewind(wanted);
    int a = 0;
    int b = 0;
    do {
      a = fgetc(wanted);
      b = fgetc(found);
      line += a == '\n' && a == b ? 1 : 0;
    } while (a == b && a != EOF);
    is_same = a == b;
  }
  if (!is_same) {
    (void)fprintf(stderr, "%s:%d: is not what reference --table prints; write it anew\n", path,
                  line);
  }
  if (wanted != NULL) {
    (void)fclose(wanted);
  }
  if (found != NULL) {
    (void)fclose(found);
  }
  return is_same ? EXIT_SUCCESS : EXIT_FAILURE;
}

int main(int argc, char **argv) {
  struct reference_list list = {0};
  size_t starts[GROUP_COUNT + 1] = {0};
  for (size_t group = 0; group < GROUP_COUNT; group++) {
    GROUPS[group].add(&list);
    starts[group + 1] = list.n;
  }
  int status = EXIT_FAILURE;
  if (argc == 1) {
    status = check_values(&list);
  } else if (argc == 2 && strcmp(argv[1], "--table") == 0) {
    print_table(stdout, &list, starts);
    status = fflush(stdout) == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
  } else if (argc == 3 && strcmp(argv[1], "--is-current") == 0) {
    status = compare_table(argv[2], &list, starts);
  } else {
    (void)fputs("usage: reference [--table | --is-current FILE]\n", stderr);
  }
  free(list.values);
  return status;
}
