/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/explain.h"

#include <math.h>
#include <string.h>

#define KMH     3.6
#define KW      1e-3
#define PERCENT 100.0
#define MS      1e3
/* a request at or above this share of what there is touches the limit, as in assess/cascade.h */
#define TOUCHED 0.99

static const char *const AXLES[BW_AXLES] = {[BW_FRONT] = "front", [BW_REAR] = "rear"};

/* m/s2; what is smaller is rounding of a band that was met */
#define ROUNDING 1e-9

/* filled by hand where a sentence needs more than a number */
#define SAY(row, ...) ((void)snprintf((row)->text, sizeof(row)->text, __VA_ARGS__))

/* `key` with %s is completed by the axle, 'front' or 'rear' */
static struct bw_explain_row *add_row(struct bw_explain_page *page, const char *section,
                                      const char *key, int axle) {
  BW_ASSERT(page->count < BW_EXPLAIN_ROWS);
  struct bw_explain_row *row = &page->row[page->count++];
  const char *place = strstr(key, "%s");
  *row = (struct bw_explain_row){.section = section, .value = (double)NAN};
  if (place == NULL) {
    (void)snprintf(row->key, sizeof row->key, "%s", key);
  } else {
    (void)snprintf(row->key, sizeof row->key, "%.*s%s%s", (int)(place - key), key, AXLES[axle],
                   place + 2);
  }
  return row;
}

/* a figure of the whole car with a plain sentence */
static void put(struct bw_explain_page *page, const char *section, const char *key, double value,
                const char *text) {
  struct bw_explain_row *row = add_row(page, section, key, 0);
  row->value = value;
  SAY(row, "%s", text);
}

/* a figure of one axle; the sentence is completed by the axle's name */
static void put_axle(struct bw_explain_page *page, const char *section, const char *key, int axle,
                     double value) {
  add_row(page, section, key, axle)->value = value;
}

static void say_axle(struct bw_explain_page *page, const char *before, int axle,
                     const char *after) {
  struct bw_explain_row *row = &page->row[page->count - 1];
  SAY(row, "%s%s%s", before, AXLES[axle], after);
}

/* what is, beside what the strategy saw */
static void put_truth(const struct bw_explanation *explanation, struct bw_explain_page *page) {
  static const char *const section = "What was true beside it";
  const struct bw_sample *sample = &explanation->moment->sample;
  if (bw_message_acts(&explanation->loaded->message)) {
    put(page, section, "message_age_ms", sample->message_age * MS,
        "The oldest command that a machine acted on had been sent this long ago.");
  }
  if (!sample->is_sensed) {
    return;
  }
  const struct bw_sample_truth *truth = &sample->truth;
  put(page, section, "true_speed_kmh", truth->speed * KMH, "The car really drove at this speed.");
  for (int i = 0; i < BW_AXLES; i++) {
    if (explanation->loaded->machine[i].is_fitted) {
      put_axle(page, section, "true_machine_%s_nm", i, truth->machine[i]);
      say_axle(page, "The ", i, " machine really gave this.");
    }
    put_axle(page, section, "true_friction_%s_nm", i, truth->friction[i]);
    say_axle(page, "The pressure at the ", i, " brakes really stood for this.");
    put_axle(page, section, "true_slip_%s_percent", i, truth->slip[i] * PERCENT);
    say_axle(page, "The ", i, " wheels really turned slower than the road by this share.");
  }
}

