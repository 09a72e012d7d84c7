#!/usr/bin/env bash
# Everything that continuous integration checks, before a push; with --full also what takes longer.
# Usage: bash tests/preflight.sh [--full]
#   CI's own part: tests/run.sh (set-up, build, all tests, the layers among them).
#   First, quick: the format of every source.
#   --full: clang-tidy over everything, and the tests under the address, undefined-behavior and thread sanitizers.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."

full=no
case "${1:-}" in
  "") ;;
  --full) full=yes ;;
  *) sed -n '2,6s/^# \{0,1\}//p' "$0" >&2; exit 2 ;;
esac
step() { printf '\n== %s\n' "$*"; }

step "Debian packages, those of the checks too"
bash .ci/setup.sh --preflight

step "Format (.clang-format)"
git ls-files -z '*.h' '*.cc' | xargs -0 clang-format-19 --dry-run --Werror

bash tests/run.sh

if [ "$full" = yes ]; then
  step "clang-tidy"
  cmake --preset tidy >/dev/null
  cmake --build --preset tidy
  for sanitizer in asan tsan; do
    step "Tests under $sanitizer"
    cmake --preset "$sanitizer" >/dev/null
    cmake --build --preset "$sanitizer"
    ctest --preset "$sanitizer" -j "$(nproc)"
  done
fi
step "Preflight passed"
