/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One copy of the hot loop; LANES_RUN, BW_LANES and the instruction set come from meson.build. The
 * loop itself is included, so that no two copies meet in the linker. */
#include "lanes.h"

#define LANES_PASTE(run, name) run##_##name
#define LANES_NAME(run, name)  LANES_PASTE(run, name)
/* the loop itself under other names */
/* NOLINTBEGIN(readability-identifier-naming,bugprone-suspicious-include) */
#define bw_hot_sort_steps LANES_NAME(LANES_RUN, sort_steps)
#define bw_hot_is_calm    LANES_NAME(LANES_RUN, is_calm)
#define bw_hot_run        LANES_NAME(LANES_RUN, hot_run)
#define bw_hot_park       LANES_NAME(LANES_RUN, hot_park)
#include "sim/hot.c"
/* NOLINTEND(readability-identifier-naming,bugprone-suspicious-include) */

#include <math.h>

static const double REACH = 0.3; /* m/s that a period can take off or give */
static const double SNAP = 1e-9; /* as in sim/plant.c */

struct cars {
  struct bw_hot_coefficients fine;
  struct bw_hot_period period;
  struct bw_hot_state state;
  struct bw_hot_sums sums;
  double delivered[LANES_SUBSTEPS][BW_LANES];
  double figure[LANES_FIGURES][BW_LANES]; /* sums over the run */
};

/* a number in low .. high that depends on its arguments only */
static double drawn(uint64_t car, uint64_t period, uint64_t what, double low, double high) {
  uint64_t x =
      car * 0x9e3779b97f4a7c15U + period * 0xd1b54a32d192ed03U + what * 0x8cb92ba72f3d8dd7U;
  x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9U;
  x = (x ^ (x >> 27)) * 0x94d049bb133111ebU;
  return low + (high - low) * (double)((x ^ (x >> 31)) >> 11) * 0x1p-53;
}

static double share_of(double dead_time, size_t k) {
  return fmin(1.0, fmax(0.0, (double)k + 1.0 - dead_time));
}

static void make_axle(uint64_t car, size_t i, size_t l, double dt, enum lanes_drive drive,
                      struct bw_hot_coefficients *c) {
  const double gain[2] = {-expm1(-dt / drawn(car, 0, 1 + i, 0.008, 0.03)),
                          -expm1(-dt / drawn(car, 0, 3 + i, 0.05, 0.12))};
  c->machine_gain[i][l] = gain[0];
  c->machine_mean[i][l] = 0.5;
  c->machine_slew[i][l] = drive == LANES_CALM ? 1e3 : 60.0;
  c->machine_room[i][l] = c->machine_slew[i][l];
  c->friction_gain[i][l] = gain[1];
  c->friction_mean[i][l] = 0.5;
  c->build[i][l] = 9e4;
  c->release[i][l] = 1.2e5;
  c->friction_room[i][l] = 9e4;
  c->threshold[i][l] = 1e5;
  c->to_shaft_brake[i][l] = 0.97 / 9.3;
  c->to_shaft_drive[i][l] = 1.0 / (0.97 * 9.3);
  for (size_t k = 0; k < LANES_SUBSTEPS; k++) {
    const double whole = drive == LANES_CALM ? 5.0 : drawn(car, 0, 5 + i, 0.0, 10.0);
    c->machine_new[i][k][l] = share_of(whole, k);
    c->friction_new[i][k][l] = share_of(drive == LANES_CALM ? 0.0 : floor(whole), k);
  }
}

static void make_car(uint64_t car, size_t l, enum lanes_drive drive, struct cars *cars) {
  struct bw_hot_coefficients *c = &cars->fine;
  const double mass = drawn(car, 0, 7, 1300.0, 2100.0);
  c->substeps = LANES_SUBSTEPS;
  c->dt = 1e-3;
  c->per_radius[l] = 1.0 / 0.31;
  c->dt_per_mass[l] = c->dt / mass;
  c->mass_per_dt[l] = mass / c->dt;
  c->per_inertia[l] = c->per_radius[l] * c->dt_per_mass[l];
  c->road_f0[l] = 110.0;
  c->road_f1[l] = 0.8;
  c->road_f2[l] = 0.42;
  c->road_d1[l] = c->road_f1[l] * c->dt_per_mass[l];
  c->road_d2[l] = c->road_f2[l] * c->dt_per_mass[l];
  c->road_now[l] = 1.5 * c->road_d2[l];
  make_axle(car, 0, l, c->dt, drive, c);
  make_axle(car, 1, l, c->dt, drive, c);
  cars->state.speed[l] = drawn(car, 0, 8, 10.0, 30.0);
  cars->state.half_before[l] = 0.5 * cars->state.speed[l];
}

/* what the driver of one car wants in one period: N m, braking positive */
static double wanted(uint64_t car, uint64_t period, enum lanes_drive drive, double speed) {
  const double keep = 200.0 * (20.0 - speed);
  const double most = drive == LANES_CALM ? 300.0 : 3000.0;
  const uint64_t spell = drive == LANES_CALM ? 400 : 60; /* periods */
  return drawn(car, period / spell, 9, -most, most) - (drive == LANES_CALM ? keep * 0.2 : keep);
}

