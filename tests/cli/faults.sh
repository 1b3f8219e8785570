# SPDX-License-Identifier: GPL-3.0-or-later
# Faults in a case.
# shellcheck shell=sh disable=SC2154

# figure COLUMN FILE: of its first row
figure() {
  awk -F, -v want="$1" 'NR == 1 { for (i = 1; i <= NF; i++) if ($i == want) c = i; next }
    NR == 2 { print $c }' "$2"
}

test_case "run_shows_one_fault"
run run stop.cfg --strategy series --format csv
cp out sound.csv
run run stop.cfg --strategy series --format csv --set fault.kind=none --set fault.start_s=0.5
exits 0
same out sound.csv
run run stop.cfg --strategy series --set fault.kind=machine-trip --set fault.start_s=0.5 \
  --set fault.duration_s=0.7 --out one
[ "$status" -le 1 ] || note "exit status $status"
no_err
out 'fault     machine-trip, both axles, from 0.5 s for 0.7 s'
! cmp -s one/summary.csv sound.csv || note "the fault changed nothing"
awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) c[$i] = i; next }
  { t = $c["time_s"]; is = t > 0.495 && t < 1.195; if ($c["fault_level"] != is) bad = 1; on += is }
  END { exit !(on > 0 && !bad) }' one/trace-series.csv ||
  note "the trace does not show when the fault acts"
rm -r one
test_end

# a strategy that believes a sensor is led astray; all three kinds end to end
test_case "biased_sensors_change_what_the_car_does"
for kind in torque-bias pressure-bias speed-bias; do
  moved=
  for strategy in series lag-compensated speed-band graded predictive; do
    run run stop.cfg --strategy $strategy --format csv
    cp out sound.csv
    run run stop.cfg --strategy $strategy --format csv --set fault.kind=$kind \
      --set fault.torque_bias_nm=600 --set fault.pressure_bias_bar=30 --set fault.speed_bias_kmh=15
    [ "$status" -le 1 ] || note "$kind: exit status $status"
    no_err
    cmp -s out sound.csv || moved="$moved $strategy"
  done
  [ -n "$moved" ] || note "$kind changes no strategy"
done
test_end

test_case "faults_that_cannot_be_are_refused"
run run stop.cfg --set fault.kind=machine-trip --set fault.start_s=1000
refuses 'fault.start_s: 1000 s lies after the end of the run at'
run run stop.cfg --strategy series --set fault.kind=machine-trip --set fault.start_s=11.9
[ "$status" -ge 2 ] || note "exit status $status"
err_lines 1
err 'fault.start_s of 11.9 s lies after the end of the run at 2.3'
run run stop.cfg --set fault.kind=machine-trip --set fault.axle=rear
refuses 'no machine is fitted to the rear axle'
run run stop.cfg --set fault.kind=dragging-brake --set fault.dragging_torque_nm=-5
exits 2
err 'fault.dragging_torque_nm'
run run stop.cfg --set fault.kind=message-late --set fault.message_delay_ms=9000
refuses 'longer than 255 control periods'
run run stop.cfg --set fault.kind=inverter
exits 2
err 'machine-trip'
run run stop.cfg --set fault.duration_s=-1
exits 2
err 'fault.duration_s'
run run stop.cfg --set fault.booster_lost_share=1.2
exits 2
err 'fault.booster_lost_share'
test_end

test_case "faults_finds_the_worst_start_of_each_cell"
run faults stop.cfg --strategy series --moments 4 --out hurt -q --rows 200
exits 0
no_err
out '14 faults x 7 conditions = 98 cells'
out 'no ASIL is assigned'
for kind in machine-trip contactor-open charge-limit shorted-machine booster-loss circuit-loss \
  message-late message-frozen message-lost message-wrong-sign torque-bias pressure-bias speed-bias \
  dragging-brake; do
  out "$kind"
done
[ "$(awk 'length($0) > 100' out | wc -l)" -eq 0 ] || note "a line is wider than 100 columns"
awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) c[$i] = i; next }
  { n++; now = $c["further_m"]; if (n > 1 && now > before + 1e-2 && now > 0) bad = 1; before = now
    at[$c["battery.soc_percent"] "/" $c["vehicle.load_state"]]++
    at[$c["road.grade_percent"] "/" $c["driver.initial_speed_kmh"]]++
    at[$c["road.adhesion"] "/" $c["status"]]++ }
  END { exit !(n == 98 && !bad && c["until_met_s"] && at["95/laden"] && at["80/unladen"] &&
    at["-8/21.85"] && at["0.2/done"] && at["0.9/done"]) }' hurt/faults.csv ||
  note "faults.csv is not 98 rows, worst first, of five conditions"
absent hurt/.partial-faults.csv
cp hurt/faults.csv once.csv
for jobs in 1 3; do
  run faults stop.cfg --strategy series --moments 4 --out hurt --jobs $jobs
  same hurt/faults.csv once.csv
done
test_end

