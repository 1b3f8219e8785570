/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SWEEP_WINDOW_H
#define BW_SWEEP_WINDOW_H

#include "batch/sweep_worker.h"

/** Where answers that come too early wait for their turn: a fixed number of places, so that memory
 *  does not grow with the number of pieces. */

struct bw_sweep_place {
  bool is_filled;
  struct bw_sweep_answer answer;
};

struct bw_sweep_window {
  const struct bw_sweep_crew *crew;
  size_t next;  /**< piece to hand out */
  size_t taken; /**< pieces before it are taken */
  size_t place_count;
  struct bw_sweep_place *place; /**< (place_count) owned */
};

/** Open it for `hands` workers at the first piece of `crew`. BW_E_MEMORY. Close it in any case. */
BW_MUST_CHECK enum bw_status bw_sweep_window_open(const struct bw_sweep_crew *crew, size_t hands,
                                                  struct bw_sweep_window *out,
                                                  struct bw_diag *diag);

/** True while there is a piece to hand out and a place for its answer; `next` says which. */
bool bw_sweep_window_has_room(const struct bw_sweep_window *window);

/** Put in the answer of piece `index`, which was handed out; takes the parcel. */
void bw_sweep_window_put(struct bw_sweep_window *window, size_t index,
                         const struct bw_sweep_answer *answer);

/** Pass what is next on to crew->take, as far as it is there. Statuses of `take`. */
BW_MUST_CHECK enum bw_status bw_sweep_window_pass(struct bw_sweep_window *window,
                                                  struct bw_diag *diag);

/** True when every piece is taken. */
bool bw_sweep_window_is_done(const struct bw_sweep_window *window);

void bw_sweep_window_close(struct bw_sweep_window *window);

#endif
