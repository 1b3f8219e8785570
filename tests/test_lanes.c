/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"
#include "lanes/lanes.h"

#include <string.h>

/* Eight cars side by side give each car the bits it has alone, on every instruction set that this
 * machine knows: no sums across lanes, no fused multiply-add, and flags that hold for all lanes
 * where a car alone would have run a simpler copy of the loop. */

enum { FIRST_CAR = 237, BATCHES = 12, PERIODS = 1500 };

static void alone(uint64_t car, enum lanes_drive drive, struct lanes_result *out) {
  lanes_copy_at(0)->run(car, PERIODS, drive, out);
}

static void check_copy(const struct lanes_copy *copy, enum lanes_drive drive) {
  for (uint64_t batch = 0; batch < BATCHES; batch++) {
    const uint64_t first = FIRST_CAR + batch * LANES_MOST;
    struct lanes_result together[LANES_MOST];
    copy->run(first, PERIODS, drive, together);
    for (size_t l = 0; l < copy->lanes; l++) {
      struct lanes_result single;
      alone(first + l, drive, &single);
      for (size_t i = 0; i < LANES_FIGURES; i++) {
        /* NOLINTNEXTLINE(bugprone-suspicious-memory-comparison,cert-exp42-c,cert-flp37-c): bits */
        if (memcmp(&single.figure[i], &together[l].figure[i], sizeof(double)) != 0) {
          fail_msg("%s, car %zu, figure %zu: %.17g alone, %.17g in its lane", copy->name,
                   (size_t)first + l, i, single.figure[i], together[l].figure[i]);
        }
      }
    }
  }
}

static void every_lane_has_the_bits_of_its_car_alone(void **state) {
  (void)state;
  for (size_t i = 1; lanes_copy_at(i) != NULL; i++) {
    if (lanes_is_supported(i)) {
      check_copy(lanes_copy_at(i), LANES_WILD);
      check_copy(lanes_copy_at(i), LANES_CALM);
    }
  }
}

/* the made cars do what the copies of the loop are for */
static void the_cars_go_through_everything(void **state) {
  (void)state;
  struct lanes_result wild = {0};
  struct lanes_result calm = {0};
  for (uint64_t car = 0; car < BATCHES; car++) {
    struct lanes_result one;
    alone(FIRST_CAR + car, LANES_WILD, &one);
    for (size_t i = 0; i < LANES_FIGURES; i++) {
      wild.figure[i] += one.figure[i];
    }
    alone(FIRST_CAR + car, LANES_CALM, &one);
    for (size_t i = 0; i < LANES_FIGURES; i++) {
      calm.figure[i] += one.figure[i];
    }
  }
  assert_true(wild.figure[2] > 1e6 && wild.figure[3] > 1e6);  /* J braked and driven */
  assert_true(wild.figure[5] > 1e6 && wild.figure[12] > 1e6); /* J rubbed, front and rear */
  assert_true(calm.figure[2] > 1e5 && calm.figure[3] > 1e5);
  CHECK_CLOSE(calm.figure[5], 0.0, 0.0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_lane_has_the_bits_of_its_car_alone),
      cmocka_unit_test(the_cars_go_through_everything),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
