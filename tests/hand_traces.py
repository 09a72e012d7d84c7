#!/usr/bin/python3
"""How often a trace by hand lands on the ink. Usage: hand_traces.sh.

Every true curve of every sheet is traced through two, three and four points, each off by 3 px (one standard deviation, from a fixed seed); a closed curve
through one more. A trace lands where its distances to the true curve, both ways, are below 0.3 px in the median and below 1 px in 95 of 100 places.
"""
import argparse
import glob
import os
import sys

import numpy as np

from correction_count import OpenSheet, Person, find_program, load_scorer
from score_specimens import CLASSES, SPECIMENS, sheets_of

POINTS = (2, 3, 4)
MEDIAN, FAR = 0.3, 1.0  # px


def errors(scorer, person, curve, traced, result):
    true = scorer.close(person.to_sheet(curve["points_px"], result), curve.get("closed"))
    own = scorer.close(traced["points_px"], traced.get("closed"))
    off = np.concatenate([scorer.to_polyline(scorer.by_length(true, step=1.0), own), scorer.to_polyline(scorer.by_length(own, step=1.0), true)])
    return float(np.median(off)), float(np.percentile(off, 95))


def trace_all(scorer, program, sheet):
    """[(points, curve, median, 95 %)] of all traces on a sheet."""
    truth = scorer.read(os.path.splitext(sheet)[0] + ".truth.json")
    person, opened, done = Person(scorer, truth), OpenSheet(program, sheet), []
    result = opened.digitize([])
    for count in POINTS:
        for curve in truth["curves"]:
            made = person.trace(curve, count + bool(curve.get("closed")), result)
            of_it = [own for own in opened.digitize([made])["curves"] if own["role"] == curve["role"] and own.get("value") == curve.get("value")]
            # Of two alike the one drawn stands behind the one found.
            done.append((count, curve, *(errors(scorer, person, curve, of_it[-1], result) if of_it else (np.inf, np.inf))))
    opened.close()
    return done


def main():
    parser = argparse.ArgumentParser(description="Traces every true curve by an unsteady hand, and prints one table.")
    parser.add_argument("folders", nargs="*", metavar="FOLDER")
    parser.add_argument("--list", action="store_true", help="one line a trace that failed")
    arguments = parser.parse_args()
    scorer, program, failed = load_scorer(), find_program(), []
    print("| class | traces | " + " | ".join(f"{count} points" for count in POINTS) + " |\n| --- | --- |" + " --- |" * len(POINTS))
    everything = []
    for folder in arguments.folders or [os.path.join(SPECIMENS, name) for name in CLASSES]:
        traces = []
        for sheet in sheets_of(folder):
            if glob.glob(glob.escape(os.path.splitext(sheet)[0]) + "-*.truth.json"):
                print(f"{sheet}: two maps on one sheet are left out", file=sys.stderr)
                continue
            for count, curve, middle, far in trace_all(scorer, program, sheet):
                traces.append((count, middle < MEDIAN and far < FAR))
                if not traces[-1][1]:
                    failed.append(f"{os.path.basename(sheet)}: {curve['role']} {curve.get('value')} through {count}: median {middle:.2f} px, 95 % {far:.2f} px")
        everything += traces
        print(row(os.path.basename(os.path.normpath(folder)), traces), flush=True)
    print(row("all", everything))
    if arguments.list:
        print("\n".join([""] + failed))


def row(name, traces):
    shares = [np.mean([landed for points, landed in traces if points == count]) for count in POINTS]
    return f"| {name} | {len(traces)} | " + " | ".join(f"{100 * share:.1f} %" for share in shares) + " |"


if __name__ == "__main__":
    main()
