# SPDX-License-Identifier: GPL-3.0-or-later
# What a sweep says on its way and what it lives through.
# shellcheck disable=SC2086 # the words of $grid are meant to be split

need_sweep sw-1 $grid

# a progress line comes after ten seconds: let them pass behind the other tests
"$program" sweep sweep.cfg --over battery.soc_percent=20:95:0.0005 --strategy series --out sv-lines \
  --jobs 1 --progress >lines.out 2>lines.err &
lines=$!
lines_start=$(date +%s)

test_case "interrupt_from_the_keyboard_says_how_to_go_on"
stops_and_tells INT
test_end

# what is lost when the disk is full is the point in flight; with room it goes on
fill_disk() { # OPTIONS...
  run sweep sweep.cfg $grid --out disk/sweep --jobs 2 "$@"
  exits 4
  no_out
  grep -qE 'No space left on device|is the disk full' err || note "the reason is not told"
  [ "$(grep -c 'go on with --resume' err)" -eq 1 ] || note "not said once how to go on"
  mount -o remount,size=16m none disk
  run sweep sweep.cfg $grid --out disk/sweep --jobs 2 --resume "$@"
  exits 0
  same sw-1/sweep.csv disk/sweep/sweep.csv
}

test_case "sweep_on_a_full_disk_is_whole_once_there_is_room"
mkdir -p disk
if mount -t tmpfs -o size=32k none disk 2>/dev/null; then
  fill_disk
  umount disk
  test_end
  test_case "kept_files_on_a_full_disk_are_whole_once_there_is_room"
  run sweep sweep.cfg $grid --out sv-kept --keep events
  exits 0
  mount -t tmpfs -o size=160k none disk
  fill_disk --keep events
  diff -r sv-kept disk/sweep >/dev/null || note "kept files differ"
  umount disk
  test_end
else
  test_skip
  echo "  no right to mount a small disk; sweep_on_a_full_disk_goes_on_with_room limits the file size"
fi

# whoever opens a pipe waits for somebody at its other end
test_case "sweep_into_a_pipe_is_refused"
for file in sweep.journal sweep.csv.partial; do
  mkdir sv-pipe
  mkfifo sv-pipe/$file
  timeout -k 1 20 "$program" sweep sweep.cfg --over battery.soc_percent=50 --strategy series \
    --out sv-pipe --resume >out 2>err </dev/null
  status=$?
  exits 4
  err 'sv-pipe: cannot '
  rm -r sv-pipe
done
test_end

test_case "sweep_to_an_always_full_device_fails_with_its_reason"
"$program" sweep sweep.cfg --over battery.soc_percent=50 --strategy series --out sv-device \
  >/dev/full 2>err
status=$?
: >out
if [ -c /dev/full ]; then
  exits 4
  err 'cannot write to standard output'
  exists sv-device/sweep.csv # the table itself is whole
fi
test_end

test_case "workers_that_are_killed_cost_their_point_only"
rm -rf sv-worker
"$program" sweep sweep.cfg --over battery.soc_percent=20:95:0.05 --strategy series --out sv-worker \
  --jobs 2 >out 2>err &
victim=$!
await_lines sv-worker/sweep.journal 4
kill -9 "$(ps -o pid= --ppid $victim | head -n 1)"
wait $victim
status=$?
exits 3
out '1501 points, 1501 runs: 1 failed'
grep -q ',failed,its worker process was ended by signal 9,' sv-worker/sweep.csv || note "no reason"
test_end

test_case "progress_on_a_terminal"
if command -v script >/dev/null 2>&1; then
  cat >pty.sh <<END
"$program" sweep sweep.cfg --over battery.soc_percent=20:95:0.02 --over friction.front.lag_ms=25,9999 \
  --strategy series --out sv-pty --jobs 2
END
  script -qec "sh pty.sh" pty.log >/dev/null 2>&1 </dev/null
  tr '\r' '\n' <pty.log >out
  grep -qE '^[0-9]+ of 7502 points, [0-9.e+]+ per second, [0-9]+ s left, [0-9]+ runs failed' out ||
    note "no line with done, total, rate, remaining time and failures"
  # a line is wiped before the next one and at the end
  grep -qE '^7502 points, 7502 runs: 3751 failed' out || note "the last line is not clean"
  # searches are called what they are
  cat >pty.sh <<END
"$program" sweep sweep.cfg --over friction.front.lag_ms=20:80:1 --over battery.soc_percent=60:90:1 \
  --along battery.soc_percent --find 'recovered_share>2' --strategy series --out sv-find --jobs 2
END
  script -qec "sh pty.sh" pty.log >/dev/null 2>&1 </dev/null
  tr '\r' '\n' <pty.log | grep -qE '^[0-9]+ of 61 searches, ' || note "no line of a search"
  run sweep sweep.cfg --over battery.soc_percent=50 --strategy series --out sv-quiet --progress
  no_err # nothing to say in less than ten seconds
  test_end
else
  test_skip
  echo "  the program 'script' is not installed"
fi

test_case "plain_progress_every_ten_seconds"
waited=0
while [ ! -s lines.err ] && [ $waited -lt 300 ]; do
  waited=$((waited + 1))
  sleep 0.1
done
kill -TERM $lines
wait $lines
lines_took=$(($(date +%s) - lines_start))
grep -qE '^[0-9]+ of 150001 points, [0-9.e+]+ per second, ([0-9]+ s|[0-9]+ h [0-9]+ min) left, 0 runs failed$' lines.err ||
  note "no plain line: $(head -n 1 lines.err)"
count=$(grep -c '^[0-9]' lines.err)
[ $((10 * count)) -le $((lines_took + 1)) ] || note "$count lines in $lines_took s"
test_end
