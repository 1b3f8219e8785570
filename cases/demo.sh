#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The main job in one command: installs what is missing (Debian), builds the program, and compares
# all strategies of the demonstration car on the WLTC. Run from anywhere; results go to
# results-demo beside the README. Further arguments are handed to `brakeweave run`.
set -eu
cd "$(dirname "$0")/.."
. .ci/setup.sh
# shellcheck disable=SC2086 # a list of words
need_packages $build_packages
# link-time optimisation saves a twelfth of a run, and only one program is linked here
build_into build/demo -Dtests=false -Db_lto=true
exec build/demo/src/cli/brakeweave run cases/hatchback-wltc.cfg --strategy all --out results-demo "$@"
