/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_CASE_LOADER_H
#define BW_CASE_LOADER_H

#include "input/case.h"
#include "input/param_values.h"
#include "input/trace_cache.h"

/** Inside of case loading: files and overrides -> values as typed -> struct bw_case -> checks.
 *  Faults are collected in `diag`; `status` keeps the first, so that all are reported. */

struct bw_case_loader {
  struct bw_case *target;
  struct bw_param_values *values;
  struct bw_diag *diag;
  enum bw_status status;
  bool is_incomplete;   /**< a file could not be read or parsed: what is missing may stand there */
  const char *path;     /**< case file */
  const char *data_dir; /**< holds cycles/ */
  struct bw_trace_cache *traces; /**< NULL: every trace is read */
};

/** Where a setting stands. */
struct bw_place {
  const char *file; /**< or '--set key' with line 0 */
  int line;
  int depth;        /**< includes above, -1 for --set */
  const char *base; /**< file whose folder relative paths belong to, NULL: current folder */
};

/** Keep the first fault. */
void bw_loader_note(struct bw_case_loader *loader, enum bw_status status);

/** Report a fault of the input at `file`:`line`. */
#define BW_LOADER_FAIL(loader, file, line, ...)                                                    \
  bw_loader_note((loader), bw_fail_at((loader)->diag, BW_E_INPUT, (file), (line), __VA_ARGS__))

/** The same at `place`, about `key`, which the message starts with unless the place names it. */
void bw_loader_fail_at(struct bw_case_loader *loader, const struct bw_place *place, const char *key,
                       const char *format, ...) BW_PRINTF(4, 5);

/** Report a fault of the input where the value of `key` stands (the case file if it is not
 *  given). The message starts with the key. */
void bw_loader_fail_key(struct bw_case_loader *loader, const char *key, const char *format, ...)
    BW_PRINTF(3, 4);

/** What `param` takes, 'a number in km/h, 4 to 60', as the end of a message. */
void bw_param_describe(const struct bw_param *param, char *text, size_t size);

/** Take a value of the given kind for row `index`, checked for type and range. */
void bw_assign_number(struct bw_case_loader *loader, size_t index, const struct bw_place *place,
                      double number);
void bw_assign_bool(struct bw_case_loader *loader, size_t index, const struct bw_place *place,
                    bool is_true);
/** A word, a free text or the path of a table. */
void bw_assign_text(struct bw_case_loader *loader, size_t index, const struct bw_place *place,
                    const char *text);
/** Takes the rows, which are freed on a fault. */
void bw_assign_rows(struct bw_case_loader *loader, size_t index, const struct bw_place *place,
                    struct bw_table_rows *rows);
/** Report that something else was wanted for row `index`; `got` says what stands there. */
void bw_assign_wrong_type(struct bw_case_loader *loader, size_t index, const struct bw_place *place,
                          const char *got);

/** Take a limit `key` (column_min or column_max) of the group accept. */
void bw_accept_take(struct bw_case_loader *loader, const struct bw_place *place, const char *key,
                    double limit);

/** Take the distribution `text` of the number key `key` of the group tolerances; 'none' takes an
 *  earlier one back. */
void bw_tolerance_take(struct bw_case_loader *loader, const struct bw_place *place, const char *key,
                       const char *text);

/** Take a strategy name, or 'all'. */
void bw_strategy_take(struct bw_case_loader *loader, const struct bw_place *place,
                      const char *name);

/** Read the case file with all it includes. */
void bw_case_read_files(struct bw_case_loader *loader);

/** An empty case that owns `values`, which it takes over (NULL: no memory for them). On error they
 *  are freed. BW_E_MEMORY; `path` is for the message. */
BW_MUST_CHECK enum bw_status bw_case_start(struct bw_param_values *values, const char *path,
                                           struct bw_case **out, struct bw_diag *diag);

/** All that follows when the last value is given: trace, fields of the target, checks. Gives the
 *  target; on error it is destroyed. */
BW_MUST_CHECK enum bw_status bw_case_complete(struct bw_case_loader *loader, struct bw_case **out);

/** Report `key` as unknown, with the nearest. */
void bw_case_refuse_key(struct bw_case_loader *loader, const struct bw_place *place,
                        const char *key);

/** Apply `count` settings in the order given. */
void bw_case_override(struct bw_case_loader *loader, const struct bw_override *overrides,
                      size_t count);

/** Check that what is required is there. */
void bw_case_require(struct bw_case_loader *loader);

/** Fill the fields of the target from the values; derived ones too. */
void bw_case_apply(struct bw_case_loader *loader);

/** Read cycle and slope. */
void bw_case_read_trace(struct bw_case_loader *loader);

/** What the fidelity `slip` derives from its parameters. */
void bw_case_resolve_slip(struct bw_case_loader *loader);

/** Rows of road.patches, checked one by one already, into the target. */
void bw_case_store_surface(struct bw_case_loader *loader, const struct bw_table_rows *rows);

/** Checks between the values of the fidelity `slip`. */
void bw_case_check_slip(struct bw_case_loader *loader);

/** Check the fault against the rest of the case. */
void bw_case_check_fault(struct bw_case_loader *loader);

/** Check sensors and messages against the rest of the case. */
void bw_case_check_signal(struct bw_case_loader *loader);

/** Read the descent of the user's own. */
void bw_case_read_descent(struct bw_case_loader *loader);

/** Check the parking brake against the rest of the case. */
void bw_case_check_park(struct bw_case_loader *loader);

/** The folder a path given for `value` starts from, with '/' at its end; "" for the current one. */
void bw_case_base_of(const struct bw_param_value *value, char base[BW_PATH_MAX]);

/** Make the path in `value` absolute, so that a resolved case can be run from anywhere. False when
 *  it cannot be resolved. */
bool bw_case_make_absolute(struct bw_case_loader *loader, struct bw_param_value *value,
                           const char *path);

/** Checks between values. */
void bw_case_cross_check(struct bw_case_loader *loader);

#endif
