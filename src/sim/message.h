/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SIM_MESSAGE_H
#define BW_SIM_MESSAGE_H

#include "input/case.h"

/** Torque messages on their way from the controller to one machine.
 *
 *  At the start of a control period, or every message.period, one is sent. It is lost with the
 *  probability message.loss, or arrives message.delay + jitter x U later, U drawn for this message.
 *  Messages carry a running number: one that was overtaken is thrown away. What acts at the machine
 *  over a control period is the mean over time of what had arrived, so that an arrival inside a
 *  period keeps its impulse exactly. A machine that has had no new message for message.timeout
 *  holds its last command or ramps it to zero. Until the first message arrives it is zero. */

enum { BW_MESSAGE_ROOM = 256 }; /**< longest way of a message in control periods, plus two */

struct bw_message_sent {
  uint64_t number;  /**< running number from 1, 0: none */
  double command;   /**< N m */
  double departure; /**< s */
  double arrival;   /**< s, INFINITY: lost */
};

struct bw_message_link {
  uint64_t count; /**< control periods so far */
  uint64_t sent;
  struct bw_message_sent way[BW_MESSAGE_ROOM];
  struct bw_message_sent acting; /**< the newest that has arrived */
  double command;                /**< N m, what acts now */
};

/** What one control period saw. */
struct bw_message_count {
  unsigned sent;
  unsigned lost;
  double age;       /**< s, oldest command that acted; a run's first wait counts from its start */
  double timed_out; /**< s in the reserve */
};

/** Send `command` (N m) to the machine of `axle` in this control period, add to *count, and give
 * the mean command (N m) that acts there over the period. */
double bw_message_pass(const struct bw_case *loaded, struct bw_message_link *link, int axle,
                       double command, struct bw_message_count *count);

#endif
