/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "blend.h"
#include "blend_common.h"
#include "builtin.h"

/* predictive: each period a small optimisation, solved exactly.
 *
 * Idea: the machines' torques x = (M_f, M_r) minimise, in watts,
 *
 *     J = - sum (c_i v M_i - d_i M_i^2)              power sent into the DC link
 *         + w_e / 2 [(tau + theta) / T (F - F')]^2   dip to come: friction F = D - M_f - M_r lags
 *         + w_r / 2 sum (M_i - M_i')^2               rate of each machine
 *         + w_b / 2 [(1 - p) M_f - p M_r]^2          balance of two machines around the ideal p
 *
 * T period, primes the last period, D the demand, subject to
 *
 *     0 <= M_i <= A_i                       torque available
 *     M_i within the axle's part of D       balance rule, blend_rule_share(), and what the
 *                                           other axle really gives, blend_front_hold() and
 *                                           blend_rear_hold()
 *     M_f + M_r >= (M_f' + M_r') min(1, D / D') - R T   no exchange faster than stays unfelt
 *     M_f + M_r <= R (v - v_end) / a        from every state the machines can still be relieved
 *                                           at that rate until v_end: the look ahead
 *
 * R = a_felt m r / (tau + theta). The last line is the reachable set of the rest of the stop at the
 * deceleration a, measured or asked for, so the one period that is optimised stands for the whole
 * way down. A machine that is late, because the demand rose, keeps the third line and is relieved
 * at R. The polygon has at most four pairs of parallel edges; the optimum of the strictly convex J
 * lies inside, or on an edge where it is found in closed form: all are tried, so it is exact and
 * takes the same time always.
 *
 * Source: constrained allocation of Huang and Wang CDC 2011, Xu et al. CCC 2016, and a multi-
 * parametric solution in Sensors 24 (2024) 3076 (abstracts read); this problem is ours. Peak law
 * and speed band: closed forms, derived, HO-2 and HO-4.
 *
 * Parameters: the table below. State: last machine and friction requests, prepared constants. */

enum {
  FADE_END_KMH,
  FELT_PERCENT,
  ERROR_W_PER_NM2,
  RATE_W_PER_NM2,
  BALANCE_W_PER_NM2,
  MARGIN_PERCENT,
  RAMP_PERCENT,
  PARAM_COUNT
};

static const struct bw_blend_param PARAMS[PARAM_COUNT] = {
    {"fade_end_kmh", 0.0, 60.0, 4.5, "low end of the exchange, where it shall be done"},
    {"felt_percent", 5.0, 200.0, 65.0,
     "dip aimed at, over the felt line; the rest is for pads that bite less"},
    {"error_w_per_nm2", 0.0, 10.0, 1e-4, "weight of the torque error to come"},
    {"rate_w_per_nm2", 0.001, 10.0, 0.02, "weight of the change of each machine's torque"},
    {"balance_w_per_nm2", 0.0, 10.0, 2e-3, "weight of two machines' distance from the ideal share"},
    {"margin_percent", 0.0, 10.0, 2.0, "distance kept from the rule's lines, in adhesion used"},
    {"order_ramp_percent", 0.1, 10.0, 5.0,
     "braking rate over which the order of the axles comes in, ending at 14 %"},
};

enum { PAIRS = 4 };

/* low <= a x + b y <= high */
struct strip {
  double a;
  double b;
  double low;
  double high;
};

/* 1/2 h0 x^2 + h1 x y + 1/2 h2 y^2 - g0 x - g1 y over the strips */
struct problem {
  double h[3];
  double g[2];
  struct strip strip[PAIRS];
};

struct memory {
  double last[BW_AXLES]; /* N m, M_i' */
  double last_friction;  /* N m, F' */
  double last_demand;    /* N m, D' */
  double inertia;        /* kg m, m r */
  double rate;           /* N m/s, R */
  double fall;           /* N m per period */
  double rise[BW_AXLES]; /* 1/m, c_i */
  double bend[BW_AXLES]; /* W/(N m)^2, d_i */
  double error;          /* W/(N m)^2, on F - F' */
  double damp;           /* W/(N m)^2, w_r */
  double balance;        /* W/(N m)^2, w_b; 0 with one machine */
  double margin;
  double ramp;
  double end; /* m/s */
  double fixed_share;
};

