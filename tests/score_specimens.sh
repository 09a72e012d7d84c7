#!/usr/bin/env bash
# Digitizes sheets whose truth is known, scores the results and prints one table (DEVELOPERS.md, "Figures").
# Usage: bash tests/score_specimens.sh [--out DIR] [--jobs N] [--wrong] [FOLDER...]
#   FOLDER: sheets with NAME.truth.json beside them; without one, every class of ../shared/specimens.
#   --out DIR keeps results and scores (else a temporary folder that goes away); --wrong also lists what is wrong, sheet by sheet.
#   ISLEBOOK=/path/to/islebook scores another build than build/release.
set -euo pipefail
exec /usr/bin/python3 -B "$(dirname "${BASH_SOURCE[0]}")/score_specimens.py" "$@"
