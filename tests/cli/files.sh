# SPDX-License-Identifier: GPL-3.0-or-later
# The results folder.

test_case "results_folder_is_complete"
run run stop.cfg --strategy series --strategy parallel --out results
exits 0
for file in summary.csv events.csv handovers.csv ledger.csv waterfall.csv resolved.cfg regeneration-map.csv \
  trace-series.csv trace-parallel.csv; do
  exists results/$file
done
[ "$(ls results | wc -l)" -eq 9 ] || note "not nine files"
[ -z "$(ls -d results.partial* 2>/dev/null)" ] || note "a temporary folder was left"
run run stop.cfg --strategy series --strategy parallel --format csv
same out results/summary.csv
test_end

# one strategy keeps the balance rule and one does not, so the mark has a place in the table
test_case "no_line_of_the_page_ends_in_blanks"
run run stop.cfg --strategy all --bounds
grep -q '[0-9]\*$' out || note "no mark"
grep -q ' $' out && note "a line ends in a blank"
test_end

test_case "bounds_add_ceilings_one_file_and_one_block"
run run stop.cfg --strategy series --strategy parallel --bounds --out bounded
exits 0
out 'Price of comfort'
[ "$(wc -l <bounded/comfort.csv)" -eq 21 ] || note "not ten felt limits for each strategy"
for file in $(ls results | grep -vx -e summary.csv -e resolved.cfg); do
  same results/$file bounded/$file
done
absent results/comfort.csv
out 'Bracket of the best blend'
out 'not fall when torque rises'
out 'no tyre slip'
# beyond the switch and the bracket, summary and resolved case are the same
diff results/resolved.cfg bounded/resolved.cfg | grep '^[<>]' | grep -qv 'ceiling =' &&
  note "more than the switch differs in resolved.cfg"
awk -F, 'FNR == 1 { for (i = 1; i <= NF; i++) if ($i ~ /^(energy|of)_(ceiling|reached)_/) blank[i] = 1; files++ }
  FNR > 1 { for (i in blank) { if (($i == "") != (files == 1)) bad = 1; $i = "" }
    if (files == 1) plain[FNR] = $0; else if (plain[FNR] != $0) bad = 1; rows++ }
  END { exit !(rows == 4 && !bad) }' results/summary.csv bounded/summary.csv ||
  note "summary.csv differs in more than its bracket"
# the ceiling is above what is reached, and what is reached above what the strategy recovers
awk -F, 'FNR == 1 { for (i = 1; i <= NF; i++) at[$i] = i }
  FNR > 1 { if (!($at["energy_ceiling_plant_kj"] >= $at["energy_reached_plant_kj"] &&
      $at["energy_reached_plant_kj"] >= $at["energy_battery_kj"])) bad = 1; rows++ }
  END { exit !(rows == 2 && !bad) }' bounded/summary.csv || note "the bracket is in disorder"
run run stop.cfg --strategy series --strategy parallel --bounds --format csv
same out bounded/summary.csv
# without a felt limit it is the plant bound
bound=$(awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) if ($i == "energy_recoverable_plant_kj") at = i }
  NR == 2 { print $at }' bounded/summary.csv)
awk -F, -v bound="$bound" '$1 == "series" && $2 == "" { d = $4 / bound - 1; seen = 1 }
  END { exit !(seen && d < 1e-9 && d > -1e-9) }' bounded/comfort.csv ||
  note "no felt limit is not the plant bound $bound"
run run stop.cfg --strategy series --strategy parallel
grep -q -e 'Price of comfort' -e 'Bracket' out && note "bounds without --bounds"
run run stop.cfg --strategy series --out bounded
exits 0
absent bounded/comfort.csv
rm -r bounded
test_end

test_case "same_run_same_bytes"
run run stop.cfg --strategy series --strategy parallel --out again
exits 0
diff -r results again >/dev/null || note "two runs gave different bytes"
test_end

test_case "resolved_case_gives_the_same_bytes"
run run results/resolved.cfg --strategy series --strategy parallel --out resolved
exits 0
for file in summary.csv events.csv handovers.csv ledger.csv waterfall.csv trace-series.csv \
  resolved.cfg; do
  same results/$file resolved/$file
done
test_end

test_case "resolved_case_with_overrides_gives_the_same_bytes"
run run "$root/cases/van-nycc.cfg" --set battery.soc_percent=91.3 --strategy series --no-trace \
  --out van
[ "$status" -le 1 ] || note "exit status $status, wanted 0 or 1"
run run van/resolved.cfg --strategy series --format csv
same out van/summary.csv
test_end

