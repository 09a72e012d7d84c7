#!/usr/bin/python3
"""Digitizes folders of sheets with truth, runs the specimens' own scorer and prints one table. Usage: score_specimens.sh."""
import argparse
import glob
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time

TOP = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..")
SPECIMENS = os.path.join(TOP, "..", "shared", "specimens")
CLASSES = ("clean", "vector", "scan", "photo", "copy", "web")
PICTURES = (".png", ".jpg", ".jpeg", ".tif", ".tiff", ".webp", ".bmp", ".pdf", ".svg")


def sheets_of(folder):
    """The pictures that have a truth beside them; a page with a second map has NAME-2.truth.json and one picture."""
    found = []
    for truth in sorted(glob.glob(os.path.join(folder, "*.truth.json"))):
        stem = truth[: -len(".truth.json")]
        pictures = [stem + ending for ending in PICTURES if os.path.exists(stem + ending)]
        if pictures:
            found.append(pictures[0])
        elif not re.search(r"-\d+$", stem):
            print(f"{truth}: no picture beside it", file=sys.stderr)
    return found


def scorer(name, *arguments):
    done = subprocess.run([sys.executable, "-B", os.path.join(SPECIMENS, name), *arguments], capture_output=True, text=True, check=False)
    try:
        return json.loads(done.stdout)
    except json.JSONDecodeError:
        sys.exit(f"{name} failed: {done.stderr.strip() or done.stdout.strip()}")


def percent(value):
    return "-" if value is None else f"{100 * value:.0f}"


def recall(roles, *names):
    """Found with the right role, of all that are there; over several roles together."""
    there = sum(roles[name]["truth"] for name in names if name in roles)
    hit = sum(roles[name]["hit"] for name in names if name in roles)
    return hit / there if there else None


def row(name, summary, band, seconds):
    roles, cases = summary["roles"], summary["cases"]
    right = round(summary["zero_touch"] * cases)
    compressor = " / ".join(percent(recall(roles, role)) for role in ("speed_line", "efficiency_island", "surge_line"))
    error = f"{summary['px']['median']:.3f} / {summary['px']['p95']:.2f}" if summary["px"] else "-"
    return [name, str(cases), compressor, percent(recall(roles, "flow_line", "efficiency_line")), percent(summary["calibration_right"]),
            percent(summary["labels"]["of_matched_rate"]), percent(summary["zero_touch"]), percent(summary["honest_strict"]),
            f"{summary['false_alarms']} of {right}", str(summary["spurious"]), error, percent(band.get("in_band")), f"{seconds / cases:.1f}"]


HEAD = ["class", "sheets", "speed lines / islands / surge lines found", "turbine lines", "axes right", "labels read", "no touch", "strict", "flagged though right",
        "spurious curves", "px median / 95 %", "in 95 % band", "s a sheet"]


def main():
    parser = argparse.ArgumentParser(description="Digitizes sheets whose truth is known, scores the results and prints one table.")
    parser.add_argument("folders", nargs="*", metavar="FOLDER")
    parser.add_argument("--out", metavar="DIR", help="keep results and scores here")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--wrong", action="store_true", help="list what is wrong, sheet by sheet")
    arguments = parser.parse_args()
    if not os.path.exists(os.path.join(SPECIMENS, "score.py")):
        sys.exit(f"The scorer is not here ({os.path.normpath(SPECIMENS)}/score.py), so nothing can be scored.")
    islebook = os.environ.get("ISLEBOOK", os.path.join(TOP, "build", "release", "bin", "islebook"))
    if not os.path.exists(islebook):
        sys.exit(f"{os.path.normpath(islebook)} is not there; run bash tests/run.sh first, or name another by ISLEBOOK=.")
    folders = arguments.folders or [os.path.join(SPECIMENS, name) for name in CLASSES]
    out = arguments.out or tempfile.mkdtemp(prefix="islebook-score-")
    rows, wrong = [], []
    try:
        for folder in folders:
            sheets = sheets_of(folder)
            if not sheets:
                sys.exit(f"{folder}: no sheets with truth in it.")
            name = os.path.basename(os.path.normpath(folder))
            results = os.path.join(out, name)
            shutil.rmtree(results, ignore_errors=True)
            os.makedirs(results)
            print(f"{name}: {len(sheets)} sheets", file=sys.stderr)
            start = time.monotonic()
            done = subprocess.run([islebook, "digitize", *sheets, "--out", results, "--jobs", str(arguments.jobs), "--quiet"], stdin=subprocess.DEVNULL, check=False)
            seconds = time.monotonic() - start
            if done.returncode not in (0, 4):
                print(f"{name}: islebook digitize ended with {done.returncode}", file=sys.stderr)
            score = scorer("score.py", "--dir", folder, results, "--json")
            with open(os.path.join(out, f"{name}.score.json"), "w", encoding="utf-8") as file:
                json.dump(score, file)
            rows.append(row(name, score["summary"], scorer("band.py", "--dir", folder, results), seconds))
            for case in score["cases"]:
                wrong += [f"{name}/{case['case']}: {'flagged' if entry['flagged'] else 'SILENT '}  {entry['what']}" for entry in case["wrong"]]
    finally:
        if not arguments.out:
            shutil.rmtree(out, ignore_errors=True)
    print("| " + " | ".join(HEAD) + " |")
    print("| " + " | ".join("---" for _ in HEAD) + " |")
    for cells in rows:
        print("| " + " | ".join(cells) + " |")
    if arguments.wrong:
        print()
        print("\n".join(wrong))


if __name__ == "__main__":
    main()
