#!/usr/bin/env bash
# Kills a program that writes to a shelf, without warning, 1000 times (or as often as the argument says), and looks for anything lost or damaged.
# Usage: bash tests/thousand_kills.sh [KILLS]       needs the build that tests/run.sh makes
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
cmake --build --preset release --target shelf_kill_test >/dev/null
ISLEBOOK_KILLS=${1:-1000} exec build/release/tests/shelf_kill_test
