/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "input/case_loader.h"

#include <math.h>

/** Checks between sensors, messages and the rest of their case. */

enum { LONGEST_DELAY = 254 }; /* control periods kept of signals and messages, see sim/sensor.h */

/* decimal fractions such as 0.1 are not exact: a few rounding errors are allowed */
static const double ROUNDING = 1e-9;

static void check_delay(struct bw_case_loader *loader, const char *key, double delay,
                        double period) {
  if (delay > LONGEST_DELAY * period) {
    bw_loader_fail_key(loader, key, "%.15g ms is longer than %d periods of %.15g ms; shorten it",
                       delay * 1e3, LONGEST_DELAY, period * 1e3);
  }
}

static void check_whole(struct bw_case_loader *loader, const char *key, double number) {
  if (fabs(number - round(number)) > 0.0) {
    bw_loader_fail_key(loader, key, "%.15g is no whole number; leave the fraction out", number);
  }
}

static void check_sensors(struct bw_case_loader *loader) {
  const struct bw_case *target = loader->target;
  const struct bw_sensors *sensors = &target->sensors;
  const bool has_antilock = target->slip.antilock.is_fitted;
  const double period = target->control_period;
  const double fastest = has_antilock ? fmin(period, target->slip.antilock.period) : period;
  check_delay(loader, "sensor.speed_delay_ms", sensors->speed.delay, fastest);
  check_delay(loader, "sensor.pressure_delay_ms", sensors->pressure.delay, period);
  check_delay(loader, "sensor.torque_delay_ms", sensors->torque.delay, period);
}

static void check_message(struct bw_case_loader *loader) {
  const struct bw_case *target = loader->target;
  const struct bw_message *message = &target->message;
  if (!bw_message_acts(message)) {
    return;
  }
  const double ratio = message->period / target->control_period;
  if (message->period > 0.0 &&
      (round(ratio) < 1.0 || fabs(ratio - round(ratio)) > ROUNDING * round(ratio))) {
    bw_loader_fail_key(loader, "message.period_ms",
                       "%.15g ms is no whole multiple of control.period_ms of %.15g ms; change one "
                       "of them",
                       message->period * 1e3, target->control_period * 1e3);
    return;
  }
  check_delay(loader, message->delay > 0.0 ? "message.delay_ms" : "message.jitter_ms",
              message->delay + message->jitter, target->control_period);
  const double apart = fmax(message->period, target->control_period) + message->jitter;
  if (!(message->timeout > fmax(apart, message->delay + message->jitter))) {
    bw_loader_fail_key(loader, "message.timeout_ms",
                       "%.15g ms is over before sound messages arrive, after up to %.15g ms; "
                       "lengthen it",
                       message->timeout * 1e3, fmax(apart, message->delay + message->jitter) * 1e3);
  }
}

void bw_case_check_signal(struct bw_case_loader *loader) {
  check_whole(loader, "random.seed", loader->target->seed.seed);
  check_whole(loader, "random.run", loader->target->seed.run);
  check_sensors(loader);
  check_message(loader);
  if (loader->target->slip.antilock.estimates_speed && !loader->target->slip.antilock.is_fitted) {
    bw_loader_fail_key(loader, "antilock.speed_reference",
                       "there is no antilock controller to estimate a speed; set antilock.fitted");
  }
}
