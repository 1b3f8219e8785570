# SPDX-License-Identifier: GPL-3.0-or-later
# Faults in a case.
# shellcheck shell=sh disable=SC2154

test_case "run_shows_one_fault"
run run stop.cfg --strategy series --format csv
cp out sound.csv
run run stop.cfg --strategy series --format csv --set fault.kind=none --set fault.start_s=0.5
exits 0
same out sound.csv
run run stop.cfg --strategy series --format csv --set fault.kind=machine-trip \
  --set fault.start_s=0.5
[ "$status" -le 1 ] || note "exit status $status"
no_err
! cmp -s out sound.csv || note "the fault changed nothing"
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
run run stop.cfg --set fault.kind=dragging-brake --set fault.torque_nm=-5
refuses 'would push the car'
run run stop.cfg --set fault.kind=message-late --set fault.delay_ms=9000
refuses 'longer than 255 control periods'
run run stop.cfg --set fault.kind=inverter
exits 2
err 'machine-trip'
run run stop.cfg --set fault.duration_s=-1
exits 2
err 'fault.duration_s'
test_end

test_case "faults_finds_the_worst_start_of_each_cell"
run faults stop.cfg --strategy series --moments 4 --out hurt -q
exits 0
no_err
out 'worst first'
for kind in machine-trip shorted-machine booster-loss message-late dragging-brake speed-bias; do
  out "$kind"
done
awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) c[$i] = i; next }
  { n++; now = $c["further_m"]; if (n > 1 && now > before + 1e-2 && now > 0) bad = 1; before = now }
  END { exit !(n == 42 && !bad && c["until_met_s"]) }' hurt/faults.csv ||
  note "faults.csv is not 42 rows, worst first"
absent hurt/.partial-faults.csv
cp hurt/faults.csv once.csv
run faults stop.cfg --strategy series --moments 4 --out hurt
same hurt/faults.csv once.csv
test_end

test_case "the_sound_car_s_own_hand_over_is_no_part_of_a_fault"
# the machine is away for 0.5 s from the first moment on; the hand-over before rest comes seconds later
run faults stop.cfg --strategy series --fault machine-trip --moments 1 --set fault.duration_s=0.5 \
  --out brief -q
exits 0
awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) c[$i] = i; next }
  { n++; met = $c["until_met_s"]; if (met == "" || met <= 0 || met > 1.0) bad = 1 }
  END { exit !(n == 3 && !bad) }' brief/faults.csv ||
  note "a fault of 0.5 s is not over within a second: $(cut -d, -f 1-20 brief/faults.csv)"
rm -r brief
test_end

test_case "faults_takes_kinds_and_conditions"
run faults stop.cfg --strategy series --fault machine-trip --fault charge-limit \
  --condition driver.initial_speed_kmh=30 --condition battery.soc_percent=90 --out few
exits 0
[ "$(wc -l <few/faults.csv)" -eq 5 ] || note "not one row per kind and condition"
out 'driver.initial_speed_kmh=30'
test_end

test_case "faults_refuses_what_cannot_be"
run faults "$root/cases/hatchback-udds.cfg" --strategy series
refuses 'is a cycle, which has no stopping distance'
run faults stop.cfg --fault trip
refuses "unknown fault 'trip'"
run faults stop.cfg --moments 0
refuses "moments '0' is no count"
run faults stop.cfg --strategy serie
refuses "unknown strategy 'serie'"
run faults stop.cfg --set fault.kind=machine-trip
refuses 'the case has a fault of its own'
run faults stop.cfg --fault machine-trip --condition battery.soc=5
exits 2
no_out
run faults stop.cfg --fault machine-trip --out absent/below
refuses 'cannot make the folder'
test_end