static void put_seen(const struct bw_explanation *explanation, struct bw_explain_page *page) {
  static const char *const section = "What the strategy saw";
  const struct bw_blend_input *input = &explanation->moment->input;
  put(page, section, "speed_kmh", input->speed * KMH, "The car drove at this speed.");
  put(page, section, "deceleration_mps2", input->deceleration,
      input->deceleration >= 0.0 ? "It was slowing down by this much."
                                 : "It was gaining speed by this much.");
  put(page, section, "demand_pedal_nm", input->demand_pedal,
      "The brake pedal asked for this, both axles together.");
  put(page, section, "demand_overrun_nm", input->demand_overrun,
      "The released accelerator asked for this.");
  for (int i = 0; i < BW_AXLES; i++) {
    if (!explanation->loaded->machine[i].is_fitted) {
      continue;
    }
    put_axle(page, section, "machine_available_%s_nm", i, input->machine_available[i]);
    say_axle(page, "The ", i, " machine could brake with this, both machines at once.");
    put_axle(page, section, "machine_available_alone_%s_nm", i, input->machine_available_alone[i]);
    say_axle(page, "The ", i, " machine could brake with this if the other gave nothing.");
    put_axle(page, section, "machine_continuous_%s_nm", i, input->machine_available_continuous[i]);
    say_axle(page, "The ", i, " machine could hold this for as long as one likes.");
    put_axle(page, section, "machine_pulse_left_%s_s", i, input->machine_pulse_left[i]);
    say_axle(page, "What the ", i, " machine could do would last for this long.");
    put_axle(page, section, "machine_estimate_%s_nm", i, input->machine_estimate[i]);
    say_axle(page, "The inverter said that the ", i, " machine gave this (driving is negative).");
  }
  for (int i = 0; i < BW_AXLES; i++) {
    put_axle(page, section, "friction_estimate_%s_nm", i, input->friction_estimate[i]);
    say_axle(page, "From the pressure, the ", i, " friction brake gave this.");
    put_axle(page, section, "axle_load_%s_n", i, input->axle_load[i]);
    say_axle(page, "The ", i, " axle was thought to carry this.");
    put_axle(page, section, "slip_%s_percent", i, input->slip[i] * PERCENT);
    say_axle(page, "The ", i, " wheels turned slower than the road by this share.");
  }
  put(page, section, "charge_power_kw", input->charge_power * KW,
      "Battery and auxiliaries could take this.");
  put(page, section, "state_of_charge_percent", input->state_of_charge * PERCENT,
      "The battery was this full.");
}

static void put_word(struct bw_explain_page *page, const char *section, const char *key, int axle,
                     const char *word) {
  struct bw_explain_row *row = add_row(page, section, key, axle);
  (void)snprintf(row->word, sizeof row->word, "%s", word);
}

/* whether the limit mattered to what the strategy asked for */
static void put_active_limit(const struct bw_explanation *explanation, int axle,
                             struct bw_explain_page *page) {
  static const char *const section = "What the limits were";
  const struct bw_sample_axle *at = &explanation->moment->sample.axle[axle];
  const double asked = explanation->moment->request.machine[axle];
  const bool is_joint = at->available < at->available_alone;
  const char *limit =
      is_joint ? bw_limit_text(explanation->moment->sample.charge_limit) : bw_limit_text(at->limit);
  put_word(page, section, "machine_limit_%s", axle, limit);
  struct bw_explain_row *row = &page->row[page->count - 1];
  if (at->available <= 0.0) {
    SAY(row, "This limit left the %s machine nothing to brake with; %.6g N m were asked for.",
        AXLES[axle], asked);
  } else if (asked >= TOUCHED * at->available) {
    SAY(row, "This limit was active: the strategy asked for %.6g N m of %.6g N m, all there was.",
        asked, at->available);
  } else {
    SAY(row, "The nearest limit, not active: the strategy asked for %.6g N m of %.6g N m.", asked,
        at->available);
  }
}

static void put_machine_limits(const struct bw_explanation *explanation, int axle,
                               struct bw_explain_page *page) {
  static const char *const section = "What the limits were";
  const struct bw_moment_machine *machine = &explanation->moment->machine[axle];
  const struct bw_sample_axle *at = &explanation->moment->sample.axle[axle];
  put_axle(page, section, "machine_cool_%s_nm", axle, machine->cool);
  say_axle(page, "Torque, power and speed limits alone would let the ", axle, " machine do this.");
  put_axle(page, section, "low_speed_%s_percent", axle, machine->low_speed_share * PERCENT);
  say_axle(page, "The ", axle,
           machine->low_speed_share < 1.0 ? " machine's low-speed limit left this share of it."
                                          : " machine's low-speed limit took nothing.");
  put_axle(page, section, "derating_%s_percent", axle, machine->derating_share * PERCENT);
  say_axle(page, "The ", axle,
           machine->derating_share < 1.0 ? " machine was hot, which left this share of it."
                                         : " machine was cool enough to do all it can.");
  put_axle(page, section, "machine_envelope_%s_nm", axle, at->envelope);
  say_axle(page, "So the ", axle, " machine's own limit was this, the battery left aside.");
  put_axle(page, section, "machine_alone_%s_nm", axle, at->available_alone);
  say_axle(page, "The ", axle,
           at->available_alone < at->envelope
               ? " machine could do no more than this, or the battery would get too much."
               : " machine could do all of that with the battery as it was.");
  put_axle(page, section, "machine_joint_%s_nm", axle, at->available);
  say_axle(page, "The ", axle,
           at->available < at->available_alone
               ? " machine's part, because both share what the battery takes."
               : " machine did not have to share the battery with the other.");
  put_active_limit(explanation, axle, page);
}

