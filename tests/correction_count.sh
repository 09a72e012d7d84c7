#!/usr/bin/env bash
# Counts how many corrections a person makes until each sheet is right; the person is played by the sheets' truth (DEVELOPERS.md, "Figures").
# Usage: bash tests/correction_count.sh [--list] [FOLDER...]
#   FOLDER: sheets with NAME.truth.json beside them; without one, every class of ../shared/specimens. --list adds one line a sheet.
#   Drives bin/sheet_session (target sheet_session); SHEET_SESSION=/path/to/it tries another build than build/release.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")"
exec /usr/bin/python3 -B correction_count.py "$@"
