# SPDX-License-Identifier: GPL-3.0-or-later
# Sourced by cases/demo.sh and tests/all.sh: installs what is missing on a Debian machine.
#   need_packages NAME...   with sudo where not root; nothing is done when all are there

need_packages() {
  missing=
  for package in "$@"; do
    state=$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null || true)
    [ "$state" = installed ] || missing="$missing $package"
  done
  [ -n "$missing" ] || return 0
  echo "installing:$missing" >&2
  as_root=
  if [ "$(id -u)" -ne 0 ]; then
    if ! command -v sudo >/dev/null 2>&1; then
      echo "these Debian packages are missing and sudo is not there; as root run: apt-get install$missing" >&2
      return 1
    fi
    as_root=sudo
  fi
  # shellcheck disable=SC2086 # the list is meant to fall apart into words
  $as_root apt-get update -q >&2 &&
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends $missing >&2
}

# what the program itself is built from and with
build_packages="gcc libc6-dev meson ninja-build pkg-config libgsl-dev libconfig-dev libcsv-dev"

# build_into FOLDER [meson option...]: set up once, then compile; quiet unless it fails
build_into() {
  folder=$1
  shift
  mkdir -p "$folder"
  echo "building in $folder" >&2
  {
    [ -f "$folder/build.ninja" ] || meson setup "$folder" "$@"
  } >"$folder/setup.log" 2>&1 && meson compile -C "$folder" >"$folder/compile.log" 2>&1 && return 0
  cat "$folder/setup.log" "$folder/compile.log" >&2 2>/dev/null || true
  return 1
}