static void start(void *state, const struct bw_blend_info *info, const double *params) {
  struct memory *memory = state;
  const struct blend_path path = blend_friction_path(info);
  const double ahead = (path.dead_time + path.lag) / info->period;
  memory->rate = blend_exchange_rate(info, info->felt_deceleration * params[FELT_PERCENT] / 100.0);
  memory->inertia = info->mass * info->tyre_radius;
  memory->fall = memory->rate * info->period;
  memory->error = params[ERROR_W_PER_NM2] * ahead * ahead;
  memory->damp = params[RATE_W_PER_NM2];
  memory->margin = params[MARGIN_PERCENT] / 100.0;
  memory->ramp = params[RAMP_PERCENT] / 100.0;
  memory->end = params[FADE_END_KMH] / 3.6;
  memory->fixed_share = blend_fixed_share(info);
  for (int i = 0; i < BW_AXLES; i++) {
    const double ratio = info->machine_ratio[i];
    const double shaft = ratio > 0.0 ? info->machine_efficiency[i] / ratio : 0.0;
    memory->rise[i] = info->machine_efficiency[i] / info->tyre_radius;
    memory->bend[i] = info->machine_loss[i][3] * shaft * shaft;
  }
  const bool are_two =
      info->machine_torque_peak[BW_FRONT] > 0.0 && info->machine_torque_peak[BW_REAR] > 0.0;
  memory->balance = are_two ? params[BALANCE_W_PER_NM2] : 0.0;
}

static double cost(const struct problem *problem, double x, double y) {
  const double *h = problem->h;
  return x * (0.5 * h[0] * x + h[1] * y - problem->g[0]) + y * (0.5 * h[2] * y - problem->g[1]);
}

static bool is_inside(const struct problem *problem, double x, double y) {
  bool is_in = true;
  for (int k = 0; k < PAIRS; k++) {
    const struct strip *strip = &problem->strip[k];
    const double at = strip->a * x + strip->b * y;
    is_in = is_in && at >= strip->low && at <= strip->high;
  }
  return is_in;
}

/* best point of the edge strip[edge] = level; false when the other strips leave nothing of it */
static bool solve_edge(const struct problem *problem, int edge, double level, double at[2]) {
  const struct strip *on = &problem->strip[edge];
  const double square = on->a * on->a + on->b * on->b;
  const double from[2] = {on->a * level / square, on->b * level / square};
  const double along[2] = {-on->b, on->a};
  double low = -1e12;
  double high = 1e12;
  for (int k = 0; k < PAIRS; k++) {
    const struct strip *strip = &problem->strip[k];
    const double slope = strip->a * along[0] + strip->b * along[1];
    const double here = strip->a * from[0] + strip->b * from[1];
    if (k == edge) {
      continue;
    }
    if (slope > 0.0) {
      low = blend_larger(low, (strip->low - here) / slope);
      high = blend_smaller(high, (strip->high - here) / slope);
    } else if (slope < 0.0) {
      low = blend_larger(low, (strip->high - here) / slope);
      high = blend_smaller(high, (strip->low - here) / slope);
    } else if (here < strip->low || here > strip->high) {
      return false;
    }
  }
  if (!(low <= high)) {
    return false;
  }
  const double *h = problem->h;
  const double pull[2] = {problem->g[0] - h[0] * from[0] - h[1] * from[1],
                          problem->g[1] - h[1] * from[0] - h[2] * from[1]};
  const double bend =
      along[0] * (h[0] * along[0] + 2.0 * h[1] * along[1]) + along[1] * h[2] * along[1];
  const double way = (pull[0] * along[0] + pull[1] * along[1]) / bend;
  const double best = blend_clip(way, low, high);
  at[0] = from[0] + best * along[0];
  at[1] = from[1] + best * along[1];
  return true;
}

/* exact minimum; false when the strips have no point in common */
static bool solve(const struct problem *problem, double at[2]) {
  const double *h = problem->h;
  const double determinant = h[0] * h[2] - h[1] * h[1];
  const double x = (problem->g[0] * h[2] - problem->g[1] * h[1]) / determinant;
  const double y = (problem->g[1] * h[0] - problem->g[0] * h[1]) / determinant;
  if (is_inside(problem, x, y)) {
    at[0] = x;
    at[1] = y;
    return true;
  }
  bool is_found = false;
  double least = 0.0;
  for (int k = 0; k < 2 * PAIRS; k++) {
    const struct strip *strip = &problem->strip[k / 2];
    double tried[2];
    if (!solve_edge(problem, k / 2, k % 2 == 0 ? strip->low : strip->high, tried)) {
      continue;
    }
    const double reached = cost(problem, tried[0], tried[1]);
    if (!is_found || reached < least) {
      is_found = true;
      least = reached;
      at[0] = tried[0];
      at[1] = tried[1];
    }
  }
  return is_found;
}

