/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fault_axes.h"

#include <math.h>
#include <string.h>

static const double KMH_PER_MPS = 3.6;

/* The usual second values, chosen here: nearly full, packed snow, a steep way down. */
static const double CHARGE_PERCENT = 95.0;
static const double CHARGE_OTHER_PERCENT = 50.0; /* where the case is nearly full itself */
static const double GRIP = 0.2;
static const double GRIP_OTHER = 0.9; /* where the case is slippery itself */
static const double GRADE_PERCENT = -8.0;
/* a case this near to a usual second value takes the other one */
static const double CHARGE_NEAR_PERCENT = 2.0;
static const double GRIP_NEAR = 0.1;
static const double GRADE_NEAR_PERCENT = 1.0;

static void put_pair(char *text, const char *key, double own, double other) {
  (void)snprintf(text, BW_FAULT_AXIS_TEXT, "%s=%.15g,%.15g", key, own, other);
}

/* charge, grip, grade, load, speed; gives the number of lists */
static size_t make_usual(const struct bw_case *loaded, char usual[][BW_FAULT_AXIS_TEXT]) {
  const double charge = loaded->battery.start_charge * 100.0;
  const double grip = loaded->vehicle.adhesion;
  const double grade = loaded->road_grade * 100.0;
  size_t count = 0;
  const bool is_full = fabs(charge - CHARGE_PERCENT) < CHARGE_NEAR_PERCENT;
  put_pair(usual[count++], "battery.soc_percent", charge,
           is_full ? CHARGE_OTHER_PERCENT : CHARGE_PERCENT);
  if (loaded->slip.surface.n == 0) { /* grip along the way is the case's own */
    put_pair(usual[count++], "road.adhesion", grip, grip < GRIP + GRIP_NEAR ? GRIP_OTHER : GRIP);
  }
  const bool is_steep = fabs(grade - GRADE_PERCENT) < GRADE_NEAR_PERCENT;
  put_pair(usual[count++], "road.grade_percent", grade, is_steep ? 0.0 : GRADE_PERCENT);
  const bool is_laden = loaded->vehicle.load_state == BW_LOAD_LADEN;
  (void)snprintf(usual[count++], BW_FAULT_AXIS_TEXT, "vehicle.load_state=%s",
                 is_laden ? "laden,unladen" : "unladen,laden");
  if (loaded->trace.kind != BW_TRACE_SPEED && loaded->driver.initial_speed > 0.0) {
    const double speed = loaded->driver.initial_speed * KMH_PER_MPS;
    put_pair(usual[count++], "driver.initial_speed_kmh", speed, 0.5 * speed);
  }
  return count;
}

/* lists of faults.conditions, ';' between them */
static enum bw_status add_given(const struct bw_param_table *table, struct bw_fault_axes *out,
                                struct bw_diag *diag) {
  char *rest = out->given;
  while (rest != NULL) {
    char *end = strchr(rest, ';');
    char *next = end != NULL ? end + 1 : NULL;
    end = end != NULL ? end : rest + strlen(rest);
    rest += strspn(rest, " \t");
    while (end > rest && strchr(" \t", end[-1]) != NULL) {
      end--;
    }
    *end = '\0';
    if (*rest != '\0') {
      BW_TRY(bw_sweep_plan_add(&out->axes, table, rest, diag));
    }
    rest = next;
  }
  return BW_OK;
}

static enum bw_status add_lists(const struct bw_arguments *arguments, const struct bw_case *loaded,
                                struct bw_fault_axes *out, struct bw_diag *diag) {
  const struct bw_param_table *table = bw_case_params(loaded);
  out->axes.point_count = 1;
  for (size_t i = 0; i < arguments->setting_count; i++) {
    if (strcmp(arguments->settings[i].option->name, "over") == 0) {
      BW_TRY(bw_sweep_plan_add(&out->axes, table, arguments->settings[i].value, diag));
    }
  }
  if (out->axes.axis_count > 0) {
    return BW_OK;
  }
  (void)snprintf(out->given, sizeof out->given, "%s", loaded->fault_conditions);
  BW_TRY(add_given(table, out, diag));
  if (out->axes.axis_count > 0) {
    return BW_OK;
  }
  out->is_usual = true;
  const size_t count = make_usual(loaded, out->usual);
  for (size_t i = 0; i < count; i++) {
    BW_TRY(bw_sweep_plan_add(&out->axes, table, out->usual[i], diag));
  }
  return BW_OK;
}

static enum bw_status read_cross(const struct bw_arguments *arguments, enum bw_fault_cross *cross,
                                 struct bw_diag *diag) {
  const char *word = bw_arguments_value(arguments, "cross");
  *cross = BW_FAULT_CROSS_PAIRS;
  if (word == NULL || strcmp(word, "pairs") == 0) {
    return BW_OK;
  }
  *cross = BW_FAULT_CROSS_FULL;
  return strcmp(word, "full") == 0
             ? BW_OK
             : bw_fail(diag, BW_E_USAGE, "'%.80s' is no way to combine; give --cross pairs or full",
                       word);
}

static enum bw_status make_texts(struct bw_fault_axes *out, struct bw_diag *diag) {
  const size_t keys = bw_sweep_key_count(&out->axes);
  const size_t cells = out->plan.count * keys;
  out->key_count = keys;
  out->key = bw_alloc(keys + 1, sizeof(const char *));
  out->value = bw_alloc(cells + 1, sizeof(const char *));
  out->text = bw_alloc(cells + 1, BW_SWEEP_VALUE_MAX);
  if (out->key == NULL || out->value == NULL || out->text == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the conditions");
  }
  for (size_t i = 0; i < keys; i++) {
    out->key[i] = bw_sweep_key(&out->axes, i);
  }
  for (size_t i = 0; i < cells; i++) {
    char *text = out->text + i * BW_SWEEP_VALUE_MAX;
    bw_sweep_value(&out->axes, out->plan.point[i / keys], i % keys, text);
    out->value[i] = text;
  }
  return BW_OK;
}

enum bw_status bw_fault_axes_choose(const struct bw_arguments *arguments,
                                    const struct bw_case *loaded, struct bw_fault_axes *out,
                                    struct bw_diag *diag) {
  enum bw_fault_cross cross = BW_FAULT_CROSS_PAIRS;
  BW_TRY(read_cross(arguments, &cross, diag));
  BW_TRY(add_lists(arguments, loaded, out, diag));
  BW_TRY(bw_fault_plan_choose(&out->axes, cross, &out->plan, diag));
  return make_texts(out, diag);
}

bool bw_fault_axes_is_own(const struct bw_fault_axes *axes, size_t condition, size_t index) {
  return axes->is_usual &&
         bw_fault_plan_place(&axes->axes, axes->plan.point[condition], index) == 0;
}

void bw_fault_axes_free(struct bw_fault_axes *axes) {
  bw_sweep_plan_free(&axes->axes);
  bw_fault_plan_free(&axes->plan);
  bw_free(axes->key);
  bw_free(axes->value);
  bw_free(axes->text);
}
