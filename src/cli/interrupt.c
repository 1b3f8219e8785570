/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "interrupt.h"

#include <signal.h>
#include <stddef.h>

/* a signal handler has no other way to tell */
static volatile sig_atomic_t has_come;

static void note_signal(int signal_number) {
  (void)signal_number;
  has_come = 1;
}

static void on_file_limit(void (*handler)(int)) {
  struct sigaction action = {.sa_handler = handler};
  (void)sigemptyset(&action.sa_mask);
  (void)sigaction(SIGXFSZ, &action, NULL);
}

void bw_interrupt_outlive_file_limit(void) {
  on_file_limit(SIG_IGN);
}

void bw_interrupt_die_of_file_limit(void) {
  on_file_limit(SIG_DFL);
}

void bw_interrupt_watch(void) {
  struct sigaction action = {.sa_handler = note_signal, .sa_flags = SA_RESTART};
  (void)sigemptyset(&action.sa_mask);
  (void)sigaction(SIGINT, &action, NULL);
  (void)sigaction(SIGTERM, &action, NULL);
  struct sigaction before;
  if (sigaction(SIGHUP, NULL, &before) == 0 && before.sa_handler != SIG_IGN) {
    (void)sigaction(SIGHUP, &action, NULL); /* somebody may want to go on without the terminal */
  }
}

bool bw_interrupt_has_come(void) {
  return has_come != 0;
}