test_case "a_run_goes_into_the_folder_of_faults"
run run stop.cfg --strategy series --no-trace --out hurt
exits 0
same hurt/faults.csv once.csv
exists hurt/summary.csv
rm -r hurt/summary.csv
echo other >hurt/faults.csv
run run stop.cfg --strategy series --no-trace --out hurt
refuses 'folder holds files that are no results'
rm -r hurt
test_end

# friction alone knows nothing of a machine that trips: it is studied when it is named
test_case "faults_studies_a_strategy_that_uses_machines"
make_case two.cfg 'strategies = [ "friction-only", "lag-compensated", "series" ];'
run faults two.cfg --fault machine-trip --over battery.soc_percent=70,80 -q
exits 0
no_err
out 'with lag-compensated'
out '--strategy takes another'
make_case alone.cfg 'strategies = [ "friction-only" ];'
run faults alone.cfg --fault machine-trip --over battery.soc_percent=70,80 -q
exits 0
out 'with friction-only'
out 'In 2 cells nothing happened'
run faults stop.cfg --fault machine-trip --strategy friction-only -q --over battery.soc_percent=70
exits 0
out 'with friction-only'
! grep -q 'takes another' out || note "a strategy that was named is called the usual one"
test_end

# what a reader wants first: the worst cell of each kind, once; what did nothing is only counted
test_case "the_page_begins_with_the_worst_cell_of_each_kind"
run faults stop.cfg --strategy series --moments 4 --out hurt -q --rows 3
exits 0
awk '/^The worst cell of each fault/ { on = 1; next } /^$/ { on = 0 } on' out >digest
awk -F, 'NR > 1 && !seen[$1]++ { print $1 " C" $2 }' hurt/faults.csv >worst.txt
awk 'NR > 3 && $2 ~ /^C[0-9]/ { print $1 " " $2 }' digest >shown.txt
idle=$(sed -n 's/^Without effect wherever tried: //p' digest | tr -d ',')
[ "$(wc -l <shown.txt)" -ge 10 ] || note "no row per kind: $(cat digest)"
[ $(($(wc -l <shown.txt) + $(echo "$idle" | wc -w))) -eq 14 ] || note "not fourteen kinds"
for kind in $idle; do
  sed -i "/^$kind /d" worst.txt
done
same shown.txt worst.txt
hurt=$(awk '$NF ~ /^[0-9]+$/ && $(NF - 1) == "of" { sum += $(NF - 2) } END { print sum }' digest)
none=$(sed -n 's/^In \([0-9]*\) cells nothing happened.*/\1/p' out)
[ $((hurt + none)) -eq 98 ] || note "$hurt cells hurt and $none idle are not 98"
out "$((hurt - 3)) more cells are not shown; --rows $hurt shows all"
[ "$(wc -l <hurt/faults.csv)" -eq 99 ] || note "the file does not hold every cell"
rm -r hurt
test_end

test_case "the_sound_car_s_own_hand_over_is_no_part_of_a_fault"
# the machine is away for 0.5 s from the first moment on; the hand-over before rest comes seconds later
run faults stop.cfg --strategy series --fault machine-trip --moments 1 --set fault.duration_s=0.5 \
  --out brief -q
exits 0
awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) c[$i] = i; next }
  { n++; met = $c["until_met_s"]; if (met == "" || met > 1.0) bad = 1 }
  END { exit !(n == 7 && !bad) }' brief/faults.csv ||
  note "a fault of 0.5 s is not over within a second: $(cut -d, -f 1-20 brief/faults.csv)"
rm -r brief
test_end

test_case "faults_takes_kinds_conditions_and_orders"
run faults stop.cfg --strategy series --fault machine-trip --fault charge-limit \
  --over driver.initial_speed_kmh=30,40 --over battery.soc_percent=70:90:10 --cross full --out few
exits 0
[ "$(wc -l <few/faults.csv)" -eq 13 ] || note "not one row per kind and condition"
out '2 faults x 6 conditions = 12 cells'
make_case lists.cfg 'faults: { conditions = "battery.soc_percent=50,90; vehicle.load_state=laden"; };'
run faults lists.cfg --strategy series --fault dragging-brake --out few
exits 0
out '1 fault x 2 conditions = 2 cells'
[ "$(figure vehicle.load_state few/faults.csv)" = laden ] || note "the case's lists are not taken"
run faults stop.cfg --strategy series --order gain --out few
[ "$(awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) c[$i] = i; next }
    { n++; now = $c["gained_mps2"]; if (n > 1 && now > before + 1e-4) bad = 1; before = now }
    END { print bad + 0 }' few/faults.csv)" = 0 ] || note "not ordered by unintended deceleration"
test_end

# the size of a kind is a key of its own
test_case "sizes_are_settable_by_kind"
run faults stop.cfg --strategy series --fault booster-loss --over battery.soc_percent=80 --out few
usual=$(figure further_m few/faults.csv)
run faults stop.cfg --strategy series --fault booster-loss --over battery.soc_percent=80 --out few \
  --set fault.booster_lost_share=0.9 --set fault.charge_lost_share=0.1
larger=$(figure further_m few/faults.csv)
awk "BEGIN { exit !($larger > $usual && $usual > 0) }" || note "0.7 lost: $usual m, 0.9: $larger m"
test_end

test_case "faults_of_a_cycle_start_within_decelerations"
run faults "$root/cases/van-nycc.cfg" --strategy series --fault machine-trip --fault booster-loss \
  --over battery.soc_percent=70,90 --decelerations 2 --moments 4 --out cycle -q
exits 0
out 'within the 2 decelerations with the greatest braking power'
awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) c[$i] = i; next }
  { n++; if (!($c["start_s"] < $c["end_s"]) || $c["speed_kmh"] <= 0 || $c["further_m"] == "") bad = 1 }
  END { exit !(n == 4 && !bad) }' cycle/faults.csv || note "no rows of a cycle"
