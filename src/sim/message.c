/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/message.h"

#include "extrema.h"
#include "model/random.h"

#include <math.h>

/* share of a control period; what arrives this little before the end belongs to the next one */
static const double TICK = 1e-9;

static void send(const struct bw_case *loaded, struct bw_message_link *link, int axle,
                 double command, struct bw_message_count *count) {
  const struct bw_message *setup = &loaded->message;
  const uint64_t number = ++link->sent;
  const double now = (double)link->count * loaded->control_period;
  double arrival = now + setup->delay;
  if (setup->jitter > 0.0) {
    arrival += setup->jitter *
               bw_random_uniform(&loaded->seed, (uint32_t)(BW_RANDOM_JITTER + axle), number);
  }
  count->sent++;
  if (setup->loss > 0.0 &&
      bw_random_uniform(&loaded->seed, (uint32_t)(BW_RANDOM_LOSS + axle), number) < setup->loss) {
    count->lost++;
    arrival = (double)INFINITY;
  }
  link->way[number % BW_MESSAGE_ROOM] = (struct bw_message_sent){
      .number = number, .command = command, .departure = now, .arrival = arrival};
}

/* the next to arrive before `end` that is newer than the acting one, NULL if there is none */
static const struct bw_message_sent *find_next(const struct bw_message_link *link, double end) {
  const struct bw_message_sent *next = NULL;
  const uint64_t room = link->sent < BW_MESSAGE_ROOM ? link->sent : BW_MESSAGE_ROOM;
  for (uint64_t back = 0; back < room; back++) {
    const struct bw_message_sent *one = &link->way[(link->sent - back) % BW_MESSAGE_ROOM];
    if (one->number <= link->acting.number) {
      break;
    }
    if (one->arrival < end && (next == NULL || one->arrival < next->arrival)) {
      next = one;
    }
  }
  return next;
}

/* Integral (N m s) of the command from `from` to `to`, which no arrival divides; keeps the command
 * at the end. */
static double hold(const struct bw_message *setup, struct bw_message_link *link, double from,
                   double to, struct bw_message_count *count) {
  count->age = bw_max(count->age, to - link->acting.departure);
  const double late = bw_max(from, link->acting.arrival + setup->timeout);
  if (!(late < to)) {
    return link->command * (to - from);
  }
  count->timed_out += to - late;
  if (!setup->ramps_out) {
    return link->command * (to - from);
  }
  const double size = fabs(link->command);
  const double falling = bw_min(to - late, size / setup->ramp);
  const double left = bw_max(0.0, size - setup->ramp * falling);
  const double area = size * (late - from) + 0.5 * (size + left) * falling;
  const double sign = link->command < 0.0 ? -1.0 : 1.0;
  link->command = sign * (to - late < size / setup->ramp ? left : 0.0);
  return sign * area;
}

double bw_message_pass(const struct bw_case *loaded, struct bw_message_link *link, int axle,
                       double command, struct bw_message_count *count) {
  const struct bw_message *setup = &loaded->message;
  const double period = loaded->control_period;
  const uint64_t every =
      setup->period > 0.0 ? (uint64_t)llround(setup->period / period) : (uint64_t)1;
  if (link->count % every == 0) {
    send(loaded, link, axle, command, count);
  }
  double now = (double)link->count * period;
  const double end = (double)(link->count + 1) * period;
  double area = 0.0;
  for (const struct bw_message_sent *next = find_next(link, end - TICK * period); next != NULL;
       next = find_next(link, end - TICK * period)) {
    const double arrival = bw_max(now, next->arrival);
    area += hold(setup, link, now, arrival, count);
    link->acting = *next;
    link->command = next->command;
    now = arrival;
  }
  area += hold(setup, link, now, end, count);
  link->count++;
  return area / period;
}
