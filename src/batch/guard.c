/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "batch/guard.h"

#include "batch/plugin.h"

#include <math.h>
#include <signal.h>
#include <stdio.h>

enum { TEXT_SIZE = 400 };

enum bw_status bw_guard_watch(void *context, const struct bw_sample *sample, struct bw_diag *diag) {
  (void)context;
  (void)sample;
  (void)diag;
  return BW_OK;
}

/* the last inputs in the units of people */
static void describe_inputs(const struct bw_blend_input *input, char text[TEXT_SIZE]) {
  (void)snprintf(text, TEXT_SIZE,
                 "last inputs: speed %.6g km/h, deceleration %.4g m/s2, demand pedal %.6g N m and "
                 "overrun %.6g N m, machines can give front %.6g N m and rear %.6g N m, state of "
                 "charge %.4g %%",
                 input->speed * 3.6, input->deceleration, input->demand_pedal,
                 input->demand_overrun, input->machine_available[BW_FRONT],
                 input->machine_available[BW_REAR], input->state_of_charge * 100.0);
}

static enum bw_status check_torque(const struct bw_guard *guard, const char *what, int axle,
                                   double torque, struct bw_diag *diag) {
  if (fabs(torque) <= BW_TORQUE_BEYOND_REASON) {
    return BW_OK;
  }
  char inputs[TEXT_SIZE];
  char number[64];
  describe_inputs(&guard->page->input, inputs);
  if (isfinite(torque)) {
    (void)snprintf(number, sizeof number, "%.6g N m, which is beyond reason (%g N m)", torque,
                   BW_TORQUE_BEYOND_REASON);
  } else {
    (void)snprintf(number, sizeof number, "a torque that is not a finite number (%g)", torque);
  }
  return bw_fail_at(diag, BW_E_NUMERIC, guard->path, 0,
                    "step asked the %s of the %s axle for %s, at %.6g s of the run; %s", what,
                    axle == BW_FRONT ? "front" : "rear", number, guard->page->input.time, inputs);
}

enum bw_status bw_guard_consult(void *context, const struct bw_blend_input *input,
                                const struct bw_blend_request *request, struct bw_diag *diag) {
  const struct bw_guard *guard = context;
  if (request == NULL) {
    guard->page->input = *input;
    guard->page->has_input = true;
    guard->page->phase = BW_PHASE_STEP;
    return BW_OK;
  }
  guard->page->phase = BW_PHASE_BETWEEN;
  for (int i = 0; i < BW_AXLES; i++) {
    BW_TRY(check_torque(guard, "machine", i, request->machine[i], diag));
    BW_TRY(check_torque(guard, "friction brake", i, request->friction[i], diag));
  }
  return BW_OK;
}

static void describe_end(const struct bw_contain_report *report, double deadline,
                         char text[TEXT_SIZE]) {
  static const struct {
    int number;
    const char *text;
  } signals[] = {
      {SIGSEGV, "a wrong memory access, SIGSEGV"}, {SIGBUS, "a wrong memory access, SIGBUS"},
      {SIGABRT, "a call of abort, SIGABRT"},       {SIGFPE, "impossible arithmetic, SIGFPE"},
      {SIGILL, "an illegal instruction, SIGILL"},  {SIGKILL, "killed from outside, SIGKILL"},
  };
  if (report->end == BW_CONTAIN_LATE) {
    (void)snprintf(text, TEXT_SIZE, "was not done after %.4g s of wall time and was stopped",
                   deadline);
    return;
  }
  if (report->end == BW_CONTAIN_EXITED) {
    (void)snprintf(text, TEXT_SIZE, "ended the process by itself, with status %d", report->number);
    return;
  }
  for (size_t i = 0; i < sizeof signals / sizeof signals[0]; i++) {
    if (signals[i].number == report->number) {
      (void)snprintf(text, TEXT_SIZE, "crashed (%s)", signals[i].text);
      return;
    }
  }
  (void)snprintf(text, TEXT_SIZE, "crashed (signal %d)", report->number);
}

static void describe_phase(const struct bw_guard_page *page, char text[TEXT_SIZE]) {
  switch (page->phase) {
  case BW_PHASE_LOADING:
    (void)snprintf(text, TEXT_SIZE, "while it was being opened");
    return;
  case BW_PHASE_READING:
    (void)snprintf(text, TEXT_SIZE, "while bw_blend_export and its table were being read");
    return;
  case BW_PHASE_START:
    (void)snprintf(text, TEXT_SIZE, "before its first step");
    return;
  case BW_PHASE_STEP:
    (void)snprintf(text, TEXT_SIZE, "in step at %.6g s of the run", page->input.time);
    return;
  case BW_PHASE_BETWEEN:
    (void)snprintf(text, TEXT_SIZE,
                   "after its step at %.6g s of the run, so it has damaged memory that is not its "
                   "own",
                   page->input.time);
    return;
  }
}

enum bw_status bw_guard_tell(const char *path, const struct bw_guard_page *page,
                             const struct bw_contain_report *report, double deadline,
                             enum bw_status status, struct bw_diag *diag) {
  char end[TEXT_SIZE];
  char phase[TEXT_SIZE] = "";
  char inputs[TEXT_SIZE] = "mend the controller";
  if (report->end == BW_CONTAIN_CANCELLED) {
    return BW_E_INTERRUPTED;
  }
  describe_end(report, deadline, end);
  const bool is_late = report->end == BW_CONTAIN_LATE;
  if (is_late && page->phase == BW_PHASE_BETWEEN) {
    (void)snprintf(phase, sizeof phase, "after its step at %.6g s of the run", page->input.time);
  } else {
    describe_phase(page, phase);
  }
  if (page->has_input) {
    describe_inputs(&page->input, inputs);
  }
  return bw_fail_at(diag, status, path, 0, "%s %s; %s%s", end, phase, inputs,
                    is_late ? "; --deadline sets how long it may take" : "");
}
