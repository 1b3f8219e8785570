/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_REPORT_H
#define BW_REPORT_H

#include "output/report_table.h"
#include "status.h"

#include <stdbool.h>
#include <stdio.h>

/** What the sections of the report share: the tables of the folder, the order of the strategies,
 *  and the pieces of HTML. Everything that comes from a file is escaped here. */

enum bw_report_file {
  BW_REPORT_SUMMARY,
  BW_REPORT_HANDOVERS,
  BW_REPORT_LEDGER,
  BW_REPORT_COMFORT,
  BW_REPORT_ASSESS,
  BW_REPORT_BALANCE,
  BW_REPORT_DESCENT,
  BW_REPORT_FAULTS,
  BW_REPORT_SWEEP,
  BW_REPORT_STATISTICS,
  BW_REPORT_FIND,
  BW_REPORT_FILES
};

enum { BW_REPORT_COLUMNS = 32 };

struct bw_report {
  const char *folder;
  const char *version;
  FILE *stream;
  struct bw_report_table table[BW_REPORT_FILES]; /**< columns 0: the folder has none */
  size_t *ranked; /**< (rows of the summary) what keeps every limit first, each by energy */
};

/** How a number is shown. */
enum { BW_REPORT_DIGITS = -1 /**< five significant digits */, BW_REPORT_POWER = -2 /**< 1.2e-9 */ };

struct bw_report_column {
  const char *name;  /**< in the CSV */
  const char *title; /**< with unit; NULL: the name */
  double factor;     /**< shown over that in the CSV, such as 100 for a share in percent; 0: 1 */
  int places;        /**< behind the point, or one of the above */
};

/** A table of chosen rows and columns. */
struct bw_report_view {
  const struct bw_report_table *table;
  const char *id;      /**< of the element, unique on the page */
  const char *caption; /**< HTML */
  const struct bw_report_column *column;
  size_t columns;    /**< at most BW_REPORT_COLUMNS; those that the file lacks or
                            that are empty are left out */
  const size_t *row; /**< (rows) which ones, NULL: the first `rows` */
  size_t rows;
  const char *fold; /**< summary of a fold, closed at first, around it; NULL: none */
};

#define BW_REPORT_COUNT(array) (sizeof(array) / sizeof(array)[0])

/** Read the tables of the folder and check the columns that are shown. No table of results in it,
 *  a file or column missing: BW_E_INPUT with a line. Free with bw_report_free() in any case. */
BW_MUST_CHECK enum bw_status bw_report_read(struct bw_report *report, struct bw_diag *diag);
void bw_report_free(struct bw_report *report);

/** Whether the folder has this table. */
bool bw_report_has(const struct bw_report *report, enum bw_report_file file);

/** Name of the file, such as summary.csv. */
const char *bw_report_file_name(enum bw_report_file file);

/** Text of a cell by the column's name, "" when there is no such column. */
const char *bw_report_cell(const struct bw_report_table *table, size_t row, const char *column);

/** The same as a number; NaN when empty or no number. */
double bw_report_number(const struct bw_report_table *table, size_t row, const char *column);

/** Text for HTML, in elements and in attributes of double quotes. Control characters become '?'. */
void bw_html_put(FILE *stream, const char *text);

/** A heading of the page's sections. */
void bw_html_section(FILE *stream, const char *id, const char *title);

/** A table with caption, in a frame of its own that scrolls sideways. */
void bw_html_table(FILE *stream, const struct bw_report_view *view);

/** The first `most` rows of a table of the folder, as `view` wants them but for its table and rows;
 *  the caption goes on with how many are left out, if any are. */
void bw_report_put_first(const struct bw_report *report, enum bw_report_file file, size_t most,
                         const struct bw_report_view *view);

/** Parameters of a verb that wrote into the folder. */
struct bw_report_settings {
  const char *verb; /**< 'run', 'assess', 'faults', 'sweep' or 'sweep --find' */
  const char *name; /**< of the file */
  const char *idle; /**< key that does nothing in this verb and is not compared; NULL: none */
};

enum { BW_REPORT_SETTINGS = 5 };

/** The files of parameters that the folder holds: the first of them, and those that say something
 *  else than that one; gives their number. */
size_t bw_report_find_settings(const struct bw_report *report,
                               struct bw_report_settings found[BW_REPORT_SETTINGS]);

/** Name the keys of `settings` that differ from `reference`, the first few. */
void bw_report_put_difference(const struct bw_report *report,
                              const struct bw_report_settings *settings,
                              const struct bw_report_settings *reference);

/** Name of the case from the first file of parameters, or of the folder. */
void bw_report_put_name(const struct bw_report *report);

/** The sections; each writes nothing when the folder has nothing for it. */
void bw_report_put_subject(const struct bw_report *report);
void bw_report_put_verdict(const struct bw_report *report);
void bw_report_put_strategies(const struct bw_report *report);
void bw_report_put_handovers(const struct bw_report *report);
void bw_report_put_balance(const struct bw_report *report);
void bw_report_put_requirements(const struct bw_report *report);
void bw_report_put_descents(const struct bw_report *report);
void bw_report_put_faults(const struct bw_report *report);
void bw_report_put_sweep(const struct bw_report *report);
void bw_report_put_ledger(const struct bw_report *report);
void bw_report_put_assumptions(const struct bw_report *report);
BW_MUST_CHECK enum bw_status bw_report_put_inputs(const struct bw_report *report,
                                                  struct bw_diag *diag);
void bw_report_put_cautions(const struct bw_report *report);

/** The figures of the folder's figures/ as inline SVG, as many as fit into `room` bytes. */
BW_MUST_CHECK enum bw_status bw_report_put_figures(const struct bw_report *report, size_t room,
                                                   struct bw_diag *diag);

#endif
