/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/comparison.h"

#define PERCENT 100.0

static const struct bw_block_figure CASCADE[] = {
    {"", "demanded", "kJ", 1.0, BW_SUMMARY_ENERGY_DEMANDED, 1},
    {"", "delivered", "kJ", 1.0, BW_SUMMARY_ENERGY_DELIVERED, 1},
    {"machines", "at axle", "kJ", 1.0, BW_SUMMARY_ENERGY_MACHINE_AXLE, 1},
    {"machine", "shafts", "kJ", 1.0, BW_SUMMARY_ENERGY_SHAFT, 1},
    {"", "DC link", "kJ", 1.0, BW_SUMMARY_ENERGY_DC, 1},
    {"battery", "terminals", "kJ", 1.0, BW_SUMMARY_ENERGY_BATTERY, 1},
    {"battery", "cells", "kJ", 1.0, BW_SUMMARY_ENERGY_CELLS, 1},
};

static const struct bw_block_figure BOUNDS[] = {
    {"plant", "bound", "kJ", 1.0, BW_SUMMARY_ENERGY_RECOVERABLE_PLANT, 1},
    {"rule", "bound", "kJ", 1.0, BW_SUMMARY_ENERGY_RECOVERABLE_RULE, 1},
    {"asked by", "overrun", "kJ", 1.0, BW_SUMMARY_ENERGY_OVERRUN, 1},
    {"auxi-", "liaries", "kJ", 1.0, BW_SUMMARY_ENERGY_AUXILIARIES, 1},
};

static const struct bw_block_figure BRACKET[] = {
    {"plant", "reached", "kJ", 1.0, BW_SUMMARY_ENERGY_REACHED_PLANT, 1},
    {"plant", "ceiling", "kJ", 1.0, BW_SUMMARY_ENERGY_CEILING_PLANT, 1},
    {"of plant", "ceiling", "%", PERCENT, BW_SUMMARY_OF_CEILING_PLANT, 2},
    {"rule", "reached", "kJ", 1.0, BW_SUMMARY_ENERGY_REACHED_RULE, 1},
    {"rule", "ceiling", "kJ", 1.0, BW_SUMMARY_ENERGY_CEILING_RULE, 1},
    {"of rule", "ceiling", "%", PERCENT, BW_SUMMARY_OF_CEILING_RULE, 2},
};

static const struct bw_block_figure LIMITS[] = {
    {"", "none", "%", PERCENT, BW_SUMMARY_LIMIT_NONE_ENERGY, 1},
    {"peak", "torque", "%", PERCENT, BW_SUMMARY_LIMIT_PEAK_TORQUE_ENERGY, 1},
    {"peak", "power", "%", PERCENT, BW_SUMMARY_LIMIT_PEAK_POWER_ENERGY, 1},
    {"break-", "down", "%", PERCENT, BW_SUMMARY_LIMIT_FIELD_ENERGY, 1},
    {"top", "speed", "%", PERCENT, BW_SUMMARY_LIMIT_SPEED_ENERGY, 1},
    {"low", "speed", "%", PERCENT, BW_SUMMARY_LIMIT_LOW_SPEED_ENERGY, 1},
    {"machine", "heat", "%", PERCENT, BW_SUMMARY_LIMIT_DERATING_ENERGY, 1},
    {"charge", "current", "%", PERCENT, BW_SUMMARY_LIMIT_CHARGE_CURRENT_ENERGY, 1},
    {"charge", "voltage", "%", PERCENT, BW_SUMMARY_LIMIT_CHARGE_VOLTAGE_ENERGY, 1},
};

static const struct bw_block_figure FRICTION[] = {
    {"work", "front", "kJ", 1.0, BW_SUMMARY_ENERGY_FRICTION_FRONT, 1},
    {"work", "rear", "kJ", 1.0, BW_SUMMARY_ENERGY_FRICTION_REAR, 1},
    {"share", "front", "%", PERCENT, BW_SUMMARY_FRICTION_SHARE_FRONT, 1},
    {"share", "rear", "%", PERCENT, BW_SUMMARY_FRICTION_SHARE_REAR, 1},
    {"appli-", "cations", "/100 km", 1.0, BW_SUMMARY_FRICTION_APPLICATIONS, 0},
    {"", "work", "kJ/100 km", 1.0, BW_SUMMARY_FRICTION_WORK, 0},
    {"rotor", "front", "deg C", 1.0, BW_SUMMARY_ROTOR_FRONT_PEAK, 0},
    {"rotor", "rear", "deg C", 1.0, BW_SUMMARY_ROTOR_REAR_PEAK, 0},
    {"face", "front", "deg C", 1.0, BW_SUMMARY_FACE_FRONT_PEAK, 0},
    {"face", "rear", "deg C", 1.0, BW_SUMMARY_FACE_REAR_PEAK, 0},
};

