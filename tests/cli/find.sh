# SPDX-License-Identifier: GPL-3.0-or-later
# The first point along an axis.
# shellcheck disable=SC2086 # the words of $search are meant to be split

make_case find.cfg
search="--over battery.temperature_c=0,20 --over battery.soc_percent=100:60:-5 \
  --along battery.soc_percent --strategy series --strategy parallel"

test_case "find_agrees_with_a_run_on_either_side"
run sweep find.cfg $search --find 'recovered_share>0.4' --within 0.05 --out fi-1 --jobs 1
exits 0
no_err
out 'found'
[ "$(wc -l <fi-1/find.csv)" -eq 5 ] || note "not a row per temperature and strategy"
[ "$(sed -n 4p fi-1/find.csv | cut -d, -f1-5)" = \
  "20,series,recovered_share>0.4,battery.soc_percent,found" ] || note "the row is not what was asked"
first=$(sed -n 4p fi-1/find.csv | cut -d, -f6)
clear=$(sed -n 4p fi-1/find.csv | cut -d, -f7)
awk -v a="$first" -v b="$clear" 'BEGIN { exit !(b > a && b - a <= 0.05) }' ||
  note "first $first and clear $clear do not enclose the edge closely"
share() {
  run run find.cfg --strategy series --set battery.temperature_c=20 --set battery.soc_percent="$1" \
    --format csv
  awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) at[$i] = i } NR == 2 { print $at["recovered_share"] }' out
}
awk -v a="$(share "$first")" -v b="$(share "$clear")" 'BEGIN { exit !(a > 0.4 && b <= 0.4 && b > 0) }' ||
  note "runs at first and clear do not stand on either side"
test_end

test_case "find_gives_the_same_bytes_for_any_number_of_jobs"
for jobs in 2 7; do
  run sweep find.cfg $search --find 'recovered_share>0.4' --within 0.05 --out fi-$jobs --jobs $jobs
  exits 0
  same fi-1/find.csv fi-$jobs/find.csv
done
test_end

test_case "find_tells_where_a_verdict_changes"
make_case judged.cfg 'accept: { stopping_distance_m_max = 14.8; };'
run sweep judged.cfg --strategy series --over friction.front.lag_ms=20:200:20 \
  --along friction.front.lag_ms --find 'verdict != kept' --within 0.5 --out fi-judged
exits 0
out 'found'
first=$(sed -n 2p fi-judged/find.csv | cut -d, -f5)
clear=$(sed -n 2p fi-judged/find.csv | cut -d, -f6)
verdict_at() {
  run run judged.cfg --strategy series --set friction.front.lag_ms="$1" --format csv
  awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) at[$i] = i } NR == 2 { print $at["verdict"] }' out
}
[ "$(verdict_at "$clear") $(verdict_at "$first")" = "kept missed" ] ||
  note "the verdicts at $clear and $first are $(verdict_at "$clear") and $(verdict_at "$first")"
run sweep find.cfg $search --find 'verdict>kept' --out fi-no
refuses "'verdict>kept' is no question about a verdict; write"
run sweep find.cfg $search --find 'verdict==good' --out fi-no
refuses 'with kept, missed or not ranked'
absent fi-no
test_end

test_case "find_refuses_an_axis_that_varies_elsewhere"
run sweep find.cfg --over battery.soc_percent=100:60:-5 --along battery.soc_percent --sample 4 \
  --set tolerances.battery.soc_percent=uniform:60:90 --find 'recovered_share>0.4' --out fi-no
refuses 'battery.soc_percent is looked along and has a tolerance'
printf 'battery.soc_percent\n70\n' >twice.csv
run sweep find.cfg --over battery.soc_percent=100:60:-5 --along battery.soc_percent \
  --points twice.csv --find 'recovered_share>0.4' --out fi-no
refuses 'or a column of --points too'
absent fi-no
test_end

test_case "find_says_nowhere_at_start_and_failed"
run sweep find.cfg $search --find 'recovered_share>2' --out fi-none
exits 0
[ "$(cut -d, -f5 fi-none/find.csv | sort | uniq | tr '\n' ' ')" = "none result " ] || note "not none"
run sweep find.cfg $search --find 'duration_s>0' --out fi-start
exits 0
out 'holds from the start'
run sweep find.cfg --strategy series --over battery.soc_percent=60:120:20 --find 'recovered_share>2' \
  --along battery.soc_percent --out fi-failed
