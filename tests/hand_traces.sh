#!/usr/bin/env bash
# How often a trace through a few points of an unsteady hand lands on the ink, over the true curves of sheets (DEVELOPERS.md, "Figures").
# Usage: bash tests/hand_traces.sh [--list] [FOLDER...]
#   FOLDER: sheets with NAME.truth.json beside them; without one, every class of ../shared/specimens. --list names every trace that failed.
#   Drives bin/sheet_session (target sheet_session); SHEET_SESSION=/path/to/it tries another build than build/release.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")"
exec /usr/bin/python3 -B hand_traces.py "$@"
