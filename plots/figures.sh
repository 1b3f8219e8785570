#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Draws the README's figures anew, from the demonstration's case and the stop from 100 km/h.
#   sh plots/figures.sh PROGRAM
set -eu
[ $# -eq 1 ] || {
  echo "usage: sh plots/figures.sh PROGRAM" >&2
  exit 2
}
case $1 in
*/*) program=$(cd "$(dirname "$1")" && pwd)/$(basename "$1") ;;
*) program=$1 ;;
esac
cd "$(dirname "$0")/.."
work=$(mktemp -d "${TMPDIR:-/tmp}/bw-figures-XXXXXX")
trap 'rm -rf "$work"' EXIT
# 1: a case's own limits may fail, its results stand
"$program" run cases/hatchback-wltc.cfg --strategy all --no-trace --quiet --out "$work/cycle" >"$work/out" || [ $? -eq 1 ]
"$program" run cases/stop-100.cfg --strategy series --quiet --out "$work/stop" >"$work/out" || [ $? -eq 1 ]
"$program" plot "$work/cycle" --png >"$work/out"
"$program" plot "$work/stop" --png >"$work/out"
mkdir -p plots/figures
cp "$work/cycle/figures/energy.png" plots/figures/energy.png
cp "$work/stop/figures/brake-torque-series.png" plots/figures/brake-torque.png
cp "$work/stop/figures/hand-over-series.png" plots/figures/hand-over.png
