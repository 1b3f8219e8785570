# SPDX-License-Identifier: GPL-3.0-or-later
# Bad input through the program: exit status 2, place and hint, nothing on standard output.

test_case "missing_case"
run run none.cfg
refuses 'none.cfg: '
test_end

test_case "empty_case"
: >empty.cfg
run run empty.cfg
exits 2
no_out
err 'empty.cfg: '
test_end

test_case "folder_as_case"
run check .
refuses '.: '
test_end

test_case "binary_case"
head -c 4096 "$program" >binary.cfg
run run binary.cfg
exits 2
no_out
err 'binary.cfg:'
test_end

test_case "unknown_key_in_a_case"
make_case typo.cfg 'battery: { soc_percnt = 55.0; };'
run run typo.cfg
refuses "typo.cfg:4: unknown key 'battery.soc_percnt'; did you mean 'battery.soc_percent'?"
test_end

test_case "every_fault_is_reported"
make_case faults.cfg 'battery: { soc_percent = 150.0; };' 'assess: { felt_line_g = "high"; };'
run run faults.cfg
exits 2
no_out
err_lines 2
err 'faults.cfg:4: '
err 'faults.cfg:5: '
test_end

test_case "set_of_an_unknown_key"
run run stop.cfg --set battery.soc_percnt=50
refuses "did you mean 'battery.soc_percent'?"
test_end

test_case "set_out_of_range_or_no_number"
for value in 150 -3 nan inf 5x ''; do
  run run stop.cfg --set "battery.soc_percent=$value"
  refuses 'battery.soc_percent'
done
test_end

test_case "set_without_equals_sign"
run run stop.cfg --set battery.soc_percent
refuses 'battery.soc_percent'
test_end

test_case "unknown_strategy"
run run stop.cfg --strategy seris
refuses "unknown strategy 'seris'; did you mean 'series'?"
run run stop.cfg --strategy xxxxxxxx
refuses "unknown strategy 'xxxxxxxx'"
test_end

test_case "unknown_format"
run run stop.cfg --format xml
refuses "unknown format 'xml'"
test_end

test_case "trace_options_that_make_no_sense"
run run stop.cfg --trace
refuses '--trace needs a results folder'
run run stop.cfg --trace --no-trace --out x
refuses 'exclude each other'
absent x
test_end

test_case "bad_case_leaves_no_folder"
run run typo.cfg --out never
exits 2
absent never
[ -z "$(ls -d never* 2>/dev/null)" ] || note "something was left"
test_end

test_case "data_folder_without_cycles"
make_case cycle.cfg
sed 's|^cycle:.*|cycle: { name = "udds"; };|' cycle.cfg >cycle2.cfg
BRAKEWEAVE_DATA=$work "$program" check cycle2.cfg >out 2>err
status=$?
exits 2
no_out
err 'cycle2.cfg:'
test_end

test_case "check_prints_parameters"
run check stop.cfg --set battery.soc_percent=61.5
exits 0
no_err
out 'stop is sound'
grep -q 'battery.soc_percent *= *61.5 ' out || note "the override is not shown"
test_end

test_case "bad_shafts_surfaces_and_faults"
make_case slip.cfg 'simulation: { fidelity = "slip"; };'
run run slip.cfg --set driveline.front.stiffness_nm_per_rad=-5000
refuses 'driveline.front.stiffness_nm_per_rad'
err '-5000 is below 0 N m/rad'
run run slip.cfg --set driveline.front.stiffness_nm_per_rad=8500 --set driveline.front.lash_deg=40
refuses 'driveline.front.lash_deg'
err '40 is above 10 deg'
run run slip.cfg --set driveline.front.lash_deg=1
refuses 'lash in a rigid driveline'
make_case patch.cfg 'simulation: { fidelity = "slip"; };' \
  'road: { patches = ((0.0, 0.9), (5000.0, 0.2)); };'
run run patch.cfg --out never
refuses 'patch.cfg:5: road.patches'
err 'lies beyond the run'
absent never
run run stop.cfg --set fault.kind=machine-trip --set fault.start_s=900
refuses 'fault.start_s'
run run stop.cfg --set rotor.front.depth_mm=80
refuses 'rotor.front.depth_mm'
err 'at most'
test_end

test_case "bad_sensors_and_messages"
run run stop.cfg --set sensor.speed_noise_kmh=-0.1
refuses 'sensor.speed_noise_kmh'
err 'below 0 km/h'
run run stop.cfg --set sensor.pressure_resolution_bar=-1
refuses 'below 0 bar'
run run stop.cfg --set sensor.torque_delay_ms=5000
refuses 'above 2000 ms'
run run stop.cfg --set sensor.torque_delay_ms=1000 --set control.period_ms=2
refuses '1000 ms is longer than 254 periods of 2 ms'
run run stop.cfg --set message.delay_ms=1900 --set message.jitter_ms=900 --set message.timeout_ms=5000
refuses '2800 ms is longer than 254 periods of 10 ms'
for share in -0.01 1.01 nan; do
  run run stop.cfg --set "message.loss_share=$share"
  refuses 'message.loss_share'
done
run run stop.cfg --set message.period_ms=15
refuses 'no whole multiple of control.period_ms of 10 ms'
run run stop.cfg --set message.delay_ms=30 --set message.jitter_ms=80
refuses 'is over before sound messages arrive, after up to 110 ms'
run run stop.cfg --set message.reserve=coast
refuses "'coast'"
run run stop.cfg --set random.seed=1.5
refuses 'no whole number'
run run stop.cfg --set random.run=-1
refuses 'random.run'
run run stop.cfg --set antilock.speed_reference=wheels
refuses 'no antilock controller to estimate a speed'
test_end

test_case "messages_are_counted_and_repeat"
messages='--set message.loss_share=0.2 --set message.jitter_ms=25 --set message.timeout_ms=60'
noise='--set sensor.speed_noise_kmh=0.2 --set sensor.torque_noise_nm=9'
# shellcheck disable=SC2086
for seed in 1 1 2; do
  run run stop.cfg --strategy series $messages $noise --set "random.seed=$seed" --format csv
  exits 0
  mv out "seed-$seed.csv.new"
  [ "$seed" = 2 ] || [ ! -f seed-1.csv ] || same seed-1.csv seed-1.csv.new
  mv "seed-$seed.csv.new" "seed-$seed.csv"
done
cmp -s seed-1.csv seed-2.csv && note "another seed gives the same bytes"
awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) c[$i] = i }
  NR == 2 { exit !($c["messages_lost"] > 10 && $c["message_age_longest_ms"] > 35) }' seed-1.csv ||
  note "messages_lost and message_age_longest_ms do not tell"
run run stop.cfg --strategy series --format csv
awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) c[$i] = i }
  NR == 2 { exit !($c["messages_lost"] == "" && $c["message_age_longest_ms"] == "") }' out ||
  note "messages are counted where there are none"
run run stop.cfg --strategy series $messages
out 'Messages to the machines'
out 'repetition 0'
run run stop.cfg --strategy series
! grep -q 'Messages to the machines\|signals ' out || note "a page without messages speaks of them"
test_end
