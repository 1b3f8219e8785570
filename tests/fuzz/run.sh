#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Lets libFuzzer look for input that breaks a reader, under AddressSanitizer and
# UndefinedBehaviorSanitizer (clang). What it learns stays in build/fuzz/corpus, what it breaks in
# build/fuzz/found; reduce that with `build/fuzz/tests/fuzz/fuzz_TARGET -minimize_crash=1 FILE`,
# mend the cause and add the file to tests/fuzz/corpus/TARGET.
#   sh tests/fuzz/run.sh [SECONDS [TARGET...]]     one hour over all targets when nothing is given
set -eu
cd "$(dirname "$0")/../.."
. .ci/setup.sh
# shellcheck disable=SC2086 # a list of words
need_packages $build_packages clang libcmocka-dev
seconds=${1:-3600}
[ $# -eq 0 ] || shift
checks=float-divide-by-zero,float-cast-overflow
# shellcheck disable=SC2046 # a list of words
[ $# -gt 0 ] || set -- $(ls tests/fuzz/corpus)
[ -f build/fuzz/build.ninja ] ||
  CC=clang meson setup build/fuzz -Dfuzz=true -Dmpi=disabled -Db_lundef=false \
    -Db_sanitize=address,undefined -Dc_args="-fsanitize=$checks -fno-sanitize-recover=all"
# shellcheck disable=SC2046 # a list of words
meson compile -C build/fuzz ./src/cli/brakeweave:executable $(printf 'fuzz_%s ' "$@")
each=$((seconds / $#))
mkdir -p build/fuzz/found
# the keys of cases, so that the fuzzer need not guess them
build/fuzz/src/cli/brakeweave list parameters |
  sed -n 's/^ *\([a-z_]*\.[a-z0-9_.-]*\).*/"\1="/p' | sort -u >build/fuzz/keys.dict
status=0
for target in "$@"; do
  mkdir -p "build/fuzz/corpus/$target"
  echo "== $target, $each s"
  "build/fuzz/tests/fuzz/fuzz_$target" -max_total_time="$each" -timeout=60 -rss_limit_mb=2048 \
    -max_len=20000 -dict=build/fuzz/keys.dict -artifact_prefix="build/fuzz/found/$target-" \
    -print_final_stats=1 "build/fuzz/corpus/$target" "tests/fuzz/corpus/$target" \
    >"build/fuzz/$target.log" 2>&1 || status=1
  grep 'stat::number_of_executed\|SUMMARY\|does not hold\|runtime error\|Test unit written' \
    "build/fuzz/$target.log" || true
done
exit $status
