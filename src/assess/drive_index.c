/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/drive_index.h"

#include "extrema.h"

#include <math.h>

/* s; far below any control period, far above the rounding of a time of hours */
static const double SAME_TIME = 1e-9;

/* straight between the points, the end held */
static double target_at(struct bw_drive_index *index, const struct bw_trace *trace, double time) {
  while (index->segment + 2 < trace->n && trace->time[index->segment + 1] <= time) {
    index->segment++;
  }
  const size_t i = index->segment;
  const double length = trace->time[i + 1] - trace->time[i];
  const double part = bw_min((time - trace->time[i]) / length, 1.0);
  return trace->value[i] + part * (trace->value[i + 1] - trace->value[i]);
}

/* inertial work of the middle one of three instants, per mass */
static double work_of(const double before[2], double after) {
  return bw_max(0.5 * (after - before[0]) * before[1], 0.0);
}

static void take(struct bw_drive_index *index, double driven, double target) {
  if (index->count >= 2) {
    index->work_driven += work_of(index->driven, driven);
    index->work_target += work_of(index->target, target);
  }
  index->squares += (driven - target) * (driven - target);
  index->driven[0] = index->driven[1];
  index->target[0] = index->target[1];
  index->driven[1] = driven;
  index->target[1] = target;
  index->count++;
}

void bw_drive_index_watch(struct bw_drive_index *index, const struct bw_trace *trace,
                          const struct bw_sample *sample) {
  const double end = sample->time + sample->duration;
  for (;;) {
    const double time = (double)index->count * BW_DRIVE_INDEX_STEP;
    /* an instant at the end of a period belongs to the next one */
    if (!(sample->duration > 0.0) || time >= end - SAME_TIME) {
      return;
    }
    const double part = bw_max((time - sample->time) / sample->duration, 0.0);
    const double driven = sample->speed_start + part * (sample->speed_end - sample->speed_start);
    take(index, driven, target_at(index, trace, time));
  }
}

double bw_drive_index_error(const struct bw_drive_index *index) {
  return index->count > 0 ? sqrt(index->squares / (double)index->count) : (double)NAN;
}

double bw_drive_index_work(const struct bw_drive_index *index) {
  return index->work_target > 0.0 ? index->work_driven / index->work_target - 1.0 : (double)NAN;
}
