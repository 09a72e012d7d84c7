#!/usr/bin/python3
"""How many corrections a person makes until a sheet is right. Usage: correction_count.sh.

The person is played by the truth. Looking at the result, they correct one wrong thing with one entry of a recipe, look at what that made of the sheet,
correct the next, and so on until nothing is wrong or they give up; the entries are counted. Points are set with the unsteadiness of a hand (3 px, one
standard deviation), from a fixed seed. A missing curve is traced through four points (a closed one through five); one that strays is traced anew in its
place; if the trace strays as well, it is taken back, and traced again through eight and, as the last resort, drawn through many points (what is taken
back counts all the same). Then values and roles are put right, and what is left over is deleted.
"""
import argparse
import collections
import glob
import importlib.util
import json
import os
import subprocess
import sys
import zlib

import numpy as np

from score_specimens import CLASSES, SPECIMENS, TOP, sheets_of

HAND = 3.0    # px
PATIENCE = 40    # corrections
TRACES = (4, 8)  # points of a first and a second trace


def load_scorer():
    spec = importlib.util.spec_from_file_location("specimen_score", os.path.join(SPECIMENS, "score.py"))
    module = importlib.util.module_from_spec(spec)
    sys.dont_write_bytecode = True
    spec.loader.exec_module(module)
    return module


