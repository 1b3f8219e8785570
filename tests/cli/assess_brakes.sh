# SPDX-License-Identifier: GPL-3.0-or-later
# Parking brake, failed booster, response, fade, long descents, cycle.
# shellcheck shell=sh disable=SC2154

test_case "assess_parks_on_grades"
run assess "$root/cases/hatchback-wltc.cfg" --strategy series --out brakes
no_err
for text in park_hold_20 park_hold_30 park_clamp_sensor park_deceleration 'rear, down, road' \
  'common practice' 'no source'; do
  out "$text"
done
# two grades, two directions, four surfaces; three places of the brake, one of them the car's
[ "$(grep -c park_hold_ brakes/assess.csv)" -eq 48 ] || note "other rows of holding"
[ "$(grep park_hold_ brakes/assess.csv | grep -c ',information,')" -eq 44 ] ||
  note "another axle or slippery ground was judged"
run assess "$root/cases/hatchback-wltc.cfg" --strategy friction-only \
  --set park_brake.clamp_force_kn=4
exits 1
grep park_hold_20 out | grep -q missed || note "a weak parking brake was not told"
run assess "$root/cases/hatchback-wltc.cfg" --strategy friction-only --set park_brake.axle=none
exits 0
tr -s '\n ' ' ' <out | grep -q 'parking brake: the case has no data of a parking brake' ||
  note "no reason"
grep park_hold_20 out | grep -q 'n/a 1' || note "a parking brake without data has no line"
! grep park_ out | grep -q kept || note "a parking brake without data was judged"
test_end

test_case "assess_tells_booster_response_and_trip"
for word in booster_distance booster_mfdd response_axle response_car trip_distance trip_mfdd; do
  grep -q "^series,$word,.*,kept," brakes/assess.csv || note "$word is not kept"
done
run assess "$root/cases/hatchback-wltc.cfg" --strategy friction-only --set booster.fallback_bar=0
tr -s '\n ' ' ' <out | grep -q 'without their booster' || note "no reason"
grep booster_distance out | grep -q 'n/a 2' || note "a booster without data was judged"
run assess "$root/cases/hatchback-wltc.cfg" --strategy friction-only --set booster.fallback_bar=8
exits 1
grep booster_mfdd out | grep -q missed || note "a weak fallback was not told"
run assess "$root/cases/stop-100.cfg" --strategy friction-only --set friction.rear.lag_ms=600
grep response_axle out | grep -q missed || note "a slow axle was not told"
test_end

test_case "assess_heats_by_snubs_and_descents"
for word in heat_snubs heat_rotor_front heat_pad_rear hot_stop_distance hot_stop_of_cold \
  recovery_least recovery_most \
  descent_regen_end descent_friction descent_pad_front; do
  out "$word"
done
exists brakes/descent.csv
head -n 1 brakes/descent.csv | grep -q '^strategy,profile,load_state,charge,distance_m,time_s,' ||
  note "another header"
# two shapes, two charges, 240 stretches
[ "$(wc -l <brakes/descent.csv)" -eq 961 ] || note "$(wc -l <brakes/descent.csv) lines"
! grep -qi 'nan\|inf,' brakes/descent.csv || note "not a number in the file"
run assess "$root/cases/hatchback-wltc.cfg" --strategy series --out brakes-again
same brakes/descent.csv brakes-again/descent.csv
same brakes/assess.csv brakes-again/assess.csv
# with a full battery nothing arrives at it; with the case's charge it lasts all the way
grep -q '^series,descent_regen_end,.*"6 %, 6 km, battery full",[^,]*,,0,' brakes/assess.csv ||
  note "regeneration into a full battery"
test_end

test_case "assess_drives_your_own_descent"
cat >own.csv <<'EOF'
distance_m,speed_kmh,grade_percent
0,60,-8
6000,60,-8
6500,40,-2
9000,40,-9.5
EOF
run assess "$root/cases/hatchback-wltc.cfg" --strategy series --descent own.csv \
  --set battery.soc_percent=99 --out own
no_err
out 'own descent, own charge'
grep -q '^series,own.csv,laden,own,' own/descent.csv || note "no row of the descent"
end=$(grep 'descent_regen_end' own/assess.csv | grep 'own descent, own charge' | sed 's/.*charge",//' |
  cut -d, -f 3)
awk -v end="$end" 'BEGIN { exit !(end > 500 && end < 8990) }' ||
  note "a battery of 99 % was never filled: $end m"
make_case own.cfg 'descent: { profile = "own.csv"; };'
run assess own.cfg --strategy friction-only
out 'own descent, battery full'
test_end

test_case "assess_refuses_broken_brakes"
refuse_descent() {
  printf '%b' "$1" >broken.csv
  run assess "$root/cases/hatchback-wltc.cfg" --strategy series --descent broken.csv --out broken-out
  refuses "broken.csv:$2"
  absent broken-out
}
refuse_descent 'distance_m,speed_kmh,grade_percent\n0,40,-7\n900,40,-70\n' \
  '3: grade_percent -70 is out of range'
refuse_descent 'distance_m,speed_kmh,grade_percent\n0,40,-7\n900,0,-7\n' \
  '3: speed_kmh 0 is out of range'
refuse_descent 'distance_m,speed_kmh,grade_percent\n0,40,-7\n900,40,-7\n800,40,-7\n' \
  '4: distance_m 800 does not rise above 900'
refuse_descent 'distance_m,speed_kmh,grade_percent\n10,40,-7\n900,40,-7\n' \
  '2: distance_m starts at 10'
refuse_descent 'distance_m,speed_kmh,grade_percent\n0,40,-7\n20,40,-7\n' \
  ' a descent of 2 rows over 20 m'
refuse_descent 'distance_m,speed_kmh\n0,40\n900,40\n' '1: '
refuse_descent 'distance_m,speed_kmh,grade_percent\n0,40,x\n900,40,-7\n' '2: '
run assess "$root/cases/hatchback-wltc.cfg" --descent absent.csv
refuses 'no such file'
for set in park_brake.axle=middle park_brake.clamp_force_kn=-3 park_brake.clamp_force_kn=0 \
  park_brake.effective_radius_m=0 park_brake.pad_friction_static=nan booster.fallback_bar=-1 \
  park_brake.clamp_loss_percent=100; do
  run assess "$root/cases/hatchback-wltc.cfg" --strategy series --set "$set"
  refuses "--set ${set%%=*}"
done
test_end

test_case "assess_holds_the_cycle_beside_the_procedure"
for word in cycle_energy cycle_braking trace_excursions trace_longest trace_rmsse trace_iwr_least trace_iwr_most \
  friction_car friction_rear; do
  grep -q "^series,$word," brakes/assess.csv || note "no $word"
done
# drive-trace indices: EU 2017/1151 Annex XXI Sub-Annex 7 7, read: below 1.3 km/h, -2 to +4 %
grep '^series,trace_rmsse,.*,kept,' brakes/assess.csv | grep -q ',1.3,' ||
  note "RMSSE is not held against 1.3 km/h"
# WLTP-type procedure: EU 2017/1151 Annex XXI Sub-Annex 7 5, equations from memory
grep '^series,cycle_energy,' brakes/assess.csv | awk -F, '{ d = $10 / $11 - 1; exit !(d < 0 && d > -0.05) }' ||
  note "our cycle is far from the procedure's"
run assess "$root/cases/stop-100.cfg" --strategy friction-only
tr -s '\n ' ' ' <out | grep -q 'the case drives a manoeuvre' || note "no reason"
grep trace_excursions out | grep -q 'n/a 1' || note "a manoeuvre was judged as a cycle"
test_end
