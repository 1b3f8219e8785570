#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Every test in one command: installs what is missing (Debian), builds, runs the tests, then again
# under AddressSanitizer and UndefinedBehaviorSanitizer, builds with clang and lets clang-tidy and
# clang-format look. The last line counts the tests of the first pass; a failure of any later pass
# counts as one more failed test.
#   sh tests/all.sh          everything
#   sh tests/all.sh --quick  the first pass only
set -eu
cd "$(dirname "$0")/.."
. .ci/setup.sh
quick=${1-}
# shellcheck disable=SC2086 # a list of words
need_packages $build_packages libcmocka-dev gnuplot-nox openmpi-bin libopenmpi-dev
if [ "$quick" != --quick ]; then
  # only for comparisons, and large: the tests that need it are skipped without it
  need_packages octave || echo "no GNU Octave: its comparisons are skipped" >&2
fi
# the report is looked at by a browser and a checker; without them those tests are skipped
# shellcheck disable=SC2086 # a list of words
need_packages chromium tidy python3 || echo "no browser: its tests are skipped" >&2
failed_passes=0

build_into build/tests
status=0
meson test -C build/tests --print-errorlogs >build/tests/summary.log 2>&1 || status=$?
cat build/tests/summary.log
log=build/tests/meson-logs/testlog.txt
# cmocka and the command-line tests both print one such line per test
passed=$(grep -c '^\[       OK \]' "$log" || true)
failed=$(grep '^\[  FAILED  \]' "$log" | grep -vc 'test(s)' || true)
skipped=$(grep -c '^\[  SKIPPED \] [a-z]' "$log" || true)
# a crash prints no line of its own
if [ "$status" -ne 0 ] && [ "$failed" -eq 0 ]; then
  failed=1
fi

later_pass() {
  echo "== $1"
  shift
  if ! "$@"; then
    failed_passes=$((failed_passes + 1))
    echo "   FAILED"
  fi
}

sanitized() {
  # x / 0.0 and a number too large for an integer are defined nowhere and meant nowhere here
  build_into build/sanitized -Db_sanitize=address,undefined -Db_lundef=false \
    -Dc_args="-fsanitize=float-divide-by-zero,float-cast-overflow -fno-sanitize-recover=all" || return 1
  result=0
  UBSAN_OPTIONS=halt_on_error=1:print_stacktrace=1 \
    meson test -C build/sanitized --print-errorlogs --timeout-multiplier 10 \
    --no-suite foreign >build/sanitized/summary.log 2>&1 || result=$?
  [ $result -eq 0 ] || grep -A 40 'ERROR: \|runtime error\|FAILED' build/sanitized/summary.log | head -n 200
  tail -n 12 build/sanitized/summary.log
  return $result
}

with_clang() {
  CC=clang build_into build/clang
}

tidied() {
  CC=clang build_into build/clang || return 1
  result=0
  sh tests/tidy.sh build/clang || result=$?
  [ $result -eq 0 ] || [ $result -eq 77 ]
}

if [ "$quick" != --quick ]; then
  # shellcheck disable=SC2086 # a list of words
  need_packages clang clang-format clang-tidy
  later_pass "the same tests under AddressSanitizer and UndefinedBehaviorSanitizer" sanitized
  later_pass "build with clang, warnings are errors" with_clang
  later_pass "clang-tidy and clang-format find nothing" tidied
fi

failed=$((failed + failed_passes))
echo
if [ "$skipped" -gt 0 ]; then
  echo "$passed passed, $failed failed, $skipped skipped"
else
  echo "$passed passed, $failed failed"
fi
[ "$failed" -eq 0 ] && [ "$passed" -gt 0 ]
