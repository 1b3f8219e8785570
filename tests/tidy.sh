#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Version 14 of clang-format and clang-tidy finds nothing in our C (.clang-format, .clang-tidy). Tells
# what it finds; ends with 0 when that is nothing, 1 otherwise, 77 where another version is installed.
#   sh tests/tidy.sh BUILD           every file; BUILD is a folder that meson set up and compiled
#   sh tests/tidy.sh BUILD FILE...   these files only
# JOBS=N looks at N files at a time (one per core otherwise).
set -eu
build=$(cd "${1:?give the build folder}" && pwd)
shift
cd "$(dirname "$0")/.."

for tool in clang-format clang-tidy; do
  case $("$tool" --version) in
  *'version 14.'*) ;;
  *)
    echo "tests/tidy.sh: $tool is not of version 14, others find other things: skipped" >&2
    exit 77
    ;;
  esac
done

# what is generated lies in the build folder and is written by nobody
# shellcheck disable=SC2046 # a list of words
[ $# -gt 0 ] || set -- $(find src strategies tests \( -name '*.c' -o -name '*.h' \) | LC_ALL=C sort)
found=$(mktemp -d)
trap 'rm -rf "$found"' EXIT
trap 'exit 130' INT TERM
clang-format --dry-run --Werror "$@" >"$found/format" 2>&1 || cat "$found/format"
grep -q . "$found/format" || rm "$found/format"

# One process per file: version 14 carries a state of its va_list checker from file to file and then
# finds what is not there. Headers are looked at through the files that include them.
# The examples of strategies are in no build.
# shellcheck disable=SC2016 # expanded in the process of the file
printf '%s\n' "$@" | grep '\.c$' |
  FOUND=$found BUILD=$build xargs -n 1 -P "${JOBS:-$(nproc)}" sh -c '
    told=$FOUND/$(echo "$1" | tr / _)
    if clang-tidy -p "$BUILD" --quiet --extra-arg="-I$PWD/strategies" "$1" >"$told" 2>&1; then
      rm "$told"
    else
      grep -v " warnings\{0,1\} generated\.$\|^Suppressed \|^Error while processing" "$told" || cat "$told"
    fi' tidy || true
[ -z "$(ls "$found")" ]