test_case "older_results_are_replaced"
echo mine >results/notes.txt
run run stop.cfg --strategy friction-only --no-trace --out results
exits 0
absent results/trace-series.csv
exists results/notes.txt
[ "$(wc -l <results/summary.csv)" -eq 2 ] || note "summary.csv is not the new one"
[ -z "$(ls -A results | grep partial)" ] || note "a temporary folder was left"
test_end

test_case "empty_folder_is_used"
mkdir hollow
run run stop.cfg --strategy series --no-trace --out hollow/
exits 0
exists hollow/summary.csv
test_end

test_case "event_rows_sum_to_the_summary"
for pair in energy_demanded_kj energy_delivered_kj energy_battery_kj energy_friction_front_kj; do
  awk -F, -v column=$pair '
    FNR == 1 { for (i = 1; i <= NF; i++) if ($i == column) at = i; file++; next }
    $1 == "series" { sum[file] += $at }
    END { d = sum[1] - sum[2]; if (d < 0) d = -d; exit !(at > 0 && d <= 1e-9 * (sum[1]^2)^0.5 + 1e-9) }
  ' again/summary.csv again/events.csv || note "$pair: rows of events.csv do not sum to the summary"
done
: >out
: >err
test_end

test_case "folder_with_other_files_is_refused"
mkdir foreign
echo mine >foreign/thesis.txt
run run stop.cfg --strategy series --out foreign
refuses 'foreign: folder holds files that are no results'
[ "$(ls -A foreign)" = thesis.txt ] || note "the folder was touched"
test_end

test_case "file_as_results_folder_is_refused"
echo mine >plain
run run stop.cfg --strategy series --out plain
refuses 'plain: is a file'
[ "$(cat plain)" = mine ] || note "the file was touched"
run run stop.cfg --strategy series --out plain/below
refuses 'plain/below: cannot'
test_end

# whoever opens a pipe waits for somebody to write into it
test_case "pipe_in_place_of_results_is_refused"
mkdir piped
mkfifo piped/summary.csv
timeout -k 1 20 "$program" run stop.cfg --strategy series --out piped >out 2>err </dev/null
status=$?
refuses 'piped: folder holds files that are no results'
rm -r piped
test_end

test_case "results_folder_without_parent_is_refused"
run run stop.cfg --strategy series --out none/below
refuses 'parent folder must exist'
absent none
run run stop.cfg --strategy series --out ''
refuses '--out is empty'
test_end

test_case "unwritable_folder_is_refused"
mkdir locked
chmod 555 locked
if [ -w locked ]; then
  test_skip # the superuser writes everywhere
else
  run run stop.cfg --strategy series --out locked
  refuses 'locked: '
  run run stop.cfg --strategy series --out locked/below
  refuses 'locked/below: '
  test_end
fi
chmod 755 locked

test_case "full_disk_gives_4_and_leaves_nothing"
mkdir disk
if mount -t tmpfs -o size=64k none disk 2>/dev/null; then
  run run stop.cfg --strategy series --set output.trace_period_ms=10 --out disk/results
  exits 4
  no_out
  err_lines 1
  err 'nothing written'
  [ -z "$(ls -A disk)" ] || note "something was left on the disk"
  umount disk
  test_end
else
  # without the right to mount: a limit on the size of files does the same
  (
    ulimit -f 8
    trap '' XFSZ
    "$program" run stop.cfg --strategy series --set output.trace_period_ms=10 --out disk/results >out 2>err
  )
  status=$?
  exits 4
  no_out
  err 'nothing written'
  [ -z "$(ls -A disk)" ] || note "something was left on the disk"
  test_end
fi

# the signal that comes with the limit must not end the program where it stands
test_case "limit_on_file_sizes_gives_4_and_leaves_nothing"
for verb in 'run stop.cfg --strategy series --set output.trace_period_ms=10' \
  'faults stop.cfg --strategy series --fault machine-trip --moments 1' \
  'sweep sweep.cfg --strategy series --over battery.soc_percent=20:90:1'; do
  # shellcheck disable=SC2086 # several words
  (
    ulimit -f 1
    "$program" $verb --out limited >out 2>err
  )
  status=$?
  exits 4
  [ "$(wc -l <err)" -le 2 ] || note "more than what failed and how to go on"
  err 'cannot '
  [ "${verb%% *}" = sweep ] || [ -z "$(ls -A | grep '^limited\.')$(ls -A limited 2>/dev/null)" ] ||
    note "something was left of ${verb%% *}"
  rm -rf limited
done
test_end