static const struct bw_block_figure FEEL[] = {
    {"hand-", "overs", "", 1.0, BW_SUMMARY_HANDOVERS, 0},
    {"dip", "peak", "m/s2", 1.0, BW_SUMMARY_DIP_PEAK, 3},
    {"dip", "95 %", "m/s2", 1.0, BW_SUMMARY_DIP_P95, 3},
    {"surge", "peak", "m/s2", 1.0, BW_SUMMARY_SURGE_PEAK, 3},
    {"time", "felt", "s", 1.0, BW_SUMMARY_TIME_ABOVE_FELT, 2},
    {"speed", "not off", "m/s", 1.0, BW_SUMMARY_SPEED_NOT_TAKEN_OFF, 3},
    {"jerk", "peak", "m/s3", 1.0, BW_SUMMARY_GAP_JERK_PEAK, 2},
    {"jerk", "RMS", "m/s3", 1.0, BW_SUMMARY_GAP_JERK_RMS, 3},
    {"worst", "event", "", 1.0, BW_SUMMARY_WORST_EVENT, 0},
    {"worst", "at", "s", 1.0, BW_SUMMARY_WORST_EVENT_TIME, 2},
};

static const struct bw_block_figure BALANCE[] = {
    {"viola-", "tions", "", 1.0, BW_SUMMARY_AXLE_VIOLATIONS, 0},
    {"time in", "violation", "s", 1.0, BW_SUMMARY_AXLE_VIOLATION_TIME, 2},
    {"work in", "violation", "kJ", 1.0, BW_SUMMARY_AXLE_VIOLATION_ENERGY, 1},
    {"worst", "margin", "1", 1.0, BW_SUMMARY_AXLE_MARGIN_WORST, 4},
    {"beyond", "grip", "s", 1.0, BW_SUMMARY_ADHESION_EXCEEDED, 2},
};

static const struct bw_block_figure BATTERY[] = {
    {"charge", "start", "%", 1.0, BW_SUMMARY_SOC_START, 2},
    {"charge", "end", "%", 1.0, BW_SUMMARY_SOC_END, 2},
    {"current", "peak", "A", 1.0, BW_SUMMARY_CHARGE_CURRENT_PEAK, 1},
    {"voltage", "peak", "V", 1.0, BW_SUMMARY_CHARGE_VOLTAGE_PEAK, 1},
    {"held by", "charge", "s", 1.0, BW_SUMMARY_CHARGE_CEILING, 2},
    {"machine", "peak", "deg C", 1.0, BW_SUMMARY_MACHINE_PEAK, 1},
    {"machine", "derated", "s", 1.0, BW_SUMMARY_MACHINE_DERATED, 2},
};

static const struct bw_block_figure REST[] = {
    {"stopping", "distance", "m", 1.0, BW_SUMMARY_STOPPING_DISTANCE, 2},
    {"", "MFDD", "m/s2", 1.0, BW_SUMMARY_MFDD, 3},
    {"jolt", "worst", "m/s2", 1.0, BW_SUMMARY_JOLT_AT_REST, 2},
    {"hold", "lacks", "N", 1.0, BW_SUMMARY_HOLD_SHORTFALL, 0},
};

static const struct bw_block_figure MESSAGES[] = {
    {"messages", "lost", "", 1.0, BW_SUMMARY_MESSAGES_LOST, 0},
    {"oldest", "acting", "ms", 1.0, BW_SUMMARY_MESSAGE_AGE, 1},
    {"timed", "out", "s", 1.0, BW_SUMMARY_MESSAGE_TIMED_OUT, 2},
};

static const struct bw_block_figure CHECKS[] = {
    {"ledger", "mechan.", "1", 1.0, BW_SUMMARY_LEDGER_MECHANICAL, -1},
    {"ledger", "electr.", "1", 1.0, BW_SUMMARY_LEDGER_ELECTRICAL, -1},
    {"kinematic", "check", "1", 1.0, BW_SUMMARY_KINEMATIC_CHECK, -1},
    {"outside", "trace", "s", 1.0, BW_SUMMARY_TRACE_OUTSIDE, 2},
    {"", "clipped", "periods", 1.0, BW_SUMMARY_CLIPPINGS, 0},
    {"first", "clipped", "s", 1.0, BW_SUMMARY_FIRST_CLIPPING, 2},
    {"lamp", "dark", "s", 1.0, BW_SUMMARY_LAMP_MUST_ON, 2},
    {"lamp", "lit", "s", 1.0, BW_SUMMARY_LAMP_MUST_OFF, 2},
};

