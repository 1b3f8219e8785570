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
