/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/column_store.h"

#include "alloc.h"
#include "output/path.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* rows of a chunk, in which columns lie one behind the other */
enum { CHUNK_ROWS = 128 };

struct bw_column_store {
  char path[BW_FILE_PATH_MAX];
  int file;
  size_t columns;
  size_t rows;
  double *chunk; /* (columns x CHUNK_ROWS) the last one, not yet written while it has room */
  bool has_failed;
};

static enum bw_status fail_system(const struct bw_column_store *store, struct bw_diag *diag) {
  char text[BW_REASON_MAX];
  return bw_fail_at(
      diag, BW_E_IO, store->path, 0,
      "cannot be used for the statistics (%s); mend that and do it again, a sweep with --resume",
      bw_reason(errno, text));
}

enum bw_status bw_column_store_create(const char *folder, size_t columns,
                                      struct bw_column_store **out, struct bw_diag *diag) {
  *out = NULL;
  struct bw_column_store *store = bw_alloc(1, sizeof *store);
  double *chunk = bw_alloc(columns * CHUNK_ROWS, sizeof *chunk);
  if (store == NULL || chunk == NULL) {
    bw_free(store);
    bw_free(chunk);
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the statistics");
  }
  store->columns = columns;
  store->chunk = chunk;
  (void)snprintf(store->path, sizeof store->path, "%s/sweep.columns", folder);
  store->file = open(store->path, O_RDWR | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
  if (store->file < 0 || unlink(store->path) != 0) {
    const enum bw_status status = fail_system(store, diag);
    bw_column_store_destroy(store);
    return status;
  }
  *out = store;
  return BW_OK;
}

void bw_column_store_destroy(struct bw_column_store *store) {
  if (store == NULL) {
    return;
  }
  if (store->file >= 0) {
    (void)close(store->file);
  }
  bw_free(store->chunk);
  bw_free(store);
}

void bw_column_store_clear(struct bw_column_store *store) {
  store->rows = 0;
}

static off_t offset_of(const struct bw_column_store *store, size_t row, size_t column) {
  const size_t chunk = row / CHUNK_ROWS;
  return (off_t)(((chunk * store->columns + column) * CHUNK_ROWS + row % CHUNK_ROWS) *
                 sizeof(double));
}

static bool write_chunk(const struct bw_column_store *store, size_t first_row) {
  const char *from = (const void *)store->chunk;
  size_t size = store->columns * CHUNK_ROWS * sizeof(double);
  off_t at = offset_of(store, first_row, 0);
  while (size > 0) {
    const ssize_t written = pwrite(store->file, from, size, at);
    if (written < 0 && errno == EINTR) {
      continue;
    }
    if (written <= 0) {
      return false;
    }
    from += written;
    at += written;
    size -= (size_t)written;
  }
  return true;
}

enum bw_status bw_column_store_add(struct bw_column_store *store, const double *row,
                                   struct bw_diag *diag) {
  const size_t place = store->rows % CHUNK_ROWS;
  for (size_t i = 0; i < store->columns; i++) {
    store->chunk[i * CHUNK_ROWS + place] = row[i];
  }
  store->rows++;
  errno = 0;
  if (place + 1 == CHUNK_ROWS && !write_chunk(store, store->rows - CHUNK_ROWS)) {
    return fail_system(store, diag);
  }
  return BW_OK;
}

size_t bw_column_store_rows(const struct bw_column_store *store) {
  return store->rows;
}

/* from one chunk */
static size_t read_some(struct bw_column_store *store, size_t column, size_t from, double *values,
                        size_t room) {
  const size_t place = from % CHUNK_ROWS;
  const size_t left = store->rows - from;
  size_t count = CHUNK_ROWS - place;
  count = count < left ? count : left;
  count = count < room ? count : room;
  if (from - place + CHUNK_ROWS > store->rows) {
    memcpy(values, &store->chunk[column * CHUNK_ROWS + place], count * sizeof *values);
    return count;
  }
  const size_t size = count * sizeof *values;
  ssize_t got = 0;
  do {
    got = pread(store->file, values, size, offset_of(store, from, column));
  } while (got < 0 && errno == EINTR);
  store->has_failed = store->has_failed || got != (ssize_t)size;
  return store->has_failed ? 0 : count;
}

size_t bw_column_store_read(struct bw_column_store *store, size_t column, size_t from,
                            double *values, size_t room) {
  size_t count = 0;
  while (count < room && from + count < store->rows) {
    const size_t got = read_some(store, column, from + count, values + count, room - count);
    if (got == 0) {
      return 0;
    }
    count += got;
  }
  return count;
}

enum bw_status bw_column_store_check(const struct bw_column_store *store, struct bw_diag *diag) {
  return store->has_failed ? bw_fail_at(diag, BW_E_IO, store->path, 0,
                                        "could not be read back for the statistics; check the disk "
                                        "and go on with --resume")
                           : BW_OK;
}
