/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/case_header.h"

#include "input/param.h"
#include "output/wrap.h"

#include <string.h>

#define CELSIUS (-273.15) /* K, shift */

enum { LINE_MAX_BYTES = 4096 };

static void print_vehicle(const struct bw_case *loaded, FILE *stream) {
  const struct bw_vehicle *vehicle = &loaded->vehicle;
  const struct bw_load *load = &vehicle->load[vehicle->load_state];
  char text[LINE_MAX_BYTES];
  (void)snprintf(text, sizeof text,
                 "%s, %s: %.0f kg (%.0f kg with rotating parts), wheelbase %.3f m, centre of "
                 "gravity %.3f m behind the front axle and %.3f m high, tyre radius %.3f m",
                 loaded->vehicle_name, vehicle->load_state == BW_LOAD_LADEN ? "laden" : "unladen",
                 load->mass, bw_case_effective_mass(loaded), vehicle->wheelbase, load->cg_to_front,
                 load->cg_height, vehicle->tyre_radius);
  bw_wrap_print("  vehicle   ", text, stream);
}

static void print_machine(const struct bw_machine *machine, const char *lead, FILE *stream) {
  char text[LINE_MAX_BYTES];
  if (!machine->is_fitted) {
    return;
  }
  (void)snprintf(text, sizeof text,
                 "%.0f N m, %.1f kW peak at the shaft, ratio %.2f: at most %.0f N m braking at the "
                 "axle",
                 machine->shaft_torque_peak, machine->power_peak * 1e-3, machine->ratio,
                 machine->shaft_torque_peak * machine->ratio / machine->efficiency);
  bw_wrap_print(lead, text, stream);
}

static void print_trace(const struct bw_case *loaded, FILE *stream) {
  const struct bw_trace *trace = &loaded->trace;
  const bool is_cycle = trace->kind == BW_TRACE_SPEED;
  char text[LINE_MAX_BYTES];
  if (is_cycle) {
    (void)snprintf(text, sizeof text, "%s, %.0f s, %.3f km%s%s", trace->name,
                   bw_trace_duration(trace), trace->integral[trace->n - 1] * 1e-3,
                   trace->source[0] != '\0' ? "; " : "", trace->source);
  } else {
    (void)snprintf(text, sizeof text, "%s, %.3g s, from %.1f km/h%s%s", trace->name,
                   bw_trace_duration(trace), loaded->driver.initial_speed * 3.6,
                   trace->source[0] != '\0' ? "; " : "", trace->source);
  }
  bw_wrap_print(is_cycle ? "  cycle     " : "  manoeuvre ", text, stream);
}

static void print_start(const struct bw_case *loaded, FILE *stream) {
  const struct bw_battery *battery = &loaded->battery;
  char text[LINE_MAX_BYTES];
  (void)snprintf(
      text, sizeof text,
      "battery at %.1f %% charge and %.1f deg C, ambient %.1f deg C, auxiliaries %.2f kW",
      battery->start_charge * 100.0, battery->temperature + CELSIUS,
      loaded->ambient_temperature + CELSIUS, battery->auxiliaries * 1e-3);
  bw_wrap_print("  start     ", text, stream);
}

/* the word of a choice */
static void put_word(const struct bw_case *loaded, const char *key, int index, char word[32]) {
  const char *place = bw_param_find(bw_case_params(loaded), key)->choices;
  for (; index > 0; index--) {
    place += strcspn(place, "|") + 1;
  }
  (void)snprintf(word, 32, "%.*s", (int)strcspn(place, "|"), place);
}

static void print_fault(const struct bw_case *loaded, FILE *stream) {
  static const char *const places[] = {"no", "front", "rear", "both"};
  const struct bw_fault *fault = &loaded->fault;
  if (fault->kind == BW_FAULT_NONE) {
    return;
  }
  char kind[32];
  put_word(loaded, "fault.kind", (int)fault->kind, kind);
  const int hit =
      (bw_fault_hits(fault, BW_FRONT) ? 1 : 0) + (bw_fault_hits(fault, BW_REAR) ? 2 : 0);
  char length[64] = "to the end";
  if (fault->start + fault->duration < bw_trace_duration(&loaded->trace)) {
    (void)snprintf(length, sizeof length, "for %.6g s", fault->duration);
  }
  char text[LINE_MAX_BYTES];
  (void)snprintf(text, sizeof text,
                 "%s, %s axle%s, from %.6g s %s, fades over %.6g s; the strategy is told of fallen "
                 "limits after %.6g s",
                 kind, places[hit], hit == 3 ? "s" : "", fault->start, length, fault->recovery,
                 fault->detection);
  bw_wrap_print("  fault     ", text, stream);
}

bool bw_case_header_print(const struct bw_case *loaded, FILE *stream) {
  print_vehicle(loaded, stream);
  print_machine(&loaded->machine[BW_FRONT], "  front     ", stream);
  print_machine(&loaded->machine[BW_REAR], "  rear      ", stream);
  print_trace(loaded, stream);
  print_start(loaded, stream);
  print_fault(loaded, stream);
  if (loaded->note[0] != '\0') {
    bw_wrap_print("  note      ", loaded->note, stream);
  }
  return ferror(stream) == 0;
}
