/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SIGNAL_H
#define BW_SIGNAL_H

#include <stdbool.h>

/** What lies between the car and its controllers: sensors and messages. All zero: none of it. */

/** One kind of sensor. Reading = round((late value + noise x normal deviate)/resolution) x
 *  resolution, halves away from zero; each step left out where its figure is 0. */
struct bw_sensor {
  double resolution; /**< unit of the signal, >= 0 */
  double noise;      /**< standard deviation, same unit, >= 0 */
  double delay;      /**< s, >= 0 */
};

struct bw_sensors {
  struct bw_sensor speed;    /**< m/s: the car's and each wheel's */
  struct bw_sensor pressure; /**< Pa: the brake pressure of each axle */
  struct bw_sensor torque;   /**< N m: an inverter's estimate, at the axle */
};

/** Torque messages from the controller to the machines. */
struct bw_message {
  double delay;   /**< s, every message */
  double jitter;  /**< s, on top of it, evenly spread over 0 .. jitter, drawn for each message */
  double loss;    /**< 0..1, probability that a message never arrives */
  double period;  /**< s between two messages, 0: every control period */
  double timeout; /**< s without a new message until the machine goes into its reserve */
  bool ramps_out; /**< the reserve: torque to zero; else the last command is held for ever */
  double ramp;    /**< N m/s at the axle */
};

/** Where random numbers start; both whole numbers, 0 .. 2^32 - 1. */
struct bw_seed {
  double seed;
  double run; /**< number of the repetition */
};

/** True if the sensor changes anything. */
static inline bool bw_sensor_acts(const struct bw_sensor *sensor) {
  return sensor->resolution > 0.0 || sensor->noise > 0.0 || sensor->delay > 0.0;
}

/** True if messages are anything but a wire. */
static inline bool bw_message_acts(const struct bw_message *message) {
  return message->delay > 0.0 || message->jitter > 0.0 || message->loss > 0.0 ||
         message->period > 0.0;
}

/** Reading of `sensor` for the value `late`, delayed already, and a standard normal deviate. */
double bw_sensor_read(const struct bw_sensor *sensor, double late, double normal);

#endif
