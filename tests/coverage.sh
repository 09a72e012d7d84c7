#!/usr/bin/env bash
# Runs all tests in a build that counts lines, and prints the share of lines that ran, file by file.
# Usage: bash tests/coverage.sh [FILTER]
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
bash .ci/setup.sh --preflight
cmake --preset coverage >/dev/null
cmake --build --preset coverage
find build/coverage -name '*.gcda' -delete
filter=()
[ $# -eq 0 ] || filter=(-R "$1")
ctest --preset coverage -j "$(nproc)" "${filter[@]}" || echo "coverage: some tests failed; the figures below are of this run" >&2
gcovr --root . --filter 'digitizer/' --filter 'mapstore/' --filter 'ui/' --exclude-throw-branches build/coverage
