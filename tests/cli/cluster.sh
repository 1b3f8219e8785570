# SPDX-License-Identifier: GPL-3.0-or-later
# One sweep by many machines: parts and their join, ranks of MPI, files kept of each point.
# shellcheck disable=SC2086 # the words of $grid are meant to be split

need_sweep sw-1 $grid
need_sweep sw-bad --over battery.soc_percent=50,120,60 --strategy series

test_case "parts_join_to_the_bytes_of_the_whole"
for part in 1 2 3 4; do
  run sweep sweep.cfg $grid --out cl-$part --part $part/4 --jobs 2
  exits 0
done
run join cl-3 cl-1 cl-4 cl-2 --out cl-whole
exits 0
no_err
out '18 points, 36 runs: 0 failed, 0 missed'
same_sweep sw-1 cl-whole
same sw-1/sweep.done cl-whole/sweep.done
same sw-1/sweep-resolved.cfg cl-whole/sweep-resolved.cfg
[ "$(ls -A cl-whole | wc -l)" -eq 4 ] || note "the folder holds something else too"
absent cl-1/sweep-statistics.csv # of a part they would mislead
test_end

test_case "parts_of_a_sweep_with_failures_keep_its_exit_status"
for part in 1 2; do
  "$program" sweep sweep.cfg --over battery.soc_percent=50,120,60 --strategy series \
    --out cl-bad-$part --part $part/2 >/dev/null 2>&1
done
run join cl-bad-1 cl-bad-2 --out cl-bad
exits 3
out '3 points, 3 runs: 1 failed'
same sw-bad/sweep.csv cl-bad/sweep.csv
test_end

test_case "more_parts_than_points_are_no_mistake"
for part in 1 2 3 4 5; do
  run sweep sweep.cfg --over battery.soc_percent=50,60 --strategy series --out cl-few-$part \
    --part $part/5
  exits 0
done
run join cl-few-? --out cl-few
exits 0
out '2 points, 2 runs: 0 failed'
[ "$(cut -d, -f1 cl-few/sweep.csv | tr '\n' ' ')" = "battery.soc_percent 50 60 " ] || note "not two rows"
test_end

test_case "join_names_missing_parts"
run join cl-1 cl-2 cl-4 --out cl-no
refuses 'points 10 to 13 of 18 are missing; add the folder of part 3/4'
run join cl-1 --out cl-no
refuses 'add the folder of part 2/4 and those after it'
run join cl-2 cl-3 cl-4 --out cl-no
refuses 'points 1 to 4 of 18 are missing; add the folder of part 1/4'
absent cl-no
test_end

test_case "join_names_overlapping_parts"
run join cl-1 cl-2 cl-2 cl-3 cl-4 --out cl-no
refuses 'that cl-2 holds too; leave one of them out'
run sweep sweep.cfg $grid --out cl-half --part 1/2
run join cl-1 cl-2 cl-3 cl-4 cl-half --out cl-no
exits 2
err 'cl-half: holds points (from 1 on) that cl-1 holds too'
run join cl-half cl-3 cl-4 --out cl-halves
exits 0
same sw-1/sweep.csv cl-halves/sweep.csv
absent cl-no
test_end

test_case "join_names_foreign_parts"
make_case other.cfg 'battery: { temperature_c = 21.0; };'
run sweep other.cfg $grid --out cl-other --part 4/4
run join cl-1 cl-2 cl-3 cl-other --out cl-no
refuses 'cl-other: is a part of another sweep than cl-1'
run sweep sweep.cfg $grid --out cl-kept --part 4/4 --keep events
run join cl-1 cl-2 cl-3 cl-kept --out cl-no
refuses 'run all parts with the same --keep'
run join cl-1 cl-2 cl-3 sw-1 --out cl-no
refuses 'sw-1: holds no part of a sweep'
run join cl-1 cl-2 cl-3 nowhere --out cl-no
refuses 'nowhere: holds no part of a sweep'
absent cl-no
test_end

