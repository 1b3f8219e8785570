# SPDX-License-Identifier: GPL-3.0-or-later
# Stops held against published rules.
# shellcheck shell=sh disable=SC2154

test_case "assess_prints_limits_with_their_sources"
run assess "$root/cases/hatchback-wltc.cfg" --strategy friction-only --full --out assessed
exits 0
no_err
for text in cold_stop_distance cold_stop_mfdd fast_stop_mfdd residual_mfdd 'UN R13-H' \
  'Annex 3 2.1.1(A)' quoted 'from memory' 'one diagonal only' 'no booster' \
  'How it was done' 'not covered by this version: ' "Type approval is the authority's"; do
  out "$text"
done
awk 'length > 100 { exit 1 }' out || note "a line is wider than 100 columns"
! grep -qiwE 'nan|inf' out || note "not a number on the page"
test_end

test_case "assess_csv_holds_every_row"
exists assessed/assess.csv
[ "$(ls -A assessed)" = "assess-resolved.cfg
assess.csv
balance.csv
descent.csv" ] || note "other files: $(ls -A assessed)"
# two loads, 4 + 2 sound stops and 5 failures, two figures each
[ "$(grep -cE ',(cold_stop|fast_stop|residual|booster)_' assessed/assess.csv)" -eq 44 ] || note "other rows of stops"
# two loads, three charges, two lines, two orders, rear line; five surfaces per load
[ "$(grep -cE 'adhesion_line_|curve_order|rear_line' assessed/assess.csv)" -eq 30 ] ||
  note "other rows of balance"
[ "$(grep -c lock_order assessed/assess.csv)" -eq 10 ] || note "other rows of lock order"
[ "$(grep -c lift_off_decel assessed/assess.csv)" -eq 10 ] || note "other rows of lift-off"
! grep -qiwE 'nan|inf' assessed/assess.csv || note "not a number in the file"
head -n 1 assessed/assess.csv | grep -q '^strategy,requirement,load_state,charge,machine,failure,' ||
  note "another header"
! grep -E ',(cold_stop|fast_stop|residual|booster)_' assessed/assess.csv | grep -q 'not assessed' ||
  note "stops without result"
run assess "$root/cases/hatchback-wltc.cfg" --strategy friction-only --out assessed-again
same assessed/assess.csv assessed-again/assess.csv
run assess "$root/cases/hatchback-wltc.cfg" --strategy friction-only --out assessed
exits 0
same assessed/assess.csv assessed-again/assess.csv
test_end

test_case "assess_page_is_short_and_whole"
run assess "$root/cases/hatchback-wltc.cfg" --strategy all --out page
exits 1
[ "$(wc -l <out)" -le 200 ] || note "$(wc -l <out) lines"
awk 'length > 100 { exit 1 }' out || note "a line is wider than 100 columns"
! grep -qiwE 'nan|inf|-inf' out || note "not a number on the page"
# every requirement of the file stands on the page, and every strategy in the verdict
for word in $(cut -d, -f2 page/assess.csv | sed 1d | sort -u); do out "$word"; done
sed -n '/^Verdict/,/^Missed/p' out >verdict
# rows of the car have no strategy
for word in $(cut -d, -f1 page/assess.csv | sed 1d | sort -u); do
  grep -q "^  $word " verdict || note "no verdict of $word"
done
# the counts of the verdict are those of the file
for outcome in kept:2 missed:3 information:4 'not assessed:5'; do
  for word in series parallel friction-only; do
    [ "$(grep "^$word," page/assess.csv | grep -c ",${outcome%:*},")" -eq \
      "$(awk -v name="$word" -v at="${outcome#*:}" '$1 == name { print $at }' verdict)" ] ||
      note "verdict of $word: other count of ${outcome%:*}"
  done
done
for text in 'UN R13-H Annex 3 2.1.1(A), quoted' 'Annex XXI Sub-Annex 7 7, read' 'from memory' \
  'own limit' 'no source' "Type approval is the authority's" 'Not assessed' '--full'; do
  out "$text"
done
out 'cold_stop_mfdd: ended by the grip of the first axle to lock; what antilock brakes would'
grep -q '^  cold_stop_mfdd  *6.43  *6.34  *-0.09 m/s2  missed' out || note "no worst row"
test_end

test_case "assess_finds_stops_of_a_car_whose_rear_axle_unloads"
# at 20 m/s2, the first demand tried, no weight is left at the rear; no run fails by that
run assess "$root/cases/van-nycc.cfg" --strategy share-table --out fails
! grep cold_stop fails/assess.csv | grep -q 'not assessed' || note "the easier stops were not tried"
grep cold_stop fails/assess.csv | grep -q 'ended by the grip' || note "no reason why it ends"
test_end

test_case "assess_draws_balance_as_a_band"
head -n 1 assessed/balance.csv | grep -q '^strategy,load_state,charge,braking_rate,front_used_low,' ||
  note "another header"
# two loads, four charges, z from 0.05 to 1.0
[ "$(wc -l <assessed/balance.csv)" -eq 313 ] || note "$(wc -l <assessed/balance.csv) lines"
! grep -qiwE 'nan|inf' assessed/balance.csv || note "not a number in the file"
awk -F, 'NR > 1 && ($5 > $6 || $7 > $8) { exit 1 }' assessed/balance.csv || note "a band upside down"
run assess "$root/cases/crossover-us06.cfg" --strategy series --strategy parallel --out bands
[ "$(grep -c '^all,' bands/balance.csv)" -eq 312 ] || note "no band over the strategies"
# regeneration at the rear: with it another balance than without
awk -F, '$1 == "series" && $3 == "any" && $4 > 0.19 && $4 < 0.21 { if ($8 > $7 + 0.05) wide = 1 }
  END { exit !wide }' bands/balance.csv || note "charge and speed make no band"
test_end

test_case "assess_fails_violations_without_antilock_only"
run assess "$root/cases/crossover-us06.cfg" --strategy series --out with
! grep -E 'adhesion_line|curve_order|lock_order' with/assess.csv | grep -q ',missed,' ||
  note "a violation failed with antilock brakes"
grep -E 'adhesion_line' with/assess.csv | grep -q ',information,' || note "no information"
run assess "$root/cases/crossover-us06.cfg" --strategy series --set assess.antilock=false --out bare
exits 1
grep -E 'adhesion_line_c085|curve_order,' bare/assess.csv | grep -q ',missed,' ||
  note "no violation failed without antilock brakes"
test_end

test_case "assess_judges_lamp_and_compensation"
run assess "$root/cases/hatchback-udds.cfg" --strategy series --strategy friction-only --full \
  --out lamp \
  --set overrun.decel_mps2=1.6 --set assess.lamp_on_mps2=1.3
for text in lamp_must_light lamp_must_be_dark compensation_time compensation_dip \
  'release, full' 'release, none' "the case's trace" 'limit falls' 'runs out by speed'; do
  out "$text"
done
# the bands are quoted, the time that is let pass is ours
! grep ',lamp_must' lamp/assess.csv | grep -qv ',own limit$' || note "a time without source"
# a strategy without a machine has nothing to make good, and is no pass
grep '^friction-only,compensation' lamp/assess.csv | grep -q ',not assessed,' ||
  note "friction-only passed the compensation"
[ "$(grep -c '^series,compensation' lamp/assess.csv)" -eq 12 ] || note "other rows of compensation"
# the release with regeneration passes 1.3 m/s2 and is seen late; without it nothing lights
awk -F, '$2 == "lamp_must_light" && $7 ~ /own/ && $10 > 0 { late = 1 }
  $2 == "lamp_must_light" && $7 ~ /none/ && $10 > 0 { dark = 1 } END { exit !(late && !dark) }' \
  lamp/assess.csv || awk -F, '$2 == "lamp_must_light"' lamp/assess.csv >err
run assess "$root/cases/hatchback-udds.cfg" --strategy series --set overrun.decel_mps2=1.6 \
  --set assess.lamp_on_mps2=1.3 --set assess.lamp_filter_ms=1500
exits 1
grep lamp_must_light out | grep -q missed || note "a lamp that is seconds late is let pass"
run assess "$root/cases/hatchback-udds.cfg" --strategy series --set assess.compensation_ms=50
exits 1
grep compensation_time out | grep -q missed || note "50 ms was kept"
run assess "$root/cases/hatchback-udds.cfg" --strategy series --set assess.compensation_ms=-1
refuses assess.compensation_ms
run assess "$root/cases/hatchback-udds.cfg" --strategy series --set assess.lamp_delay_ms=many
refuses assess.lamp_delay_ms
test_end

if need_object faulty tests/controllers/faulty.c; then
  test_case "assess_holds_loaded_controllers_alike"
  $compiler -shared -fPIC -I "$root/strategies" -o twin.so "$root/tests/controllers/twin.c" \
    >out 2>err || note "twin cannot be built"
  run assess "$root/cases/stop-100.cfg" --strategy ./twin.so --out loaded
  run assess "$root/cases/stop-100.cfg" --strategy series --out built-in
  sed 's/^twin,/series,/' loaded/assess.csv >twin.csv
  same twin.csv built-in/assess.csv
  sed 's/^twin,/series,/' loaded/balance.csv >twin.csv
  same twin.csv built-in/balance.csv
  run assess "$root/cases/stop-100.cfg" --strategy ./faulty.so --set strategy.faulty.fault=1 \
    --out crashed
  exits 3
  err "nothing of strategy 'faulty' could be assessed"
  grep -q ',not assessed,' crashed/assess.csv || note "a crash was assessed"
  ! grep '^faulty,' crashed/assess.csv | grep -q ',kept,' || note "a crash was kept"
  test_end
fi

test_case "assess_and_run_share_a_folder"
run assess "$root/cases/stop-100.cfg" --strategy series --out shared
run run "$root/cases/stop-100.cfg" --strategy series --out shared
no_err
exists shared/summary.csv shared/assess.csv shared/balance.csv
mkdir stranger
echo 'strategy,something' >stranger/assess.csv
run run "$root/cases/stop-100.cfg" --strategy series --out stranger
exits 2
test_end

test_case "assess_holds_the_sound_car"
run assess "$root/cases/van-nycc.cfg" --strategy series --out sound
run assess "$root/cases/van-nycc.cfg" --strategy series --set fault.kind=machine-trip \
  --set fault.start_s=1 --out faulted
same sound/assess.csv faulted/assess.csv
same sound/balance.csv faulted/balance.csv
same sound/descent.csv faulted/descent.csv
test_end

test_case "assess_tells_a_missed_limit"
run assess "$root/cases/hatchback-wltc.cfg" --strategy friction-only --set road.adhesion=0.6
exits 1
out missed
test_end

test_case "assess_does_not_pass_what_it_cannot_run"
run assess "$root/cases/hatchback-wltc.cfg" --strategy friction-only \
  --set machine.front.speed_max_rpm=7000 --out slow
exits 1 # it cannot follow its cycle either
[ "$(grep ,missed, slow/assess.csv | grep -cv ,trace_)" -eq 0 ] || note "more than the cycle was missed"
out 'is below 100 km/h'
! grep -q 'cold_stop.*,kept' slow/assess.csv || note "a stop above the top speed was judged"
test_end

test_case "assess_refuses_what_cannot_be"
touch plain
run assess absent.cfg
exits 2
no_out
run assess "$root/cases/stop-100.cfg" --strategy serie
refuses "did you mean 'series'?"
run assess "$root/cases/stop-100.cfg" --strategy series --out no/such/folder
refuses 'cannot create the folder'
run assess "$root/cases/stop-100.cfg" --strategy series --out plain
refuses 'plain: is a file, not a folder; '
test_end

# before the work: nothing is on standard output, and what somebody else wrote stays
test_case "assess_replaces_no_table_of_somebody_else"
mkdir theirs
echo 'spring,rate' >theirs/balance.csv
run assess "$root/cases/stop-100.cfg" --strategy series --out theirs
refuses 'theirs/balance.csv: is there and was not written by this program'
[ "$(cat theirs/balance.csv)" = 'spring,rate' ] || note "the table was touched"
[ "$(ls -A theirs)" = balance.csv ] || note "something was left behind"
rm theirs/balance.csv
ln -s ../elsewhere theirs/descent.csv
run assess "$root/cases/stop-100.cfg" --strategy series --out theirs
refuses 'theirs/descent.csv: is there'
absent elsewhere
rm -r theirs
test_end
