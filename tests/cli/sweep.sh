# SPDX-License-Identifier: GPL-3.0-or-later
# Many points: order, workers, going on.
# shellcheck disable=SC2086 # the words of $grid and $many are meant to be split

test_case "sweep_has_a_row_per_run_in_its_order"
run sweep sweep.cfg $grid --out sw-1 --jobs 1
exits 0
no_err
out '18 points, 36 runs: 0 failed, 0 missed'
[ "$(ls -A sw-1 | tr '\n' ' ')" = "sweep-resolved.cfg sweep-statistics.csv sweep.csv sweep.done " ] ||
  note "the folder holds something else than sweep.csv, its statistics, its card and its parameters"
awk -F, 'BEGIN { soc = 20; at = 0; split("-20 0 25", t, " ") }
  NR == 1 { next }
  $1 != 20 + 15 * int(at / 6) || $2 != t[int(at / 2) % 3 + 1] || $3 != "done" { bad = 1 }
  $5 != (at % 2 == 0 ? "series" : "parallel") { bad = 1 }
  { at++ }
  END { exit bad || at != 36 }' sw-1/sweep.csv || note "rows are not in the order of the grid"
test_end

test_case "sweep_gives_the_same_bytes_for_any_number_of_jobs"
for jobs in 2 7; do
  run sweep sweep.cfg $grid --out sw-$jobs --jobs $jobs
  exits 0
  same_sweep sw-1 sw-$jobs
done
test_end

test_case "sweep_rows_are_those_of_summary"
run run sweep.cfg --strategy series --strategy parallel --set battery.soc_percent=95 \
  --set battery.temperature_c=25 --format csv
exits 0
tail -n 2 out >wanted
tail -n 2 sw-1/sweep.csv | cut -d, -f5- >got
same wanted got
test_end

test_case "sweep_goes_on_after_a_bad_point"
run sweep sweep.cfg --over battery.soc_percent=50,120,60 --strategy series --out sw-bad --jobs 2
exits 3
out '3 points, 3 runs: 1 failed'
[ "$(cut -d, -f1,2 sw-bad/sweep.csv | tr '\n' ' ')" = \
  "battery.soc_percent,status 50,done 120,failed 60,done " ] || note "rows are not done, failed, done"
grep -q '^120,failed,--set battery.soc_percent: 120 is above' sw-bad/sweep.csv || note "no reason"
test_end

if need_object faulty tests/controllers/faulty.c; then
  test_case "sweep_goes_on_after_a_crashing_controller"
  run sweep sweep.cfg --strategy ./faulty.so --strategy series --over strategy.faulty.fault=0,1,2 \
    --out sw-crash --jobs 2
  exits 3
  out '3 points, 6 runs: 2 failed'
  [ "$(cut -d, -f2 sw-crash/sweep.csv | tr '\n' ' ')" = \
    "status done done failed done failed done " ] || note "not the controller's two rows failed"
  grep -q '^1,failed,"./faulty.so: crashed (a wrong memory access, SIGSEGV)' sw-crash/sweep.csv ||
    note "no reason in the row"
  test_end

  test_case "sweep_goes_on_after_a_looping_controller"
  run sweep sweep.cfg --strategy ./faulty.so --strategy series --over strategy.faulty.fault=0,3 \
    --deadline 3 --out sw-loop --jobs 2
  exits 3
  out '2 points, 4 runs: 1 failed'
  grep -q '^3,failed,"\{0,1\}./faulty.so: was not done after 3 s of wall time' sw-loop/sweep.csv || note "no reason in the row"
  test_end
fi

test_case "sweep_over_words_factors_and_points"
printf 'battery.soc_percent,battery.temperature_c\n40,10\n60,30\n' >points.csv
run sweep sweep.cfg --points points.csv --over "cycle=$root/cases/manoeuvres/stop-100.csv,nowhere" \
  --over friction.front.lag_ms=25:100:x2 --over strategy=series --out sw-words
exits 3
out '12 points, 12 runs: 6 failed'
[ "$(cut -d, -f1,2,4 sw-words/sweep.csv | sed -n '2,4p;8,9p' | tr '\n' ' ')" = \
  "40,10,25 40,10,50 40,10,100 60,30,25 60,30,50 " ] || note "rows are not in the order of the grid"
test_end

test_case "points_may_hold_words_and_strategies"
cat >words.csv <<END
# strategy, cycle and a choice per row
strategy,cycle,battery.soc_percent,vehicle.load_state
parallel,"$root/cases/manoeuvres/stop-100.csv",60.10,laden
series,$root/cases/manoeuvres/stop-100.csv, 60.10 ,unladen
series,nowhere,60,unladen
series,$root/cases/manoeuvres/stop-100.csv,60,"half, or so"
END
run sweep sweep.cfg --points words.csv --over battery.temperature_c=0,20 --out sw-rows --jobs 1
exits 3
out '8 points, 8 runs: 4 failed'
[ "$(cut -d, -f2- sw-rows/sweep.csv | sed -n 2,5p | cut -d, -f1-4,6 | tr '\n' ' ')" = \
  "60.1,laden,0,done,parallel 60.1,laden,20,done,parallel 60.1,unladen,0,done,series 60.1,unladen,20,done,series " ] ||
  note "rows are not those of the file"
