# SPDX-License-Identifier: GPL-3.0-or-later
# One moment of a run, held against the trace of the same run.
# shellcheck shell=sh disable=SC2154,SC2016

# value of FIGURE in the JSON of explain, file `out`
figure() {
  sed -n "s/.*\"name\": \"$1\", \"value\": \\([^,]*\\),.*/\\1/p" out
}

# FIGURE COLUMN SECONDS: explained value and trace agree to the trace's ten digits
as_traced() {
  awk -F, -v column="$2" -v at="$3" -v told="$(figure "$1")" '
    NR == 1 { for (i = 1; i <= NF; i++) if ($i == column) c = i }
    NR > 1 && $1 >= at - 1e-9 && !found {
      found = 1
      gap = $c - told
      size = told < 0 ? -told : told
      bad = !(c && told != "" && gap <= 1e-8 * size + 1e-9 && -gap <= 1e-8 * size + 1e-9)
    }
    END { exit !found || bad }' told/trace-series.csv ||
    note "$1 is $(figure "$1"), not as $2 in the trace at $3 s"
}

test_case "explain_shows_one_moment"
run explain stop.cfg --strategy series --at 1.23
exits 0
no_err
out 'series on stop, control period 1.23 s to 1.24 s'
for text in 'What the strategy saw' 'What the limits were' 'What was clipped' 'Axle balance' \
  'What the driver felt' 'Where the power went' 'replaces no test'; do
  out "$text"
done
awk 'length > 100 { exit 1 }' out || note "a line is wider than 100 columns"
! grep -qi 'nan\| inf' out || note "not a number on the page"
test_end

test_case "explain_shows_what_is_beside_what_is_read"
run explain stop.cfg --strategy series --at 1.23
! grep -q 'true_speed_kmh' out || note "exact sensors are told apart from the truth"
run explain stop.cfg --strategy series --at 1.23 --set sensor.speed_resolution_kmh=7 \
  --set message.delay_ms=20 --format json
[ "$(figure true_speed_kmh)" != "$(figure speed_kmh)" ] || note "what is read is what is"
awk -v read="$(figure speed_kmh)" 'BEGIN { n = read / 7; d = n - int(n + 0.5)
  exit !(d < 1e-9 && d > -1e-9) }' || note "$(figure speed_kmh) km/h is no step of 7 km/h"
awk -v age="$(figure message_age_ms)" 'BEGIN { exit !(age > 29.999 && age < 30.001) }' ||
  note "the age is $(figure message_age_ms), not 20 ms and a period"
test_end

test_case "explained_figures_are_those_of_the_trace"
run run stop.cfg --strategy series --out told --set output.trace_period_ms=10
for at in 0.3 1.23 1.95; do
  run explain stop.cfg --strategy series --at "$at" --format json
  exits 0
  no_err
  as_traced demand_nm demand_nm "$at"
  as_traced demand_pedal_nm demand_pedal_nm "$at"
  as_traced speed_kmh speed_kmh "$at"
  as_traced delivered_nm delivered_nm "$at"
  as_traced machine_request_front_nm machine_request_front_nm "$at"
  as_traced machine_command_front_nm machine_command_front_nm "$at"
  as_traced machine_torque_front_nm machine_torque_front_nm "$at"
  as_traced machine_envelope_front_nm machine_envelope_front_nm "$at"
  as_traced machine_alone_front_nm machine_alone_front_nm "$at"
  as_traced friction_request_rear_nm friction_request_rear_nm "$at"
  as_traced friction_torque_rear_nm friction_torque_rear_nm "$at"
  as_traced charge_limit_kw charge_limit_kw "$at"
  as_traced battery_power_kw battery_power_kw "$at"
done
test_end

test_case "explain_names_the_active_limit"
run explain stop.cfg --strategy series --at 1.23 --set battery.soc_percent=99.5
exits 0
grep -q 'machine_limit_front *charge_' out || note "the battery is not named"
grep -q 'This limit was active' out || note "the limit is not called active"
run explain stop.cfg --strategy friction-only --at 1.23
exits 0
out 'The nearest limit, not active'
test_end

test_case "explained_json_is_read_by_a_parser"
if command -v python3 >/dev/null; then
  run explain stop.cfg --strategy parallel --at 0 --format json
  exits 0
  python3 -c 'import json, sys
d = json.load(sys.stdin)
assert d["strategy"] == "parallel" and d["time_s"] == 0 and len(d["rows"]) > 40
assert all(r["text"].endswith(".") and r["section"] for r in d["rows"])' <out ||
    note "the parser refused it"
  test_end
else
  test_skip
fi

test_case "explain_refuses_what_cannot_be"
run explain stop.cfg --strategy series --at 237
refuses 'the run ends at '
run explain stop.cfg --strategy series --at -1
refuses "time '-1' is no moment"
run explain stop.cfg --strategy series --at soon
refuses "time 'soon' is no moment"
run explain stop.cfg --at 1
refuses 'no strategy given'
run explain stop.cfg --strategy series
refuses 'no time given'
run explain stop.cfg --strategy serie --at 1
refuses "did you mean 'series'?"
run explain stop.cfg --strategy series --at 1 --format csv
refuses "unknown format 'csv'"
run explain absent.cfg --strategy series --at 1
exits 2
test_end

test_case "deadline_ends_the_run_of_a_built_in_strategy"
run explain "$root/cases/hatchback-wltc.cfg" --strategy series --at 1792.6 --deadline 0.001
exits 3
err 'not done after 0.001 s of wall time; give a longer --deadline'
test_end

if need_object faulty tests/controllers/faulty.c; then
  test_case "explain_looks_into_loaded_controllers"
  $compiler -shared -fPIC -I "$root/strategies" -o twin.so "$root/tests/controllers/twin.c" \
    >out 2>err || note "twin cannot be built"
  run explain stop.cfg --strategy series --at 1.23
  sed 1d out >built-in.txt
  run explain stop.cfg --strategy ./twin.so --at 1.23
  exits 0
  no_err
  out 'twin on stop'
  sed 1d out >loaded.txt
  same built-in.txt loaded.txt
  run explain stop.cfg --strategy ./faulty.so --at 1.23 --set strategy.faulty.fault=1
  exits 3
  no_out
  err_lines 1
  err './faulty.so: crashed (a wrong memory access, SIGSEGV) in step at 0 s'
  test_end
fi