static void put_limits(const struct bw_explanation *explanation, struct bw_explain_page *page) {
  static const char *const section = "What the limits were";
  const struct bw_sample *sample = &explanation->moment->sample;
  for (int i = 0; i < BW_AXLES; i++) {
    if (explanation->loaded->machine[i].is_fitted) {
      put_machine_limits(explanation, i, page);
    }
  }
  put(page, section, "charge_limit_kw", sample->charge_power * KW,
      "More than this the DC link could not take.");
  put_word(page, section, "charge_limit_cause", 0, bw_limit_text(sample->charge_limit));
  SAY(&page->row[page->count - 1],
      sample->is_charge_capped
          ? "This kept the battery from taking more, and it held a command back."
          : "This would have been the battery's first limit; none was held back.");
}

static void put_split(const struct bw_explanation *explanation, struct bw_explain_page *page) {
  static const char *const section = "The split: asked for, commanded, delivered";
  const struct bw_moment *moment = explanation->moment;
  const struct bw_blend_request *request = &moment->request;
  double asked = 0.0;
  for (int i = 0; i < BW_AXLES; i++) {
    const struct bw_sample_axle *axle = &moment->sample.axle[i];
    asked += request->machine[i] + request->friction[i];
    if (explanation->loaded->machine[i].is_fitted) {
      put_axle(page, section, "machine_request_%s_nm", i, request->machine[i]);
      say_axle(page, "The strategy asked the ", i, " machine for this.");
      put_axle(page, section, "machine_command_%s_nm", i, axle->machine_command);
      say_axle(page, "This was sent to the ", i, " machine, after limits; driving is negative.");
      put_axle(page, section, "machine_torque_%s_nm", i, axle->machine_torque);
      say_axle(page, "The ", i, " machine gave this: dead time, lag and slew lie between.");
    }
    put_axle(page, section, "friction_request_%s_nm", i, request->friction[i]);
    say_axle(page, "The strategy asked the ", i, " friction brake for this.");
    put_axle(page, section, "friction_command_%s_nm", i, axle->friction_command);
    say_axle(page, "This was sent to the ", i, " friction brake, after limits and plumbing.");
    put_axle(page, section, "friction_torque_%s_nm", i, axle->friction_torque);
    say_axle(page, "The ", i, " friction brake gave this: lag and real pad friction lie between.");
  }
  put(page, section, "demand_nm", moment->sample.demand, "The driver wanted this in all.");
  put(page, section, "request_nm", asked, "The strategy asked for this in all.");
  put(page, section, "delivered_nm", moment->delivered,
      "This arrived in all, the mean of the period; driving is negative.");
}

static void put_clippings(const struct bw_explanation *explanation, struct bw_explain_page *page) {
  static const char *const section = "What was clipped";
  static const struct {
    uint32_t bit;
    const char *word;
    const char *text;
  } bits[] = {
      {BW_CLIP_MACHINE_FRONT, "machine-front", "The front machine was asked for more than it had."},
      {BW_CLIP_MACHINE_REAR, "machine-rear", "The rear machine was asked for more than it had."},
      {BW_CLIP_FRICTION_FRONT, "friction-front", "The front friction brake cannot give so much."},
      {BW_CLIP_FRICTION_REAR, "friction-rear", "The rear friction brake cannot give so much."},
      {BW_CLIP_PEDAL_FLOOR, "pedal-floor",
       "The coupled pedal leaves more friction than asked for."},
  };
  const uint32_t clipped = explanation->moment->sample.clipped;
  for (size_t i = 0; i < sizeof bits / sizeof bits[0]; i++) {
    if ((clipped & bits[i].bit) != 0) {
      put_word(page, section, "clipped", 0, bits[i].word);
      SAY(&page->row[page->count - 1], "%s", bits[i].text);
    }
  }
  if (clipped == 0) {
    put_word(page, section, "clipped", 0, "nothing");
    SAY(&page->row[page->count - 1], "Every request could be taken as it came.");
  }
}

