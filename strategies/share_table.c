/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "blend.h"
#include "blend_common.h"
#include "builtin.h"

#include <string.h>

/* share-table: the axles share at a fixed proportion, the machine's part comes from a table.
 *
 * Idea: what many calibrations are. The axles divide the demand D at a fixed front share p, and on
 * each axle the machine takes the share s of its axle's part, looked up over speed v, demanded
 * deceleration a = D / (r m) and state of charge q:
 *
 *     T_front = p D,   T_rear = D - T_front,   s = table(v, a, q), straight between the points
 *     M_i = min(A_i, s T_i, M_i' + rise x period),   F_i = T_i - M_i
 *
 * A_i the torque available, M_i' the last request. Outside the table its edge holds. With one
 * pressure for both axles friction comes in its own proportion; with a coupled pedal the machines
 * are also kept below what its floor leaves.
 *
 * The table is given with the key strategy.share-table.table, a CSV file with the columns
 * speed_kmh, decel_mps2, soc_percent, machine_share over a full grid. Without it a built-in one
 * serves: all by the machine in gentle braking, less in hard braking, nothing below 6 km/h, and
 * less towards a full battery.
 *
 * Source: heuristic shares over braking strength, speed and charge, Vehicles 6 (2024) 1496 and
 * Processes 11 (2023) 2985 (abstracts and opening pages read); the built-in values are invented.
 *
 * Parameters: the table below. State: the last machine requests and prepared constants. */

enum { FRONT_SHARE_PERCENT, RISE_NM_PER_S, PARAM_COUNT };

static const struct bw_blend_param PARAMS[PARAM_COUNT] = {
    {"front_share_percent", -1.0, 100.0, -1.0,
     "front axle's share of the demand; -1: that of the friction brakes"},
    {"rise_nm_per_s", 100.0, 1e6, 20e3, "fastest rise of each machine's request, at the axle"},
};

static const struct bw_blend_table_need TABLES[] = {
    {"table", "speed_kmh,decel_mps2,soc_percent,machine_share",
     "machine's share of its axle's demand over a full grid; not given: a built-in one"},
};

enum { SPEED, DECELERATION, CHARGE };

static const double BUILTIN_SPEED[] = {6.0, 12.0};          /* km/h */
static const double BUILTIN_DECELERATION[] = {2.0, 4.0};    /* m/s2 */
static const double BUILTIN_CHARGE[] = {90.0, 98.0};        /* percent */
static const double BUILTIN_SHARE[] = {0.0, 0.0, 0.0, 0.0,  /* 6 km/h */
                                       1.0, 0.3, 0.5, 0.1}; /* 12 km/h */

static const struct bw_blend_table BUILTIN = {
    .name = "share-table.table",
    .axes = 3,
    .count = {2, 2, 2},
    .axis = {BUILTIN_SPEED, BUILTIN_DECELERATION, BUILTIN_CHARGE},
    .values = BUILTIN_SHARE,
};

struct memory {
  double last[BW_AXLES];  /* N m, M_i' */
  double rise;            /* N m per period */
  double friction_share;  /* front share of one pressure */
  double front_share;     /* p */
  double to_deceleration; /* 1 / (r m) */
  const struct bw_blend_table *table;
};

static const struct bw_blend_table *find_table(const struct bw_blend_info *info) {
  for (size_t i = 0; i < info->table_count; i++) {
    if (strcmp(info->tables[i].name, BUILTIN.name) == 0 && info->tables[i].axes == 3) {
      return &info->tables[i];
    }
  }
  return &BUILTIN;
}

static void start(void *state, const struct bw_blend_info *info, const double *params) {
  struct memory *memory = state;
  memory->last[BW_FRONT] = 0.0;
  memory->last[BW_REAR] = 0.0;
  memory->rise = params[RISE_NM_PER_S] * info->period;
  memory->friction_share = blend_fixed_share(info);
  memory->front_share = params[FRONT_SHARE_PERCENT] < 0.0 ? memory->friction_share
                                                          : params[FRONT_SHARE_PERCENT] / 100.0;
  memory->to_deceleration = 1.0 / (info->mass * info->tyre_radius);
  memory->table = find_table(info);
}

