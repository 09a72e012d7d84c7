#!/usr/bin/python3
"""How many corrections a person makes until a sheet is right. Usage: correction_count.sh.

The person is played by the truth. Looking at the result, they correct each wrong thing with one entry of a recipe, the sheet is digitized again with
it, and so on until nothing is wrong or they give up. Points are set with the unsteadiness of a hand (3 px, one standard deviation), from a fixed seed.
A missing curve is traced through three points (a closed one through four); one that strays is traced anew in its place; if the trace strays as well,
it is traced again through six and, as the last resort, through many points.
"""
import argparse
import glob
import importlib.util
import json
import os
import subprocess
import sys
import tempfile
import zlib

import numpy as np

from score_specimens import CLASSES, SPECIMENS, TOP, sheets_of

HAND = 3.0    # px
ROUNDS = 5
TRACES = (3, 6)  # points of a first and a second trace


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
        self.tries = {}  # truth curve -> traces made of it

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

    def draw(self, index, result):
        """The correction that adds truth curve `index`."""
        curve, tried = self.truth["curves"][index], self.tries.get(index, 0)
        self.tries[index] = tried + 1
        closed = bool(curve.get("closed"))
        if tried < len(TRACES):
            places = self.places(curve, TRACES[tried] + closed, result)
            places = places + self.random.normal(0, HAND, places.shape)
            key = {"do": "trace_curve", "through_px": places.round(2).tolist()}
        else:
            key = {"do": "add_curve", "points_px": self.places(curve, 60, result).round(2).tolist()}
        return {**key, **self.meaning(curve), "closed": closed}

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
        """The corrections for all that is wrong now; none: nothing is."""
        scored = self.scorer.score(self.truth, result)
        if scored["zero_touch"]:
            return []
        made = []
        for name, axis in scored["axes"].items():
            if name in ("x", "y") and not axis["right"]:
                truth = self.truth["axes"][name]
                made.append({"do": "set_axis", "axis": name, **{key: truth[key] for key in ("quantity", "unit", "min", "max")}, "scale": truth.get("scale") or "linear"})
        if not scored["calibration_right"] and not made and scored["matched"] == 0:
            made.append({"do": "set_frame", "corners_px": self.to_sheet(self.truth["frame_px"], result).round(2).tolist()})
        if scored["reference_right"] is False and self.truth.get("reference_conditions"):
            made.append({"do": "set_reference", **{key: self.truth["reference_conditions"][key] for key in ("temperature_K", "pressure_Pa")}})
        pairs = self.pairs(scored, result)
        for index, curve in enumerate(self.truth["curves"]):
            if index not in pairs:
                made.append(self.draw(index, result))
                continue
            seen, own = pairs[index]
            if seen["right"]:
                continue
            limits = scored["limits"]
            if seen["px_whole"][1] > limits["p95_px"] or seen["span_whole"][1] > limits["p95_span"]:
                drawn = self.draw(index, result)
                if drawn["do"] == "trace_curve":
                    made.append({**drawn, "instead_of": self.near(own)})
                else:
                    made += [{"do": "delete_curve", "curve": self.near(own)}, drawn]
                continue
            if not seen["role_right"]:
                made.append({"do": "set_role", "curve": self.near(own), "role": curve["role"]})
            if curve.get("value") is not None and (own.get("value") != curve["value"] or own.get("unit") != curve.get("unit")):
                named = self.near(own)
                if not seen["role_right"]:
                    named["role"] = curve["role"]
                made.append({"do": "relabel_curve", "curve": named, "value": curve["value"], "unit": curve.get("unit") or "1"})
        used = {seen["result_index"] for seen in scored["curves"]}
        made += [{"do": "delete_curve", "curve": self.near(own)} for at, own in enumerate(result["curves"]) if at not in used and len(own["points_px"]) > 1]
        return made


def digitize(islebook, sheet, recipe, folder):
    arguments = [islebook, "digitize", sheet, "--out", folder, "--quiet"]
    if recipe:
        file = os.path.join(folder, "recipe.json")
        with open(file, "w", encoding="utf-8") as out:
            json.dump({"recipe": 1, "corrections": recipe}, out)
        arguments += ["--recipe", file]
    done = subprocess.run(arguments, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False)
    if done.returncode not in (0, 4):
        sys.exit(f"{sheet}: islebook digitize ended with {done.returncode}: {done.stderr.strip()}")
    with open(os.path.join(folder, os.path.splitext(os.path.basename(sheet))[0] + ".map.json"), encoding="utf-8") as file:
        return json.load(file)


def count(scorer, islebook, sheet):
    """(corrections made, whether the sheet is right then, what is still wrong)."""
    truth = scorer.read(os.path.splitext(sheet)[0] + ".truth.json")
    person, recipe = Person(scorer, truth), []
    with tempfile.TemporaryDirectory(prefix="islebook-correct-") as folder:
        result = digitize(islebook, sheet, recipe, folder)
        for _ in range(ROUNDS):
            made = person.correct(result)
            if not made:
                return len(recipe), True, []
            recipe += made
            result = digitize(islebook, sheet, recipe, folder)
    scored = scorer.score(truth, result)
    return len(recipe), scored["zero_touch"], [entry["what"] for entry in scored["wrong"]]


def main():
    parser = argparse.ArgumentParser(description="Counts the corrections until each sheet is right, and prints one table.")
    parser.add_argument("folders", nargs="*", metavar="FOLDER")
    parser.add_argument("--list", action="store_true", help="one line a sheet")
    arguments = parser.parse_args()
    if not os.path.exists(os.path.join(SPECIMENS, "score.py")):
        sys.exit(f"The scorer is not here ({os.path.normpath(SPECIMENS)}/score.py), so nothing can be counted.")
    islebook = os.environ.get("ISLEBOOK", os.path.join(TOP, "build", "release", "bin", "islebook"))
    if not os.path.exists(islebook):
        sys.exit(f"{os.path.normpath(islebook)} is not there; run bash tests/run.sh first, or name another by ISLEBOOK=.")
    scorer, lines, everything = load_scorer(), [], []
    print("| class | sheets | right with no touch | made right | corrections: median / 90 % / most |")
    print("| --- | --- | --- | --- | --- |")
    for folder in arguments.folders or [os.path.join(SPECIMENS, name) for name in CLASSES]:
        counts, untouched, right = [], 0, 0
        for sheet in sheets_of(folder):
            if glob.glob(glob.escape(os.path.splitext(sheet)[0]) + "-*.truth.json"):
                print(f"{sheet}: two maps on one sheet are left out", file=sys.stderr)
                continue
            made, done, left = count(scorer, islebook, sheet)
            lines.append(f"{os.path.basename(sheet)}: {made} corrections" + ("" if done else "; still wrong: " + "; ".join(left)))
            untouched += made == 0
            right += done
            if made:
                counts.append(made)
        everything += counts
        spread = " / ".join(f"{v:g}" for v in (np.median(counts), np.percentile(counts, 90), max(counts))) if counts else "-"
        print(f"| {os.path.basename(os.path.normpath(folder))} | {untouched + len(counts)} | {untouched} | {right} | {spread} |", flush=True)
    if everything:
        print(f"\nOver all sheets that needed any: median {np.median(everything):g}, at most 8 on {sum(c <= 8 for c in everything)} of {len(everything)}.")
    if arguments.list:
        print("\n".join([""] + lines))


if __name__ == "__main__":
    main()