static void put_balance(const struct bw_explanation *explanation, struct bw_explain_page *page) {
  static const char *const section = "Axle balance, forces as delivered, level-road loads";
  const struct bw_moment *moment = explanation->moment;
  const struct bw_balance_check *check = &moment->balance;
  if (!moment->is_balanced) {
    put_word(page, section, "balance", 0, "not judged");
    SAY(&page->row[page->count - 1], "No axle was braking.");
    return;
  }
  put(page, section, "braking_rate", check->braking_rate,
      "z: brake forces over the weight of the car.");
  for (int i = 0; i < BW_AXLES; i++) {
    put_axle(page, section, "adhesion_used_%s", i, check->used[i]);
    say_axle(page, "The ", i, " axle's brake force over its load.");
  }
  put(page, section, "adhesion_allowed", moment->balance_line,
      isfinite(moment->balance_line) ? "The rule's line lets no axle use more than this."
                                     : "At so high a braking rate the rule's line asks nothing.");
  const bool is_order_asked =
      check->braking_rate >= BW_BALANCE_ORDER_FROM && check->braking_rate <= BW_BALANCE_ORDER_TO;
  put_word(page, section, "front_before_rear", 0,
           check->used[BW_FRONT] >= check->used[BW_REAR] ? "true" : "false");
  SAY(&page->row[page->count - 1],
      is_order_asked ? "The rule wants the front axle to use no less than the rear, z 0.15 to 0.8."
                     : "The rule asks for no order at this braking rate.");
  put(page, section, "balance_margin", check->margin,
      check->margin >= 0.0 ? "Kept: so far from the nearest line."
                           : "Broken: so far beyond the line; short spells are lag, not counted.");
}

static void put_feel(const struct bw_explanation *explanation, struct bw_explain_page *page) {
  static const char *const section = "What the driver felt";
  const struct bw_moment *moment = explanation->moment;
  const double felt = explanation->loaded->assess.felt_deceleration;
  if (!moment->is_felt) {
    put_word(page, section, "feel", 0, "not judged");
    SAY(&page->row[page->count - 1], "Only braking above %.6g km/h is judged.",
        BW_FEEL_SPEED * KMH);
    return;
  }
  put(page, section, "gap_nm", moment->sample.demand - moment->sample.drive - moment->delivered,
      "Wanted less delivered; much of it is mere delay.");
  put(page, section, "envelope_low_nm", moment->low,
      "With no hand-over, the delays alone would leave no less than this.");
  put(page, section, "envelope_high_nm", moment->high, "And no more than this.");
  const double dip = moment->dip_peak > ROUNDING ? moment->dip_peak : 0.0;
  const double surge = moment->surge_peak > ROUNDING ? moment->surge_peak : 0.0;
  put(page, section, "dip_mps2", dip,
      dip > felt  ? "So much was missing below the band: a driver notices."
      : dip > 0.0 ? "So much was missing below the band: no driver notices."
                  : "Nothing was missing below the band.");
  put(page, section, "surge_mps2", surge,
      surge > felt  ? "So much came above the band: a driver notices."
      : surge > 0.0 ? "So much came above the band: no driver notices."
                    : "Nothing came above the band.");
  put(page, section, "felt_line_mps2", felt, "From here on a driver notices.");
}

static void put_power(const struct bw_explanation *explanation, struct bw_explain_page *page) {
  static const char *const section = "Where the power went, means of the period";
  const struct bw_sample *sample = &explanation->moment->sample;
  const double scale = KW / sample->duration;
  for (int i = 0; i < BW_AXLES; i++) {
    const struct bw_sample_axle *axle = &sample->axle[i];
    if (explanation->loaded->machine[i].is_fitted) {
      put_axle(page, section, "machine_power_%s_kw", i,
               (axle->machine_work - axle->drive_work) * scale);
      say_axle(page, "Taken from the wheels by the ", i, " machine; driving is negative.");
      put_axle(page, section, "dc_power_%s_kw", i, axle->dc_work * scale);
      say_axle(page, "What the ", i, " machine and its inverter sent into the DC link.");
    }
    put_axle(page, section, "friction_heat_%s_kw", i, axle->friction_work * scale);
    say_axle(page, "Turned into heat by the ", i, " friction brake.");
  }
  put(page, section, "auxiliaries_kw", sample->auxiliaries_work * scale,
      "The auxiliaries took their part first.");
  put(page, section, "battery_power_kw", sample->battery_work * scale,
      "Into the battery at its terminals; negative when it gives.");
}

void bw_explain_fill(const struct bw_explanation *explanation, struct bw_explain_page *page) {
  page->count = 0;
  put_seen(explanation, page);
  put_truth(explanation, page);
  put_limits(explanation, page);
  put_split(explanation, page);
  put_clippings(explanation, page);
  put_balance(explanation, page);
  put_feel(explanation, page);
  put_power(explanation, page);
}
