/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "lanes.h"

#define DECLARE(name)                                                                              \
  void name(uint64_t first, size_t periods, enum lanes_drive drive, struct lanes_result *out)

DECLARE(lanes_run_1);
DECLARE(lanes_run_8);
#ifdef LANES_X86
DECLARE(lanes_run_8_avx2);
DECLARE(lanes_run_8_avx512);
#endif

static const struct lanes_copy COPIES[] = {
    {"one car", 1, true, lanes_run_1},
    {"8 lanes, plain", 8, true, lanes_run_8},
#ifdef LANES_X86
    {"8 lanes, AVX2", 8, false, lanes_run_8_avx2},
    {"8 lanes, AVX-512", 8, false, lanes_run_8_avx512},
#endif
};

const struct lanes_copy *lanes_copy_at(size_t i) {
  return i < sizeof COPIES / sizeof *COPIES ? &COPIES[i] : NULL;
}

bool lanes_is_supported(size_t i) {
  if (COPIES[i].is_for_all) {
    return true;
  }
#ifdef LANES_X86
  __builtin_cpu_init();
  if (i == 2) {
    return __builtin_cpu_supports("avx2") != 0;
  }
  return __builtin_cpu_supports("avx512f") != 0 && __builtin_cpu_supports("avx512vl") != 0 &&
         __builtin_cpu_supports("avx512dq") != 0;
#else
  return false;
#endif
}
