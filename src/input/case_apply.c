/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _XOPEN_SOURCE 700 /* NOLINT: realpath() is of this level */

#include "input/case_loader.h"
#include "input/catalogue.h"
#include "input/config_file.h"
#include "input/unit.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WANTED_SIZE = 256 };

void bw_case_require(struct bw_case_loader *loader) {
  const struct bw_param_table *table = loader->values->table;
  for (size_t i = 0; i < bw_param_count(table); i++) {
    const struct bw_param_row *row = bw_param_row_at(table, i);
    if (!row->param.is_required || loader->values->value[i].is_set) {
      continue;
    }
    if (row->needs_key != NULL &&
        bw_param_index_of(loader->values, row->needs_key) != row->needs_index) {
      continue;
    }
    char wanted[WANTED_SIZE];
    bw_param_describe(&row->param, wanted, sizeof wanted);
    BW_LOADER_FAIL(loader, loader->path, 0, "'%s' is missing (%s); give %s", row->param.key,
                   row->param.help, wanted);
  }
}

/* name of the case file without folder and suffix */
static void stem_of(const char *path, char name[BW_NAME_MAX]) {
  const char *slash = strrchr(path, '/');
  const char *start = slash != NULL ? slash + 1 : path;
  const char *dot = strrchr(start, '.');
  const size_t length = dot != NULL && dot != start ? (size_t)(dot - start) : strlen(start);
  (void)snprintf(name, BW_NAME_MAX, "%.*s", (int)(length < BW_NAME_MAX ? length : BW_NAME_MAX - 1),
                 start);
}

static enum bw_status store_rows(const struct bw_param_row *row, const struct bw_table_rows *rows,
                                 char *field, struct bw_diag *diag) {
  if (rows->count == 0) {
    return BW_OK;
  }
  const char *columns = row->param.choices;
  if (row->store == BW_STORE_TABLE2) {
    return bw_table_to_2d(rows, columns, (struct bw_table2 *)(void *)field, diag);
  }
  if (row->store == BW_STORE_TABLE1) {
    return bw_table_to_1d(rows, columns, 1, (struct bw_table1 *)(void *)field, diag);
  }
  return BW_OK;
}

static enum bw_status store_charge(const struct bw_table_rows *rows, const char *columns,
                                   struct bw_battery *battery, struct bw_diag *diag) {
  BW_TRY(bw_table_to_1d(rows, columns, 1, &battery->charge_continuous, diag));
  return bw_table_to_1d(rows, columns, 2, &battery->charge_pulse, diag);
}

static void store(struct bw_case_loader *loader, const struct bw_param_row *row,
                  const struct bw_param_value *value) {
  char *field = (char *)loader->target + row->offset;
  const double si = bw_unit_to_si(bw_unit_of_name(row->param.key), value->number);
  const bool is_true = value->number > 0.5;
  /* only choices are small whole numbers */
  const int index = row->store == BW_STORE_ENUM ? (int)value->number : 0;
  _Static_assert(sizeof(enum bw_load_state) == sizeof index, "choices are stored as int");
  switch (row->store) {
  case BW_STORE_DOUBLE:
    memcpy(field, &si, sizeof si);
    break;
  case BW_STORE_BOOL:
    memcpy(field, &is_true, sizeof is_true);
    break;
  case BW_STORE_ENUM:
    memcpy(field, &index, sizeof index);
    break;
  case BW_STORE_TEXT:
    (void)snprintf(field, row->size, "%s", value->text != NULL ? value->text : row->param.choices);
    break;
  case BW_STORE_TABLE1:
  case BW_STORE_TABLE2:
    bw_loader_note(loader, store_rows(row, &value->rows, field, loader->diag));
    break;
  case BW_STORE_SURFACE:
    bw_case_store_surface(loader, &value->rows);
    break;
  case BW_STORE_CHARGE:
    bw_loader_note(loader, store_charge(&value->rows, row->param.choices, &loader->target->battery,
                                        loader->diag));
    break;
  case BW_STORE_NONE:
    break;
  }
}

