/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/comfort.h"

#include <math.h>

/* felt limits over the case's own; none comes last */
static const double MULTIPLE[BW_COMFORT_POINTS - 1] = {0.125, 0.25, 0.5, 0.75, 1.0,
                                                       1.5,   2.0,  4.0, 8.0};
enum { OWN_POINT = 4 };

static double slower_friction(const struct bw_case *loaded) {
  double lag = 0.0;
  for (int i = 0; i < 2; i++) {
    lag = bw_max(lag, loaded->brakes.axle[i].dead_time + loaded->brakes.axle[i].lag);
  }
  return lag;
}

/* m/s at which the last machine has gone; 0 without any */
static double give_out_speed(const struct bw_case *loaded) {
  double speed = (double)INFINITY;
  for (int i = 0; i < 2; i++) {
    if (loaded->machine[i].is_fitted) {
      speed = bw_min(speed, loaded->machine[i].low_speed_zero);
    }
  }
  return isfinite(speed) ? speed : 0.0;
}

void bw_comfort_start(struct bw_comfort *comfort, const struct bw_case *loaded) {
  *comfort = (struct bw_comfort){
      .judge = bw_judge_make(loaded),
      .lag = slower_friction(loaded),
      .give_out = give_out_speed(loaded),
  };
  comfort->bound = bw_bound_start(&comfort->judge);
  for (int i = 0; i < BW_COMFORT_POINTS - 1; i++) {
    comfort->felt[i] = MULTIPLE[i] * loaded->assess.felt_deceleration;
  }
  comfort->felt[BW_COMFORT_POINTS - 1] = (double)INFINITY;
}

size_t bw_comfort_own_point(void) {
  return OWN_POINT;
}

double bw_comfort_band(const struct bw_comfort *comfort, size_t index, double deceleration) {
  return deceleration * deceleration * comfort->lag / comfort->felt[index];
}

/* one braking period as the blend sees it */
struct moment {
  struct bw_bound_moment bound;
  double braked;  /* m/s2 by the brakes alone */
  double slowing; /* m/s2 of the car */
  double most;    /* share that the machines could take */
};

static struct moment read_moment(const struct bw_comfort *comfort, const struct bw_sample *sample,
                                 const struct bw_period *period) {
  const double radius = comfort->judge.radius;
  const double distance = sample->distance;
  const double torque = distance > 0.0 ? period->delivered * radius / distance : 0.0;
  const double able = sample->axle[BW_FRONT].available + sample->axle[BW_REAR].available;
  return (struct moment){
      .bound = {.speed = distance / sample->duration,
                .torque = torque,
                .limit = {sample->axle[BW_FRONT].envelope, sample->axle[BW_REAR].envelope}},
      .braked = torque / (radius * comfort->judge.mass_effective),
      .slowing = bw_max(0.0, sample->deceleration),
      .most = able < torque ? bw_max(0.0, able) / torque : 1.0,
  };
}

/* share that comfort allows; 1 or more when it does not bind */
static double allowed(const struct bw_comfort *comfort, int index, const struct moment *moment,
                      double duration) {
  const double felt = comfort->felt[index];
  const double band = moment->braked * moment->slowing * comfort->lag / felt;
  const double above = moment->bound.speed - comfort->give_out;
  double share = 1.0;
  if (band > 0.0 && above < band) {
    share = bw_max(0.0, above) / band;
  }
  const double lasting = moment->braked * comfort->lag / felt; /* s that a whole exchange takes */
  if (comfort->was_braking && lasting > duration) {
    share = bw_min(share, comfort->share[index] + duration / lasting);
  }
  return share;
}

void bw_comfort_watch(struct bw_comfort *comfort, const struct bw_sample *sample) {
  struct bw_period period;
  bw_period_read(&comfort->judge, sample, &period);
  if (!period.is_braking) {
    comfort->was_braking = false;
    return;
  }
  const struct moment moment = read_moment(comfort, sample, &period);
  const double full = bw_bound_power(&comfort->bound, &moment.bound);
  for (int i = 0; i < BW_COMFORT_POINTS; i++) {
    const double share = allowed(comfort, i, &moment, sample->duration);
    double power = full;
    if (share < moment.most) {
      struct bw_bound_moment held = moment.bound;
      held.torque *= share;
      power = bw_bound_power(&comfort->bound, &held);
    }
    comfort->share[i] = bw_min(share, moment.most);
    comfort->recoverable[i] +=
        bw_min(power, sample->charge_power) * sample->duration - sample->auxiliaries_work;
  }
  comfort->was_braking = true;
}
