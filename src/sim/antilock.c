/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/antilock.h"

#include <math.h>

void bw_antilock_decide(const struct bw_antilock *setup, struct bw_antilock_channel *channel,
                        const struct bw_antilock_view *view) {
  const double lead = setup->lead * (view->slip - channel->slip) / setup->period;
  const double gain = setup->period / (setup->period + view->filter);
  channel->lead = view->filter > 0.0 ? channel->lead + gain * (lead - channel->lead) : lead;
  const double ahead = view->slip + channel->lead;
  channel->slip = view->slip;
  if (view->speed < setup->off_speed || !view->is_braked) {
    channel->is_active = false;
    channel->valve = BW_ANTILOCK_OPEN;
    return;
  }
  if (ahead > setup->slip_release) {
    channel->is_active = true;
    channel->valve = BW_ANTILOCK_RELEASE;
  } else if (ahead < setup->slip_build) {
    channel->valve = BW_ANTILOCK_OPEN;
  } else if (channel->is_active) {
    channel->valve = BW_ANTILOCK_HOLD;
  }
}

double bw_antilock_pressure(const struct bw_antilock *setup, struct bw_antilock_channel *channel,
                            double pressure, double driver, double step) {
  if (!channel->is_active || pressure > driver) {
    return driver;
  }
  if (channel->valve == BW_ANTILOCK_RELEASE) {
    return fmax(0.0, pressure - setup->release * step);
  }
  if (channel->valve == BW_ANTILOCK_HOLD) {
    return pressure;
  }
  const double built = fmin(driver, pressure + setup->build * step);
  channel->is_active = built < driver;
  return built;
}

void bw_antilock_hold_back(const struct bw_antilock *setup, struct bw_antilock_machine *machine,
                           bool is_active, enum bw_antilock_valve valve, double torque,
                           double step) {
  if (is_active && !machine->is_held_back) {
    machine->is_held_back = true;
    machine->cap = fmax(0.0, torque);
  }
  if (!machine->is_held_back) {
    return;
  }
  machine->quiet = is_active ? 0.0 : machine->quiet + step;
  if (machine->quiet > setup->recovery) {
    /* the request binds again long before the cap is far away */
    machine->cap += setup->ramp * step;
    machine->is_held_back = machine->cap < torque + setup->ramp;
    machine->cap = machine->is_held_back ? machine->cap : (double)INFINITY;
    return;
  }
  switch (machine->policy) {
  case BW_REGENERATION_KEEP:
    machine->cap = (double)INFINITY;
    break;
  case BW_REGENERATION_CUT:
    machine->cap = 0.0;
    break;
  case BW_REGENERATION_RAMP_OUT:
    machine->cap = fmax(0.0, machine->cap - setup->ramp * step);
    break;
  case BW_REGENERATION_FREEZE:
    break;
  case BW_REGENERATION_MODULATE:
    if (valve == BW_ANTILOCK_RELEASE) {
      machine->cap = fmax(0.0, machine->cap - setup->ramp * step);
    } else if (valve == BW_ANTILOCK_OPEN && is_active) {
      machine->cap += 0.25 * setup->ramp * step;
    }
    break;
  }
}
