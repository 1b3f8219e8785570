#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Runs the program and compares standard output, standard error, exit status and files.
#   run.sh PROGRAM SOURCE_ROOT [PART...]
# PART is a file beside this one without .sh; all of them when none is named.
# Prints a line per test as the unit tests do, then a count; exit status 1 when one failed.
set -u
case $1 in
/*) program=$1 ;;
*) program=$PWD/$1 ;;
esac
root=$2
shift 2
BRAKEWEAVE_DATA=$root/cases
export BRAKEWEAVE_DATA
work=$(mktemp -d "${TMPDIR:-/tmp}/bw-cli-XXXXXX") || exit 1
trap 'umount "$work/disk" "$work/cl-disk" 2>/dev/null; rm -rf "$work"' EXIT
trap 'exit 130' INT TERM
cd "$work" || exit 1
passed=0
failed=0
skipped=0
name=none
problem=

. "$root/tests/cli/lib.sh"
. "$root/tests/cli/common.sh"
[ $# -gt 0 ] || set -- usage list input runs files controllers explain assess assess_brakes faults plot sweep \
  sample find survival cluster report
for part in "$@"; do
  . "$root/tests/cli/$part.sh"
done

echo "cli: $passed passed, $failed failed, $skipped skipped"
[ "$failed" -eq 0 ] && [ "$passed" -gt 0 ]
