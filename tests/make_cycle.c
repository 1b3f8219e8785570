/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "make_cycle.h"

#include "check.h"
#include "input/catalogue.h"

/* s, km/h */
static const double ECE_15[][2] = {{0, 0},    {11, 0},   {15, 15},  {23, 15},  {25, 10},
                                   {28, 0},   {49, 0},   {54, 15},  {56, 15},  {61, 32},
                                   {85, 32},  {93, 10},  {96, 0},   {117, 0},  {122, 15},
                                   {124, 15}, {133, 35}, {135, 35}, {143, 50}, {155, 50},
                                   {163, 35}, {178, 35}, {185, 10}, {188, 0},  {195, 0}};
static const double EXTRA_URBAN[][2] = {
    {0, 0},     {20, 0},    {25, 15},  {27, 15},  {36, 35},  {38, 35},  {46, 50},   {48, 50},
    {61, 70},   {111, 70},  {119, 50}, {188, 50}, {201, 70}, {251, 70}, {286, 100}, {316, 100},
    {336, 120}, {346, 120}, {362, 80}, {370, 50}, {380, 0},  {400, 0}};
enum {
  ECE_POINTS = sizeof ECE_15 / sizeof *ECE_15,
  EXTRA_POINTS = sizeof EXTRA_URBAN / sizeof *EXTRA_URBAN,
  POINTS_MAX = 4 * ECE_POINTS + EXTRA_POINTS
};

/* points of a cycle put together from the two */
struct points {
  size_t n;
  double time[POINTS_MAX];
  double speed[POINTS_MAX];
};

const char *cycle_name(enum test_cycle cycle) {
  static const char *const names[] = {"UDDS", "HWFET", "US06", "ECE-15", "EUDC", "4 ECE-15 + EUDC"};
  return names[cycle];
}

static void append(struct points *points, const double (*part)[2], size_t n) {
  const double start = points->n > 0 ? points->time[points->n - 1] : 0.0;
  for (size_t i = points->n > 0 ? 1 : 0; i < n; i++) {
    points->time[points->n] = start + part[i][0];
    points->speed[points->n] = part[i][1] / 3.6;
    points->n++;
  }
}

void make_cycle(struct bw_case *made, enum test_cycle cycle) {
  static const char *const files[] = {"udds", "hwfet", "us06"};
  if (cycle <= CYCLE_US06) {
    char path[BW_PATH_MAX];
    struct bw_diag diag = {0};
    if (bw_cycle_path(files[cycle], "cases", ".", path, sizeof path, &diag) != BW_OK ||
        bw_trace_read(path, 0.0, &made->trace, &diag) != BW_OK) {
      fail_msg("%s", diag.line[0]);
    }
    return;
  }
  struct points points = {0};
  const int urban = cycle == CYCLE_ECE ? 1 : cycle == CYCLE_EUDC ? 0 : 4;
  for (int i = 0; i < urban; i++) {
    append(&points, ECE_15, ECE_POINTS);
  }
  if (cycle != CYCLE_ECE) {
    append(&points, EXTRA_URBAN, EXTRA_POINTS);
  }
  make_trace(made, BW_TRACE_SPEED, points.time, points.speed, points.n);
}

struct bw_case *make_cycle_case(enum test_cycle cycle) {
  struct bw_case *made = make_case();
  make_machine(made, BW_FRONT, 1e4, 1e6);
  make_cycle(made, cycle);
  return made;
}

struct bw_case *make_ceiling_case(enum test_cycle cycle, double charge_power) {
  struct bw_case *made = make_cycle_case(cycle);
  made->machine[BW_FRONT].low_speed_zero = 8.0 / 3.6;
  made->machine[BW_FRONT].low_speed_full = 8.001 / 3.6;
  if (charge_power > 0.0) {
    /* without resistance the terminals stay at 400 V */
    const double x = 0.0;
    const double current = charge_power / 400.0;
    assert_int_equal(bw_table1_make(&x, &current, 1, &made->battery.charge_continuous, NULL),
                     BW_OK);
    assert_int_equal(bw_table1_make(&x, &current, 1, &made->battery.charge_pulse, NULL), BW_OK);
  }
  return made;
}
