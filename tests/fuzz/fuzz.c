/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include <ctype.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* libconfig 1.5 forgets a quoted text when the line it stands in is no setting */
/* NOLINTBEGIN(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp) */
/* NOLINTBEGIN(readability-identifier-naming): the sanitizer looks for this name */
const char *__lsan_default_suppressions(void);  /* NOLINT: the sanitizer's name for it */
const char *__lsan_default_suppressions(void) { /* NOLINT */
  return "leak:libconfig";
}
/* NOLINTEND(readability-identifier-naming) */
/* NOLINTEND(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp) */

_Noreturn void fuzz_failed(const char *condition, const char *file, int line) {
  (void)fprintf(stderr, "%s:%d: does not hold: %s\n", file, line, condition);
  abort();
}

void fuzz_folder_make(struct fuzz_folder *folder) {
  (void)snprintf(folder->path, sizeof folder->path, "/tmp/bw-fuzz-XXXXXX");
  FUZZ_CHECK(mkdtemp(folder->path) != NULL);
}

/* a folder of files and folders of files */
/* NOLINTNEXTLINE(misc-no-recursion): `depth` ends it */
static void remove_all(const char *path, int depth) { /* NOLINT: no deeper than `depth` */
  DIR *stream = depth > 0 ? opendir(path) : NULL;
  for (const struct dirent *entry = stream != NULL ? readdir(stream) : NULL; entry != NULL;
       entry = readdir(stream)) {
    char inner[FUZZ_PATH];
    if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0 &&
        snprintf(inner, sizeof inner, "%s/%s", path, entry->d_name) < FUZZ_PATH &&
        unlink(inner) != 0) {
      remove_all(inner, depth - 1);
    }
  }
  if (stream != NULL) {
    (void)closedir(stream);
  }
  (void)rmdir(path);
}

void fuzz_folder_remove(const struct fuzz_folder *folder) {
  remove_all(folder->path, 3);
}

void fuzz_write(const struct fuzz_folder *folder, const char *name, const void *bytes, size_t size,
                char path[FUZZ_PATH]) {
  (void)snprintf(path, FUZZ_PATH, "%s/%s", folder->path, name);
  FILE *stream = fopen(path, "wb");
  FUZZ_CHECK(stream != NULL);
  FUZZ_CHECK(fwrite(bytes, 1, size, stream) == size);
  FUZZ_CHECK(fclose(stream) == 0);
}

/* whether a section may be a file of this name */
static bool is_name(const char *name) {
  static const char figures[] = "figures/";
  const char *at = strncmp(name, figures, strlen(figures)) == 0 ? name + strlen(figures) : name;
  bool is_good = isalnum((unsigned char)*at) != 0 && strcmp(at, "figures") != 0;
  for (; *at != '\0'; at++) {
    is_good = is_good && (isalnum((unsigned char)*at) != 0 || *at == '-' || *at == '.');
  }
  return is_good;
}

/* the next line `== NAME` from `from` on, `size` when there is none */
static size_t find_section(const uint8_t *bytes, size_t size, size_t from) {
  for (size_t i = from; i + 3 < size; i++) {
    if ((i == 0 || bytes[i - 1] == '\n') && memcmp(bytes + i, "== ", 3) == 0) {
      return i;
    }
  }
  return size;
}

void fuzz_write_sections(const struct fuzz_folder *folder, const uint8_t *bytes, size_t size) {
  char path[FUZZ_PATH];
  (void)snprintf(path, sizeof path, "%s/figures", folder->path);
  (void)mkdir(path, 0777);
  for (size_t at = find_section(bytes, size, 0); at < size;) {
    const size_t next = find_section(bytes, size, at + 1);
    const uint8_t *line_end = memchr(bytes + at, '\n', next - at);
    const size_t end = line_end != NULL ? (size_t)(line_end - bytes) : next;
    char name[64];
    (void)snprintf(name, sizeof name, "%.*s", (int)(end - at < 60 ? end - at : 60) - 3,
                   (const char *)bytes + at + 3);
    if (end < next && is_name(name)) {
      fuzz_write(folder, name, bytes + end + 1, next - end - 1, path);
    }
    at = next;
  }
}

char *fuzz_text(const uint8_t *bytes, size_t size) {
  char *text = malloc(size + 1);
  FUZZ_CHECK(text != NULL);
  if (size > 0) {
    memcpy(text, bytes, size);
  }
  text[size] = '\0';
  return text;
}

void fuzz_check_outcome(enum bw_status status, const struct bw_diag *diag) {
  FUZZ_CHECK(status != BW_E_INTERNAL);
  FUZZ_CHECK((status == BW_OK) == (diag->count == 0));
  const size_t kept = diag->count < BW_DIAG_LINES ? diag->count : BW_DIAG_LINES;
  for (size_t i = 0; i < kept; i++) {
    const char *line = diag->line[i];
    FUZZ_CHECK(strlen(line) > 0 && strlen(line) < BW_DIAG_LENGTH);
    for (const char *at = line; *at != '\0'; at++) {
      FUZZ_CHECK(!iscntrl((unsigned char)*at));
    }
  }
}
