/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "assess/balance.h"
#include "check.h"
#include "make_case.h"
#include "reference.h"

/** Axle loads, adhesion used, locking and the published lines; the car is RV-1 (a 1.20 m, b 1.50 m,
 *  h 0.54 m) unless the row says otherwise. */

static const struct reference_origin STATICS = {"closed form of the statics", MARK_DERIVED};
static const double WEIGHT = 1500.0 * BW_GRAVITY;

/* loads and adhesion used at braking rate z with the front share `beta` of the force */
static void braked(double z, double beta, double load[2], double used[2]) {
  struct bw_case *made = make_case();
  bw_vehicle_axle_loads(&made->vehicle, 0.0, z * BW_GRAVITY, load);
  const double force[2] = {beta * z * WEIGHT, (1.0 - beta) * z * WEIGHT};
  const struct bw_balance_check check = bw_balance_check(force, load, WEIGHT, 0.85);
  used[0] = check.used[0];
  used[1] = check.used[1];
  free_case(made);
}

static void ideal_forces(struct reference_list *list) {
  static const double WANTED[][3] = {
      {0.1, 846.9, 624.6},   {0.2, 1752.7, 1190.3}, {0.3, 2717.4, 1697.1}, {0.4, 3740.9, 2145.1},
      {0.5, 4823.2, 2534.2}, {0.6, 5964.5, 2864.5}, {0.8, 8423.5, 3348.5}, {1.0, 11118.0, 3597.0}};
  for (size_t i = 0; i < sizeof WANTED / sizeof *WANTED; i++) {
    double load[2];
    double used[2];
    const double z = WANTED[i][0];
    braked(z, 0.5, load, used);
    for (int axle = 0; axle < 2; axle++) {
      reference_add(list, "BAL-2", "N", STATICS,
                    (struct reference_pair){WANTED[i][1 + axle], z * load[axle], 0.051},
                    "ideal %s force at z %.1f", axle == 0 ? "front" : "rear", z);
    }
  }
  static const struct reference_origin LIMPERT = {
      "Limpert, article on motorcycle braking dynamics (2008), section 2", MARK_READ};
  const double pound = 0.45359237;
  struct bw_vehicle vehicle = {.wheelbase = 1.0};
  vehicle.load[0] = (struct bw_load){700.0 * pound, 0.5, 0.5};
  double rest[2];
  double slow[2];
  bw_vehicle_axle_loads(&vehicle, 0.0, 0.0, rest);
  bw_vehicle_axle_loads(&vehicle, 0.0, 0.7 * BW_GRAVITY, slow);
  reference_add(list, "BAL-1", "lb", LIMPERT,
                (struct reference_pair){245.0, (slow[0] - rest[0]) / (pound * BW_GRAVITY), 1e-9},
                "load moved, 700 lb at 0.7 g, h/L 0.5");
}

static void adhesion_used(struct reference_list *list) {
  static const double WANTED[][3] = {{0.15, 0.1665, 0.1267}, {0.30, 0.3168, 0.2731},
                                     {0.45, 0.4531, 0.4444}, {0.50, 0.4958, 0.5081},
                                     {0.60, 0.5773, 0.6473}, {0.80, 0.7267, 0.9844}};
  for (size_t i = 0; i < sizeof WANTED / sizeof *WANTED; i++) {
    double load[2];
    double used[2];
    braked(WANTED[i][0], 0.65, load, used);
    for (int axle = 0; axle < 2; axle++) {
      reference_add(list, "BAL-4", "1", STATICS,
                    (struct reference_pair){WANTED[i][1 + axle], used[axle], 5.1e-5},
                    "adhesion used, %s, front share 0.65, z %.2f", axle == 0 ? "front" : "rear",
                    WANTED[i][0]);
    }
  }
}

/* greatest z at which neither axle uses more than `mu`; by halving */
static double first_lock(double mu, double beta, int *axle) {
  double low = 0.0;
  double high = 2.0;
  for (int i = 0; i < 60; i++) {
    const double z = 0.5 * (low + high);
    double load[2];
    double used[2];
    braked(z, beta, load, used);
    const bool is_locked = !(used[0] <= mu && used[1] <= mu && load[1] > 0.0);
    *axle = used[0] > used[1] && load[1] > 0.0 ? BW_FRONT : BW_REAR;
    low = is_locked ? low : z;
    high = is_locked ? z : high;
  }
  return low;
}