class Person:
    """Corrects one sheet."""

    def __init__(self, scorer, truth):
        self.scorer, self.truth = scorer, truth
        self.random = np.random.default_rng(zlib.crc32(truth["case"].encode()))
        self.tries = {}    # truth curve -> traces made of it
        self.traces = {}   # truth curve -> the last of them
        self.recipe = []   # what stands
        self.made = 0      # corrections, also those that were taken back

    def to_sheet(self, points, result):
        """From the truth's pixels to those of the sheet as it was read (a page has none of its own)."""
        scale = np.ones(2)
        if str(self.truth.get("image", "")).endswith((".pdf", ".svg")):
            scale = np.asarray(result["source"]["size_px"], float) / np.asarray(self.truth["size_px"], float)
        return np.asarray(points, float) * scale + (scale - 1) / 2

    def places(self, curve, count, result):
        points = self.scorer.close(curve["points_px"], curve.get("closed"))
        return self.to_sheet(self.scorer.by_length(points, n=count + 1 if curve.get("closed") else count)[:count], result)

    def meaning(self, curve):
        known = {"role": curve["role"]}
        if curve.get("value") is not None:
            known.update(value=curve["value"], unit=curve.get("unit") or "1")
        return known

    def near(self, curve):
        """A place on a result's curve that names it: the middle of it."""
        points = curve["points_px"]
        named = {"near_px": [round(v, 2) for v in points[len(points) // 2]], "role": curve["role"]}
        if curve.get("value") is not None:
            named["value"] = curve["value"]
        return named

    def trace(self, curve, count, result):
        """The correction that traces a truth's curve through `count` points."""
        places = self.places(curve, count, result)
        places = places + self.random.normal(0, HAND, places.shape)
        return {"do": "trace_curve", "through_px": places.round(2).tolist(), **self.meaning(curve), "closed": bool(curve.get("closed"))}

    def draw(self, index, result, instead_of=None):
        """The correction that adds truth curve `index`, in the place of a wrong one where there is one. A trace that failed is taken back for it."""
        curve, tried = self.truth["curves"][index], self.tries.get(index, 0)
        self.tries[index] = tried + 1
        closed = bool(curve.get("closed"))
        if tried < len(TRACES):
            made = self.trace(curve, TRACES[tried] + closed, result)
        else:
            made = {"do": "add_curve", "points_px": self.places(curve, 60, result).round(2).tolist(), **self.meaning(curve), "closed": closed}
        failed = self.traces.get(index)
        if failed is not None:
            self.recipe.remove(failed)
            made.update((key, failed[key]) for key in ("instead_of",) if key in failed)
        elif instead_of is not None:
            made["instead_of"] = self.near(instead_of)
        self.traces[index] = made
        return made

    def pairs(self, scored, result):
        """{truth curve: (scored, result curve)}; the scorer lists what it matched in the truth's order."""
        listed, found, at = scored["curves"], {}, 0
        for index, curve in enumerate(self.truth["curves"]):
            if at == len(listed) or (listed[at]["role"], listed[at]["value"]) != (curve["role"], curve.get("value")):
                continue
            # Where several curves of one role and value are there, the one that lies nearer is meant.
            places = np.asarray(self.places(curve, 9, result))
            own = result["curves"][listed[at]["result_index"]]
            away = self.scorer.to_polyline(places, self.scorer.close(own["points_px"], own.get("closed")))
            if np.median(away) < 12.0:
                found[index] = (listed[at], own)
                at += 1
        return found

    def correct(self, result):
        """The next correction; None: nothing is wrong."""
        scored = self.scorer.score(self.truth, result)
        if scored["zero_touch"]:
            return None
        for name, axis in scored["axes"].items():
            if name in ("x", "y") and not axis["right"]:
                truth = self.truth["axes"][name]
                return {"do": "set_axis", "axis": name, **{key: truth[key] for key in ("quantity", "unit", "min", "max")}, "scale": truth.get("scale") or "linear"}
        if not scored["calibration_right"] and scored["matched"] == 0:
            return {"do": "set_frame", "corners_px": self.to_sheet(self.truth["frame_px"], result).round(2).tolist()}
        if scored["reference_right"] is False and self.truth.get("reference_conditions"):
            return {"do": "set_reference", **{key: self.truth["reference_conditions"][key] for key in ("temperature_K", "pressure_Pa")}}
        pairs, limits = self.pairs(scored, result), scored["limits"]
        for index in range(len(self.truth["curves"])):
            if index not in pairs:
                return self.draw(index, result)
            seen, own = pairs[index]
            if seen["px_whole"][1] > limits["p95_px"] or seen["span_whole"][1] > limits["p95_span"]:
                return self.draw(index, result, own)
        for index, (seen, own) in pairs.items():
            curve = self.truth["curves"][index]
            if seen["right"]:
                continue
            named = {"curve": self.near(own)}
            if curve.get("value") is None or (own.get("value") == curve["value"] and own.get("unit") == curve.get("unit")):
                return {"do": "set_role", **named, "role": curve["role"]}
            role = {} if seen["role_right"] else {"role": curve["role"]}
            return {"do": "relabel_curve", **named, **role, "value": curve["value"], "unit": curve.get("unit") or "1"}
        used = {seen["result_index"] for seen in scored["curves"]}
        for at, own in enumerate(result["curves"]):
            if at not in used and len(own["points_px"]) > 1:
                return {"do": "delete_curve", "curve": self.near(own)}
        return None


class OpenSheet:
    """A sheet that is digitized again and again with other recipes."""

    def __init__(self, program, sheet):
        self.sheet = sheet
        self.process = subprocess.Popen([program, sheet], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    def digitize(self, corrections):
        self.process.stdin.write(json.dumps({"recipe": 1, "corrections": corrections}) + "\n")
        self.process.stdin.flush()
        line = self.process.stdout.readline()
        if not line:
            sys.exit(f"{self.sheet}: cannot be digitized.")
        return json.loads(line)

    def close(self):
        self.process.stdin.close()
        self.process.wait()


def count(scorer, program, sheet):
    """(the person, whether the sheet is right then, what is still wrong)."""
    truth = scorer.read(os.path.splitext(sheet)[0] + ".truth.json")
    person, opened = Person(scorer, truth), OpenSheet(program, sheet)
    result = opened.digitize([])
    while person.made < PATIENCE:
        correction = person.correct(result)
        if correction is None:
            break
        person.made += 1
        person.recipe.append(correction)
        result = opened.digitize(person.recipe)
    opened.close()
    scored = scorer.score(truth, result)
    return person, scored["zero_touch"], [entry["what"] for entry in scored["wrong"]]


def find_program():
    if not os.path.exists(os.path.join(SPECIMENS, "score.py")):
        sys.exit(f"The scorer is not here ({os.path.normpath(SPECIMENS)}/score.py), so nothing can be measured.")
    program = os.environ.get("SHEET_SESSION", os.path.join(TOP, "build", "release", "bin", "sheet_session"))
    if not os.path.exists(program):
        sys.exit(f"{os.path.normpath(program)} is not there; build it (cmake --build --preset release --target sheet_session), or name another by SHEET_SESSION=.")
    return program


def main():
    parser = argparse.ArgumentParser(description="Counts the corrections until each sheet is right, and prints one table.")
    parser.add_argument("folders", nargs="*", metavar="FOLDER")
    parser.add_argument("--list", action="store_true", help="one line a sheet")
    arguments = parser.parse_args()
    program = find_program()
    scorer, lines, everything = load_scorer(), [], []
    print("| class | sheets | right with no touch | made right | corrections: median / 90 % / most |")
    print("| --- | --- | --- | --- | --- |")
    for folder in arguments.folders or [os.path.join(SPECIMENS, name) for name in CLASSES]:
        counts, untouched, right = [], 0, 0
        for sheet in sheets_of(folder):
            if glob.glob(glob.escape(os.path.splitext(sheet)[0]) + "-*.truth.json"):
                print(f"{sheet}: two maps on one sheet are left out", file=sys.stderr)
                continue
            person, done, left = count(scorer, program, sheet)
            kinds = collections.Counter(correction["do"] for correction in person.recipe)
            kinds["taken back"] = person.made - len(person.recipe)
            said = ", ".join(f"{number} {what}" for what, number in kinds.items() if number)
            lines.append(f"{os.path.basename(sheet)}: {person.made} corrections" + (f" ({said})" if said else "") + ("" if done else "; still wrong: " + "; ".join(left)))
            untouched += person.made == 0
            right += done
            if person.made:
                counts.append(person.made)
        everything += counts
        spread = " / ".join(f"{v:g}" for v in (np.median(counts), np.percentile(counts, 90), max(counts))) if counts else "-"
        print(f"| {os.path.basename(os.path.normpath(folder))} | {untouched + len(counts)} | {untouched} | {right} | {spread} |", flush=True)
    if everything:
        print(f"\nOver all sheets that needed any: median {np.median(everything):g}, at most 8 on {sum(c <= 8 for c in everything)} of {len(everything)}.")
    if arguments.list:
        print("\n".join([""] + lines))


if __name__ == "__main__":
    main()
