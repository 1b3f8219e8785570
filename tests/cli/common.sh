# SPDX-License-Identifier: GPL-3.0-or-later
# What several parts stand on, so that each of them works alone.
# shellcheck disable=SC2034 # used by the parts

make_case stop.cfg
make_case sweep.cfg
"$program" list columns --format csv | cut -d, -f1 | tail -n +2 | tr '\n' , | sed 's/,$//' >columns
grid="--over battery.soc_percent=20:95:15 --over battery.temperature_c=-20,0,25 --strategy series \
  --strategy parallel"
compiler=${CC:-cc}

# a controller of the tests as ./NAME.so; false when there is no compiler
need_object() { # NAME SOURCE
  [ ! -e "$1.so" ] || return 0
  command -v "${compiler%% *}" >/dev/null || return 1
  # shellcheck disable=SC2086 # CC may hold options
  $compiler -shared -fPIC -I "$root/strategies" -o "$1.so" "$root/$2"
}

# a whole sweep of sweep.cfg in folder NAME, made when no other part did
need_sweep() { # NAME ARGUMENTS
  folder=$1
  shift
  [ -e "$folder" ] || "$program" sweep sweep.cfg "$@" --out "$folder" >/dev/null 2>&1
}

# until a file has that many lines, ten seconds at most
await_lines() { # FILE LINES
  waited=0
  while [ "$(cat "$1" 2>/dev/null | wc -l)" -lt "$2" ] && [ $waited -lt 1000 ]; do
    waited=$((waited + 1))
    sleep 0.01
  done
}

# rows and statistics of two sweeps
same_sweep() { # FOLDER FOLDER
  same "$1/sweep.csv" "$2/sweep.csv"
  same "$1/sweep-statistics.csv" "$2/sweep-statistics.csv"
}

# a sweep that is certainly not done yet when it is stopped
stop_sweep() { # SIGNAL
  rm -rf sw-stop
  "$program" sweep sweep.cfg --over battery.soc_percent=20:95:0.01 --strategy series --out sw-stop \
    --jobs 2 >out 2>err &
  victim=$!
  await_lines sw-stop/sweep.journal 4
  kill "-$1" $victim
  wait $victim
  status=$?
}

# stopped by SIGNAL it leaves its journal and says how to go on
stops_and_tells() { # SIGNAL
  stop_sweep "$1"
  exits 130
  no_out
  err_lines 1
  err 'go on with the same command and --resume'
  exists sw-stop/sweep.journal
  absent sw-stop/sweep.csv
}
