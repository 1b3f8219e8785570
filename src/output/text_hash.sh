#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# A text as C strings, and before them the SHA-256 of its bytes in base64 as the macro NAME.
#   text_hash.sh NAME SED-PROGRAM TEXT
set -eu
hash=$(sha256sum <"$3" | cut -c 1-64 | sed 's/../\\x&/g')
printf '#undef %s\n' "$1"
# the shell's own printf need not know \x
printf '#define %s "%s"\n' "$1" "$(env printf "$hash" | base64)"
sed -f "$2" "$3"
