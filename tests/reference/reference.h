/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_REFERENCE_H
#define BW_REFERENCE_H

#include <stddef.h>

/** Values from outside the project, and what the program makes of the same question.
 *
 *  Each group function computes its answers through the public library or the simulator and adds
 *  one row per value. The rows are the tests (one each), and the table of README.md in this
 *  folder, which is generated: `reference --table`. */

/** How the expected value is known. */
enum reference_mark {
  MARK_READ,                /**< read in the named source */
  MARK_QUOTED,              /**< read where somebody else quotes the named source */
  MARK_DERIVED,             /**< closed form derived for the check: is the code right? */
  MARK_FROM_MEMORY,         /**< remembered, not read: never the only evidence for anything */
  MARK_FROM_MEMORY_DERIVED, /**< exact arithmetic on remembered or quoted coefficients */
  MARK_PRACTICE             /**< common practice, no source */
};

/** What is the same for several rows. Texts are string literals. */
struct reference_origin {
  const char *source;
  enum reference_mark mark;
};

struct reference_value {
  const char *id;   /**< number in the project's list of checks, or a short name */
  char what[128];   /**< the question, with its own numbers */
  const char *unit; /**< of both values */
  struct reference_origin origin;
  double expected;
  double ours;
  double tolerance; /**< absolute, in the unit: half a printed digit, or the reason in `why` */
  const char *why;  /**< why ours may differ by more than rounding; NULL: it may not */
};

struct reference_list {
  size_t n;
  size_t room;
  struct reference_value *values;
};

/** What one row compares. */
struct reference_pair {
  double expected;
  double ours;
  double tolerance;
};

/** Append a row; the text of the question is made from `format`. Ends the program without
 *  memory. */
void reference_add(struct reference_list *list, const char *id, const char *unit,
                   struct reference_origin origin, struct reference_pair pair, const char *format,
                   ...) __attribute__((format(printf, 6, 7)));

/** Explain why the last added row may stand off by more than rounding. */
void reference_explain(struct reference_list *list, const char *why);

/** Groups, in the order of the table; each adds its rows. */
void reference_kinematics(struct reference_list *list);
void reference_stops(struct reference_list *list);
void reference_cycles(struct reference_list *list);
void reference_cycle_shares(struct reference_list *list);
void reference_balance(struct reference_list *list);
void reference_tyres(struct reference_list *list);
void reference_friction(struct reference_list *list);
void reference_handover(struct reference_list *list);
void reference_driveline(struct reference_list *list);
void reference_battery(struct reference_list *list);
void reference_descent(struct reference_list *list);
void reference_rules(struct reference_list *list);
void reference_orders(struct reference_list *list);
void reference_solvers(struct reference_list *list);

#endif