rm -r cycle
test_end

test_case "a_cell_that_cannot_be_run_says_why"
run faults "$root/cases/van-nycc.cfg" --strategy series --fault machine-trip \
  --over battery.soc_percent=0,70 --decelerations 1 --moments 2 --out cycle -q
exits 3
grep -q '^machine-trip,1,0,.*,failed,.' cycle/faults.csv || note "no row of an empty battery"
grep -q '^machine-trip,2,70,.*,done,$' cycle/faults.csv || note "the sound row is missing"
out 'machine-trip in C1 failed: '
rm -r cycle
test_end

if need_object mine strategies/examples/own-controller.c &&
  need_object faulty tests/controllers/faulty.c; then
  test_case "faults_of_a_loaded_controller"
  run faults stop.cfg --strategy ./mine.so --fault machine-trip --fault booster-loss \
    --over battery.soc_percent=50,90 --moments 2 --out loaded -q
  exits 0
  no_err
  out 'with own-controller'
  [ "$(grep -c ',done,$' loaded/faults.csv)" -eq 4 ] || note "not four rows"
  cp loaded/faults.csv once.csv
  run faults stop.cfg --strategy ./mine.so --fault machine-trip --fault booster-loss \
    --over battery.soc_percent=50,90 --moments 2 --out loaded -q --jobs 1
  same loaded/faults.csv once.csv
  run faults stop.cfg --strategy ./faulty.so --set strategy.faulty.fault=1 --fault machine-trip \
    --set strategy.faulty.from_s=0.5 --over battery.soc_percent=50 --out loaded -q
  exits 3
  out 'machine-trip in C1 failed: ./faulty.so: '
  rm -r loaded
  test_end
fi

test_case "deadline_ends_drives_of_built_in_strategies"
run faults "$root/cases/hatchback-wltc.cfg" --strategy series --fault machine-trip \
  --over battery.soc_percent=50 --moments 1 --decelerations 1 --deadline 0.001
exits 3
out 'machine-trip in C1 failed: not done after 0.001 s of wall time; give a longer --deadline'
test_end

test_case "faults_refuses_what_cannot_be"
run faults stop.cfg --fault trip
refuses "unknown fault 'trip'"
run faults stop.cfg --moments 0
refuses "'0' is no number for --moments; give a whole number, 1 to 1000"
run faults stop.cfg --decelerations 17
refuses "'17' is no number for --decelerations; give a whole number, 1 to 16"
run faults stop.cfg --strategy serie
refuses "unknown strategy 'serie'"
run faults stop.cfg --strategy series --strategy parallel
refuses '2 strategies given'
run faults stop.cfg --order badness
refuses "unknown order 'badness'"
run faults stop.cfg --cross some
refuses "'some' is no way to combine"
run faults stop.cfg --jobs none
refuses "'none' is no number for --jobs"
run faults stop.cfg --set fault.kind=machine-trip
refuses 'the case has a fault of its own'
run faults stop.cfg --fault machine-trip --set fault.axle=rear
refuses 'no machine is fitted to the axles of fault.axle'
run faults stop.cfg --fault machine-trip --over battery.soc=5
exits 2
no_out
run faults stop.cfg --fault machine-trip --over battery.soc_percent=50,500
exits 2
no_out
err 'battery.soc_percent'
run faults stop.cfg --fault message-late --set fault.message_delay_ms=9000
refuses 'longer than 255 control periods'
run faults stop.cfg --fault machine-trip --out absent/below
refuses 'cannot create the folder' # before the work: nothing is on standard output
touch no-folder
run faults stop.cfg --fault machine-trip --out no-folder
refuses 'no-folder: is a file, not a folder; '
run faults stop.cfg --fault machine-trip --out ''
refuses '--out is empty'
mkdir theirs
echo 'fault,report' >theirs/faults.csv
run faults stop.cfg --fault machine-trip --out theirs
refuses 'theirs/faults.csv: is there and was not written by this program'
[ "$(cat theirs/faults.csv)" = 'fault,report' ] || note "the table was touched"
rm -r theirs
test_end
