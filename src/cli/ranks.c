/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "ranks.h"

#include "rank_hands.h"
#include "run_watch.h"

#include <mpi.h>
#include <poll.h>
#include <stdlib.h>

enum {
  TAG_PIECE = 1, /* rank 0 to others: an index */
  TAG_ANSWER,    /* back: struct answer_head and bytes */
  TAG_FAILED,    /* back: no memory */
  TAG_END,       /* rank 0 to others: no more */
  TAG_ENDED      /* back: the last message */
};

enum {
  POLL_MS = 1,      /* MPI cannot be waited for together with the workers' lines */
  TICK_EVERY = 100, /* rounds of POLL_MS */
  ANSWER_MAX = 1 << 28
};

/* s that ranks get to end; when an interrupt has come some may be dead */
#define GRACE         30.0
#define GRACE_HURRIED 0.5

struct answer_head {
  uint64_t index;
  uint64_t is_lost;
};

/* what a rank has to do and what is known of its hands */
struct rank {
  size_t hands;  /* workers */
  size_t pieces; /* handed out and not answered */
  bool has_ended;
};

struct bw_ranks {
  struct bw_rank_hands hands;
  int own; /* this rank */
  int count;
  bool is_over;      /* rank 0 has said that it ends */
  bool is_hurried;   /* an interrupt has come */
  bool is_broken;    /* some rank did not answer */
  struct rank *rank; /* (count) rank 0 only */
};

/* every rank tells how it came so far: its status, what its inputs sum up to, its hands */
enum { REPORT_WORDS = 3 };

/* `reports` is (ranks x REPORT_WORDS) */
static enum bw_status compare(struct bw_ranks *ranks, const uint64_t *reports,
                              struct bw_diag *diag) {
  for (int i = 0; i < ranks->count; i++) {
    const enum bw_status status = (enum bw_status)reports[REPORT_WORDS * (size_t)i];
    if (status != BW_OK && i != ranks->own && diag != NULL) {
      diag->count = 0;
    }
    if (status != BW_OK) {
      return status;
    }
  }
  for (int i = 1; i < ranks->count; i++) {
    if (reports[REPORT_WORDS * (size_t)i + 1] != reports[1]) {
      const enum bw_status status =
          bw_fail(diag, BW_E_INPUT,
                  "rank %d reads other inputs than rank 0; give every machine the same program, "
                  "case and tables, and every rank the same options and --part",
                  i);
      if (ranks->own != 0 && diag != NULL) {
        diag->count = 0;
      }
      return status;
    }
  }
  return BW_OK;
}

static enum bw_status gather(struct bw_ranks *ranks, uint64_t inputs, size_t hands,
                             enum bw_status own, struct bw_diag *diag) {
  const uint64_t report[REPORT_WORDS] = {(uint64_t)own, inputs, hands};
  uint64_t *reports = bw_alloc(REPORT_WORDS * (size_t)ranks->count, sizeof *reports);
  ranks->rank = bw_alloc((size_t)ranks->count, sizeof *ranks->rank);
  if (reports == NULL || ranks->rank == NULL) {
    (void)MPI_Abort(MPI_COMM_WORLD, bw_status_exit(BW_E_MEMORY));
    return BW_E_MEMORY;
  }
  (void)MPI_Allgather(report, REPORT_WORDS, MPI_UINT64_T, reports, REPORT_WORDS, MPI_UINT64_T,
                      MPI_COMM_WORLD);
  const enum bw_status status = compare(ranks, reports, diag);
  for (int i = 0; i < ranks->count; i++) {
    ranks->rank[i].hands = (size_t)reports[REPORT_WORDS * (size_t)i + 2];
  }
  bw_free(reports);
  return status;
}

static void free_ranks(struct bw_ranks *ranks) {
  bw_rank_hands_close(&ranks->hands);
  bw_free(ranks->rank);
  bw_free(ranks);
}

enum bw_status bw_ranks_start(const struct bw_sweep_crew *crew, uint64_t inputs, enum bw_status own,
                              struct bw_ranks **out, struct bw_diag *diag) {
  *out = NULL;
  struct bw_ranks *ranks = bw_alloc(1, sizeof *ranks);
  if (ranks == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the ranks");
  }
  const enum bw_status made = own != BW_OK ? own : bw_rank_hands_open(crew, &ranks->hands, diag);
  /* a single thread talks to MPI; its own threads never reach us */
  if (MPI_Init(NULL, NULL) != MPI_SUCCESS) {
    free_ranks(ranks);
    return bw_fail(diag, BW_E_IO, "cannot start MPI; check how the ranks are launched");
  }
  (void)MPI_Comm_rank(MPI_COMM_WORLD, &ranks->own);
  (void)MPI_Comm_size(MPI_COMM_WORLD, &ranks->count);
  const enum bw_status status = gather(ranks, inputs, crew->workers, made, diag);
  if (status != BW_OK) {
    (void)MPI_Finalize();
    free_ranks(ranks);
    return status;
  }
  *out = ranks;
  return BW_OK;
}

