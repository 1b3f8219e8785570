# SPDX-License-Identifier: GPL-3.0-or-later
# Words of the command-line tests. A test is
#   test_case NAME; run ARGUMENTS; exits 2; err 'text'; test_end

test_case() {
  name=$1
  problem=
}

note() {
  [ -n "$problem" ] || problem=$1
}

test_end() {
  if [ -z "$problem" ]; then
    passed=$((passed + 1))
    echo "[       OK ] $name"
  else
    failed=$((failed + 1))
    echo "[  FAILED  ] $name"
    echo "  $problem"
    sed -n '1,4s/^/  stdout: /p' out
    sed -n '1,4s/^/  stderr: /p' err
  fi
}

test_skip() {
  skipped=$((skipped + 1))
  echo "[  SKIPPED ] $name"
}

# run the program; what it printed is in the files out and err, how it ended in $status
run() {
  "$program" "$@" >out 2>err </dev/null
  status=$?
}

exits() { [ "$status" -eq "$1" ] || note "exit status $status, wanted $1"; }
out() { grep -qF -e "$1" out || note "not on standard output: $1"; }
err() { grep -qF -e "$1" err || note "not on standard error: $1"; }
no_out() { [ ! -s out ] || note "standard output is not empty"; }
no_err() { [ ! -s err ] || note "standard error is not empty"; }
err_lines() {
  count=$(wc -l <err)
  [ "$count" -eq "$1" ] || note "$count lines on standard error, wanted $1"
}
first_out() { [ "$(head -n 1 out)" = "$1" ] || note "first line is '$(head -n 1 out)', wanted '$1'"; }
exists() { [ -e "$1" ] || note "$1 does not exist"; }
absent() { [ ! -e "$1" ] || note "$1 exists"; }
same() { cmp -s "$1" "$2" || note "$1 and $2 differ"; }

# one line on standard error, lower-case behind the place, with a hint, no full stop
refuses() {
  exits 2
  no_out
  err_lines 1
  err '; '
  err "$1"
  ! grep -q '\.$' err || note "the message ends in a full stop"
}

# write a case of one short stop with the shipped car; further words are lines of their own
make_case() {
  file=$1
  shift
  {
    echo "@include \"$root/cases/vehicles/small-hatchback.cfg\""
    echo "cycle: { name = \"$root/cases/manoeuvres/stop-100.csv\"; };"
    echo "driver: { initial_speed_kmh = 43.7; };"
    for line in "$@"; do
      echo "$line"
    done
  } >"$file"
}
