/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/case_base.h"

#include "alloc.h"
#include "input/case_loader.h"
#include "input/trace_cache.h"

struct bw_case_base {
  struct bw_case target; /* what the files say that is no parameter */
  struct bw_param_values *values;
  struct bw_trace_cache traces;
  char *path;
  char *data_dir;
};

static enum bw_status make(const struct bw_case_source *source,
                           const struct bw_extra_strategies *extra, struct bw_case_base **out,
                           struct bw_diag *diag) {
  struct bw_case_base *base = bw_alloc(1, sizeof *base);
  *out = base;
  if (base != NULL) {
    base->values = bw_param_values_create(extra);
    base->path = bw_text_copy(source->path);
    base->data_dir = bw_text_copy(source->data_dir);
  }
  if (base == NULL || base->values == NULL || base->path == NULL || base->data_dir == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the case %.300s", source->path);
  }
  return BW_OK;
}

enum bw_status bw_case_base_read(const struct bw_case_source *source,
                                 const struct bw_extra_strategies *extra, struct bw_case_base **out,
                                 struct bw_diag *diag) {
  struct bw_case_base *base = NULL;
  *out = NULL;
  enum bw_status status = make(source, extra, &base, diag);
  if (status == BW_OK) {
    struct bw_case_loader loader = {.target = &base->target,
                                    .values = base->values,
                                    .diag = diag,
                                    .path = base->path,
                                    .data_dir = base->data_dir};
    bw_case_read_files(&loader);
    bw_case_override(&loader, source->overrides, source->override_count);
    status = loader.status;
  }
  if (status != BW_OK) {
    bw_case_base_destroy(base);
    return status;
  }
  *out = base;
  return BW_OK;
}

enum bw_status bw_case_derive(struct bw_case_base *base, const struct bw_override *overrides,
                              size_t count, struct bw_case **out, struct bw_diag *diag) {
  *out = NULL;
  struct bw_case *target = NULL;
  BW_TRY(bw_case_start(bw_param_values_copy(base->values), base->path, &target, diag));
  struct bw_param_values *values = target->values;
  *target = base->target;
  target->values = values;
  struct bw_case_loader loader = {.target = target,
                                  .values = values,
                                  .diag = diag,
                                  .path = base->path,
                                  .data_dir = base->data_dir,
                                  .traces = &base->traces};
  bw_case_override(&loader, overrides, count);
  return bw_case_complete(&loader, out);
}

void bw_case_base_destroy(struct bw_case_base *base) {
  if (base != NULL) {
    bw_param_values_destroy(base->values);
    bw_trace_cache_free(&base->traces);
    bw_free(base->path);
    bw_free(base->data_dir);
    bw_free(base);
  }
}
