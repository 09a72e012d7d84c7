#!/usr/bin/env bash
# Kills a program that writes to a shelf, without warning, 1000 times (or as often as the argument says), and looks for anything lost or damaged;
# then the same, a tenth as often, with a shelf on a server.
# Usage: bash tests/thousand_kills.sh [KILLS]       needs the build that tests/run.sh makes
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
cmake --build --preset release --target shelf_kill_test --target server_shelf_test >/dev/null
ISLEBOOK_KILLS=${1:-1000} build/release/tests/shelf_kill_test
# On a server, where every third kill hits one of the server's own processes, upon which it starts anew.
ISLEBOOK_KILLS=$((${1:-1000} / 10)) exec build/release/tests/server_shelf_test --gtest_filter='*NothingPromisedIsLost*'
