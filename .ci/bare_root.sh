#!/usr/bin/env bash
# Runs a command in a fresh Debian 12 root that has git and apt and nothing else: a clean clone of the last commit, then the command in it.
# Usage (as root; needs debootstrap): bash .ci/bare_root.sh [--root DIR] COMMAND...
#   e.g. bash .ci/bare_root.sh bash tests/run.sh
#        bash .ci/bare_root.sh bash sample_maps/demo.sh
#   --root DIR keeps the root there, and uses it again (packages and build included) when it is there; else it is made anew and removed at the end.
set -euo pipefail
top=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)

root=
if [ "${1:-}" = --root ]; then
  root=${2:?--root needs a folder}
  shift 2
fi
[ $# -gt 0 ] || { sed -n '2,6s/^# \{0,1\}//p' "$0" >&2; exit 2; }
[ "$(id -u)" -eq 0 ] || { echo "bare_root: this must be root (it mounts and changes root)." >&2; exit 1; }
command -v debootstrap >/dev/null || { echo "bare_root: debootstrap is missing; apt-get install debootstrap." >&2; exit 1; }

# The mounts below are seen by this script alone and go away with it.
if [ -z "${ISLEBOOK_BARE_ROOT:-}" ]; then
  keep=${root:+yes}
  root=${root:-$(mktemp -d /var/tmp/islebook-root-XXXXXX)}
  code=0
  ISLEBOOK_BARE_ROOT=1 unshare --mount --fork bash "$0" --root "$root" "$@" || code=$?
  [ -n "$keep" ] || rm -rf --one-file-system "$root"
  exit $code
fi

step() { printf '\n== bare root: %s\n' "$*" >&2; }

if [ ! -x "$root/usr/bin/git" ]; then
  step "making Debian 12 with git and apt in $root"
  debootstrap --variant=minbase --include=git,ca-certificates bookworm "$root" http://deb.debian.org/debian >"$root.log" 2>&1 ||
    { cat "$root.log" >&2; exit 1; }
  rm -f "$root.log"
fi
chmod 755 "$root"  # it becomes "/": other users of the new root must be able to enter it
cp /etc/resolv.conf "$root/etc/resolv.conf"
# A machine behind a gateway of its own trusts that gateway; so does its root.
if compgen -G '/usr/local/share/ca-certificates/*.crt' >/dev/null; then
  cp /usr/local/share/ca-certificates/*.crt "$root/usr/local/share/ca-certificates/"
  chroot "$root" update-ca-certificates >/dev/null 2>&1 || true
fi
printf '#!/bin/sh\nexit 101\n' >"$root/usr/sbin/policy-rc.d"  # no service is started
chmod +x "$root/usr/sbin/policy-rc.d"
mount -t proc proc "$root/proc"
mount --rbind /dev "$root/dev"
mount -t tmpfs tmpfs "$root/tmp"

step "a clean clone of $(git -C "$top" log -1 --format='%h %s')"
if [ -d "$root/root/islebook/.git" ]; then
  git -C "$root/root/islebook" fetch -q "$top" HEAD
  git -C "$root/root/islebook" checkout -q --force --detach FETCH_HEAD
else
  git clone -q --no-hardlinks "$top" "$root/root/islebook"
fi

step "$*"
begun=$SECONDS
code=0
chroot "$root" /usr/bin/env -i HOME=/root PATH=/usr/sbin:/usr/bin:/sbin:/bin TERM=dumb LANG=C.UTF-8 \
  sh -c 'cd /root/islebook && exec "$@"' sh "$@" || code=$?
step "ended with $code after $((SECONDS - begun)) s"
exit $code