/* ------------------------------------------------------------------ other ranks */

static bool probe(int *source, int *tag, int *size) {
  int is_there = 0;
  MPI_Status info;
  (void)MPI_Iprobe(MPI_ANY_SOURCE, MPI_ANY_TAG, MPI_COMM_WORLD, &is_there, &info);
  if (is_there == 0) {
    return false;
  }
  *source = info.MPI_SOURCE;
  *tag = info.MPI_TAG;
  (void)MPI_Get_count(&info, MPI_BYTE, size);
  return true;
}

static bool listen_to_first(struct bw_ranks *ranks) {
  int source = 0;
  int tag = 0;
  int size = 0;
  if (!probe(&source, &tag, &size)) {
    return false;
  }
  uint64_t index = 0;
  (void)MPI_Recv(&index, (int)sizeof index, MPI_BYTE, source, tag, MPI_COMM_WORLD,
                 MPI_STATUS_IGNORE);
  if (tag == TAG_END) {
    ranks->is_over = true;
  } else {
    bw_rank_hands_queue(&ranks->hands, index);
  }
  return true;
}

static enum bw_status answer_first(struct bw_sweep_worker *worker, struct bw_diag *diag) {
  struct bw_sweep_answer answer = {0};
  const size_t index = worker->index;
  BW_TRY(bw_rank_hands_take(worker, &answer, diag));
  const struct answer_head head = {index, answer.is_lost ? 1 : 0};
  struct bw_parcel message = {0};
  bw_parcel_put(&message, &head, sizeof head);
  if (answer.is_lost) {
    bw_parcel_put(&message, answer.lost, sizeof answer.lost);
  } else {
    bw_parcel_put(&message, answer.parcel.bytes, answer.parcel.size);
  }
  bw_parcel_free(&answer.parcel);
  if (message.has_failed || message.size > ANSWER_MAX) {
    bw_parcel_free(&message);
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the results of a worker process");
  }
  (void)MPI_Send(message.bytes, (int)message.size, MPI_BYTE, 0, TAG_ANSWER, MPI_COMM_WORLD);
  bw_parcel_free(&message);
  return BW_OK;
}

enum bw_status bw_ranks_serve(struct bw_ranks *ranks, struct bw_diag *diag) {
  enum bw_status status = BW_OK;
  bool was_idle = true;
  while (!ranks->is_over) {
    struct bw_sweep_worker *ready =
        status == BW_OK ? bw_rank_hands_await(&ranks->hands, was_idle ? POLL_MS : 0) : NULL;
    was_idle = !listen_to_first(ranks) && ready == NULL;
    if (ready != NULL) {
      status = answer_first(ready, diag);
      if (status != BW_OK) {
        (void)MPI_Send(NULL, 0, MPI_BYTE, 0, TAG_FAILED, MPI_COMM_WORLD);
      }
    }
    if (status == BW_OK) {
      bw_rank_hands_begin(&ranks->hands);
    }
  }
  return status;
}

/* ------------------------------------------------------------------ rank 0 */

static void hand_one(struct bw_ranks *ranks, int to, uint64_t index) {
  ranks->rank[to].pieces++;
  if (to == ranks->own) {
    bw_rank_hands_queue(&ranks->hands, index);
  } else {
    (void)MPI_Send(&index, (int)sizeof index, MPI_BYTE, to, TAG_PIECE, MPI_COMM_WORLD);
  }
}

static void hand_out(struct bw_ranks *ranks, struct bw_sweep_window *window) {
  for (size_t round = 1; round <= BW_PIECES_PER_HAND; round++) {
    for (int i = 0; i < ranks->count; i++) {
      const struct rank *rank = &ranks->rank[i];
      while (rank->pieces < round * rank->hands && bw_sweep_window_has_room(window)) {
        hand_one(ranks, i, window->next++);
      }
    }
  }
}

/* an answer as it came over MPI */
static enum bw_status unpack(struct bw_parcel *message, struct bw_sweep_window *window) {
  struct answer_head head;
  struct bw_sweep_answer answer = {0};
  bw_parcel_get(message, &head, sizeof head);
  answer.is_lost = head.is_lost != 0;
  if (answer.is_lost) {
    bw_parcel_get(message, answer.lost, sizeof answer.lost);
    bw_parcel_free(message);
  } else {
    answer.parcel = *message;
  }
  bw_sweep_window_put(window, (size_t)head.index, &answer);
  return BW_OK;
}