test_case "join_names_unfinished_and_damaged_parts"
cp -r cl-4 cl-torn
echo torn >cl-torn/sweep.journal
run join cl-1 cl-2 cl-3 cl-torn --out cl-no
refuses 'cl-torn: holds an unfinished sweep; finish it with its own command and --resume'
rm -rf cl-torn
cp -r cl-4 cl-torn
printf 'X' | dd of=cl-torn/sweep.csv bs=1 seek=700 conv=notrunc 2>/dev/null
run join cl-1 cl-2 cl-3 cl-torn --out cl-no
refuses 'sweep.csv is not what this part wrote'
rm -rf cl-torn
cp -r cl-4 cl-torn
sed -i 's/4 of 4/3 of 4/' cl-torn/sweep.part
run join cl-1 cl-2 cl-3 cl-torn --out cl-no
refuses 'cl-torn/sweep.part: is damaged'
mkdir cl-mine
echo mine >cl-mine/thesis.txt
run join cl-1 cl-2 cl-3 cl-4 --out cl-mine
refuses 'holds files that are no results'
absent cl-no
test_end

test_case "finished_parts_are_not_done_again"
node=$(ls -i cl-2/sweep.csv)
run sweep sweep.cfg $grid --out cl-2 --part 2/4 --resume
exits 0
out '5 points, 10 runs: 0 failed, 0 missed'
err 'cl-2: was finished before; nothing is left to be done'
[ "$(ls -i cl-2/sweep.csv)" = "$node" ] || note "the table was written again"
run sweep sweep.cfg $grid --out cl-2 --part 3/4 --resume
refuses 'cl-2: holds a finished sweep of other inputs'
run join cl-1 cl-2 cl-3 cl-4 --out cl-again
exits 0
same sw-1/sweep.csv cl-again/sweep.csv
run sweep sweep.cfg $grid --out cl-again --resume
exits 0
err 'cl-again: was finished before'
test_end

test_case "join_into_an_empty_folder"
mkdir cl-empty
run join cl-1 cl-2 cl-3 cl-4 --out cl-empty
exits 0
no_err
diff -r cl-whole cl-empty >/dev/null || note "it is not what a new folder gets"
test_end

test_case "join_on_a_full_disk_leaves_nothing"
mkdir cl-disk
if mount -t tmpfs -o size=16k none cl-disk 2>/dev/null; then
  for part in 1 2 3 4; do
    run sweep sweep.cfg $grid --out cl-files-$part --part $part/4 --keep events
  done
  run join cl-files-1 cl-files-2 cl-files-3 cl-files-4 --out cl-files
  # in the table, in the statistics, in the kept files
  for size in 16 80 200; do
    mount -o remount,size=${size}k none cl-disk
    run join cl-files-1 cl-files-2 cl-files-3 cl-files-4 --out cl-disk/whole
    exits 4
    no_out
    err_lines 1
    grep -qE 'No space left on device|is the disk full' err || note "the reason is not told"
    [ -z "$(ls -A cl-disk)" ] || note "something was left on the disk"
  done
  mount -o remount,size=16m none cl-disk
  run join cl-files-1 cl-files-2 cl-files-3 cl-files-4 --out cl-disk/whole
  exits 0
  diff -r cl-files cl-disk/whole >/dev/null || note "the folders differ"
  umount cl-disk
  test_end
else
  test_skip
  echo "  no right to mount a small disk"
fi

test_case "part_without_sense_is_refused"
for part in 0/4 5/4 1.5/4 4 /4 1/ x/y; do
  run sweep sweep.cfg $grid --out cl-no --part $part
  refuses 'is no part; give --part K/N'
done
run join cl-1
refuses 'add --out DIR'
absent cl-no
test_end

