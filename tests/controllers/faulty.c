/* SPDX-License-Identifier: GPL-3.0-or-later */

/* A controller that goes wrong as its parameters say, to see that nothing else does. Compiled with
 * BAD_... it goes wrong before the first step already. Needs blend.h only. */

#include "blend.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
  FAULT_NONE,
  FAULT_MEMORY,
  FAULT_ABORT,
  FAULT_LOOP,
  FAULT_NAN,
  FAULT_TORQUE,
  FAULT_EXIT,
  FAULT_SILENT, /* leaves a field unset */
  FAULT_PIPE,   /* closes every file it can find */
  FAULT_PRINT,
  FAULT_COUNT
};

enum { FAULT, FROM_S, PARAM_COUNT };

static const struct bw_blend_param PARAMS[] = {
    {"fault", 0.0, FAULT_COUNT - 1, 0.0, "what goes wrong"},
    {"from_s", 0.0, 1e4, 0.0, "and from when on"},
#ifdef BAD_PARAM
    {"upside_down_s", 2.0, 1.0, 1.5, "a range with its ends swapped"},
#endif
#ifdef BAD_TWICE
    {"fault", 0.0, 1.0, 0.0, "a name that is taken"},
#endif
};

static const struct bw_blend_table_need TABLES[] = {
#ifdef BAD_COLUMNS
    {"share", "speed_kmh,,front_share", "a column without a name"},
#else
    {"share", "speed_kmh,front_share", "friction share of the front axle"},
#endif
};

#ifdef BAD_LOAD
__attribute__((constructor)) static void before_main(void) {
  abort();
}
#endif

static volatile int never;
static volatile uintptr_t nowhere = 8;

static void go_wrong(int fault, struct bw_blend_request *request) {
  switch (fault) {
  case FAULT_MEMORY:
    *(volatile int *)nowhere = 1; /* NOLINT(performance-no-int-to-ptr): meant to fail */
    break;
  case FAULT_ABORT:
    abort();
  case FAULT_LOOP:
    while (never == 0) {
    }
    break;
  case FAULT_NAN:
    request->friction[BW_REAR] = (double)NAN;
    break;
  case FAULT_TORQUE:
    request->machine[BW_FRONT] = -2.5e6;
    break;
  case FAULT_EXIT:
    exit(7);
  case FAULT_PIPE:
    for (int file = 3; file < 256; file++) {
      (void)close(file);
    }
    break;
  case FAULT_PRINT:
    (void)puts("a word from the controller");
    break;
  default:
    break;
  }
}

/* everything to the friction brakes; static memory counts the steps of all runs in this process */
static int steps;

/* the first value of the table that a case may give, else `fallback` */
static double share_of(const struct bw_blend_info *info, double fallback) {
  for (size_t i = 0; i < info->table_count; i++) {
    if (strcmp(info->tables[i].name, "faulty.share") == 0) {
      return info->tables[i].values[0];
    }
  }
  return fallback;
}

static void step(void *state, const struct bw_blend_info *info, const double *params,
                 const struct bw_blend_input *input, struct bw_blend_request *request) {
  const int fault = (int)params[FAULT];
  const int is_on = input->time >= params[FROM_S];
  const double demand = input->demand_pedal + input->demand_overrun;
  (void)state;
  steps++;
  request->machine[BW_FRONT] = request->machine[BW_REAR] = 0.0;
  request->friction[BW_FRONT] = demand * share_of(info, steps > 400 ? 0.6 : 0.7);
  if (!is_on || fault != FAULT_SILENT) {
    request->friction[BW_REAR] = demand - request->friction[BW_FRONT];
  }
  if (is_on) {
    go_wrong(fault, request);
  }
}

#ifndef BAD_SYMBOL
const struct bw_blend_strategy bw_blend_export = {
#ifdef BAD_ABI
    .abi = BW_BLEND_ABI + 41,
#else
    .abi = BW_BLEND_ABI,
#endif
#if defined BAD_FLAGS
    .flags = 64,
#elif defined BAD_POLICY
    .flags = BW_BLEND_ANTILOCK_CUT | BW_BLEND_ANTILOCK_FREEZE,
#else
    .flags = BW_BLEND_WITHOUT_MACHINE,
#endif
#if defined BAD_NAME
    .name = "Two Words",
#elif defined BAD_TAKEN
    .name = "series",
#else
    .name = "faulty",
#endif
#ifndef BAD_SUMMARY
    .summary = "goes wrong as it is told",
#endif
#ifdef BAD_POINTER
    .params = (const struct bw_blend_param *)16,
#else
    .params = PARAMS,
#endif
    .param_count = sizeof PARAMS / sizeof PARAMS[0],
#ifndef BAD_STEP
    .step = step,
#endif
    .tables = TABLES,
    .table_count = sizeof TABLES / sizeof TABLES[0],
};
#else
void (*const bw_blend_other)(void *, const struct bw_blend_info *, const double *,
                             const struct bw_blend_input *, struct bw_blend_request *) = step;
#endif