static void pose_cost(const struct memory *memory, double speed, double demand, double ideal,
                      struct problem *problem) {
  const double p = ideal;
  const double error = memory->error;
  const double kept = demand - memory->last_friction;
  problem->h[0] =
      2.0 * memory->bend[BW_FRONT] + error + memory->damp + memory->balance * (1.0 - p) * (1.0 - p);
  problem->h[1] = error - memory->balance * p * (1.0 - p);
  problem->h[2] = 2.0 * memory->bend[BW_REAR] + error + memory->damp + memory->balance * p * p;
  for (int i = 0; i < BW_AXLES; i++) {
    problem->g[i] = memory->rise[i] * speed + error * kept + memory->damp * memory->last[i];
  }
}

static void pose_limits(const struct memory *memory, const struct bw_blend_info *info,
                        const struct bw_blend_input *input, const struct blend_share *share,
                        struct problem *problem) {
  const double demand = blend_demand(input);
  const bool is_free = info->layout == BW_LAYOUT_PER_AXLE;
  const double room = blend_machine_room(info, input);
  const double s = memory->fixed_share;
  const double slowing = blend_larger(input->deceleration, demand / memory->inertia);
  const double left = blend_not_negative(input->speed - memory->end);
  const double relieved = slowing > 0.0 ? memory->rate * left / slowing : room;
  const double last = memory->last[BW_FRONT] + memory->last[BW_REAR];
  const double carried =
      demand < memory->last_demand ? last * (demand / memory->last_demand) : last;
  const double kept = carried - memory->fall;
  double most[BW_AXLES];
  for (int i = 0; i < BW_AXLES; i++) {
    most[i] = blend_not_negative(input->machine_available[i]);
  }
  most[BW_FRONT] = blend_front_hold(
      info, input, blend_smaller(most[BW_FRONT], share->high * demand), memory->margin);
  most[BW_REAR] = blend_smaller(most[BW_REAR], blend_rear_hold(info, input, memory->margin));
  if (is_free) {
    most[BW_REAR] = blend_smaller(most[BW_REAR], (1.0 - share->low) * demand);
  }
  const double high = blend_smaller(room, blend_larger(relieved, kept));
  problem->strip[0] = (struct strip){1.0, 0.0, 0.0, most[BW_FRONT]};
  problem->strip[1] = (struct strip){0.0, 1.0, 0.0, most[BW_REAR]};
  problem->strip[2] = (struct strip){1.0, 1.0, blend_clip(kept, 0.0, high), high};
  /* one pressure: the axles' balance is a band; free axles need none, this one never binds */
  const double below = is_free ? 1.0 : blend_not_negative(s - share->low);
  const double above = is_free ? 1.0 : blend_not_negative(share->high - s);
  problem->strip[3] = (struct strip){1.0 - s, -s, -below * demand, above * demand};
}

static void step(void *state, const struct bw_blend_info *info, const double *params,
                 const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)params;
  struct memory *memory = state;
  const double demand = blend_demand(input);
  if (!(demand > 0.0)) {
    /* every strip leaves the origin alone: nothing to solve, and most of a drive is this */
    for (int i = 0; i < BW_AXLES; i++) {
      memory->last[i] = request->machine[i] = request->friction[i] = 0.0;
    }
    memory->last_demand = memory->last_friction = 0.0;
    return;
  }
  const struct blend_share share = blend_rule_share(info, demand, memory->margin, memory->ramp);
  struct problem problem;
  pose_cost(memory, input->speed, demand, share.ideal, &problem);
  pose_limits(memory, info, input, &share, &problem);
  double at[2] = {0.0, 0.0};
  if (!solve(&problem, at)) {
    /* what is available no longer admits a slow exchange: as much as there is */
    problem.strip[2].low = 0.0;
    (void)solve(&problem, at);
  }
  /* an edge is met within rounding only */
  const double front = blend_clip(at[BW_FRONT], 0.0, problem.strip[0].high);
  const double rear = blend_clip(at[BW_REAR], 0.0, problem.strip[1].high);
  const double room = blend_machine_room(info, input);
  const double scale = front + rear > room ? room / (front + rear) : 1.0;
  request->machine[BW_FRONT] = memory->last[BW_FRONT] = scale * front;
  request->machine[BW_REAR] = memory->last[BW_REAR] = scale * rear;
  memory->last_demand = demand;
  memory->last_friction =
      blend_not_negative(demand - request->machine[BW_FRONT] - request->machine[BW_REAR]);
  blend_fill_axles(info, demand, &share, request);
}

const struct bw_blend_strategy BW_STRATEGY_PREDICTIVE = {
    .abi = BW_BLEND_ABI,
    .flags = 0,
    .name = "predictive",
    .summary = "optimises energy, dip to come, rates and balance each period, looking ahead",
    .params = PARAMS,
    .param_count = PARAM_COUNT,
    .state_size = sizeof(struct memory),
    .start = start,
    .step = step,
};