test_case "unfinished_part_goes_on_as_that_part_only"
mkdir cl-go
(
  ulimit -f 16
  trap '' XFSZ
  "$program" sweep sweep.cfg $grid --out cl-go --part 1/2 --jobs 2 >out 2>err
)
status=$?
exits 4
run sweep sweep.cfg $grid --out cl-go --part 2/2 --resume
refuses 'other inputs, options'
run sweep sweep.cfg $grid --out cl-go --resume
refuses 'other inputs, options'
run sweep sweep.cfg $grid --out cl-go --part 1/2 --keep events --resume
refuses 'other inputs, options'
run sweep sweep.cfg $grid --out cl-go --part 1/2 --resume
exits 0
same cl-half/sweep.csv cl-go/sweep.csv
same cl-half/sweep.part cl-go/sweep.part
test_end

# ---------------------------------------------------------------- files kept of each point

few="--over battery.soc_percent=50,60,70 --strategy series --strategy parallel"

test_case "kept_points_are_results_folders"
run sweep sweep.cfg $few --out cl-events --keep events --jobs 2
exits 0
[ "$(ls cl-events/runs | tr '\n' ' ')" = "00000001 00000002 00000003 " ] || note "not three folders"
[ "$(ls cl-events/runs/00000002 | tr '\n' ' ')" = \
  "events.csv handovers.csv ledger.csv resolved.cfg summary.csv waterfall.csv " ] ||
  note "not the tables of a results folder"
run run sweep.cfg --strategy series --strategy parallel --set battery.soc_percent=60 --out cl-one \
  --trace
for file in summary events handovers ledger waterfall; do
  same cl-one/$file.csv cl-events/runs/00000002/$file.csv
done
run sweep sweep.cfg $few --out cl-traces --keep traces --jobs 2
exits 0
same cl-one/trace-series.csv cl-traces/runs/00000002/trace-series.csv
same cl-one/trace-parallel.csv cl-traces/runs/00000002/trace-parallel.csv
same cl-events/sweep.csv cl-traces/sweep.csv
run sweep sweep.cfg $few --out cl-no --keep everything
refuses 'give --keep summary, events or traces'
test_end

test_case "kept_files_are_the_same_for_parts_and_after_a_kill"
for part in 1 2; do
  run sweep sweep.cfg $few --out cl-k$part --part $part/2 --keep traces
  exits 0
done
run join cl-k1 cl-k2 --out cl-k
exits 0
diff -r cl-traces cl-k >/dev/null || note "joined folders differ from those of the whole"
for moment in 1 2 3 4 5; do
  rm -rf cl-kk
  "$program" sweep sweep.cfg $few --out cl-kk --keep traces --jobs 2 >/dev/null 2>&1 &
  victim=$!
  sleep "0.0$((moment * 2))"
  kill -9 $victim 2>/dev/null
  wait $victim 2>/dev/null
  [ -e cl-kk/sweep.journal ] || rm -rf cl-kk
  # what a worker that was killed leaves, and a folder that got lost
  [ -d cl-kk/runs ] && mkdir -p cl-kk/runs/00000002.partial-0000 && rm -rf cl-kk/runs/00000001
  run sweep sweep.cfg $few --out cl-kk --keep traces --jobs 2 --resume
  exits 0
  diff -r cl-traces cl-kk >/dev/null || note "kept files differ after a kill at moment $moment"
done
run sweep sweep.cfg $few --out cl-kk --keep traces
refuses 'holds kept files of an earlier sweep'
run sweep sweep.cfg $few --out cl-kk --keep traces --resume
exits 0
err 'was finished before'
rm -r cl-kk/runs/00000002
run sweep sweep.cfg $few --out cl-kk --keep traces --resume
refuses 'holds kept files of an earlier sweep' # and not: finished
test_end

test_case "much_to_keep_is_said_beforehand"
"$program" sweep sweep.cfg --over battery.soc_percent=20:95:0.001 --strategy series --keep traces \
  --out cl-large --set output.trace_period_ms=10 >out 2>err &
