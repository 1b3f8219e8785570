/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A case file; lines `--set KEY=VALUE` on top are overrides. What is refused is refused in the same
 * words by both ways of loading; what is taken, written resolved and loaded again is the same. */
#include "fuzz.h"
#include "input/case_base.h"
#include "input/param.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SETS_MAX = 32 };

/* take the overrides off the top of `text`; what is left is the case */
static const char *take_sets(char *text, struct bw_override *sets, size_t *count) {
  static const char word[] = "--set ";
  *count = 0;
  while (strncmp(text, word, strlen(word)) == 0 && *count < SETS_MAX) {
    char *end = strchr(text, '\n');
    if (end == NULL) {
      break;
    }
    *end = '\0';
    sets[(*count)++].text = text + strlen(word);
    text = end + 1;
  }
  return text;
}

static char *resolved_text(const struct bw_case *loaded, size_t *size) {
  char *text = NULL;
  FILE *stream = open_memstream(&text, size);
  FUZZ_CHECK(stream != NULL);
  FUZZ_CHECK(bw_param_write_resolved(loaded, stream));
  FUZZ_CHECK(fclose(stream) == 0);
  return text;
}

static void check_taken(const struct fuzz_folder *folder, const struct bw_case *loaded) {
  char path[FUZZ_PATH];
  size_t size = 0;
  char *text = resolved_text(loaded, &size);
  fuzz_write(folder, "resolved.cfg", text, size, path);
  struct bw_case *again = NULL;
  struct bw_diag diag = {0};
  const enum bw_status status = bw_case_load(path, "cases", NULL, 0, &again, &diag);
  if (status != BW_OK) {
    (void)fprintf(stderr, "%s\n", diag.line[0]);
  }
  FUZZ_CHECK(status == BW_OK);
  size_t other_size = 0;
  char *other = resolved_text(again, &other_size);
  /* the first line is a comment with the name of the file */
  const char *rest = strchr(text, '\n');
  const char *other_rest = strchr(other, '\n');
  FUZZ_CHECK(rest != NULL && other_rest != NULL && strcmp(rest, other_rest) == 0);
  free(other);
  free(text);
  bw_case_destroy(again);
}

/* as a sweep loads it */
static void check_base(const struct bw_case_source *source, enum bw_status wanted,
                       const struct bw_diag *wanted_diag) {
  struct bw_case_base *base = NULL;
  struct bw_case *loaded = NULL;
  struct bw_diag diag = {0};
  enum bw_status status = bw_case_base_read(source, NULL, &base, &diag);
  FUZZ_CHECK((status == BW_OK) == (base != NULL));
  if (status == BW_OK) {
    status = bw_case_derive(base, NULL, 0, &loaded, &diag);
    FUZZ_CHECK(status == wanted && diag.count == wanted_diag->count);
    FUZZ_CHECK(memcmp(diag.line, wanted_diag->line, sizeof diag.line) == 0);
  }
  fuzz_check_outcome(status, &diag);
  FUZZ_CHECK((status == BW_OK) == (wanted == BW_OK));
  bw_case_destroy(loaded);
  bw_case_base_destroy(base);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  struct fuzz_folder folder;
  char path[FUZZ_PATH];
  struct bw_override sets[SETS_MAX];
  size_t set_count = 0;
  char *text = fuzz_text(bytes, size);
  const char *body = take_sets(text, sets, &set_count);
  fuzz_folder_make(&folder);
  fuzz_write(&folder, "case.cfg", body, size - (size_t)(body - text), path);
  const struct bw_case_source source = {path, "cases", set_count, sets};
  struct bw_case *loaded = NULL;
  struct bw_diag diag = {0};
  const enum bw_status status = bw_case_load_with(&source, NULL, &loaded, &diag);
  fuzz_check_outcome(status, &diag);
  FUZZ_CHECK((status == BW_OK) == (loaded != NULL));
  check_base(&source, status, &diag);
  if (loaded != NULL) {
    check_taken(&folder, loaded);
  }
  bw_case_destroy(loaded);
  free(text);
  fuzz_folder_remove(&folder);
  return 0;
}