static void set_period(uint64_t car, uint64_t at, size_t l, enum lanes_drive drive,
                       struct cars *cars) {
  struct bw_hot_period *p = &cars->period;
  const double torque = wanted(car, at, drive, cars->state.speed[l]);
  p->slope_force[l] = 0.0;
  for (size_t i = 0; i < 2; i++) {
    const double command = i == 0 ? torque : 0.0;
    const bool rubs = drive == LANES_WILD && drawn(car, at / 90, 10, 0.0, 1.0) > 0.5;
    const double pressure = rubs ? drawn(car, at / 15, 11 + i, 0.0, 4e6) : 0.0;
    const double before = at > 0 ? p->machine_old[i][l] + p->machine_step[i][l] : 0.0;
    const double rubbed = at > 0 ? p->friction_old[i][l] + p->friction_step[i][l] : 0.0;
    p->machine_old[i][l] = before;
    p->machine_step[i][l] = command - before;
    p->machine_max[i][l] = drive == LANES_CALM ? 1e5 : drawn(car, at, 13, 500.0, 4000.0);
    p->machine_min[i][l] = drive == LANES_CALM ? -1e5 : -drawn(car, at, 14, 500.0, 4000.0);
    p->friction_old[i][l] = rubbed;
    p->friction_step[i][l] = pressure - rubbed;
    p->friction_gain[i][l] = 3e-4;
    p->slip_gain[i][l] = 3e-6;
    p->slip_free[i][l] = 1e-5;
  }
}

static unsigned flags_of(const struct cars *cars) {
  unsigned flags = BW_HOT_FRONT_MACHINE;
  for (size_t l = 0; l < BW_LANES; l++) {
    flags |= cars->state.speed[l] < REACH ? BW_HOT_STANDSTILL : 0U;
    for (size_t i = 0; i < 2; i++) {
      const double pressed = cars->state.pressure[i][l] + cars->period.friction_old[i][l] +
                             fabs(cars->period.friction_step[i][l]);
      flags |= pressed > 0.0 ? BW_HOT_FRICTION : 0U;
    }
  }
  const bool is_calm = bw_hot_is_calm(&cars->fine, &cars->period, &cars->state, flags);
  return is_calm ? flags | BW_HOT_CALM : flags;
}

static void snap(struct cars *cars) {
  for (size_t i = 0; i < 2; i++) {
    for (size_t l = 0; l < BW_LANES; l++) {
      const double machine = cars->period.machine_old[i][l] + cars->period.machine_step[i][l];
      const double pressure = cars->period.friction_old[i][l] + cars->period.friction_step[i][l];
      double *torque = &cars->state.machine[i][l];
      double *now = &cars->state.pressure[i][l];
      *torque = fabs(*torque - machine) <= SNAP * 2e3 ? machine : *torque;
      *now = fabs(*now - pressure) <= SNAP * 1e7 ? pressure : *now;
    }
  }
}

static void add(struct cars *restrict cars) {
  const struct bw_hot_sums *s = &cars->sums;
  for (size_t l = 0; l < BW_LANES; l++) {
    cars->figure[0][l] += s->distance[l];
    cars->figure[1][l] += s->road[l];
    for (size_t i = 0; i < 2; i++) {
      double(*axle)[BW_LANES] = cars->figure + 2 + 7 * i;
      axle[0][l] += s->machine_brake[i][l];
      axle[1][l] += s->machine_drive[i][l];
      axle[2][l] += s->shaft_square[i][l];
      axle[3][l] += s->friction[i][l];
      axle[4][l] += s->tyre[i][l];
      axle[5][l] += s->machine_torque[i][l];
      axle[6][l] += s->friction_torque[i][l];
    }
    cars->figure[16][l] += cars->delivered[0][l] + 3.0 * cars->delivered[LANES_SUBSTEPS - 1][l];
  }
}

static void close(const struct cars *cars, size_t l, struct lanes_result *out) {
  for (size_t i = 0; i < LANES_FIGURES; i++) {
    out->figure[i] = cars->figure[i][l];
  }
  out->figure[17] = cars->state.speed[l];
  out->figure[18] = cars->state.half_before[l];
  for (size_t i = 0; i < 2; i++) {
    out->figure[19 + 2 * i] = cars->state.machine[i][l];
    out->figure[20 + 2 * i] = cars->state.pressure[i][l];
  }
}

void LANES_RUN(uint64_t first, size_t periods, enum lanes_drive drive, struct lanes_result *out);

void LANES_RUN(uint64_t first, size_t periods, enum lanes_drive drive, struct lanes_result *out) {
  struct cars cars BW_ALIGNED(64) = {0};
  for (size_t l = 0; l < BW_LANES; l++) {
    make_car(first + l, l, drive, &cars);
  }
  bw_hot_sort_steps(&cars.fine);
  for (size_t at = 0; at < periods; at++) {
    /* the calm drive changes its mind rarely: what is timed is the loop, not the making */
    if (drive == LANES_WILD || at % 100 < 2) {
      for (size_t l = 0; l < BW_LANES; l++) {
        set_period(first + l, at, l, drive, &cars);
      }
    }
    bw_hot_run(&cars.fine, &cars.period, &cars.state, &cars.sums, cars.delivered, flags_of(&cars));
    snap(&cars);
    add(&cars);
  }
  for (size_t l = 0; l < BW_LANES; l++) {
    close(&cars, l, &out[l]);
  }
}
