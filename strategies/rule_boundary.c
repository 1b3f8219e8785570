/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "blend.h"
#include "blend_common.h"
#include "builtin.h"

/* rule-boundary: the greatest recovery that the balance rule admits.
 *
 * Idea: the share p of the brake force on the front axle may move between p_low and p_high, where
 * an axle reaches the k line or the rear would use more grip than the front (both in closed form,
 * blend_rule_share()). With M_i <= A_i the torque available and D the demand, M_f + M_r is
 * greatest when p lies on the plateau between A_f / D and 1 - A_r / D; of what the rule leaves of
 * it the point nearest to the ideal share is taken:
 *
 *     M_f = min(A_f, p D),   M_r = min(A_r, (1 - p) D),   friction fills each axle
 *
 * So a driven axle is pushed to the line first, and the other axle only gets what it must. With
 * one pressure for both axles friction F comes at the fixed front share s, and the axles' balance
 * is a band on the machines' torques,
 *
 *     (p_low - s) D <= (1 - s) M_f - s M_r <= (p_high - s) D,
 *
 * in which the sum M_f + M_r is again pushed as far as it goes (a linear programme of two
 * variables, solved in closed form). While the other axle's friction is still building up, a
 * machine waits for it (blend_front_hold(), blend_rear_hold()). The fade over speed is as
 * wide as the braking needs to stay unfelt and the machines give back no faster (as in
 * 'speed-band', blend_felt_room()); the rise limit is that of 'series'.
 *
 * Source: regulation-boundary following of Processes 11 (2023) 2985 and Vehicles 6 (2024) 1496
 * (abstracts and opening pages read); the closed forms are ours.
 *
 * Parameters: the table below. State: the last machine requests and prepared constants. */

enum {
  FADE_START_KMH,
  FADE_END_KMH,
  FELT_PERCENT,
  RISE_NM_PER_S,
  MARGIN_PERCENT,
  RAMP_PERCENT,
  PARAM_COUNT
};

static const struct bw_blend_param PARAMS[PARAM_COUNT] = {
    {"fade_start_kmh", 0.0, 60.0, 6.5, "latest start of the fade of the machines"},
    {"fade_end_kmh", 0.0, 60.0, 4.5, "low end of the fade, where the exchange shall be done"},
    {"felt_percent", 0.0, 200.0, 65.0,
     "dip aimed at, over the felt line, by a wider fade where needed; 0: fade as given"},
    {"rise_nm_per_s", 100.0, 1e6, 20e3, "fastest rise of each machine's request, at the axle"},
    {"margin_percent", 0.0, 10.0, 2.0, "distance kept from the rule's lines, in adhesion used"},
    {"order_ramp_percent", 0.1, 10.0, 5.0,
     "braking rate over which the order of the axles comes in, ending at 14 %"},
};

struct memory {
  double last[BW_AXLES]; /* N m, M_i of the last period */
  double rise;           /* N m per period */
  double fixed_share;    /* s */
  double margin;
  double ramp;
  struct blend_felt_fade fade;
};

static void start(void *state, const struct bw_blend_info *info, const double *params) {
  struct memory *memory = state;
  memory->last[BW_FRONT] = 0.0;
  memory->last[BW_REAR] = 0.0;
  memory->rise = params[RISE_NM_PER_S] * info->period;
  memory->fixed_share = blend_fixed_share(info);
  memory->margin = params[MARGIN_PERCENT] / 100.0;
  memory->ramp = params[RAMP_PERCENT] / 100.0;
  const double dip = info->felt_deceleration * params[FELT_PERCENT] / 100.0;
  memory->fade =
      blend_felt_fade_make(info, params[FADE_START_KMH] / 3.6, params[FADE_END_KMH] / 3.6, dip);
}

