#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# What `meson install` puts down is enough for somebody else's program: every installed header
# compiles by itself, and a program linked against the installed library runs an installed case.
# usage: installed.sh BUILD PREFIX SANITIZER COMPILER...
set -u
build=$1 prefix=$2 sanitizer=$3
shift 3
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
failures=0

report() { # NAME LOG
  if [ -s "$2" ]; then
    echo "[  FAILED  ] $1"
    sed -n '1,12s/^/  /p' "$2"
    failures=$((failures + 1))
  else
    echo "[       OK ] $1"
  fi
}

if ! DESTDIR=$work meson install -C "$build" --no-rebuild --quiet >"$work/log" 2>&1; then
  report install "$work/log"
  exit 1
fi
root=$work$prefix
headers=$root/include/brakeweave
[ -f "$headers/brakeweave.h" ] || {
  echo "[  FAILED  ] no brakeweave.h below $prefix/include/brakeweave"
  exit 1
}

: >"$work/log"
find "$headers" -name '*.h' | while read -r header; do
  printf '#include "%s"\n' "${header#"$headers"/}" >"$work/alone.c"
  "$@" -std=c17 -Wall -Wextra -Werror -fsyntax-only -I"$headers" "$work/alone.c" >>"$work/log" 2>&1
done
report every_installed_header_compiles_by_itself "$work/log"

cat >"$work/program.c" <<'PROGRAM'
#include "brakeweave.h"

#include <stdio.h>

int main(int argc, char **argv) {
  struct bw_diag diag = {0};
  struct bw_case *loaded = NULL;
  struct bw_evaluation evaluation;
  const struct bw_blend_strategy *series = bw_strategy_find("series");
  if (argc < 3 || series == NULL ||
      bw_case_load(argv[1], argv[2], NULL, 0, &loaded, &diag) != BW_OK ||
      bw_evaluate(loaded, series, NULL, &evaluation, &diag) != BW_OK) {
    (void)fprintf(stderr, "%s\n", diag.line[0]);
    return 1;
  }
  const double way = evaluation.summary.value[BW_SUMMARY_STOPPING_DISTANCE];
  bw_evaluation_free(&evaluation);
  bw_case_destroy(loaded);
  return way > 0.0 ? 0 : 1;
}
PROGRAM
if [ "$sanitizer" != none ]; then
  echo "[  SKIPPED ] a_program_links_and_runs (the library wants the sanitizer's own)"
  exit "$failures"
fi
: >"$work/log"
pc=$(find "$root" -name brakeweave.pc)
flags=$(PKG_CONFIG_PATH=${pc%/*} pkg-config --static --libs brakeweave |
  sed "s|-L$prefix|-L$root|g")
# shellcheck disable=SC2086 # flags are words
if "$@" -std=c17 -Wall -Wextra -Werror -I"$headers" -o "$work/program" "$work/program.c" \
  -L"$root/lib" $flags -lcsv -lm >"$work/log" 2>&1; then
  data=$root/share/brakeweave
  "$work/program" "$data/stop-100.cfg" "$data" >"$work/log" 2>&1 ||
    echo "the program ended with $?" >>"$work/log"
else
  echo "it does not link" >>"$work/log"
fi
report a_program_links_and_runs_an_installed_case "$work/log"
exit "$failures"
