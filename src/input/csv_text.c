/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/csv_text.h"

#include "alloc.h"

#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

enum { SIZE_MAX_MIB = 256 /**< largest file read, far above any cycle or table */ };

/** Why a system call failed, without strerror()'s shared buffer. */
static enum bw_status fail_system(const char *path, struct bw_diag *diag, int error) {
  if (error == ENOENT || error == ENOTDIR) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0, "no such file; check the path");
  }
  char reason[128] = "unknown reason";
  (void)strerror_r(error, reason, sizeof reason);
  return bw_fail_at(diag, BW_E_IO, path, 0, "cannot be read (%s); check the file", reason);
}

static enum bw_status judge_file(const char *path, const struct stat *info, struct bw_diag *diag) {
  if (S_ISDIR(info->st_mode)) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0, "is a folder; name a CSV file in it");
  }
  if (!S_ISREG(info->st_mode)) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0, "is no ordinary file; name a CSV file");
  }
  if (info->st_size == 0) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0,
                      "is empty; it needs a header line and rows of numbers");
  }
  if (info->st_size > (off_t)SIZE_MAX_MIB * 1024 * 1024) {
    return bw_fail_at(diag, BW_E_INPUT, path, 0, "is larger than %d MiB; give a shorter file",
                      (int)SIZE_MAX_MIB);
  }
  return BW_OK;
}

/** Whole content of an open regular file of `size` bytes. */
static enum bw_status read_content(FILE *stream, const char *path, size_t size,
                                   struct bw_csv_text *out, struct bw_diag *diag) {
  out->memory = bw_alloc(size, 1);
  if (out->memory == NULL) {
    return bw_fail_at(diag, BW_E_MEMORY, path, 0, "no memory for its %zu bytes", size);
  }
  errno = 0;
  out->length = fread(out->memory, 1, size, stream);
  const int error = errno;
  if (ferror(stream) != 0) {
    return fail_system(path, diag, error);
  }
  return BW_OK;
}

static bool is_line_end(const char *text, size_t length, size_t at) {
  return text[at] == '\n' || (text[at] == '\r' && (at + 1 == length || text[at + 1] == '\n'));
}

/** Refuse bytes that no CSV holds, at the first one. */
static enum bw_status check_bytes(const char *path, const struct bw_csv_text *text,
                                  struct bw_diag *diag) {
  int line = 1;
  size_t line_start = 0;
  for (size_t i = 0; i < text->length; i++) {
    const unsigned char byte = (unsigned char)text->start[i];
    if ((byte < 0x20 && byte != '\t' && !is_line_end(text->start, text->length, i)) ||
        byte == 0x7f) {
      return bw_fail_at(diag, BW_E_INPUT, path, line,
                        "byte 0x%02x at column %zu is no text; save the file as plain CSV text "
                        "(UTF-8, lines ending in LF or CRLF)",
                        (unsigned)byte, i - line_start + 1);
    }
    if (byte == '\n') {
      line++;
      line_start = i + 1;
    }
  }
  return BW_OK;
}

enum bw_status bw_csv_text_read(const char *path, struct bw_csv_text *out, struct bw_diag *diag) {
  static const char utf8_mark[] = "\xef\xbb\xbf";
  memset(out, 0, sizeof *out);
  struct stat info;
  if (stat(path, &info) != 0) {
    return fail_system(path, diag, errno);
  }
  BW_TRY(judge_file(path, &info, diag));
  FILE *stream = fopen(path, "rb");
  if (stream == NULL) {
    return fail_system(path, diag, errno);
  }
  enum bw_status status = read_content(stream, path, (size_t)info.st_size, out, diag);
  (void)fclose(stream);
  if (status == BW_OK) {
    const size_t mark = out->length >= 3 && memcmp(out->memory, utf8_mark, 3) == 0 ? 3 : 0;
    out->start = out->memory + mark;
    out->length -= mark;
    status = check_bytes(path, out, diag);
  }
  if (status != BW_OK) {
    bw_csv_text_free(out);
  }
  return status;
}

void bw_csv_text_free(struct bw_csv_text *text) {
  bw_free(text->memory);
  memset(text, 0, sizeof *text);
}