exits 3
out '1 run says nothing: --set battery.soc_percent: 120 is above'
test_end

test_case "deadline_ends_runs_of_a_search"
run sweep "$root/cases/hatchback-wltc.cfg" --strategy series --over battery.soc_percent=50:70:20 \
  --find 'recovered_share>0' --along battery.soc_percent --deadline 0.001 --out fi-late
exits 3
out '2 runs say nothing: not done after 0.001 s of wall time; give a longer --deadline'
test_end

# enough searches to be caught at
searches="--over battery.temperature_c=-20:25:0.25 --over battery.soc_percent=100:60:-5 \
  --along battery.soc_percent --strategy series --strategy parallel"
catch_find() { # LINES ARGUMENTS: start a find in fi-kill and wait for lines of its journal
  lines=$1
  shift
  rm -rf fi-kill
  "$program" sweep find.cfg $searches "$@" --out fi-kill --jobs 2 >out 2>err &
  victim=$!
  await_lines fi-kill/find.journal "$lines"
}

test_case "killed_find_goes_on_to_the_same_bytes"
run sweep find.cfg $searches --find 'recovered_share>0.4' --out fi-whole --jobs 1
exits 0
sed 's/fi-whole/fi-kill/' out >whole.txt
caught=0
for moment in 2 20 60 120 200; do
  catch_find $moment --find 'recovered_share>0.4'
  kill -9 $victim 2>/dev/null
  wait $victim 2>/dev/null
  [ -e fi-kill/find.journal ] && caught=$((caught + 1))
  run sweep find.cfg $searches --find 'recovered_share>0.4' --out fi-kill --jobs 2 --resume
  exits 0
  same fi-whole/find.csv fi-kill/find.csv
  same whole.txt out
  [ "$(ls -A fi-kill | tr '\n' ' ')" = "find-resolved.cfg find.csv find.done " ] || note "something else was left in the folder"
done
[ $caught -ge 2 ] || note "only $caught of 5 were caught at work"
test_end

test_case "unfinished_find_of_other_inputs_is_refused"
catch_find 4 --find 'recovered_share>0.4' --within 0.000001
kill -TERM $victim
wait $victim
status=$?
exits 130
err 'searches done; go on with the same command and --resume'
run sweep find.cfg $searches --find 'recovered_share>0.4' --within 0.000001 --out fi-kill
refuses 'go on with --resume'
run sweep find.cfg $searches --find 'recovered_share>0.5' --within 0.000001 --out fi-kill --resume
refuses 'other inputs'
run sweep find.cfg $searches --find 'recovered_share>0.4' --within 0.000002 --out fi-kill --resume
refuses 'other inputs'
absent fi-kill/find.csv
test_end

test_case "find_survives_a_dying_worker"
catch_find 4 --find 'recovered_share>0.4' --within 0.000001
kill -9 "$(ps -o pid= --ppid $victim | head -n 1)"
wait $victim
status=$?
exits 3
[ "$(grep -c 'its worker process was ended by signal 9' fi-kill/find.csv)" -eq 1 ] ||
  note "not one search is lost"
[ "$(wc -l <fi-kill/find.csv)" -eq 363 ] || note "not a row per search"
test_end

test_case "find_takes_the_strategies_of_points"
printf 'strategy,battery.temperature_c\nparallel,20\nseries,0\n' >find-points.csv
run sweep find.cfg --points find-points.csv --over battery.soc_percent=100:60:-5 \
  --along battery.soc_percent --find 'recovered_share>0.4' --within 0.05 --out fi-points
exits 0
sed -n '5p;2p' fi-1/find.csv | sort >wanted # parallel at 20, series at 0
sed 1d fi-points/find.csv | sort >got
same wanted got
test_end

test_case "parts_of_a_find_join_to_the_bytes_of_the_whole"
grid_of_finds="--over battery.temperature_c=0,20,25 --over battery.soc_percent=100:60:-5 \
  --along battery.soc_percent --strategy series --strategy parallel --find recovered_share>0.4"
run sweep find.cfg $grid_of_finds --out fi-undivided
exits 0
cp out undivided.txt
for part in 1 2 3 4; do # of three points, so that one part is empty
  run sweep find.cfg $grid_of_finds --out fi-part-$part --part $part/4
  exits 0
  no_err
  exists fi-part-$part/find.part
