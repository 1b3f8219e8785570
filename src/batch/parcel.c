/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/parcel.h"

#include "alloc.h"

#include <string.h>

enum { ROOM_FIRST = 4096 };

static bool make_room(struct bw_parcel *parcel, size_t size) {
  if (size <= parcel->room - parcel->size) {
    return true;
  }
  size_t room = parcel->room > 0 ? parcel->room : ROOM_FIRST;
  while (room - parcel->size < size) {
    room *= 2;
  }
  unsigned char *bytes = bw_realloc(parcel->bytes, room, 1);
  if (bytes == NULL) {
    return false;
  }
  parcel->bytes = bytes;
  parcel->room = room;
  return true;
}

void bw_parcel_put(struct bw_parcel *parcel, const void *bytes, size_t size) {
  if (size == 0 || parcel->has_failed) {
    return;
  }
  if (!make_room(parcel, size)) {
    parcel->has_failed = true;
    return;
  }
  memcpy(parcel->bytes + parcel->size, bytes, size);
  parcel->size += size;
}

void bw_parcel_get(struct bw_parcel *parcel, void *bytes, size_t size) {
  if (size == 0) {
    return;
  }
  if (parcel->has_failed || size > parcel->size - parcel->at) {
    parcel->has_failed = true;
    memset(bytes, 0, size);
    return;
  }
  memcpy(bytes, parcel->bytes + parcel->at, size);
  parcel->at += size;
}

void bw_parcel_free(struct bw_parcel *parcel) {
  bw_free(parcel->bytes);
  *parcel = (struct bw_parcel){0};
}

void bw_parcel_put_status(struct bw_parcel *parcel, enum bw_status status,
                          const struct bw_diag *diag) {
  bw_parcel_put(parcel, &status, sizeof status);
  bw_parcel_put(parcel, &diag->count, sizeof diag->count);
  for (size_t i = 0; i < diag->count && i < BW_DIAG_LINES; i++) {
    bw_parcel_put(parcel, diag->line[i], BW_DIAG_LENGTH);
  }
}

static void append(struct bw_diag *diag, const char *line) {
  if (diag == NULL) {
    return;
  }
  if (diag->count < BW_DIAG_LINES) {
    memcpy(diag->line[diag->count], line, BW_DIAG_LENGTH);
  }
  diag->count++;
}

enum bw_status bw_parcel_get_status(struct bw_parcel *parcel, struct bw_diag *diag) {
  enum bw_status status = BW_OK;
  size_t count = 0;
  bw_parcel_get(parcel, &status, sizeof status);
  bw_parcel_get(parcel, &count, sizeof count);
  for (size_t i = 0; i < count && i < BW_DIAG_LINES && !parcel->has_failed; i++) {
    char line[BW_DIAG_LENGTH];
    bw_parcel_get(parcel, line, sizeof line);
    line[BW_DIAG_LENGTH - 1] = '\0';
    append(diag, line);
  }
  return parcel->has_failed ? BW_E_INTERNAL : status;
}

/* a field that is added to struct bw_evaluation has to travel too: extend put and get below */
_Static_assert(sizeof(struct bw_evaluation) ==
                   sizeof(struct bw_summary) + sizeof(struct bw_ledger) +
                       sizeof(struct bw_waterfall) + 2 * sizeof(size_t) + 2 * sizeof(void *),
               "every field of struct bw_evaluation must go through the parcel");

void bw_parcel_put_evaluation(struct bw_parcel *parcel, const struct bw_evaluation *evaluation) {
  bw_parcel_put(parcel, &evaluation->summary, sizeof evaluation->summary);
  bw_parcel_put(parcel, &evaluation->ledger, sizeof evaluation->ledger);
  bw_parcel_put(parcel, &evaluation->waterfall, sizeof evaluation->waterfall);
  bw_parcel_put(parcel, &evaluation->event_count, sizeof evaluation->event_count);
  bw_parcel_put(parcel, evaluation->events, evaluation->event_count * sizeof *evaluation->events);
  bw_parcel_put(parcel, &evaluation->handover_count, sizeof evaluation->handover_count);
  bw_parcel_put(parcel, evaluation->handovers,
                evaluation->handover_count * sizeof *evaluation->handovers);
}

/* a list of items of `size` bytes behind its count; NULL without memory or when it is empty */
static void *get_list(struct bw_parcel *parcel, size_t size, size_t *count, bool *is_short) {
  bw_parcel_get(parcel, count, sizeof *count);
  if (*count > (parcel->size - parcel->at) / size) {
    parcel->has_failed = true;
  }
  if (parcel->has_failed || *count == 0) {
    *count = 0;
    return NULL;
  }
  void *list = bw_alloc(*count, size);
  if (list == NULL) {
    *is_short = true;
    *count = 0;
    return NULL;
  }
  bw_parcel_get(parcel, list, *count * size);
  return list;
}

enum bw_status bw_parcel_get_evaluation(struct bw_parcel *parcel, struct bw_evaluation *evaluation,
                                        struct bw_diag *diag) {
  bool is_short = false;
  *evaluation = (struct bw_evaluation){0};
  bw_parcel_get(parcel, &evaluation->summary, sizeof evaluation->summary);
  bw_parcel_get(parcel, &evaluation->ledger, sizeof evaluation->ledger);
  bw_parcel_get(parcel, &evaluation->waterfall, sizeof evaluation->waterfall);
  evaluation->events =
      get_list(parcel, sizeof *evaluation->events, &evaluation->event_count, &is_short);
  evaluation->handovers =
      get_list(parcel, sizeof *evaluation->handovers, &evaluation->handover_count, &is_short);
  if (!is_short && !parcel->has_failed) {
    return BW_OK;
  }
  bw_evaluation_free(evaluation);
  if (is_short) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the results of a child process");
  }
  return bw_fail(diag, BW_E_INTERNAL, "results of a child process came in short");
}
