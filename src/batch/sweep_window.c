/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/sweep_window.h"

#include "alloc.h"

enum { PLACES_PER_HAND = 8 };

enum bw_status bw_sweep_window_open(const struct bw_sweep_crew *crew, size_t hands,
                                    struct bw_sweep_window *out, struct bw_diag *diag) {
  *out = (struct bw_sweep_window){.crew = crew,
                                  .next = crew->first,
                                  .taken = crew->first,
                                  .place_count = hands * PLACES_PER_HAND};
  out->place = bw_alloc(out->place_count, sizeof *out->place);
  if (out->place == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the worker processes");
  }
  return BW_OK;
}

bool bw_sweep_window_has_room(const struct bw_sweep_window *window) {
  return window->next < window->crew->end && window->next < window->taken + window->place_count;
}

void bw_sweep_window_put(struct bw_sweep_window *window, size_t index,
                         const struct bw_sweep_answer *answer) {
  struct bw_sweep_place *place = &window->place[index % window->place_count];
  BW_ASSERT(index >= window->taken && index < window->next && !place->is_filled);
  place->is_filled = true;
  place->answer = *answer;
}

enum bw_status bw_sweep_window_pass(struct bw_sweep_window *window, struct bw_diag *diag) {
  const struct bw_sweep_crew *crew = window->crew;
  enum bw_status status = BW_OK;
  while (status == BW_OK && window->taken < crew->end) {
    struct bw_sweep_place *place = &window->place[window->taken % window->place_count];
    if (!place->is_filled) {
      break;
    }
    status =
        crew->take(crew->context, window->taken,
                   place->answer.is_lost ? NULL : &place->answer.parcel, place->answer.lost, diag);
    bw_parcel_free(&place->answer.parcel);
    *place = (struct bw_sweep_place){0};
    window->taken++;
  }
  return status;
}

bool bw_sweep_window_is_done(const struct bw_sweep_window *window) {
  return window->taken >= window->crew->end;
}

void bw_sweep_window_close(struct bw_sweep_window *window) {
  for (size_t i = 0; window->place != NULL && i < window->place_count; i++) {
    bw_parcel_free(&window->place[i].answer.parcel);
  }
  bw_free(window->place);
  *window = (struct bw_sweep_window){0};
}
