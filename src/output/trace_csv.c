/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/trace_csv.h"

#include <ctype.h>
#include <math.h>
#include <string.h>
#include <unistd.h>

/* units of the columns, per SI */
#define KMH     3.6
#define BAR     1e-5
#define KW      1e-3
#define PERCENT 100.0
#define CELSIUS (-273.15) /* K, shift */

static const char *const BODY_NAMES[] = {"time_s",
                                         "speed_kmh",
                                         "reference_speed_kmh",
                                         "distance_m",
                                         "deceleration_mps2",
                                         "grade_percent",
                                         "demand_nm",
                                         "demand_pedal_nm",
                                         "demand_overrun_nm",
                                         "delivered_nm",
                                         "drive_nm",
                                         "charge_limit_kw",
                                         "charge_limit_cause",
                                         "battery_power_kw",
                                         "current_a",
                                         "voltage_v",
                                         "soc_percent",
                                         "clipped_bits",
                                         "stop_lamp",
                                         "parked",
                                         "fault_level"};

/* %s is the axle */
static const char *const AXLE_NAMES[] = {"machine_request_%s_nm",
                                         "machine_command_%s_nm",
                                         "machine_torque_%s_nm",
                                         "machine_available_%s_nm",
                                         "machine_alone_%s_nm",
                                         "machine_envelope_%s_nm",
                                         "machine_limit_%s",
                                         "machine_speed_%s_rpm",
                                         "machine_temperature_%s_c",
                                         "friction_request_%s_nm",
                                         "friction_command_%s_nm",
                                         "friction_torque_%s_nm",
                                         "pressure_%s_bar",
                                         "rotor_temperature_%s_c",
                                         "axle_load_%s_n",
                                         "brake_force_%s_n",
                                         "slip_%s"};

static const char *const AXLES[BW_AXLES] = {[BW_FRONT] = "front", [BW_REAR] = "rear"};

static void put_header(struct bw_csv_row *row) {
  for (size_t i = 0; i < sizeof BODY_NAMES / sizeof BODY_NAMES[0]; i++) {
    bw_csv_put_text(row, BODY_NAMES[i]);
  }
  for (int axle = 0; axle < BW_AXLES; axle++) {
    for (size_t i = 0; i < sizeof AXLE_NAMES / sizeof AXLE_NAMES[0]; i++) {
      const char *place = strstr(AXLE_NAMES[i], "%s");
      char name[64];
      (void)snprintf(name, sizeof name, "%.*s%s%s", (int)(place - AXLE_NAMES[i]), AXLE_NAMES[i],
                     AXLES[axle], place + 2);
      bw_csv_put_text(row, name);
    }
  }
  bw_csv_end_row(row);
}

void bw_trace_csv_start(struct bw_trace_csv *trace, const struct bw_case *loaded, FILE *stream) {
  const double ratio = loaded->trace_period / loaded->control_period;
  const struct bw_assess_options *assess = &loaded->assess;
  *trace = (struct bw_trace_csv){
      .loaded = loaded,
      .row = {.stream = stream},
      .lamp = bw_lamp_make(assess->lamp_on, assess->lamp_filter),
      .every = ratio > 1.0 ? (size_t)lround(ratio) : 1,
  };
  put_header(&trace->row);
}

static double mean_delivered(const struct bw_sample *sample) {
  double sum = 0.0;
  for (size_t i = 0; i < sample->substeps; i++) {
    sum += sample->delivered[i];
  }
  return sample->substeps > 0 ? sum / (double)sample->substeps : 0.0;
}

static void put_body(struct bw_csv_row *row, const struct bw_sample *sample, bool is_lit) {
  const double sine = sample->sin_slope;
  bw_csv_put_sample(row, sample->time);
  bw_csv_put_sample(row, sample->speed_start * KMH);
  bw_csv_put_sample(row, sample->reference_speed * KMH);
  bw_csv_put_sample(row, sample->distance_start);
  bw_csv_put_sample(row, sample->deceleration);
  bw_csv_put_sample(row, sine / sqrt(1.0 - sine * sine) * PERCENT);
  bw_csv_put_sample(row, sample->demand);
  bw_csv_put_sample(row, sample->demand_pedal);
  bw_csv_put_sample(row, sample->demand_overrun);
  bw_csv_put_sample(row, mean_delivered(sample));
  bw_csv_put_sample(row, sample->drive);
  bw_csv_put_sample(row, sample->charge_power * KW);
  bw_csv_put_text(row, bw_limit_text(sample->charge_limit));
  bw_csv_put_sample(row, sample->battery_work / sample->duration * KW);
  bw_csv_put_sample(row, sample->current);
  bw_csv_put_sample(row, sample->voltage);
  bw_csv_put_sample(row, sample->charge * PERCENT);
  bw_csv_put_count(row, sample->clipped);
  bw_csv_put_count(row, is_lit ? 1 : 0);
  bw_csv_put_count(row, sample->is_parked ? 1 : 0);
  bw_csv_put_sample(row, sample->fault_level);
}

