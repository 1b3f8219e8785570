#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Holds the source tree to its own rules: which folder may include which, where the outside world
# may be touched, licence tags, file length, no bare product of a session. Run from the root.
set -u
failures=0

report() { # NAME TEXT-OF-OFFENDERS
  if [ -z "$2" ]; then
    echo "[       OK ] $1"
  else
    echo "[  FAILED  ] $1"
    echo "$2"
    failures=$((failures + 1))
  fi
}

# includes of FOLDER that match none of the allowed patterns
strangers() { # FOLDER ALLOWED-EXTENDED-REGEX
  grep -nE '^#include "' "$1"/*.[ch] | grep -vE "#include \"($2)" || true
}

report model_knows_no_time_no_files \
  "$(strangers src/model 'model/|status\.h|extrema\.h|attributes\.h|alloc\.h|strategies/blend\.h')"
report input_knows_no_run \
  "$(strangers src/input 'input/|model/|status\.h|extrema\.h|attributes\.h|alloc\.h|strategies/(blend|registry)\.h|assess/summary\.h|sim/sample\.h')"
report sim_knows_no_files \
  "$(strangers src/sim 'sim/|input/(case|trace)\.h|model/|status\.h|extrema\.h|attributes\.h|alloc\.h|strategies/blend\.h')"
report assess_sees_samples_only \
  "$(strangers src/assess 'assess/|sim/(sample|run)\.h|input/(case|trace)\.h|model/|status\.h|extrema\.h|attributes\.h|alloc\.h|strategies/blend\.h')"
report strategies_see_the_contract_only \
  "$(grep -nE '^#include "' strategies/*.[ch] | grep -vE '#include "(blend|blend_common|builtin|loss_curve|registry)\.h"' || true)"
report the_program_uses_the_public_headers \
  "$(strangers src/cli '[a-z_]+\.h"')"

report batch_runs_what_others_judge \
  "$(strangers src/batch 'batch/|assess/(balance_rules|cycle_energy|drive_index|evaluate|fault_drive|lamp|moment|pad_heat|requirements|summary)\.h|sim/(driver|limits|probe|run|sample)\.h|input/(case|csv|descent_read|number|param|shared_object)\.h|status\.h|extrema\.h|attributes\.h|alloc\.h|strategies/(blend|registry)\.h')"

report output_shows_what_others_found \
  "$(strangers src/output 'output/|batch/(assess|assess_balance|assess_descent|find_edge|selection|sobol_index)\.h|assess/(comfort|evaluate|fault_search|lamp|moment|summary)\.h|sim/(limits|run)\.h|input/(case|number|param|unit)\.h|status\.h|extrema\.h|alloc\.h')"

# a child process has to end, and its watchdog has to know the time
core='src/*.c src/input/*.c src/model/*.c src/sim/*.c src/assess/*.c src/batch/*.c src/output/*.c strategies/*.c'
# shellcheck disable=SC2086 # patterns are meant to expand
report only_the_program_prints_exits_or_asks_the_environment \
  "$(grep -nE '\b(printf|puts|putchar|perror|exit|_exit|abort|getenv|isatty|time|clock_gettime)\(' $core |
    grep -vE 'snprintf|fprintf|src/status\.c|src/batch/(contain|sweep_worker|wire)\.c' || true)"
# shellcheck disable=SC2086
report files_are_touched_by_input_output_and_the_program_only \
  "$(grep -nE '\b(fopen|open|rename|unlink|mkdir|stat|fstat)\(' $core | grep -vE '^src/(input|output)/' || true)"

all=$(find src strategies tests -name '*.[ch]')
# shellcheck disable=SC2086
report every_file_carries_its_licence "$(grep -L 'SPDX-License-Identifier' $all || true)"
# shellcheck disable=SC2086
report files_fit_in_the_head \
  "$(wc -l $all | awk '$2 != "total" && $1 > ($2 ~ /^tests/ ? 500 : 430)')"

exit "$failures"
