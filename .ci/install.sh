#!/usr/bin/env bash
# Installs what is missing of the named sections of .ci/packages.txt: install.sh build [test] [full]
#
# Nothing missing: says so and needs no rights. Else apt-get as root, or through sudo where there
# is one; else the line to run as root is printed and the script stops with 4. It never upgrades,
# removes or adds a source. Systems other than Debian 12 get the list and stop with 4.
set -euo pipefail
list="$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)/packages.txt"

if [ $# -eq 0 ]; then
  echo "usage: install.sh SECTION...   (sections: build, test, full)" >&2
  exit 2
fi

packages_of() {  # section
  awk -v wanted="[$1]" '{ sub(/#.*/, "") } /^\[/ { on = ($1 == wanted); next } on && NF { print $1 }' "$list"
}

packages=()
for section in "$@"; do
  mapfile -t named < <(packages_of "$section")
  if [ ${#named[@]} -eq 0 ]; then
    echo "install.sh: no section [$section] in .ci/packages.txt" >&2
    exit 2
  fi
  packages+=("${named[@]}")
done

system=$(. /etc/os-release 2>/dev/null && echo "${ID:-unknown} ${VERSION_ID:-}" || echo unknown)
if [ "$system" != "debian 12" ]; then
  echo "This is not Debian 12 ($system): install the equivalents of these Debian 12 packages yourself:" >&2
  printf '  %s\n' "${packages[@]}" >&2
  exit 4
fi

missing=()
for package in "${packages[@]}"; do
  state=$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null || true)
  [ "$state" = installed ] || missing+=("$package")
done
if [ ${#missing[@]} -eq 0 ]; then
  echo "packages: all ${#packages[@]} of section $* are there"
  exit 0
fi
echo "packages: ${#missing[@]} of ${#packages[@]} missing (section $*); will install: ${missing[*]}"

as_root=()
if [ "$(id -u)" -ne 0 ]; then
  if ! command -v sudo >/dev/null; then
    echo "Not root and no sudo. Run this as root, then start again:" >&2
    echo "apt-get update && apt-get install -y --no-install-recommends --no-remove ${missing[*]}" >&2
    exit 4
  fi
  as_root=(sudo)
fi
apt() { "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -q "$@"; }
apt update || { echo "install.sh: apt-get update failed; is the network there?" >&2; exit 4; }
apt install -y --no-install-recommends --no-remove "${missing[@]}" ||
  { echo "install.sh: apt-get install failed; see above" >&2; exit 4; }
