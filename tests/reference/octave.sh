#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Sums over whole cycles, worked out again with GNU Octave by scripts that share no code with the
# program (tests/reference/octave/). A test line per figure; skipped where Octave is not installed.
#   sh tests/reference/octave.sh PROGRAM SOURCES           the tests
#   sh tests/reference/octave.sh PROGRAM SOURCES --write   tests, and octave.md written anew
set -eu
program=$1
sources=$2
write=false
[ "${3-}" != --write ] || write=true

octave=$(command -v octave-cli || command -v octave || true)
if [ -z "$octave" ]; then
  echo "[  SKIPPED ] octave_cycle_sums: GNU Octave is not installed (apt-get install octave)"
  exit 77
fi

results=$(mktemp -d)
trap 'rm -rf "$results"' EXIT

# actuators without delay
prompt="--set strategy.series.rise_nm_per_s=1000000"
for axle in front rear; do
  prompt="$prompt --set friction.$axle.lag_ms=0.1 --set friction.$axle.dead_time_ms=0
    --set friction.$axle.threshold_bar=0 --set friction.$axle.build_bar_per_s=10000
    --set friction.$axle.release_bar_per_s=10000 --set machine.$axle.lag_ms=0.1
    --set machine.$axle.dead_time_ms=0 --set machine.$axle.slew_nm_per_s=1000000"
done

runs=
cycles=
# run_case NAME CASE CYCLE [option...]: its exit status 1 is an acceptance limit missed
run_case() {
  name=$1
  file=$2
  cycle=$3
  shift 3
  status=0
  "$program" run "$sources/cases/$file.cfg" --strategy series --strategy friction-only \
    --quiet --out "$results/$name" "$@" >/dev/null || status=$?
  [ "$status" -le 1 ] || exit "$status"
  runs="$runs'$results/$name',"
  cycles="$cycles'$sources/cases/cycles/$cycle.csv',"
}

# shellcheck disable=SC2086 # a list of words
{
  run_case hatchback-wltc hatchback-wltc wltc_class3b
  run_case van-nycc van-nycc nycc
  run_case crossover-us06 crossover-us06 us06
  run_case hatchback-wltc-prompt hatchback-wltc wltc_class3b $prompt
  run_case hatchback-wltc-cold-full-prompt hatchback-wltc wltc_class3b $prompt \
    --set battery.soc_percent=95 --set battery.temperature_c=-5
  run_case van-nycc-prompt van-nycc nycc $prompt
  run_case crossover-us06-prompt crossover-us06 us06 $prompt
}

# Octave 7 may end with a complaint on standard error after a clean exit(1)
"$octave" --no-gui --norc --quiet --eval "addpath('$sources/tests/reference/octave');
  cycle_sums({$runs}, {$cycles}, '$sources/tests/reference/octave.md', $write);"
