# SPDX-License-Identifier: GPL-3.0-or-later
# Runs: tables, verdicts, formats.

test_case "run_prints_a_page"
run run stop.cfg --strategy series --strategy friction-only
exits 0
no_err
out 'blending strategies on stop'
out 'small hatchback'
out 'invented'
grep -q '^  series .* kept' out || note "series is not in the table"
grep -q '^  friction-only .* kept' out || note "friction-only is not in the table"
! grep -q '^  parallel' out || note "a strategy ran that was not asked for"
out 'type approval'
out 'trained and'
awk 'length > 100 { exit 1 }' out || note "a line is wider than 100 columns"
test_end

# a manoeuvre has no trace that asks for anything: its share is of its own run's demand
test_case "share_names_its_denominator"
run run stop.cfg --strategy series
grep -q 'terminals  *demand' out || note "the share names no demand"
out 'Of demand: over the'
! grep -q 'trace asks for\|Of trace' out || note "a manoeuvre was held against a trace"
run run "$root/cases/hatchback-udds.cfg" --strategy series
grep -q 'terminals  *trace' out || note "the share names no trace"
out 'Of trace: over the'
test_end

# a full battery lets in what the auxiliaries take, and no forecast of that is exact
test_case "full_battery_descends_at_long_periods"
awk 'BEGIN { print "time_s,speed_kmh,grade_percent"
  for (t = 0; t <= 200; t++) print t "," (t < 12 ? 5 * t : t > 188 ? 5 * (200 - t) : 60) "," (t > 20 ? -8 : 0) }' \
  >down.csv
run run "$root/cases/hatchback-udds.cfg" --strategy series --set cycle.name=down.csv \
  --set control.period_ms=100 --set output.trace_period_ms=100 --set battery.soc_percent=100 \
  --out full
[ "$status" -le 1 ] || note "exit status $status"
no_err
awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) c[$i] = i; next }
  { soc = $c["soc_percent"]; if (soc > most) most = soc }
  END { exit !(most >= 100 && most < 100.00001) }' full/trace-series.csv ||
  note "the charge passes 100 %, or never comes near it"
rm -r full
test_end

test_case "all_takes_every_strategy_once"
run run stop.cfg --strategy all --strategy series --format csv
exits 0
run list strategies --format csv
count=$(wc -l <out)
run run stop.cfg --strategy all --strategy series --format csv
[ "$(wc -l <out)" -eq "$count" ] || note "not a row per strategy"
test_end

test_case "csv_has_the_listed_columns"
run run stop.cfg --strategy series --format=csv
exits 0
no_err
first_out "$(cat columns)"
! grep -qi 'nan\|inf,' out || note "not a number in a result"
test_end