victim=$!
waited=0 # for the first point: a signal before that might reach the shell's own child
while [ ! -e cl-large/runs/00000001 ] && [ $waited -lt 500 ]; do
  waited=$((waited + 1))
  sleep 0.02
done
kill -TERM $victim
wait $victim
rm -rf cl-large
err '--keep traces will take about'
err 'GB are free'
test_end

test_case "deadline_ends_runs_of_built_in_strategies"
run sweep "$root/cases/hatchback-wltc.cfg" --over battery.soc_percent=50,60 --strategy series \
  --deadline 0.001 --out cl-late --jobs 2
exits 3
out '2 points, 2 runs: 2 failed'
grep -q '^50,failed,not done after 0.001 s of wall time; give a longer --deadline' \
  cl-late/sweep.csv || note "no reason in the row"
run run "$root/cases/hatchback-wltc.cfg" --strategy series --deadline 0.001
exits 3
err 'not done after 0.001 s of wall time'
test_end

# ---------------------------------------------------------------- ranks of MPI

as_root=
[ "$(id -u)" -ne 0 ] || as_root=--allow-run-as-root
ranks() { # COUNT ARGUMENTS
  count=$1
  shift
  # what the libraries of MPI leave at their end is not ours
  ASAN_OPTIONS=detect_leaks=0 timeout 120 mpirun $as_root --oversubscribe -n "$count" "$program" \
    "$@" >out 2>err </dev/null
  status=$?
}
why=
if ! command -v mpirun >/dev/null 2>&1; then
  why="mpirun is not installed"
else
  ranks 1 sweep sweep.cfg --over battery.soc_percent=50 --strategy series --out cl-try
  if grep -q 'built without MPI' err; then
    why="the program is built without MPI"
    test_case "program_without_mpi_refuses_the_launcher"
    ranks 3 sweep sweep.cfg --over battery.soc_percent=50 --strategy series --out cl-try
    exits 2
    [ "$(grep -c 'built without MPI; build it where Open MPI' err)" -eq 1 ] || note "not told once"
    ranks 3 sweep sweep.cfg --over battery.soc_percnt=50 --out cl-try
    exits 2
    [ "$(grep -c "did you mean 'battery.soc_percent'" err)" -eq 1 ] || note "a fault is not told once"
    absent cl-try
    # a batch system may start the ranks without mpirun
    PMIX_RANK=0
    export PMIX_RANK
    run sweep sweep.cfg --over battery.soc_percent=50 --strategy series --out cl-try
    refuses 'built without MPI; build it where Open MPI'
    PMIX_RANK=3
    run sweep sweep.cfg --over battery.soc_percent=50 --strategy series --out cl-try
    exits 0
    no_out
    no_err
    unset PMIX_RANK
    absent cl-try
    run sweep sweep.cfg --over battery.soc_percent=50 --strategy series --out cl-alone
    exits 0
    test_end
  fi
fi

if [ -n "$why" ]; then
  for name in ranks_write_the_same_bytes ranks_find_the_same_bytes ranks_survive_what_fails \
    ranks_that_read_other_inputs_are_refused ranks_go_on_after_a_kill \
    ranks_end_clearly; do
    test_skip
    echo "  $why"
  done
