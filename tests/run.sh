#!/usr/bin/env bash
# Sets up, builds and tests Islebook; a second run only does what changed. Results: build/release.
# Usage: bash tests/run.sh [FILTER]       FILTER: a regular expression on test names, as ctest -R takes it ("shelf", "mapstore/units")
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."

case "${1:-}" in
  -h|--help) sed -n '2,3s/^# //p' "$0"; exit 0 ;;
esac

step() { printf '\n== %s\n' "$*"; }

step "Debian packages (.ci/packages.txt)"
bash .ci/setup.sh

step "Configure and build: build/release"
mkdir -p build
cmake --preset release >build/configure.log 2>&1 || { cat build/configure.log; exit 1; }
cmake --build --preset release

step "Tests"
export QT_QPA_PLATFORM=${QT_QPA_PLATFORM:-offscreen}
export OMP_THREAD_LIMIT=${OMP_THREAD_LIMIT:-1}
filter=()
[ $# -eq 0 ] || filter=(-R "$1")
ctest --test-dir build/release --output-on-failure --no-tests=error -j "$(nproc)" "${filter[@]}"