#define BLOCK(title, figures, note)                                                                \
  { title, note, figures, sizeof(figures) / sizeof((figures)[0]) }

static const struct bw_block BLOCKS[] = {
    BLOCK("Where the braking energy went", CASCADE,
          "Work during braking, from the road to the cells. Demanded: the braking asked for by "
          "pedal and overrun. Delivered: by machines and friction at the road. DC link, terminals "
          "and cells are net, losses and auxiliaries already taken off."),
    BLOCK("Bounds and side figures", BOUNDS,
          "Plant bound: the most the terminals could have taken from the braking that was really "
          "delivered. Rule bound: the same inside the balance rule and the road's grip. Overrun: "
          "machine work at the axle asked for by accelerator release. Auxiliaries: their part "
          "during braking."),
    BLOCK(
        "Bracket of the best blend", BRACKET,
        "Reached: what an optimal blend that knows the future reaches with the braking of this "
        "run, found by dynamic programming over charge and pulse budget and followed forward "
        "through battery, machine heat and limits. It counts the tyre slip of the machines' "
        "torque and leaves out lags, which foresight commands ahead of; a better blend may exist. "
        "Ceiling: proven, no blend of this braking exceeds it: cool machines, full pulse budget, "
        "best charge limit of any state a blend could have brought the battery to. What the "
        "ceiling takes for granted: the driving of the run, no tyre slip, machine losses that do "
        "not fall when torque rises, and no machine above its envelope of the moment (a lag may "
        "carry a "
        "torque a little past a falling one). Of ceiling: the strategy's recovered energy over "
        "it; * marks a run that violates the balance rule: printed, but no rating."),
    BLOCK("What capped the machines", LIMITS,
          "Share of the delivered braking work during which this limit held the machines back "
          "(shares of time: summary.csv)."),
    BLOCK("Friction brakes", FRICTION,
          "Shares are friction work over delivered work. Temperatures are the hottest of the run: "
          "rotor as a whole, and face that the pads rub, the mean of its ring."),
    BLOCK("How the hand-over feels", FEEL,
          "Dip and surge: deceleration missing below, or found above, what the plain lags of the "
          "two paths explain (dip 95 %: 95th percentile over the hand-overs). Time felt: dip or "
          "surge above the felt line. Speed not off: time integral of the dips. Jerk: of the "
          "filtered difference between demanded and delivered."),
    BLOCK("Axle balance", BALANCE,
          "Brake forces only, level-road axle loads, against the rule named below. Violations that "
          "are long enough are counted. Worst margin: adhesion used against the rule's line, "
          "negative beyond it. Beyond grip: an axle asked for more than the road gives."),
    BLOCK("Battery and machines", BATTERY,
          "Held by charge: the charge limit cut a machine command. Peaks are those of the run."),
    BLOCK("Coming to rest", REST,
          "Stopping distance: from the start of the demand to rest; MFDD: mean fully developed "
          "deceleration, between 0.8 and 0.1 of the initial speed (both for single stops). Jolt: "
          "deceleration that vanishes at the moment of rest. Hold lacks: force missing to hold the "
          "car at rest."),
    BLOCK("Messages to the machines", MESSAGES,
          "Lost: torque messages that never arrived. Oldest acting: greatest age of a command that "
          "a machine acted on, counted from its sending. Timed out: time a machine had had no new "
          "message for longer than message.timeout_ms; two machines count apart."),
    BLOCK("Checks", CHECKS,
          "Ledger: work not accounted for, over all work done. Kinematic check: worst event, by "
          "separate code from speed and height alone. Outside trace: time beyond the published "
          "tolerance of 2.0 km/h within 1.0 s. Clipped: control periods in which the plant cut a "
          "request. Lamp: time dark though it must be lit, lit though it must be dark."),
};

size_t bw_block_count(void) {
  return sizeof BLOCKS / sizeof BLOCKS[0];
}

const struct bw_block *bw_block_at(size_t index) {
  return index < bw_block_count() ? &BLOCKS[index] : NULL;
}