/* where x lies on an axis: the point at or below it, and how far towards the next one */
static size_t place(const double *axis, size_t count, double x, double *share) {
  size_t low = 0;
  size_t high = count - 1;
  *share = 0.0;
  if (!(x > axis[0])) {
    return 0;
  }
  if (x >= axis[high]) {
    return high;
  }
  while (high - low > 1) {
    const size_t middle = (low + high) / 2;
    if (axis[middle] <= x) {
      low = middle;
    } else {
      high = middle;
    }
  }
  *share = (x - axis[low]) / (axis[high] - axis[low]);
  return low;
}

/* value between the eight corners around a point */
static double look_up(const struct bw_blend_table *table, const double at[3]) {
  const size_t stride[3] = {table->count[1] * table->count[2], table->count[2], 1};
  double share[3];
  size_t base = 0;
  size_t next[3];
  for (int d = 0; d < 3; d++) {
    const size_t low = place(table->axis[d], table->count[d], at[d], &share[d]);
    base += low * stride[d];
    next[d] = low + 1 < table->count[d] ? stride[d] : 0;
  }
  double line[2];
  for (size_t i = 0; i < 2; i++) {
    const double *corner = &table->values[base + i * next[SPEED]];
    const double one = corner[0] + share[CHARGE] * (corner[next[CHARGE]] - corner[0]);
    const double *far = corner + next[DECELERATION];
    const double other = far[0] + share[CHARGE] * (far[next[CHARGE]] - far[0]);
    line[i] = one + share[DECELERATION] * (other - one);
  }
  return line[0] + share[SPEED] * (line[1] - line[0]);
}

static void step(void *state, const struct bw_blend_info *info, const double *params,
                 const struct bw_blend_input *input, struct bw_blend_request *request) {
  (void)params;
  struct memory *memory = state;
  const double demand = blend_demand(input);
  const double at[3] = {input->speed * 3.6, demand * memory->to_deceleration,
                        input->state_of_charge * 100.0};
  const double share = look_up(memory->table, at);
  const double part[BW_AXLES] = {memory->front_share * demand,
                                 demand - memory->front_share * demand};
  double sum = 0.0;
  for (int i = 0; i < BW_AXLES; i++) {
    const double wanted = blend_rise_limit(share * part[i], memory->last[i], memory->rise);
    request->machine[i] = blend_smaller(wanted, blend_not_negative(input->machine_available[i]));
    sum += request->machine[i];
  }
  const double room = blend_machine_room(info, input);
  const double kept = sum > room ? room / sum : 1.0;
  for (int i = 0; i < BW_AXLES; i++) {
    request->machine[i] *= kept;
    memory->last[i] = request->machine[i];
  }
  if (info->layout == BW_LAYOUT_PER_AXLE) {
    blend_friction_free(info, part[BW_FRONT] - request->machine[BW_FRONT],
                        part[BW_REAR] - request->machine[BW_REAR], request);
  } else {
    const double rest = demand - request->machine[BW_FRONT] - request->machine[BW_REAR];
    blend_friction_fixed(info, memory->friction_share, blend_not_negative(rest), request);
  }
}

const struct bw_blend_strategy BW_STRATEGY_SHARE_TABLE = {
    .abi = BW_BLEND_ABI,
    .flags = 0,
    .name = "share-table",
    .summary = "fixed axle share, the machine's part from a table over speed, braking and charge",
    .params = PARAMS,
    .param_count = PARAM_COUNT,
    .state_size = sizeof(struct memory),
    .start = start,
    .step = step,
    .tables = TABLES,
    .table_count = sizeof TABLES / sizeof TABLES[0],
};