done
run join fi-part-3 fi-part-4 fi-part-1 fi-part-2 --out fi-joined
exits 0
no_err
diff -r fi-undivided fi-joined >/dev/null || note "the joined folder is not that of the whole"
same undivided.txt out
run join fi-part-1 fi-part-2 fi-part-3 --out fi-no
refuses 'points 3 to 3 of 3 are missing; add the folder of part 4/4'
run join fi-part-2 fi-part-2 fi-part-3 fi-part-4 --out fi-no
refuses 'holds points (from 1 on) that fi-part-2 holds too'
run sweep find.cfg $grid_of_finds --within 0.01 --out fi-finer --part 2/4
run join fi-part-1 fi-finer fi-part-3 fi-part-4 --out fi-no
exits 2
err 'is a part of another sweep'
run sweep find.cfg --over battery.temperature_c=0,20,25 --strategy series --out fi-sweep --part 2/4
run join fi-part-1 fi-sweep fi-part-3 fi-part-4 --out fi-no
exits 2
err 'is a part of another sweep'
absent fi-no
run sweep find.cfg --over battery.temperature_c=0,20,25 --strategy series --out fi-finer --part 2/4
run join fi-finer fi-part-1 --out fi-no
refuses 'fi-finer: holds parts of two things, a sweep and a search'
test_end

test_case "failed_runs_of_a_joined_find_give_its_exit_status"
for part in 1 2; do
  run sweep find.cfg --strategy series --over battery.temperature_c=20,25 \
    --over battery.soc_percent=60:120:20 --find 'recovered_share>2' --along battery.soc_percent \
    --out fi-bad-$part --part $part/2
  exits 3
done
run join fi-bad-1 fi-bad-2 --out fi-bad
exits 3
out '1 run says nothing: --set battery.soc_percent: 120 is above'
test_end

test_case "finished_find_is_not_done_again"
cp fi-1/find.csv before.csv
node=$(ls -i fi-1/find.csv)
run sweep find.cfg $search --find 'recovered_share>0.4' --within 0.05 --out fi-1 --resume
exits 0
out 'found'
err 'fi-1: was finished before; nothing is left to be done'
[ "$(ls -i fi-1/find.csv)" = "$node" ] || note "the table was written again"
same before.csv fi-1/find.csv
run sweep find.cfg $search --find 'recovered_share>0.5' --within 0.05 --out fi-1 --resume
refuses 'fi-1: holds a finished sweep of other inputs'
same before.csv fi-1/find.csv
test_end

test_case "find_refuses_what_has_no_sense_and_says_why"
run sweep find.cfg $search --find 'recovered_share>0.4' --keep events --out fi-no
refuses '--find keeps no files, for most runs of a search are steps on the way; run what it reports'
run sweep find.cfg $search --find 'recovered_share>0.4' --sample 4 --sensitivity \
  --set tolerances.friction.front.lag_ms=normal:5 --out fi-no
refuses '--sensitivity needs every run of a draw'
absent fi-no
test_end

test_case "bad_finds_are_refused"
run sweep find.cfg $search --find 'recoverd_share>0.4' --out fi-no
refuses "did you mean 'recovered_share'"
run sweep find.cfg $search --find 'recovered_share=0.4' --out fi-no
refuses 'no operator'
run sweep find.cfg $search --find 'recovered_share>0.4' --within 0 --out fi-no
refuses 'no length for --within'
run sweep find.cfg --over battery.soc_percent=60:90:5 --find 'recovered_share>0.4' --out fi-no
refuses 'add --along KEY'
run sweep find.cfg --over battery.soc_percent=60:90:5 --find 'recovered_share>0.4' \
  --along battery.temperature_c --out fi-no
refuses 'has no range'
run sweep find.cfg --over battery.soc_percent=60 --find 'recovered_share>0.4' \
  --along battery.soc_percent --out fi-no
refuses 'is no way to look along'
run sweep find.cfg --over battery.soc_percent=60,80,70 --find 'recovered_share>0.4' \
  --along battery.soc_percent --out fi-no
refuses 'do not go one way'
run sweep find.cfg $search --out fi-no
refuses 'add --find CONDITION'
absent fi-no
test_end
