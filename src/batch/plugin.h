/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_PLUGIN_H
#define BW_PLUGIN_H

#include "batch/parcel.h"
#include "sim/run.h"

/** Controllers loaded from shared objects at run time.
 *
 *  The object exports `const struct bw_blend_strategy bw_blend_export` (blend.h). Its code never
 *  runs in this process: it is opened in a child that copies its name and parameter table, and
 *  once more in a fresh child for each run. Static variables of a controller are therefore new in
 *  every run, and whatever it does wrong ends its own child and nothing else. */
struct bw_plugin;

/** How long a child may take, and who may call it back. */
struct bw_containment {
  double deadline;            /**< s of wall time, > 0 */
  bool (*is_cancelled)(void); /**< NULL: never */
};

/** Open the shared object `path`, check its contract and copy its table. BW_E_INPUT with a message
 *  that names the path: no ELF file, no symbol, another contract version, a broken table, a crash
 *  while it was opened. On error *out is NULL. */
BW_MUST_CHECK enum bw_status bw_plugin_load(const char *path,
                                            const struct bw_containment *containment,
                                            struct bw_plugin **out, struct bw_diag *diag);

/** Forget it; NULL is fine. No case that was loaded with its strategy may be left. */
void bw_plugin_unload(struct bw_plugin *plugin);

/** Its table as a strategy: name, summary, parameters, flags. Its `step` answers nothing, so it
 *  cannot be run by bw_run() in this process by mistake. Lives as long as the plugin. */
const struct bw_blend_strategy *bw_plugin_strategy(const struct bw_plugin *plugin);

/** The path it was loaded from. */
const char *bw_plugin_path(const struct bw_plugin *plugin);

/** What to do with the controller in the child. `live` is its strategy, real functions included;
 *  `guard` must be among the observers of the run that `work` makes: it notes the last inputs and
 *  refuses torques that are no numbers or beyond BW_TORQUE_BEYOND_REASON. What is put into the
 *  parcel comes back. */
struct bw_plugin_job {
  enum bw_status (*work)(void *context, const struct bw_blend_strategy *live,
                         const struct bw_observer *guard, struct bw_parcel *parcel,
                         struct bw_diag *diag);
  void *context;
};

/** N m at an axle; whoever asks for more has a defect, not a wish: the plant's clipping of it would
 *  hide that. */
#define BW_TORQUE_BEYOND_REASON 1e6

/** Do `job` in a child. Statuses of `work`, with its messages, and BW_E_NUMERIC with one message
 *  when the controller crashed, was late, ended the process or gave an impossible torque: what, at
 *  which simulated time, last inputs; BW_E_INTERRUPTED when cancelled; BW_E_MEMORY. *parcel (start
 *  from {0}) holds what `work` put in; caller frees it. */
BW_MUST_CHECK enum bw_status bw_plugin_run(const struct bw_plugin *plugin,
                                           const struct bw_containment *containment,
                                           const struct bw_plugin_job *job,
                                           struct bw_parcel *parcel, struct bw_diag *diag);

#endif