/* an axle without machine has empty fields there: not applicable */
static void put_machine(struct bw_csv_row *row, const struct bw_sample_axle *axle, bool is_fitted) {
  const double rpm = 30.0 / acos(-1.0);
  const double value[] = {axle->machine_request, axle->machine_command, axle->machine_torque,
                          axle->available,       axle->available_alone, axle->envelope};
  for (size_t i = 0; i < sizeof value / sizeof value[0]; i++) {
    bw_csv_put_sample(row, is_fitted ? value[i] : (double)NAN);
  }
  bw_csv_put_text(row, is_fitted ? bw_limit_text(axle->limit) : "");
  bw_csv_put_sample(row, is_fitted ? axle->omega * rpm : (double)NAN);
  bw_csv_put_sample(row, is_fitted ? axle->machine_temperature + CELSIUS : (double)NAN);
}

static void put_axle(struct bw_csv_row *row, const struct bw_sample_axle *axle, bool is_fitted) {
  put_machine(row, axle, is_fitted);
  bw_csv_put_sample(row, axle->friction_request);
  bw_csv_put_sample(row, axle->friction_command);
  bw_csv_put_sample(row, axle->friction_torque);
  bw_csv_put_sample(row, axle->pressure * BAR);
  bw_csv_put_sample(row, axle->rotor_temperature + CELSIUS);
  bw_csv_put_sample(row, axle->load);
  bw_csv_put_sample(row, axle->brake_force);
  bw_csv_put_sample(row, axle->slip);
}

enum bw_status bw_trace_csv_watch(void *context, const struct bw_sample *sample,
                                  struct bw_diag *diag) {
  (void)diag;
  struct bw_trace_csv *trace = context;
  bw_lamp_watch(&trace->lamp, sample);
  const bool is_due = trace->seen % trace->every == 0;
  trace->seen++;
  if (!is_due) {
    return BW_OK;
  }
  put_body(&trace->row, sample, trace->lamp.is_lit);
  for (int axle = 0; axle < BW_AXLES; axle++) {
    put_axle(&trace->row, &sample->axle[axle], trace->loaded->machine[axle].is_fitted);
  }
  bw_csv_end_row(&trace->row);
  return trace->row.has_failed ? BW_E_IO : BW_OK;
}

bool bw_trace_csv_cut(FILE *stream) {
  if (fseek(stream, 0, SEEK_END) != 0) {
    return false;
  }
  long end = ftell(stream);
  for (int byte = 0; end > 0; end--) {
    if (fseek(stream, end - 1, SEEK_SET) != 0) {
      return false;
    }
    byte = fgetc(stream);
    if (byte == '\n') {
      break;
    }
    if (byte == EOF) {
      return false;
    }
  }
  return end >= 0 && ftruncate(fileno(stream), end) == 0 && fseek(stream, 0, SEEK_END) == 0;
}

void bw_trace_csv_name(const char *strategy, char name[BW_TRACE_FILE_NAME_MAX]) {
  size_t used = (size_t)snprintf(name, BW_TRACE_FILE_NAME_MAX, "trace-");
  for (; *strategy != '\0' && used + 8 < BW_TRACE_FILE_NAME_MAX; strategy++) {
    const unsigned char byte = (unsigned char)*strategy;
    const bool is_plain =
        isalnum(byte) || byte == '-' || byte == '_' || byte == '.' || byte >= 0x80;
    if (is_plain) {
      name[used++] = (char)byte;
    } else {
      used += (size_t)snprintf(name + used, 4, "%%%02X", byte);
    }
  }
  (void)snprintf(name + used, BW_TRACE_FILE_NAME_MAX - used, ".csv");
}
