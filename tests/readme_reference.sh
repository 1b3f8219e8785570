#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Holds the README's reference tables to what the program prints, and writes them with --write.
#   sh tests/readme_reference.sh PROGRAM README [--write]
# A block stands between <!-- list WHAT --> and <!-- end -->.
set -eu
program=$1
readme=$2
mode=${3-}
made=$(mktemp)
trap 'rm -f "$made"' EXIT

inside=
while IFS= read -r line || [ -n "$line" ]; do
  case $line in
  '<!-- list '*' -->')
    what=${line#'<!-- list '}
    what=${what%' -->'}
    printf '%s\n\n' "$line"
    "$program" list "$what" --format markdown
    printf '\n'
    inside=yes
    ;;
  '<!-- end -->')
    inside=
    printf '%s\n' "$line"
    ;;
  *)
    [ -n "$inside" ] || printf '%s\n' "$line"
    ;;
  esac
done <"$readme" >"$made"

if [ "$mode" = --write ]; then
  cat "$made" >"$readme"
elif ! grep -q '^<!-- list parameters -->$' "$readme"; then
  echo "[  FAILED  ] readme_reference: no block of parameters in $readme"
  exit 1
elif diff "$readme" "$made"; then
  echo "[       OK ] readme_reference_is_what_the_program_prints"
else
  echo "[  FAILED  ] readme_reference_is_what_the_program_prints"
  echo "mend it with: sh tests/readme_reference.sh PROGRAM README.md --write"
  exit 1
fi
