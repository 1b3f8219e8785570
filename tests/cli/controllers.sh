# SPDX-License-Identifier: GPL-3.0-or-later
# Controllers from shared objects, built here from blend.h alone, good ones and bad ones.
# shellcheck shell=sh disable=SC2154 # program, root and status come from run.sh and lib.sh

mkdir controllers
cp "$root/strategies/blend.h" controllers/
cp "$root"/strategies/examples/*.[ch] "$root/tests/controllers/faulty.c" controllers/

# OUTPUT OPTIONS-AND-SOURCES...
shared_object() {
  object=$1
  shift
  # shellcheck disable=SC2086 # CC may hold options
  (cd controllers && $compiler -shared -fPIC -I . -o "../$object" "$@") >out 2>err ||
    note "$object cannot be built"
}

# OBJECT WHAT: the object is refused before anything runs
object_refused() {
  run run stop.cfg --strategy "$1"
  refuses "$2"
  err "$1: "
}

# NUMBER WHAT: the run fails with one line, another strategy goes on
fault_contained() {
  run run stop.cfg --strategy ./faulty.so --strategy series --format csv --deadline 0.7 \
    --set strategy.faulty.fault="$1" --set strategy.faulty.from_s=0.5
  exits 3
  err_lines 1
  err "strategy 'faulty' failed: ./faulty.so: $2"
  grep -q '^faulty,failed,./faulty.so: \|^faulty,failed,"./faulty.so: ' out || note "no failed row"
  grep -q '^series,kept,' out || note "series did not go on"
}

if ! command -v "${compiler%% *}" >/dev/null; then
  test_case "controllers"
  test_skip
else

  test_case "examples_build_from_the_contract_alone"
  mkdir -p alone
  cp "$root/strategies/blend.h" "$root"/strategies/examples/*.[ch] alone/
  (cd alone && $compiler -std=c99 -Wall -Wextra -Werror -pedantic -shared -fPIC -I . -o ../mine.so \
    own-controller.c) >out 2>err || note "own-controller cannot be built"
  (cd alone && $compiler -std=c99 -Wall -Wextra -Werror -pedantic -shared -fPIC -I . \
    -o ../wrapped.so wrapped-controller.c existing-controller.c) >>out 2>>err ||
    note "wrapped-controller cannot be built"
  test_end

  test_case "own_controller_is_compared_with_built_in_ones"
  run run stop.cfg --strategy ./mine.so --strategy ./wrapped.so --strategy series --format csv \
    --out beside
  exits 0
  no_err
  for strategy in own-controller wrapped-controller series; do
    grep -q "^$strategy,kept," out || note "no row of $strategy"
    exists "beside/trace-$strategy.csv"
  done
  [ "$(wc -l <beside/trace-own-controller.csv)" -eq "$(wc -l <beside/trace-series.csv)" ] ||
    note "the traces differ in length"
  test_end

  test_case "own_controller_has_its_price_of_comfort"
  run run stop.cfg --strategy ./mine.so --strategy series --bounds --out bounded
  exits 0
  [ "$(grep -c '^own-controller,' bounded/comfort.csv)" -eq 10 ] || note "not ten felt limits"
  awk -F, '$1 == "own-controller" && $2 == "" { seen = $4 > 0 } END { exit !seen }' \
    bounded/comfort.csv || note "nothing recoverable came back from the child"
  rm -r bounded
  test_end

  test_case "controller_parameters_are_listed"
  run list parameters --strategy ./mine.so --format csv
  exits 0
  no_err
  out 'strategy.own-controller.share_percent,%,90,0 to 100,greatest share'
  ! grep -q 'battery' out || note "more than the controller's own parameters"
  run list strategies --strategy ./mine.so
  out 'own-controller'
  run list cycles --strategy ./mine.so
  refuses 'leave it out for cycles'
  test_end

  test_case "controller_parameters_are_set"
  run run stop.cfg --strategy ./mine.so --set strategy.own-controller.share_percent=0 --out none
  exits 0
  grep -q 'share_percent = 0.0; # %; greatest share' none/resolved.cfg ||
    note "not in resolved.cfg"
  awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) if ($i == "energy_machine_axle_kj") c = i }
    NR == 2 { exit $c != 0 }' none/summary.csv || note "the machine braked though it had no share"
  run run stop.cfg --strategy ./mine.so --set strategy.own-controller.share_percent=237
  refuses '--set strategy.own-controller.share_percent: 237 is above 100'
  run run stop.cfg --strategy ./mine.so --set strategy.own-controller.shares_percent=2
  refuses "did you mean 'strategy.own-controller.share_percent'?"
  run run stop.cfg --strategy series --set strategy.own-controller.share_percent=2
  refuses 'unknown key'
  run check stop.cfg --strategy ./mine.so --set strategy.own-controller.share_percent=31.5
  exits 0
  out 'strategy.own-controller.share_percent'
  out '31.5'
  test_end

  test_case "resolved_case_with_a_controller_gives_the_same_bytes"
  run run stop.cfg --strategy ./mine.so --set strategy.own-controller.share_percent=61.7 --out first
  run run first/resolved.cfg --strategy ./mine.so --out second
  exits 0
  for file in summary.csv events.csv handovers.csv ledger.csv trace-own-controller.csv \
    resolved.cfg; do
    same "first/$file" "second/$file"
  done
  test_end

  test_case "controller_named_in_a_case"
  make_case mine.cfg 'strategies = ("series", "own-controller");' \
    'strategy: { own-controller: { share_percent = 12.5; }; };'
  run check mine.cfg
  exits 2
  err 'unknown strategy'
  run check mine.cfg --strategy ./mine.so
  exits 0
  out '12.5'
  test_end

  test_case "loaded_twice_is_loaded_once"
  run run stop.cfg --strategy ./mine.so --strategy ./mine.so --format csv
  exits 0
  [ "$(wc -l <out)" -eq 2 ] || note "not one row"
  cp mine.so other.so
  run run stop.cfg --strategy ./mine.so --strategy ./other.so
  refuses "./other.so: is called 'own-controller', as ./mine.so is too"
  run run stop.cfg --strategy mine.so
  refuses "write './mine.so'"
  test_end

  test_case "what_is_no_controller_is_refused"
  object_refused ./absent.so 'No such file'
  object_refused ./controllers 'not a file'
  echo 'this is no shared object at all' >text.so
  object_refused ./text.so 'not an ELF file'
  : >empty.so
  object_refused ./empty.so '0 bytes are not an ELF file'
  head -c 3000 mine.so >cut.so
  object_refused ./cut.so 'opened' # the loader itself may crash on it
  (cd controllers && $compiler -fPIC -c -I . -o ../object.so own-controller.c)
  object_refused ./object.so 'not linked yet'
  shared_object unresolved.so wrapped-controller.c
  object_refused ./unresolved.so 'undefined symbol: ec_'
  test_end

  test_case "what_breaks_the_contract_is_refused"
  shared_object bad.so -DBAD_ABI faulty.c
  abi=$(sed -n 's/^#define BW_BLEND_ABI \([0-9]*\)u$/\1/p' "$root/strategies/blend.h")
  object_refused ./bad.so "contract version $((abi + 41)), but this program speaks $abi;"
  shared_object bad.so -DBAD_SYMBOL faulty.c
  object_refused ./bad.so "exports no symbol 'bw_blend_export'"
  shared_object bad.so -DBAD_NAME faulty.c
  object_refused ./bad.so "lower-case letters"
  shared_object bad.so -DBAD_TAKEN faulty.c
  object_refused ./bad.so "name 'series' is taken"
  shared_object bad.so -DBAD_PARAM faulty.c
  object_refused ./bad.so "parameter 'upside_down_s': default 1.5 does not lie in its range 2 to 1"
  shared_object bad.so -DBAD_TWICE faulty.c
  object_refused ./bad.so "parameter 'fault' stands twice"
  shared_object bad.so -DBAD_COLUMNS faulty.c
  object_refused ./bad.so "table 'share': the columns must be two to 4 names"
  shared_object bad.so -DBAD_SUMMARY faulty.c
  object_refused ./bad.so "summary must be one line"
  shared_object bad.so -DBAD_STEP faulty.c
  object_refused ./bad.so "no step function"
  shared_object bad.so -DBAD_FLAGS faulty.c
  object_refused ./bad.so "flags 0x40 are not known"
  shared_object bad.so -DBAD_POLICY faulty.c
  object_refused ./bad.so "choose two ways under antilock"
  test_end

  test_case "what_crashes_while_opened_is_refused"
  shared_object bad.so -DBAD_LOAD faulty.c
  object_refused ./bad.so 'crashed (a call of abort, SIGABRT) while it was being opened'
  shared_object bad.so -DBAD_POINTER faulty.c
  object_refused ./bad.so 'SIGSEGV) while bw_blend_export and its table were being read'
  test_end

  shared_object faulty.so faulty.c

  test_case "crash_is_one_line_and_a_failed_row"
  fault_contained 1 'crashed (a wrong memory access, SIGSEGV) in step at 0.5 s of the run; last inputs: speed '
  fault_contained 2 'crashed (a call of abort, SIGABRT) in step at 0.5 s of the run; last inputs: speed '
  test_end

  test_case "endless_loop_is_one_line_and_a_failed_row"
  fault_contained 3 'was not done after 0.7 s of wall time and was stopped in step at 0.5 s of the run; '
  err '; --deadline sets how long'
  test_end

  test_case "impossible_torque_is_one_line_and_a_failed_row"
  fault_contained 4 'step asked the friction brake of the rear axle for a torque that is not a finite number'
  fault_contained 5 'step asked the machine of the front axle for -2.5e+06 N m, which is beyond reason'
  fault_contained 7 'step asked the friction brake of the rear axle for a torque that is not a finite number'
  test_end

  test_case "exit_is_one_line_and_a_failed_row"
  fault_contained 6 'ended the process by itself, with status 7 in step at 0.5 s of the run; '
  fault_contained 8 'ended the process by itself, with status '
  test_end

  test_case "failed_controller_leaves_whole_files"
  run run stop.cfg --strategy series --strategy ./faulty.so --out broken \
    --set strategy.faulty.fault=1 --set strategy.faulty.from_s=1.3
  exits 3
  out 'faulty, failed: ./faulty.so: crashed'
  grep -q '^faulty,failed,' broken/summary.csv || note "no failed row in summary.csv"
  [ -z "$(tail -c 1 broken/trace-faulty.csv)" ] || note "the trace ends inside a line"
  awk -F, 'NR == 1 { n = NF } NF != n { exit 1 }' broken/trace-faulty.csv ||
    note "a row of the trace is cut"
  cells=$(tail -n 1 broken/trace-series.csv | cut -d, -f1)
  [ -n "$cells" ] || note "the other trace is empty"
  test_end

  test_case "controller_that_prints_does_not_spoil_results"
  run run stop.cfg --strategy ./faulty.so --format csv
  cp out quiet.csv
  run run stop.cfg --strategy ./faulty.so --format csv --set strategy.faulty.fault=9
  exits 0
  same out quiet.csv
  err 'a word from the controller'
  test_end

  test_case "tables_of_a_controller_are_given_by_the_case"
  run list parameters --strategy ./faulty.so --format csv
  out 'strategy.faulty.share,,,"table speed_kmh,front_share",friction share of the front axle'
  printf 'speed_kmh,front_share\n0,0.93\n100,0.93\n' >share.csv
  run run stop.cfg --strategy ./faulty.so --set strategy.faulty.share=share.csv --format csv
  awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) if ($i == "energy_friction_front_kj") c = i; n = NF }
    NR == 2 { c += NF - n; s = $c / ($c + $(c + 1)); bad = !(s > 0.925 && s < 0.935) } END { exit bad }' out ||
    note "the front axle's share is not the table's"
  printf 'speed_kmh,front_share\n0,1.93\n100,0.93\n' >share.csv
  run run stop.cfg --strategy ./faulty.so --set strategy.faulty.share=share.csv
  exits 2
  err 'share.csv:2: strategy.faulty.share: front_share of 1.93'
  test_end

  test_case "deadline_is_checked"
  run run stop.cfg --strategy ./mine.so --deadline 0
  refuses "deadline '0' is no time"
  run run stop.cfg --strategy ./mine.so --deadline soon
  refuses "deadline 'soon' is no time"
  test_end

  test_case "interrupt_ends_a_looping_controller"
  "$program" run stop.cfg --strategy ./faulty.so --deadline 300 --out never \
    --set strategy.faulty.fault=3 >out 2>err </dev/null &
  child=$!
  sleep 1
  kill -TERM "$child"
  wait "$child"
  status=$?
  exits 130
  err 'interrupted with 0 of 1 strategies done; nothing written'
  absent never
  test_end

fi