else
  test_case "ranks_write_the_same_bytes"
  for number in 2 3 4; do
    ranks $number sweep sweep.cfg $grid --out cl-m$number
    exits 0
    no_err
    out '18 points, 36 runs: 0 failed, 0 missed'
    [ "$(wc -l <out)" -eq 1 ] || note "more than one rank reports"
    same_sweep sw-1 cl-m$number
  done
  ranks 2 sweep sweep.cfg $grid --out cl-m22 --jobs 2
  same sw-1/sweep.csv cl-m22/sweep.csv
  # draws too: each rank has a generator of its own
  for way in ranks run; do
    number=
    [ $way = run ] || number=3
    $way $number sweep "$root/cases/stop-100-tolerances.cfg" --strategy series --sample 32 --out cl-draws-$way
  done
  same cl-draws-run/sweep.csv cl-draws-ranks/sweep.csv
  ranks 2 sweep sweep.cfg $grid --out cl-mp --part 2/4
  same cl-2/sweep.csv cl-mp/sweep.csv
  ranks 2 sweep sweep.cfg $few --out cl-mk --keep traces
  diff -r cl-traces cl-mk >/dev/null || note "kept files differ"
  test_end

  test_case "ranks_find_the_same_bytes"
  edge="--over battery.temperature_c=0,20,25,999 --over battery.soc_percent=100:60:-5 \
    --along battery.soc_percent --strategy series --strategy parallel --find recovered_share>0.4"
  run sweep sweep.cfg $edge --out cl-find --jobs 1
  exits 3
  cp out find.txt
  for number in 2 3 4; do
    ranks $number sweep sweep.cfg $edge --out cl-find-m$number
    exits 3
    diff -r cl-find cl-find-m$number >/dev/null || note "$number ranks find something else"
    sed "s/cl-find-m$number/cl-find/" out >got
    same find.txt got
  done
  for part in 1 2; do
    ranks 2 sweep sweep.cfg $edge --out cl-find-p$part --part $part/2
  done
  run join cl-find-p2 cl-find-p1 --out cl-find-joined
  exits 3
  diff -r cl-find cl-find-joined >/dev/null || note "parts that ranks did are not the whole"
  ranks 3 sweep sweep.cfg $edge --keep traces --out cl-no
  [ "$(grep -c -- '--find keeps no files' err)" -eq 1 ] || note "a refusal is not told once"
  absent cl-no
  test_end

  test_case "draws_indices_failures_and_loaded_controllers_are_the_same_bytes_for_all_ways"
  all="--sample 8 --sensitivity --over battery.temperature_c=0,999 --strategy series \
    --set tolerances.battery.soc_percent=uniform:60:90 --set tolerances.friction.front.lag_ms=normal:5"
  if need_object faulty tests/controllers/faulty.c; then
    all="$all --strategy ./faulty.so --over strategy.faulty.fault=0,1"
  fi
  for jobs in 1 2 7; do
    run sweep sweep.cfg $all --out cl-all-$jobs --jobs $jobs
    exits 3
    same_sweep cl-all-1 cl-all-$jobs
  done
  [ "$(grep -c ',done,' cl-all-1/sweep.csv)" -ge 64 ] && [ "$(grep -c ',failed,' cl-all-1/sweep.csv)" -ge 64 ] ||
    note "not both done and failed runs"
  for number in 2 4; do
    ranks $number sweep sweep.cfg $all --out cl-all-m$number
    exits 3
    same_sweep cl-all-1 cl-all-m$number
  done
  for part in 1 2 3; do
    run sweep sweep.cfg $all --out cl-all-p$part --part $part/3
  done
  run join cl-all-p1 cl-all-p2 cl-all-p3 --out cl-all-joined
  exits 3
  same_sweep cl-all-1 cl-all-joined
  test_end

  test_case "ranks_survive_what_fails"
  for number in 2 3 4; do
    ranks $number sweep sweep.cfg --over battery.soc_percent=50,120,60 --strategy series \
      --out cl-mbad$number
    exits 3
    out '3 points, 3 runs: 1 failed'
    same sw-bad/sweep.csv cl-mbad$number/sweep.csv
  done
  if need_object faulty tests/controllers/faulty.c; then
    need_sweep sw-crash --strategy ./faulty.so --strategy series --over strategy.faulty.fault=0,1,2
    ranks 3 sweep sweep.cfg --strategy ./faulty.so --strategy series \
      --over strategy.faulty.fault=0,1,2 --out cl-mcrash
    exits 3
    same sw-crash/sweep.csv cl-mcrash/sweep.csv
  fi
  test_end

  test_case "ranks_that_read_other_inputs_are_refused"
  # as on a machine with another copy of the case
  cat >other-rank.sh <<'END'