/* free axles: machines at most `most`, within the share's range of `demand` */
static void push_free(const struct blend_share *share, double demand, const double most[BW_AXLES],
                      struct bw_blend_request *request) {
  const double one = most[BW_FRONT];
  const double other = demand - most[BW_REAR];
  const double plateau =
      blend_clip(share->ideal * demand, blend_smaller(one, other), blend_larger(one, other));
  const double front = blend_clip(plateau, share->low * demand, share->high * demand);
  request->machine[BW_FRONT] = blend_smaller(most[BW_FRONT], front);
  request->machine[BW_REAR] = blend_smaller(most[BW_REAR], demand - front);
}

/* one pressure: machines at most `most`, together at most `room`, within the band low .. high */
static void push_common(double s, const double most[BW_AXLES], double room, const double band[2],
                        struct bw_blend_request *request) {
  double front = blend_smaller(most[BW_FRONT], room);
  double rear = blend_smaller(most[BW_REAR], room);
  const double least = blend_larger(blend_not_negative(room - rear), band[0] + s * room);
  const double greatest = blend_smaller(front, band[1] + s * room);
  if (least <= greatest) {
    /* the room can be filled: in proportion to what the machines can do, as far as that may be */
    const double both = front + rear;
    front = blend_clip(both > 0.0 ? room * front / both : 0.0, least, greatest);
    rear = room - front;
  } else if ((1.0 - s) * front - s * rear > band[1]) {
    front = blend_not_negative((band[1] + s * rear) / (1.0 - s));
  } else if ((1.0 - s) * front - s * rear < band[0]) {
    rear = blend_not_negative(((1.0 - s) * front - band[0]) / s);
  }
  const double sum = front + rear;
  const double kept = sum > room ? room / sum : 1.0;
  request->machine[BW_FRONT] = blend_smaller(kept * front, most[BW_FRONT]);
  request->machine[BW_REAR] = blend_smaller(kept * rear, most[BW_REAR]);
}

static void step(void *state, const struct bw_blend_info *info, const double *params,
                 const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)params;
  struct memory *memory = state;
  const double demand = blend_demand(input);
  const double faded = blend_felt_room(&memory->fade, input, demand);
  double most[BW_AXLES];
  for (int i = 0; i < BW_AXLES; i++) {
    const double able = blend_smaller(blend_not_negative(input->machine_available[i]), faded);
    most[i] = blend_rise_limit(able, memory->last[i], memory->rise);
  }
  most[BW_REAR] = blend_smaller(most[BW_REAR], blend_rear_hold(info, input, memory->margin));
  const struct blend_share share = blend_rule_share(info, demand, memory->margin, memory->ramp);
  most[BW_FRONT] = blend_front_hold(info, input, blend_smaller(most[BW_FRONT], share.high * demand),
                                    memory->margin);
  if (info->layout == BW_LAYOUT_PER_AXLE) {
    double front = most[BW_FRONT];
    double rear = most[BW_REAR];
    if (front + rear > faded) {
      /* both together no more than the fade leaves: the ideal share of it, as far as they can */
      const double whole = faded;
      front = blend_clip(share.ideal * whole, whole - rear, front);
      rear = blend_smaller(whole - front, rear);
    }
    push_free(&share, demand, (const double[]){front, rear}, request);
  } else {
    const double s = memory->fixed_share;
    const double band[2] = {blend_smaller(share.low - s, 0.0) * demand,
                            blend_not_negative(share.high - s) * demand};
    push_common(s, most, blend_smaller(faded, blend_machine_room(info, input)), band, request);
  }
  memory->last[BW_FRONT] = request->machine[BW_FRONT];
  memory->last[BW_REAR] = request->machine[BW_REAR];
  blend_felt_remember(&memory->fade, request, demand);
  blend_fill_axles(info, demand, &share, request);
}

const struct bw_blend_strategy BW_STRATEGY_RULE_BOUNDARY = {
    .abi = BW_BLEND_ABI,
    .flags = 0,
    .name = "rule-boundary",
    .summary = "as much on the driven axle as the balance rule admits, then the other axle",
    .params = PARAMS,
    .param_count = PARAM_COUNT,
    .state_size = sizeof(struct memory),
    .start = start,
    .step = step,
};
