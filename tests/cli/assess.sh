# SPDX-License-Identifier: GPL-3.0-or-later
# Stops held against published rules.
# shellcheck shell=sh disable=SC2154

test_case "assess_prints_limits_with_their_sources"
run assess "$root/cases/hatchback-wltc.cfg" --strategy friction-only --out assessed
exits 0
no_err
for text in cold_stop_distance cold_stop_mfdd fast_stop_mfdd residual_mfdd 'UN R13-H' \
  'Annex 3 2.1.1(A)' quoted 'from memory' 'one diagonal only' 'not assessed, no booster' \
  'not covered by this version: ' "Type approval is the authority's"; do
  out "$text"
done
awk 'length > 100 { exit 1 }' out || note "a line is wider than 100 columns"
! grep -qi 'nan\| inf' out || note "not a number on the page"
out 'cycle energy  '
out 'kJ demanded over 23.266 km'
run assess "$root/cases/stop-100.cfg" --strategy friction-only
out 'not assessed: the case drives a manoeuvre'
test_end

test_case "assess_csv_holds_every_row"
exists assessed/assess.csv
[ "$(ls -A assessed | wc -l)" -eq 1 ] || note "more than one file was left"
# two loads, 3 + 2 sound stops and 5 failures, two figures each
[ "$(wc -l <assessed/assess.csv)" -eq 41 ] || note "$(wc -l <assessed/assess.csv) lines, wanted 41"
! grep -qi 'nan\|inf,' assessed/assess.csv || note "not a number in the file"
head -n 1 assessed/assess.csv | grep -q '^strategy,requirement,load_state,charge,machine,failure,' ||
  note "another header"
[ "$(grep -c 'not assessed' assessed/assess.csv)" -eq 4 ] || note "not four rows without result"
run assess "$root/cases/hatchback-wltc.cfg" --strategy friction-only --out assessed-again
same assessed/assess.csv assessed-again/assess.csv
run assess "$root/cases/hatchback-wltc.cfg" --strategy friction-only --out assessed
exits 0
same assessed/assess.csv assessed-again/assess.csv
test_end

test_case "assess_tells_a_missed_limit"
run assess "$root/cases/hatchback-wltc.cfg" --strategy friction-only --set road.adhesion=0.6
exits 1
out missed
test_end

test_case "assess_does_not_pass_what_it_cannot_run"
run assess "$root/cases/hatchback-wltc.cfg" --strategy friction-only \
  --set machine.front.speed_max_rpm=7000
exits 0
out 'is below 100 km/h'
! grep -q 'cold_stop.*kept' out || note "a stop above the top speed was judged"
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
exits 2
no_out
test_end