grep -q "'nowhere' is no known cycle\|nowhere" sw-rows/sweep.csv || note "no reason for the cycle"
grep -q "'half, or so' is unknown; give one of unladen|laden" sw-rows/sweep.csv || note "no reason for the word"
for jobs in 2 7; do
  run sweep sweep.cfg --points words.csv --over battery.temperature_c=0,20 --out sw-rows-$jobs --jobs $jobs
  same_sweep sw-rows sw-rows-$jobs
done
run run sweep.cfg --strategy parallel --set vehicle.load_state=laden --set battery.soc_percent=60.1 \
  --set battery.temperature_c=20 --format csv
tail -n 1 out >wanted
sed -n 3p sw-rows/sweep.csv | cut -d, -f7- >got
same wanted got
for part in 1 2 3; do
  run sweep sweep.cfg --points words.csv --over battery.temperature_c=0,20 --out sw-rows-p$part --part $part/3
done
run join sw-rows-p1 sw-rows-p2 sw-rows-p3 --out sw-rows-joined
exits 3
out '8 points, 8 runs: 4 failed'
same sw-rows/sweep.csv sw-rows-joined/sweep.csv
test_end

test_case "bad_points_are_refused_with_their_line"
bad_points() { # TEXT MESSAGE
  printf "$1" >bad.csv
  run sweep sweep.cfg --points bad.csv --out sw-no
  refuses "$2"
}
bad_points 'strategy\nseries\n\nserius\n' "bad.csv:4: unknown strategy 'serius'"
bad_points 'strategy,strategy\nseries,series\n' "bad.csv:1: column 'strategy' is there twice"
bad_points 'cycle,cycle.name\nudds,udds\n' "bad.csv:1: column 'cycle.name' is there twice"
bad_points 'battery.soc_percnt\n5\n' "bad.csv:1: column 'battery.soc_percnt' is no parameter; name a key such as 'battery.soc_percent'"
bad_points 'battery.soc_percent\n5\nfull\n' "bad.csv:3: 'full' in column 'battery.soc_percent' is not a number"
bad_points 'vehicle.load_state,battery.soc_percent\n,5\n' "bad.csv:2: cell of column 'vehicle.load_state' is empty; give a value"
bad_points 'vehicle.load_state,battery.soc_percent\nladen\n' 'bad.csv:2: row has 1 cell, the header has 2'
printf 'strategy\nseries\n' >bad.csv
run sweep sweep.cfg --points bad.csv --strategy parallel --out sw-no
refuses "bad.csv names the strategy of each row; leave out 'parallel'"
run sweep sweep.cfg --points bad.csv --over strategy=all --out sw-no
refuses "leave out 'strategy=all'"
absent sw-no
test_end

test_case "sweep_without_sense_is_refused"
run sweep sweep.cfg --out sw-no
refuses 'nothing to sweep'
run sweep sweep.cfg --over battery.soc_percent=5:95:5
refuses 'no folder'
run sweep sweep.cfg --over battery.soc_percnt=5 --out sw-no
refuses "did you mean 'battery.soc_percent'"
run sweep sweep.cfg --over battery.soc_percent=95:5:5 --out sw-no
refuses "'95:5:5' is no number and no range"
run sweep sweep.cfg --over battery.soc_percent=5,6 --over battery.soc_percent=7 --out sw-no
refuses 'swept twice'
run sweep sweep.cfg --over battery.soc_percent=5 --out sw-no --jobs 0
refuses 'no number for --jobs'
absent sw-no
mkdir sw-foreign
echo mine >sw-foreign/thesis.txt
run sweep sweep.cfg --over battery.soc_percent=5 --out sw-foreign
refuses 'files that are no sweep'
test_end

# enough points to be caught at
many="--over battery.soc_percent=20:95:1 --over battery.temperature_c=-20,0,25 --strategy series"

test_case "killed_sweep_goes_on_to_the_same_bytes"
run sweep sweep.cfg $many --out sw-many --jobs 1
exits 0
moment=0
caught=0
while [ $moment -lt 20 ]; do
  moment=$((moment + 1))
  rm -rf sw-kill
  "$program" sweep sweep.cfg $many --out sw-kill --jobs 2 >/dev/null 2>&1 &
  victim=$!
  sleep "$(awk "BEGIN { srand($moment); printf \"%.3f\", 0.01 + 0.25 * rand() }")"
  kill -9 $victim 2>/dev/null
  wait $victim 2>/dev/null
  [ -e sw-kill/sweep.journal ] && caught=$((caught + 1))
  run sweep sweep.cfg $many --out sw-kill --jobs 2 --resume
  exits 0
  same sw-many/sweep.csv sw-kill/sweep.csv
  absent sw-kill/sweep.journal