test_case "json_has_the_listed_columns"
run run stop.cfg --strategy series --format json
exits 0
[ "$(grep -c '^    "' out)" -eq "$(tr ',' '\n' <columns | grep -c .)" ] ||
  note "not a member per column"
first_out '['
test_end

test_case "json_is_read_by_a_parser"
if command -v python3 >/dev/null; then
  run run stop.cfg --strategy all --format json
  exits 0
  python3 -c 'import json, sys; assert all(len(r) > 60 for r in json.load(sys.stdin))' <out ||
    note "the parser refused it"
  test_end
else
  test_skip
fi

test_case "missed_limit_gives_1"
make_case strict.cfg 'accept: { recovered_share_min = 0.999; };'
run run strict.cfg --strategy series
exits 1
no_err
out 'missed'
out 'recovered_share'
run run strict.cfg --strategy series --format csv
exits 1
grep -q '^series,missed,' out || note "summary does not say missed"
test_end

test_case "full_standard_output_gives_4"
if [ -w /dev/full ]; then
  for format in text csv json; do
    "$program" run stop.cfg --strategy series --format $format >/dev/full 2>err
    status=$?
    exits 4
    err_lines 1
    err 'cannot write to standard output'
  done
  for arguments in '--help' 'list parameters' 'check stop.cfg'; do
    # shellcheck disable=SC2086 # words
    "$program" $arguments >/dev/full 2>err
    status=$?
    exits 4
  done
  : >out
  test_end
else
  test_skip
fi

test_case "closed_standard_output_gives_4"
"$program" run stop.cfg --strategy series --out closed >&- 2>err
status=$?
exits 4
err 'cannot write to standard output'
# the results went to their files all the same
grep -q '^strategy,verdict,' closed/summary.csv || note "the results folder is spoilt"
: >out
test_end

for file in "$root"/cases/*.cfg; do
  test_case "shipped_case_$(basename "$file" .cfg)"
  run run "$file" --format csv
  # 1: a strategy may miss a limit of the case, that is what limits are for
  [ "$status" -le 1 ] || note "exit status $status, wanted 0 or 1"
  no_err
  ! grep -q ',failed,' out || note "a strategy failed"
  [ "$(wc -l <out)" -ge 5 ] || note "not a row for each of the four strategies"
  run run "$file"
  awk 'length > 100 { exit 1 }' out || note "a line is wider than 100 columns"
  test_end
done

test_case "interrupt_gives_130_and_leaves_nothing"
make_case long.cfg
sed 's|^cycle:.*|cycle: { name = "wltc-3b"; };|; s|^driver:.*||' long.cfg >long2.cfg
# who starts these tests with hangups ignored wants to go on without a terminal
signals=TERM
sh -c 'kill -HUP $$' 2>/dev/null || signals="TERM HUP"
for signal in $signals; do
  "$program" run long2.cfg --strategy all --out broken --set simulation.step_ms=0.05 >out 2>err &
  pid=$!
  tries=0
  while [ ! -e broken.partial-0000 ] && [ $tries -lt 100 ]; do
    sleep 0.1
    tries=$((tries + 1))
  done
  kill -$signal $pid
  wait $pid
  status=$?
  exits 130
  no_out
  err 'interrupted with '
  absent broken
  absent broken.partial-0000
done
test_end

await_folder() { # NAME: until it is there, ten seconds at most
  tries=0
  while [ ! -e "$1" ] && [ $tries -lt 100 ]; do
    sleep 0.1
    tries=$((tries + 1))
  done
}

# whether a folder is left or in use tells a lock, not its name
test_case "killed_run_is_told_of_and_a_living_one_let_be"
"$program" run long2.cfg --strategy all --out slain --set simulation.step_ms=0.05 >/dev/null 2>&1 &
pid=$!
await_folder slain.partial-0000
run run stop.cfg --strategy series --no-trace --out slain
exits 0
no_err
exists slain/summary.csv
exists slain.partial-0000
kill -KILL $pid
wait $pid 2>/dev/null
rm -r slain
run run stop.cfg --strategy series --no-trace --out slain
exits 0
err_lines 1
err 'slain.partial-0000: was left unfinished by a run that was killed; remove it'
exists slain/summary.csv
exists slain.partial-0000
absent slain.partial-0001
# a folder that was there holds what is unfinished inside
mv slain.partial-0000 slain/.partial-0000
run run stop.cfg --strategy series --no-trace --out slain
exits 0
err 'slain/.partial-0000: was left'
rm -r slain/.partial-0000
run run stop.cfg --strategy series --no-trace --out slain
no_err
test_end

# friction-only drains this nearly empty battery, series does not
test_case "failed_strategy_leaves_the_others"
run run "$root/cases/hatchback-udds.cfg" --set battery.soc_percent=3.8 --format csv \
  --strategy friction-only --strategy series
exits 3
err_lines 1
err "strategy 'friction-only' failed: the battery"
grep -q '^friction-only,failed,.*battery' out || note "the failed row does not say so"
grep -q '^series,[km]' out || note "the other strategy has no row"
test_end

# one master circuit: both axles feel the same pressure whatever is asked of them, but for their
# own lags; a circuit per axle: they do not
test_case "one_master_circuit_has_one_pressure"
for layout in per-axle common; do
  run run "$root/cases/manoeuvres/firm-stop.cfg" --strategy ideal-distribution --out circuit \
    --set friction.layout=$layout --set output.trace_period_ms=10
  [ "$status" -le 1 ] || note "$layout: exit status $status"
  awk -F, -v layout=$layout 'NR == 1 { for (i = 1; i <= NF; i++) c[$i] = i; next }
    $c["speed_kmh"] > 10 && $c["pressure_front_bar"] > 5 {
      off = $c["pressure_front_bar"] - $c["pressure_rear_bar"]; off = off < 0 ? -off : off
      n++; if (layout == "common" ? off > 1 : off < 10) bad = 1 }
    END { exit !(n > 50 && !bad) }' circuit/trace-ideal-distribution.csv ||
    note "$layout: the two axles' pressures are not those of the layout"
  rm -r circuit
done
test_end
