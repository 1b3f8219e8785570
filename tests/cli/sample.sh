# SPDX-License-Identifier: GPL-3.0-or-later
# Sweeps that draw tolerances, and the statistics of any sweep.
# shellcheck disable=SC2086 # the words of $draw are meant to be split

make_case sample.cfg 'strategies = ("series", "parallel");' \
  'tolerances: { battery: { soc_percent = "uniform:60:90"; };' \
  'friction: { front: { lag_ms = "normal:5"; }; }; };'
draw="--sample 40 --over battery.temperature_c=0,20"

# a cell of sweep-statistics.csv: FILE GROUP STRATEGY COLUMN NAME
statistic() {
  awk -F, -v group="$2" -v strategy="$3" -v column="$4" -v name="$5" '
    NR == 1 { for (i = 1; i <= NF; i++) at[$i] = i; next }
    $1 == group && $at["strategy"] == strategy && $at["column"] == column { print $at[name] }' "$1"
}

test_case "sample_crosses_the_grid_draws_fastest"
run sweep sample.cfg $draw --out sa-1 --jobs 1
exits 0
no_err
out '80 points, 160 runs: 0 failed'
[ "$(head -n 1 sa-1/sweep.csv | cut -d, -f1-5)" = \
  "battery.temperature_c,sample,battery.soc_percent,friction.front.lag_ms,status" ] ||
  note "the columns are not grid, sample, what is drawn, status"
awk -F, 'NR == 1 { next }
  $1 != (NR <= 81 ? 0 : 20) || $2 != int((NR - 2) / 2) % 40 + 1 || $3 < 60 || $3 > 90 { bad = 1 }
  END { exit bad }' sa-1/sweep.csv || note "rows are not in the order of grid and draws"
[ "$(sed -n '2,81p' sa-1/sweep.csv | cut -d, -f2-4)" = \
  "$(sed -n '82,161p' sa-1/sweep.csv | cut -d, -f2-4)" ] ||
  note "the points of the grid do not have the same draws"
test_end

test_case "sample_gives_the_same_bytes_for_any_number_of_jobs"
for jobs in 2 7; do
  run sweep sample.cfg $draw --out sa-$jobs --jobs $jobs
  exits 0
  same_sweep sa-1 sa-$jobs
done
run sweep sample.cfg $draw --seed 4 --out sa-seed
exits 0
! cmp -s sa-1/sweep.csv sa-seed/sweep.csv || note "another seed gives the same draws"
run sweep sample.cfg $draw --sampling random --out sa-random
exits 0
! cmp -s sa-1/sweep.csv sa-random/sweep.csv || note "another sampling gives the same draws"
test_end

test_case "killed_sample_goes_on_to_the_same_bytes"
# 20 moments: some in points, some about the end, where statistics are made
draw_all="$draw --sensitivity"
run sweep sample.cfg $draw_all --out sa-all --jobs 1
exits 0
caught=0
moment=0
while [ $moment -lt 20 ]; do
  moment=$((moment + 1))
  lines=$(awk "BEGIN { srand($moment); printf \"%d\", 2 + 318 * rand() }")
  rm -rf sa-kill
  "$program" sweep sample.cfg $draw_all --out sa-kill --jobs 2 >/dev/null 2>&1 &
  victim=$!
  waited=0
  while [ "$(cat sa-kill/sweep.journal 2>/dev/null | wc -l)" -lt "$lines" ] && [ $waited -lt 100 ] &&
    [ ! -e sa-kill/sweep.csv ]; do
    waited=$((waited + 1))
    sleep 0.002
  done
  kill -9 $victim 2>/dev/null
  wait $victim 2>/dev/null
  [ -e sa-kill/sweep.journal ] && caught=$((caught + 1))
  run sweep sample.cfg $draw_all --out sa-kill --jobs 2 --resume
  exits 0
  same_sweep sa-all sa-kill
  [ "$(ls -A sa-kill | wc -l)" -eq 4 ] || note "something was left in the folder"
done
[ $caught -ge 3 ] || note "only $caught of 20 sweeps were caught at work"
test_end

test_case "resumed_sample_with_another_seed_is_refused"
rm -rf sa-stop
"$program" sweep sample.cfg --sample 100000 --out sa-stop --jobs 2 >/dev/null 2>&1 &
victim=$!
await_lines sa-stop/sweep.journal 4
kill -9 $victim
wait $victim 2>/dev/null
run sweep sample.cfg --sample 100000 --seed 1 --out sa-stop --jobs 2 --resume
refuses 'other inputs'
run sweep sample.cfg --sample 100000 --set tolerances.battery.soc_percent=uniform:60:91 --out sa-stop \
  --resume
refuses 'other inputs'
test_end

test_case "statistics_are_those_of_the_rows"
# one column of one strategy and group, sorted by sort(1): least, greatest, mean, median
awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) at[$i] = i; next }
  $1 == 20 && $at["strategy"] == "series" && $at["status"] == "done" {
    printf "%.17g %d\n", $at["stopping_distance_m"], NR - 1 }' sa-1/sweep.csv | sort -g >values
