#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The report as a browser sees it.
#   run.sh PROGRAM SOURCE_ROOT
# Prints a line per test as the other suites do. Without a headless Chromium (Debian: chromium) the
# tests are skipped, without tidy (Debian: tidy) or html-validate (npm) those of the markup.
set -u
case $1 in
/*) program=$1 ;;
*) program=$PWD/$1 ;;
esac
root=$2
BRAKEWEAVE_DATA=$root/cases
export BRAKEWEAVE_DATA
work=$(mktemp -d "${TMPDIR:-/tmp}/bw-browser-XXXXXX") || exit 1
trap 'rm -rf "$work"' EXIT
trap 'exit 130' INT TERM
cd "$work" || exit 1
failed=0

verdict() { # NAME PROBLEM
  if [ -z "$2" ]; then
    echo "[       OK ] $1"
  else
    echo "[  FAILED  ] $1"
    echo "  $2"
    failed=$((failed + 1))
  fi
}

# results of every kind in one folder; a status of 1 is a missed limit, which is what a report tells
make_results() {
  "$program" run "$root/cases/stop-100.cfg" --strategy series --strategy parallel --out whole \
    --bounds --quiet >out 2>&1 || [ $? -eq 1 ] || return 1
  "$program" assess "$root/cases/stop-100.cfg" --strategy series --out whole >out 2>&1 ||
    [ $? -eq 1 ] || return 1
  "$program" faults "$root/cases/stop-100.cfg" --strategy series --fault machine-trip \
    --fault message-lost --over battery.soc_percent=50,95 --moments 6 \
    --set fault.duration_s=0.5 --out whole >out 2>&1 || return 1
  "$program" sweep "$root/cases/stop-100.cfg" --strategy series --over battery.soc_percent=50,95 \
    --over friction.front.pad_scale=0.9,1 --out swept >out 2>&1 || [ $? -eq 1 ] || return 1
  if command -v gnuplot >/dev/null; then
    "$program" plot whole >out 2>&1 && "$program" plot swept >out 2>&1 || return 1
  fi
  "$program" report whole -o whole.html >out 2>&1 && "$program" report swept -o swept.html >out 2>&1
}

problem=
make_results || problem="the results could not be made: $(tail -n 1 out)"
verdict browser_results_of_every_kind_become_reports "$problem"
[ -z "$problem" ] || exit 1

if command -v tidy >/dev/null; then
  problem=$(tidy -q -e whole.html swept.html 2>&1 | head -n 3)
  verdict report_is_valid_html_for_tidy "$problem"
else
  echo "[  SKIPPED ] report_is_valid_html_for_tidy"
  echo "  needs tidy: apt-get install tidy"
fi
if command -v html-validate >/dev/null; then
  echo '{"root":true,"extends":["html-validate:standard"]}' >.htmlvalidate.json
  problem=$(html-validate whole.html swept.html 2>&1 | head -n 6)
  verdict report_is_valid_html_for_html_validate "$problem"
else
  echo "[  SKIPPED ] report_is_valid_html_for_html_validate"
  echo "  needs html-validate: npm install --global html-validate"
fi

if { command -v chromium || command -v chromium-browser; } >/dev/null && command -v python3 >/dev/null; then
  python3 -B "$root/tests/browser/report.py" "$program" "$root" || failed=$((failed + 1))
else
  echo "[  SKIPPED ] report_in_a_browser"
  echo "  needs a headless browser and Python: apt-get install chromium python3"
fi
[ "$failed" -eq 0 ]