static void locking(struct reference_list *list) {
  static const double MU[4] = {0.1, 0.3, 0.5, 0.8};
  static const double WANTED[4] = {0.0882, 0.2825, 0.4938, 0.6972};
  static const int FIRST[4] = {BW_FRONT, BW_FRONT, BW_REAR, BW_REAR};
  for (int i = 0; i < 4; i++) {
    int axle = BW_FRONT;
    const double z = first_lock(MU[i], 0.65, &axle);
    const bool is_right = axle == FIRST[i];
    reference_add(list, "BAL-5", "1", STATICS,
                  (struct reference_pair){WANTED[i], is_right ? z : (double)NAN, 5.1e-5},
                  "z at first lock (%s), mu %.1f, front share 0.65",
                  FIRST[i] == BW_FRONT ? "front" : "rear", MU[i]);
  }
  static const double ALONE_MU[5] = {0.1, 0.2, 0.3, 0.5, 0.8};
  static const double ALONE[2][5] = {{0.0567, 0.1157, 0.1773, 0.3086, 0.5291},
                                     {0.0436, 0.0855, 0.1258, 0.2020, 0.3065}};
  for (int i = 0; i < 5; i++) {
    for (int axle = 0; axle < 2; axle++) {
      int found = 0;
      const double z = first_lock(ALONE_MU[i], axle == BW_FRONT ? 1.0 : 0.0, &found);
      reference_add(list, "BAL-6", "1", STATICS, (struct reference_pair){ALONE[axle][i], z, 5.1e-5},
                    "greatest z of %s regeneration alone, mu %.1f",
                    axle == BW_FRONT ? "front" : "rear", ALONE_MU[i]);
    }
  }
  static const double SNOW[2] = {1.135, 0.838};
  for (int axle = 0; axle < 2; axle++) {
    int found = 0;
    const double z = first_lock(0.2, axle == BW_FRONT ? 1.0 : 0.0, &found);
    reference_add(list, "BAL-7", "m/s2", STATICS,
                  (struct reference_pair){SNOW[axle], z * BW_GRAVITY, 5.1e-4},
                  "most lift-off regeneration on packed snow, %s driven",
                  axle == BW_FRONT ? "front" : "rear");
  }
}

static void published_line(struct reference_list *list) {
  static const struct reference_origin FAMILY = {"EU 2015/68 Annex II App. 1 4.1.1.1: c 0.85",
                                                 MARK_READ};
  static const struct reference_origin CAR = {"UN R13-H Annex 5 3.1(A): c 0.7", MARK_FROM_MEMORY};
  static const double USED[3] = {0.2, 0.4, 0.6};
  static const double RATE[2][3] = {{0.10, 0.27, 0.44}, {0.10, 0.24, 0.38}};
  for (int rule = 0; rule < 2; rule++) {
    for (int i = 0; i < 3; i++) {
      reference_add(list, rule == 0 ? "3.2" : "BAL-9", "1", rule == 0 ? FAMILY : CAR,
                    (struct reference_pair){
                        USED[i], bw_balance_line(RATE[rule][i], rule == 0 ? 0.85 : 0.7), 1e-12},
                    "adhesion allowed at z %.2f", RATE[rule][i]);
    }
  }
  static const struct reference_origin ORDER = {"71/320/EEC Annex II App. 3.1.1, M1", MARK_READ};
  static const struct {
    double share;
    double z;
    double used[2];
  } WORKED[] = {{0.7, 0.15, {0.1983, 0.0956}},
                {0.7, 0.80, {0.8522, 0.7000}},
                {0.6, 0.50, {0.5015, 0.4978}},
                {0.6, 0.80, {0.7304, 0.9333}},
                {0.5, 0.15, {0.1417, 0.1594}}};
  const double weight = 1800.0 * BW_GRAVITY;
  for (size_t i = 0; i < sizeof WORKED / sizeof *WORKED; i++) {
    const double z = WORKED[i].z;
    const double force[2] = {WORKED[i].share * z * weight, (1.0 - WORKED[i].share) * z * weight};
    const double moved = z * 0.55 / 2.8 * weight;
    const double load[2] = {0.5 * weight + moved, 0.5 * weight - moved};
    const struct bw_balance_check check = bw_balance_check(force, load, weight, 0.7);
    const double kept = WORKED[i].used[0] >= WORKED[i].used[1] ? 1.0 : 0.0;
    for (int axle = 0; axle < 2; axle++) {
      reference_add(list, "3.3", "1", STATICS,
                    (struct reference_pair){WORKED[i].used[axle], check.used[axle], 5.1e-5},
                    "1800 kg, share %.1f, z %.2f: %s curve", WORKED[i].share, z,
                    axle == 0 ? "front" : "rear");
    }
    reference_add(list, "3.3", "1", ORDER,
                  (struct reference_pair){kept, check.margin >= 0.0 ? 1.0 : 0.0, 0.0},
                  "share %.1f, z %.2f: order of the curves kept", WORKED[i].share, z);
  }
}

static void grade_is_a_braking_rate(struct reference_list *list) {
  struct bw_case *made = make_case();
  for (int down = 0; down < 2; down++) {
    const double slope = down == 1 ? -0.2 : 0.2;
    double load[2];
    double level[2];
    bw_vehicle_axle_loads(&made->vehicle, sin(atan(slope)), 0.0, load);
    bw_vehicle_axle_loads(&made->vehicle, 0.0, -slope * BW_GRAVITY, level);
    reference_add(list, "BAL-12", "N", STATICS,
                  (struct reference_pair){level[0] * cos(atan(slope)), load[0], 1e-8},
                  "front load at rest on 20 %%, facing %s, as at z = %+.1f",
                  down == 1 ? "down" : "up", -slope);
  }
  free_case(made);
}

void reference_balance(struct reference_list *list) {
  ideal_forces(list);
  adhesion_used(list);
  locking(list);
  published_line(list);
  grade_is_a_braking_rate(list);
}
