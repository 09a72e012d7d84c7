#!/usr/bin/env bash
# Installs by apt what this machine lacks of .ci/packages.txt. Does nothing, quickly, when all of it is there.
# Usage: .ci/setup.sh [--preflight]      (--preflight: also the packages that only tests/preflight.sh needs)
set -euo pipefail
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)

with_preflight=no
case "${1:-}" in
  "") ;;
  --preflight) with_preflight=yes ;;
  *) echo "setup: unknown argument $1; usage: .ci/setup.sh [--preflight]" >&2; exit 2 ;;
esac

wanted=()
while IFS= read -r line; do
  name=${line%%#*}
  name=${name//[[:space:]]/}
  [ -n "$name" ] || continue
  case "$line" in *"# preflight"*) [ "$with_preflight" = yes ] || continue ;; esac
  wanted+=("$name")
done <"$here/packages.txt"

if ! command -v dpkg-query >/dev/null || ! command -v apt-get >/dev/null; then
  echo "setup: this machine has no apt. Install what .ci/packages.txt lists (Debian 12 names) by other means; going on with what is there." >&2
  exit 0
fi

missing=()
installed=$(dpkg-query -W -f='${Package} ${db:Status-Abbrev}\n' "${wanted[@]}" 2>/dev/null | awk '$2 == "ii" {print $1}' | sort -u || true)
for name in "${wanted[@]}"; do
  grep -qxF -- "$name" <<<"$installed" || missing+=("$name")
done
if [ ${#missing[@]} -eq 0 ]; then
  exit 0
fi

echo "setup: ${#missing[@]} of ${#wanted[@]} Debian packages are missing; installing them by apt: ${missing[*]}" >&2
as_root=()
if [ "$(id -u)" -ne 0 ]; then
  if ! command -v sudo >/dev/null; then
    echo "setup: this needs root or sudo. As root, run: apt-get update && apt-get install --no-install-recommends ${missing[*]}" >&2
    exit 1
  fi
  as_root=(sudo)
fi
quiet_apt() {
  local log
  log=$(mktemp)
  if ! "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -qq -o Dpkg::Use-Pty=0 -o Acquire::Retries=3 "$@" >"$log" 2>&1; then
    cat "$log" >&2
    rm -f "$log"
    return 1
  fi
  rm -f "$log"
}
if ! quiet_apt update; then
  echo "setup: apt-get update failed (above); going on with the lists that are there." >&2
fi
if ! quiet_apt install -y --no-install-recommends "${missing[@]}"; then
  echo "setup: apt could not install the packages (its words are above). Check the network and the package sources, then run the same command again." >&2
  exit 1
fi
echo "setup: done." >&2