done
[ $caught -ge 3 ] || note "only $caught of 20 sweeps were caught at work"
test_end

test_case "interrupted_sweep_says_how_to_go_on"
stops_and_tells TERM
test_end

test_case "finished_sweep_is_not_done_again"
cp -r sw-1 sw-done
node=$(ls -i sw-done/sweep.csv)
run sweep sweep.cfg $grid --out sw-done --resume
exits 0
out '18 points, 36 runs: 0 failed, 0 missed'
err 'sw-done: was finished before; nothing is left to be done'
[ "$(ls -i sw-done/sweep.csv)" = "$node" ] || note "the table was written again"
diff -r sw-1 sw-done >/dev/null || note "the folder has changed"
run sweep sweep.cfg $grid --set friction.front.lag_ms=33 --out sw-done --resume
refuses 'sw-done: holds a finished sweep of other inputs, options or program version; name another'
diff -r sw-1 sw-done >/dev/null || note "a refused sweep changed the folder"
# a table or a card that is not what was written is not believed
for harm in table card; do
  rm -rf sw-done
  cp -r sw-1 sw-done
  case $harm in
  table) printf 'X' | dd of=sw-done/sweep.csv bs=1 seek=700 conv=notrunc 2>/dev/null ;;
  card) sed -i 's/points 18/points 17/' sw-done/sweep.done ;;
  esac
  run sweep sweep.cfg $grid --out sw-done --resume
  exits 0
  no_err
  diff -r sw-1 sw-done >/dev/null || note "the damaged $harm was believed"
done
# without --resume it is replaced
run sweep sweep.cfg --over battery.soc_percent=50 --strategy series --out sw-done
exits 0
[ "$(wc -l <sw-done/sweep.csv)" -eq 2 ] || note "the earlier table is still there"
test_end

test_case "unfinished_sweep_of_other_inputs_is_refused"
cp -r sw-stop sw-copy
run sweep sweep.cfg --over battery.soc_percent=20:95:0.01 --strategy series --out sw-stop
refuses 'go on with --resume'
run sweep sweep.cfg --over battery.soc_percent=20:95:0.02 --strategy series --out sw-stop --resume
refuses 'other inputs'
make_case changed.cfg 'battery: { temperature_c = 21.0; };'
cp sweep.cfg kept.cfg
cp changed.cfg sweep.cfg
run sweep sweep.cfg --over battery.soc_percent=20:95:0.01 --strategy series --out sw-stop --resume
refuses 'other inputs'
cp kept.cfg sweep.cfg
diff -r sw-stop sw-copy >/dev/null || note "a refused sweep changed the files"
test_end

test_case "torn_journal_and_rows_are_done_again"
for harm in journal rows zeros header row; do
  rm -rf sw-torn
  "$program" sweep sweep.cfg $many --out sw-torn --jobs 1 >/dev/null 2>&1 &
  victim=$!
  await_lines sw-torn/sweep.journal 4
  kill -9 $victim
  wait $victim 2>/dev/null
  [ -e sw-torn/sweep.journal ] || note "the sweep was over before it was killed"
  case $harm in
  journal) printf '3 99 torn' >>sw-torn/sweep.journal ;;
  rows) printf '20,0,done,,ser' >>sw-torn/sweep.csv.partial ;;
  # what a power failure leaves on some file systems, longer than all that is still to come
  zeros) head -c 1000000 /dev/zero >>sw-torn/sweep.csv.partial ;;
  header | row)
    at=3
    [ $harm = header ] || at=$(($(head -n 1 sw-torn/sweep.csv.partial | wc -c) + 40))
    printf 'X' | dd of=sw-torn/sweep.csv.partial bs=1 seek=$at conv=notrunc 2>/dev/null
    ;;
  esac
  run sweep sweep.cfg $many --out sw-torn --jobs 2 --resume
  exits 0
  cmp -s sw-many/sweep.csv sw-torn/sweep.csv || note "other bytes after the harm to the $harm"
done
test_end

test_case "sweep_on_a_full_disk_goes_on_with_room"
(
  ulimit -f 16
  trap '' XFSZ
  "$program" sweep sweep.cfg $grid --out sw-full --jobs 2 >out 2>err
)
status=$?
exits 4
no_out
err_lines 1
err 'go on with --resume'
run sweep sweep.cfg $grid --out sw-full --resume
exits 0
same sw-1/sweep.csv sw-full/sweep.csv
test_end

test_case "repetitions_differ_and_workers_do_not_change_them"
for jobs in 1 3; do
  run sweep stop.cfg --over random.run=0:5:1 --over strategy=series --set message.loss_share=0.3 \
    --set sensor.speed_noise_kmh=0.3 --jobs "$jobs" --out "chance-$jobs"
  exits 0
done
same chance-1/sweep.csv chance-3/sweep.csv
[ "$(sed 1d chance-1/sweep.csv | cut -d, -f 5- | sort -u | wc -l)" = 6 ] ||
  note "repetitions are alike"
test_end