/* N, N/(km/h), N/(km/h)2 to SI; or rolling and drag at the mass of the load state used */
static void resolve_road_load(struct bw_case_loader *loader) {
  struct bw_vehicle *vehicle = &loader->target->vehicle;
  const struct bw_param_values *values = loader->values;
  if (bw_param_index_of(values, "vehicle.road_load") == 0) {
    const char *keys[] = {"vehicle.coast_f0_n", "vehicle.coast_f1_n_per_kmh",
                          "vehicle.coast_f2_n_per_kmh2"};
    double *terms[] = {&vehicle->road_f0, &vehicle->road_f1, &vehicle->road_f2};
    for (size_t i = 0; i < 3; i++) {
      *terms[i] = bw_unit_to_si(bw_unit_of_name(keys[i]), bw_param_number(values, keys[i]));
    }
    return;
  }
  const double mass = vehicle->load[vehicle->load_state].mass;
  vehicle->road_f0 = bw_param_number(values, "vehicle.rolling_coefficient") * mass * BW_GRAVITY;
  vehicle->road_f1 = 0.0;
  vehicle->road_f2 = 0.5 * bw_param_number(values, "ambient.air_density_kgpm3") *
                     bw_param_number(values, "vehicle.drag_area_m2");
}

static void resolve_balance(struct bw_case_loader *loader) {
  /* slopes c; sources in the help of assess.balance_rule */
  static const double slopes[] = {0.85, 0.7};
  struct bw_assess_options *assess = &loader->target->assess;
  const struct bw_param *rule = bw_param_find(loader->values->table, "assess.balance_rule");
  const int index = bw_param_index_of(loader->values, "assess.balance_rule");
  struct bw_param_value *slope = bw_param_value(loader->values, "assess.balance_slope");
  BW_ASSERT(
      bw_word_at(rule->choices, (size_t)index, assess->balance_rule, sizeof assess->balance_rule));
  if (index > 1) {
    return;
  }
  if (slope->is_given && fabs(slope->number - slopes[index]) > 0.0) {
    bw_loader_fail_key(loader, "assess.balance_slope",
                       "%.15g is not the slope %.15g of rule %s; take balance_rule custom",
                       slope->number, slopes[index], assess->balance_rule);
  }
  slope->number = slopes[index];
  slope->is_set = true;
  assess->balance_slope = slopes[index];
}

static void resolve_drive(struct bw_case_loader *loader) {
  const struct bw_machine *machine = loader->target->machine;
  struct bw_param_value *share = bw_param_value(loader->values, "driver.drive_front_share");
  if (machine[BW_FRONT].is_fitted == machine[BW_REAR].is_fitted) {
    return;
  }
  const double only = machine[BW_FRONT].is_fitted ? 1.0 : 0.0;
  if (share->is_given && fabs(share->number - only) > 0.0) {
    bw_loader_fail_key(loader, "driver.drive_front_share",
                       "%.15g, but only the %s machine is fitted; give %g or leave it out",
                       share->number, only > 0.5 ? "front" : "rear", only);
  }
  share->number = only;
  loader->target->driver.drive_front_share = only;
}

/* not given: the first whole multiple of the control period from the fallback on */
static void resolve_trace_period(struct bw_case_loader *loader) {
  struct bw_param_value *value = bw_param_value(loader->values, "output.trace_period_ms");
  if (!value->is_given) {
    const double period = bw_param_number(loader->values, "control.period_ms");
    value->number = ceil(value->number / period - 1e-9) * period;
    loader->target->trace_period =
        bw_unit_to_si(bw_unit_of_name("output.trace_period_ms"), value->number);
  }
}

void bw_case_apply(struct bw_case_loader *loader) {
  const struct bw_param_table *table = loader->values->table;
  for (size_t i = 0; i < bw_param_count(table); i++) {
    store(loader, bw_param_row_at(table, i), &loader->values->value[i]);
  }
  if (!bw_param_value(loader->values, "case.name")->is_given) {
    stem_of(loader->path, loader->target->name);
  }
  resolve_road_load(loader);
  resolve_balance(loader);
  resolve_drive(loader);
  resolve_trace_period(loader);
  bw_case_resolve_slip(loader);
}

void bw_case_base_of(const struct bw_param_value *value, char base[BW_PATH_MAX]) {
  base[0] = '\0';
  if (value->is_given && value->depth >= 0 && value->file != NULL) {
    (void)bw_path_beside(value->file, "", base);
  }
}

/* message of `inner` at the place of `key` */
static void pass_on(struct bw_case_loader *loader, const char *key, const struct bw_diag *inner) {
  bw_loader_fail_key(loader, key, "%.380s", bw_message_bare(inner->line[0]));
}