program=$1
shift
exec "$program" "$@" --set friction.front.lag_ms=$((40 + (OMPI_COMM_WORLD_RANK == 1)))
END
  for what in "" "--find recovered_share>0.4 --along battery.soc_percent"; do
    ASAN_OPTIONS=detect_leaks=0 timeout 120 mpirun $as_root --oversubscribe -n 3 sh other-rank.sh \
      "$program" sweep sweep.cfg --over battery.soc_percent=50,60 --strategy series $what --out cl-no \
      >out 2>err </dev/null
    status=$?
    [ $status -ne 0 ] && [ $status -ne 124 ] || note "exit status $status"
    [ "$(grep -c 'rank 1 reads other inputs than rank 0; give every machine the same' err)" -eq 1 ] ||
      note "not told once"
    absent cl-no
  done
  test_end

  # start ranks in cl-mkill and wait until some points are done
  start_ranks() { # COUNT ARGUMENTS
    rm -rf cl-mkill
    count=$1
    shift
    # the shell's own process becomes mpirun, so that $! is its number
    ASAN_OPTIONS=detect_leaks=0 timeout 120 mpirun $as_root --oversubscribe -n "$count" "$program" \
      sweep sweep.cfg "$@" --out cl-mkill >out 2>err </dev/null &
    victim=$!
    await_lines cl-mkill/sweep.journal 40
  }
  long="--over battery.soc_percent=20:95:0.02 --over battery.temperature_c=0,25 --strategy series"

  test_case "ranks_go_on_after_a_kill"
  run sweep sweep.cfg $long --out cl-long --jobs 2
  exits 0
  for number in 2 3 4; do
    start_ranks $number $long
    # all ranks at once; they are children of mpirun, which is one of timeout
    launcher=$(ps -o pid= --ppid $victim | head -n 1)
    kill -9 $(ps -o pid= --ppid $launcher) 2>/dev/null
    wait $victim 2>/dev/null
    exists cl-mkill/sweep.journal
    absent cl-mkill/sweep.csv
    ranks $number sweep sweep.cfg $long --out cl-mkill --resume
    exits 0
    same cl-long/sweep.csv cl-mkill/sweep.csv
  done
  test_end

  test_case "ranks_end_clearly"
  start_ranks 3 $long
  launcher=$(ps -o pid= --ppid $victim | head -n 1)
  last=$(ps -o pid= --ppid $launcher | tail -n 1)
  kill -9 $last
  wait $victim
  status=$?
  [ $status -ne 0 ] && [ $status -ne 124 ] || note "exit status $status"
  err 'go on with the same command and --resume'
  run sweep sweep.cfg $long --out cl-mkill --jobs 2 --resume # without ranks
  exits 0
  same cl-long/sweep.csv cl-mkill/sweep.csv
  # the launcher takes up to a second to pass a signal on: a sweep that is certainly not done then
  start_ranks 3 --over battery.soc_percent=20:95:0.0005 --strategy series
  kill -TERM "$(ps -o pid= --ppid $victim | head -n 1)"
  wait $victim
  err 'go on with the same command and --resume'
  exists cl-mkill/sweep.journal
  ranks 3 sweep sweep.cfg --over battery.soc_percnt=50 --out cl-no
  [ $status -eq 2 ] || note "exit status $status"
  [ "$(grep -c "did you mean 'battery.soc_percent'" err)" -eq 1 ] || note "not told once"
  ranks 3 sweep sweep.cfg --ovr x --out cl-no
  [ "$(grep -c "did you mean '--over'" err)" -eq 1 ] || note "a wrong option is not told once"
  absent cl-no
  test_end
fi