/* one message of another rank, if there is one; without a window it is thrown away */
static enum bw_status listen_to_others(struct bw_ranks *ranks, struct bw_sweep_window *window,
                                       bool *has_heard, struct bw_diag *diag) {
  int source = 0;
  int tag = 0;
  int size = 0;
  *has_heard = probe(&source, &tag, &size);
  if (!*has_heard) {
    return BW_OK;
  }
  struct bw_parcel message = {.bytes = bw_alloc((size_t)size + 1, 1)};
  if (message.bytes == NULL) {
    ranks->is_broken = true;
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the results of rank %d", source);
  }
  message.room = (size_t)size + 1;
  message.size = (size_t)size;
  (void)MPI_Recv(message.bytes, size, MPI_BYTE, source, tag, MPI_COMM_WORLD, MPI_STATUS_IGNORE);
  if (tag == TAG_ANSWER && window != NULL) {
    ranks->rank[source].pieces--;
    return unpack(&message, window);
  }
  bw_parcel_free(&message);
  ranks->rank[source].has_ended = ranks->rank[source].has_ended || tag == TAG_ENDED;
  if (tag == TAG_FAILED && window != NULL) {
    return bw_fail(diag, BW_E_MEMORY, "rank %d ran out of memory or processes; go on with --resume",
                   source);
  }
  return BW_OK;
}

static enum bw_status work_once(struct bw_ranks *ranks, struct bw_sweep_window *window,
                                bool *was_idle, struct bw_diag *diag) {
  bool has_heard = false;
  hand_out(ranks, window);
  bw_rank_hands_begin(&ranks->hands);
  struct bw_sweep_worker *ready = bw_rank_hands_await(&ranks->hands, *was_idle ? POLL_MS : 0);
  if (ready != NULL) {
    struct bw_sweep_answer answer = {0};
    const size_t index = ready->index;
    BW_TRY(bw_rank_hands_take(ready, &answer, diag));
    ranks->rank[ranks->own].pieces--;
    bw_sweep_window_put(window, index, &answer);
  }
  BW_TRY(listen_to_others(ranks, window, &has_heard, diag));
  *was_idle = ready == NULL && !has_heard;
  return bw_sweep_window_pass(window, diag);
}

enum bw_status bw_ranks_run(struct bw_ranks *ranks, const struct bw_sweep_crew *crew,
                            struct bw_diag *diag) {
  struct bw_sweep_window window;
  size_t hands = 0;
  for (int i = 0; i < ranks->count; i++) {
    hands += ranks->rank[i].hands;
  }
  enum bw_status status = bw_sweep_window_open(crew, hands, &window, diag);
  bool was_idle = false;
  for (size_t round = 0; status == BW_OK && !bw_sweep_window_is_done(&window); round++) {
    if (crew->is_cancelled != NULL && crew->is_cancelled()) {
      ranks->is_hurried = true;
      status = BW_E_INTERRUPTED;
      break;
    }
    if (crew->tick != NULL && round % TICK_EVERY == 0) {
      crew->tick(crew->context);
    }
    status = work_once(ranks, &window, &was_idle, diag);
  }
  bw_sweep_window_close(&window);
  return status;
}

/* ------------------------------------------------------------------ the end */

static bool have_all_ended(const struct bw_ranks *ranks) {
  for (int i = 1; i < ranks->count; i++) {
    if (!ranks->rank[i].has_ended) {
      return false;
    }
  }
  return true;
}

/* tell the others, throw away what they still send */
static void dismiss(struct bw_ranks *ranks) {
  const uint64_t none = 0;
  for (int i = 1; i < ranks->count; i++) {
    (void)MPI_Send(&none, (int)sizeof none, MPI_BYTE, i, TAG_END, MPI_COMM_WORLD);
  }
  const double due = bw_clock_seconds() + (ranks->is_hurried ? GRACE_HURRIED : GRACE);
  while (!have_all_ended(ranks)) {
    bool has_heard = false;
    (void)listen_to_others(ranks, NULL, &has_heard, NULL);
    if (!has_heard) {
      (void)poll(NULL, 0, POLL_MS);
    }
    if (ranks->is_broken || bw_clock_seconds() > due) {
      ranks->is_broken = true;
      return;
    }
  }
}

void bw_ranks_end(struct bw_ranks *ranks) {
  if (ranks == NULL) {
    return;
  }
  if (ranks->own == 0) {
    dismiss(ranks);
  } else {
    (void)MPI_Send(NULL, 0, MPI_BYTE, 0, TAG_ENDED, MPI_COMM_WORLD);
  }
  /* with a dead rank the end of MPI would be waited for in vain; the launcher clears up */
  if (!ranks->is_broken) {
    (void)MPI_Finalize();
  }
  free_ranks(ranks);
}