count=$(wc -l <values)
[ "$count" -eq 40 ] || note "$count values"
set -- $(awk '{ v[NR] = $1; sum += $1; at = $2 }
  END { for (i = 1; i <= NR; i++) d += (v[i] - sum / NR) ^ 2
    printf "%.9g %.9g %.9g %.9g %.9g %.9g", v[1], v[NR], sum / NR, (v[20] + v[21]) / 2,
      sqrt(d / (NR - 1)), v[38] + 0.05 * (v[39] - v[38]) }' values)
for wanted in min=$1 max=$2 mean=$3 p50=$4 std=$5 p95=$6; do
  got=$(statistic sa-1/sweep-statistics.csv 20 series stopping_distance_m "${wanted%%=*}")
  awk -v got="$got" -v wanted="${wanted#*=}" 'BEGIN { d = got - wanted; if (d < 0) d = -d
    exit !(got != "" && d <= 1e-7 * wanted) }' || note "${wanted%%=*} is $got, wanted ${wanted#*=}"
done
worst=$(statistic sa-1/sweep-statistics.csv 20 series stopping_distance_m worst_row)
soc=$(statistic sa-1/sweep-statistics.csv 20 series stopping_distance_m worst.battery.soc_percent)
[ "$worst" = "$(awk -v top="$2" '$1 >= top - 1e-6 { print $2; exit }' values)" ] ||
  note "the worst row is not where the greatest distance is"
[ "$(sed -n "$((worst + 1))p" sa-1/sweep.csv | cut -d, -f3)" = "$soc" ] ||
  note "the worst point is not that of the worst row"
[ "$(statistic sa-1/sweep-statistics.csv 20 series recovered_share worst)" = \
  "$(statistic sa-1/sweep-statistics.csv 20 series recovered_share min)" ] ||
  note "the least recovered is not the worst"
test_end

test_case "statistics_count_failed_runs_and_leave_them_out"
run sweep sample.cfg --over battery.soc_percent=50,120,60 --strategy series --out sa-failed
exits 3
[ "$(awk -F, '$2 == "recovered_share" { print $3, $4, $6 }' sa-failed/sweep-statistics.csv)" = \
  "3 1 2" ] || note "not 3 runs, 1 failed, 2 values"
! grep -qi 'nan\|inf,' sa-failed/sweep-statistics.csv || note "no number in the statistics"
test_end

test_case "sensitivity_says_which_tolerance_matters"
run sweep sample.cfg --sample 128 --sensitivity --set friction.rear.lag_ms=70 \
  --set tolerances.friction.rear.lag_ms=normal:0.001 --strategy series --out sa-index
exits 0
out '640 points, 640 runs'
[ "$(head -n 1 sa-index/sweep.csv | cut -d, -f1-3)" = "sample,part,battery.soc_percent" ] ||
  note "no parts"
# a tolerance of a microsecond cannot matter beside one of 5 ms; shares of a nearly additive output
# sum up to about 1
awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) at[$i] = i; next }
  $2 == "dip_peak_mps2" { found = 1
    front = $at["total.friction.front.lag_ms"]; rear = $at["total.friction.rear.lag_ms"]
    low = $at["total_low.friction.front.lag_ms"]; high = $at["total_high.friction.front.lag_ms"]
    bad = !($at["draws"] == 128 && front > 0.8 && front < 1.2 && rear < 0.01 && low < front &&
      front < high) }
  END { exit bad || !found }' sa-index/sweep-statistics.csv || note "the indices make no sense"
test_end

test_case "bad_tolerances_are_refused_with_their_line"
bad_case() { # TEXT MESSAGE
  make_case bad.cfg "tolerances: { $1 };"
  run sweep bad.cfg --sample 8 --out sa-no
  refuses "$2"
  err 'bad.cfg:4: '
}
bad_case 'battery: { soc_percnt = "normal:3"; };' "did you mean 'battery.soc_percent'"
bad_case 'battery: { soc_percent = "normal:-3"; };' 'is not above 0'
bad_case 'battery: { soc_percent = "uniform:90:60"; };' 'MIN 90 is not below MAX 60'
bad_case 'battery: { soc_percent = "uniform:60:190"; };' "leaves the key's range"
bad_case 'battery: { soc_percent = "gamma:3"; };' 'is no distribution'
bad_case 'battery: { soc_percent = 3; };' 'a number stands there'
bad_case 'battery = "normal:3";' 'unknown key'
bad_case 'cycle: { name = "normal:3"; };' 'is no number'
test_end

test_case "bad_samples_are_refused"
run sweep sample.cfg --sample 0 --out sa-no
refuses "'0' is no number for --sample"
run sweep sample.cfg --sample 2000000 --out sa-no
refuses 'give a whole number, 1 to 1000000'
run sweep sample.cfg --sample 8.5 --out sa-no
refuses 'give a whole number'
run sweep sample.cfg --sample 8 --seed -1 --out sa-no
refuses 'no number for --seed'
run sweep sample.cfg --sample 8 --sampling dice --out sa-no
refuses "unknown sampling 'dice'"
run sweep sample.cfg --over battery.temperature_c=0,20 --sensitivity --out sa-no
refuses 'add --sample N'
run sweep sample.cfg --sample 8 --over battery.soc_percent=60,70 --out sa-no
refuses 'is swept and has a tolerance'
run sweep sample.cfg --sample 64 --set tolerances.battery.soc_percent=normal:95:5 --out sa-no
refuses 'declare bounded:STD:MIN:MAX'
run sweep sample.cfg --sample 8 --set tolerances.battery.soc_percent=none \
  --set tolerances.friction.front.lag_ms=none --out sa-no
refuses 'declares no tolerances'
absent sa-no
test_end

test_case "tolerances_are_shown_and_kept"
run check sample.cfg
exits 0
out 'tolerances.friction.front.lag_ms: normal:5'
run run sample.cfg --strategy series --out sa-run
exits 0
run check sa-run/resolved.cfg
exits 0
out 'tolerances.battery.soc_percent: uniform:60:90'
test_end