bool bw_case_make_absolute(struct bw_case_loader *loader, struct bw_param_value *value,
                           const char *path) {
  char *absolute = realpath(path, NULL);
  if (absolute == NULL) {
    return false;
  }
  char *copy = bw_text_copy(absolute);
  free(absolute);
  if (copy == NULL) {
    bw_loader_note(loader, bw_fail(loader->diag, BW_E_MEMORY, "out of memory for a path"));
    return true;
  }
  bw_text_replace(&value->text, copy);
  return true;
}

/* where the cycle stands and how it is joined; false when that cannot be told */
static bool find_cycle(struct bw_case_loader *loader, struct bw_trace_key *key) {
  struct bw_param_value *value = bw_param_value(loader->values, "cycle.name");
  char base[BW_PATH_MAX];
  struct bw_diag inner = {0};
  bw_case_base_of(value, base);
  if (bw_cycle_path(value->text, loader->data_dir, base, key->path, sizeof key->path, &inner) !=
      BW_OK) {
    pass_on(loader, "cycle.name", &inner);
    return false;
  }
  const bool is_linear = bw_param_index_of(loader->values, "cycle.join") == 1;
  key->box = is_linear ? 0.0 : bw_param_number(loader->values, "cycle.join_s");
  return true;
}

/* the profile's path, "" without one; false when it is too long */
static bool find_grade(struct bw_case_loader *loader, struct bw_trace_key *key) {
  struct bw_param_value *value = bw_param_value(loader->values, "cycle.grade_profile");
  key->grade[0] = '\0';
  if (value->text == NULL || value->text[0] == '\0') {
    return true;
  }
  char base[BW_PATH_MAX];
  bw_case_base_of(value, base);
  if (!bw_path_beside(base[0] != '\0' ? base : NULL, value->text, key->grade)) {
    bw_loader_fail_key(loader, "cycle.grade_profile", "path is too long; give at most %d bytes",
                       (int)BW_PATH_MAX - 1);
    return false;
  }
  return true;
}

static void name_cycle(struct bw_case_loader *loader, const struct bw_trace_key *key) {
  struct bw_case *target = loader->target;
  struct bw_param_value *value = bw_param_value(loader->values, "cycle.name");
  if (bw_cycle_find(value->text) != NULL) {
    (void)snprintf(target->trace.name, sizeof target->trace.name, "%s", value->text);
  } else if (!bw_case_make_absolute(loader, value, key->path)) {
    bw_loader_fail_key(loader, "cycle.name", "path '%.200s' cannot be resolved; check it",
                       key->path);
  }
}

static void read_grade(struct bw_case_loader *loader, const struct bw_trace_key *key,
                       bool is_remembered) {
  struct bw_case *target = loader->target;
  if (key->grade[0] == '\0' || target->trace.n == 0) {
    return;
  }
  enum bw_status status = BW_OK;
  if (!is_remembered) {
    status = bw_trace_read_grade(key->grade, &target->trace, loader->diag);
    bw_loader_note(loader, status);
  }
  struct bw_param_value *value = bw_param_value(loader->values, "cycle.grade_profile");
  if (status == BW_OK && !bw_case_make_absolute(loader, value, key->grade)) {
    bw_loader_fail_key(loader, "cycle.grade_profile", "path cannot be resolved; check it");
  }
}

void bw_case_read_trace(struct bw_case_loader *loader) {
  struct bw_trace_key key;
  struct bw_trace *trace = &loader->target->trace;
  if (bw_param_value(loader->values, "cycle.name")->text == NULL) {
    return;
  }
  const bool has_cycle = find_cycle(loader, &key);
  key.grade_percent = bw_param_value(loader->values, "road.grade_percent")->number;
  if (!find_grade(loader, &key) || !has_cycle) {
    return;
  }
  const bool is_remembered =
      loader->traces != NULL && bw_trace_cache_find(loader->traces, &key, trace);
  if (!is_remembered) {
    bw_loader_note(loader, bw_trace_read(key.path, key.box, trace, loader->diag));
  }
  name_cycle(loader, &key);
  read_grade(loader, &key, is_remembered);
  if (!is_remembered && trace->n > 0) {
    bw_loader_note(loader, bw_trace_add_grade(trace, key.grade_percent, loader->diag));
  }
  if (!is_remembered && loader->traces != NULL && loader->status == BW_OK) {
    bw_trace_cache_keep(loader->traces, &key, trace);
  }
}
