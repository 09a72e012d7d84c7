#!/usr/bin/env python3
"""islebook shelf diff, revert, merge, find, tag, note, wheel, remove, backup, salvage and redigitize through the built program.

Usage: shelf_history_test.py ISLEBOOK SOURCE_FOLDER
"""
import json
import math
import os
import subprocess
import sys
import tempfile
import unittest

ISLEBOOK, SOURCE = sys.argv[1], sys.argv[2]


def document(title="Alder 52", flow=1.0, shift=0.0, label=None, reference=(288.15, 101325)):
    """A wheel of Fellside Rotors, from plain formulas: five speed lines, a surge line, three islands. `shift` moves the highest speed line along the flow axis."""
    def curve(role, points, value=None, unit=None, closed=False):
        return {"role": role, "value": value, "unit": unit, "closed": closed, "points": points, "points_px": [], "sigma": [], "confidence": 1,
                "needs_review": False, "reasons": []}
    curves, surge = [], []
    for i, speed in enumerate((60000, 75000, 90000, 105000, 120000)):
        left, top = 0.05 + 0.035 * i, 1.3 + 0.38 * i
        surge.append([flow * left, top])
        line = [[flow * (left + 0.11 * k / 12) + (shift if i == 4 else 0), top - (0.25 + 0.12 * i) * (k / 12) ** 3] for k in range(13)]
        curves.append(curve("speed_line", line, label if label and i == 4 else speed, "rpm"))
    curves.append(curve("surge_line", surge))
    for value, size in ((0.76, 0.25), (0.74, 0.5), (0.70, 0.8)):
        ring = [[flow * (0.175 + 0.045 * size * math.cos(a)), 1.95 + 0.5 * size * math.sin(a)] for a in (2 * math.pi * k / 40 for k in range(40))]
        curves.append(curve("efficiency_island", ring, value, "1", True))
    return {"document": "performance-map", "schema": 1, "kind": "compressor", "title": title,
            "axes": {"x": {"quantity": "corrected_mass_flow", "unit": "kg/s", "scale": "linear", "min": 0, "max": 0.4 * flow},
                     "y": {"quantity": "pressure_ratio_tt", "unit": "1", "scale": "linear", "min": 1, "max": 3.5}},
            "reference_conditions": {"temperature_K": reference[0], "pressure_Pa": reference[1], "basis": "printed"},
            "curves": curves, "calibration": None, "source": None, "recipe": {}, "needs_review": []}


class ShelfHistory(unittest.TestCase):
    def setUp(self):
        temporary = tempfile.TemporaryDirectory()
        self.addCleanup(temporary.cleanup)
        self.folder = temporary.name
        self.shelf = os.path.join(self.folder, "shelf.db")
        self.environment = {"PATH": os.environ["PATH"], "HOME": self.folder, "ISLEBOOK_SHELF": self.shelf, "QT_QPA_PLATFORM": "offscreen"}

    def run_it(self, *arguments, code=0):
        done = subprocess.run([ISLEBOOK, "shelf", *arguments], capture_output=True, text=True, env=self.environment, cwd=self.folder, check=False)
        self.assertEqual(code, done.returncode, done.stdout + done.stderr)
        return done

    def json(self, *arguments, code=0):
        return json.loads(self.run_it(*arguments, "--json", code=code).stdout)

    def add(self, map_document, name="Alder 52", *more):
        path = os.path.join(self.folder, "map.json")
        with open(path, "w", encoding="utf-8") as file:
            json.dump(map_document, file)
        return self.json("add", path, "--name", name, "--author", "Ines", *more)["added"][0]["revision"]

    def test_diff_in_the_trades_words(self):
        self.add(document())
        self.add(document(shift=0.004, label=121000, reference=(302.594, 96170)))
        said = self.json("diff", "Alder 52", "--svg", "diff.svg")
        changes = {change["change"]: change for change in said["changes"]}
        self.assertEqual({"reference_conditions", "curve_value", "curve_moved"}, set(changes) - {"curve_reach"})
        # W_c = W sqrt(theta)/delta (NASA/TM-2014-216638)
        self.assertAlmostEqual(100 * (math.sqrt(302.594 / 288.15) * 101325 / 96170 - 1), changes["reference_conditions"]["amount"], 6)
        self.assertIn("flows shift by +8.0 %", changes["reference_conditions"]["sentence"])
        self.assertIn("121,000 rpm speed line moved by up to", changes["curve_moved"]["sentence"])
        with open(os.path.join(self.folder, "diff.svg"), encoding="utf-8") as file:
            self.assertIn("<svg", file.read())
        text = self.run_it("diff", "Alder 52").stdout
        self.assertIn("changes\n", text)
        self.assertEqual([], self.json("diff", "Alder 52", "Alder 52")["changes"])
        self.run_it("diff", "Rowan 83", code=1)

    def test_revert_is_a_new_revision(self):
        first, second = self.add(document()), self.add(document(shift=0.01))
        self.run_it("revert", "Alder 52", code=2)
        back = self.json("revert", f"Alder 52@{first[:12]}")
        self.assertEqual([second], back["parents"])
        self.assertEqual(3, len(self.json("log", "Alder 52")))
        self.assertEqual([], self.json("diff", f"Alder 52@{first[:12]}", "Alder 52")["changes"])
        self.assertFalse(self.json("revert", f"Alder 52@{first[:12]}")["is_new"])

    def test_merge(self):
        self.add(document())
        other = document()
        other["curves"][0]["value"] = 61000
        self.add(other, "Alder 52", "--branch", "by eye")
        self.add(document(shift=0.004))
        self.assertEqual(["by eye"], self.json("list")[0]["branches"])
        tried = self.json("merge", "Alder 52", "by eye", "--dry-run")
        self.assertEqual(("merged", False, []), (tried["outcome"], tried["written"], tried["conflicts"]))
        # What either side brings is said, each change once.
        self.assertEqual(1, len(tried["from_theirs"]))
        self.assertIn("61,000", tried["from_theirs"][0])
        self.assertTrue(any("120,000 rpm speed line moved" in sentence for sentence in tried["from_ours"]), tried["from_ours"])
        text = self.run_it("merge", "Alder 52", "by eye", "--dry-run").stdout
        for words in ("taken from by eye:\n  " + tried["from_theirs"][0], "kept from the main line:\n  " + tried["from_ours"][0]):
            self.assertIn(words, text)
        merged = self.json("merge", "Alder 52", "by eye")
        self.assertTrue(merged["written"])
        shown = self.json("show", "Alder 52")
        self.assertEqual(61000, shown["map"]["curves"][0]["value"])
        self.assertEqual(document(shift=0.004)["curves"][4]["points"], shown["map"]["curves"][4]["points"])
        self.assertEqual([merged["ours"], merged["theirs"]], shown["parents"])
        self.assertEqual([], self.json("list")[0]["branches"])
        self.run_it("merge", "Alder 52", "by eye", code=1)

    def test_conflicts_are_shown_and_decided(self):
        self.add(document())
        self.add(document(shift=-0.004), "Alder 52", "--branch", "by eye")
        main = self.add(document(shift=0.004))
        text = self.run_it("merge", "Alder 52", "by eye", "--dry-run", code=4).stdout
        self.assertNotIn("taken from", text)  # the conflict is all that there is
        done = self.run_it("merge", "Alder 52", "by eye", code=1)
        self.assertIn("nothing was written", done.stderr)
        text = done.stdout
        self.assertIn("120,000 rpm speed line: course", text)
        self.assertIn("Nothing was written", text)
        self.assertEqual(main, self.json("show", "Alder 52")["revision"])
        self.run_it("merge", "Alder 52", "by eye", "--choose", "1=nobody", code=2)
        self.run_it("merge", "Alder 52", "by eye", "--choose", "7=ours", code=2)
        self.json("merge", "Alder 52", "by eye", "--choose", "1=theirs")
        self.assertEqual(document(shift=-0.004)["curves"][4]["points"], self.json("show", "Alder 52")["map"]["curves"][4]["points"])

    def test_a_branch_ahead_moves_the_main_line_forward(self):
        self.add(document())
        ahead = self.add(document(shift=0.004), "Alder 52", "--branch", "by eye")
        self.assertEqual("moved_forward", self.json("merge", "Alder 52", "by eye")["outcome"])
        self.assertEqual(ahead, self.json("show", "Alder 52")["revision"])
        self.add(document(shift=0.005), "Alder 52", "--branch", "dead end")
        self.run_it("close", "Alder 52", "dead end")
        self.assertEqual([], self.json("list")[0]["branches"])

    def test_facts_and_finding_by_them(self):
        self.add(document(), "Alder 52", "--message", "from the brochure")
        self.add(document(title="Rowan"), "Rowan 83")
        self.assertEqual(["lake ferry", "spare"], self.json("tag", "Alder 52", "spare", "lake ferry")["tags"])
        self.assertEqual(["lake ferry"], self.json("tag", "Alder 52", "--off", "spare")["tags"])
        self.json("note", "Alder 52", "the choke end is a guess")
        self.assertEqual(52, self.json("wheel", "Alder 52", "--maker", "Fellside Rotors", "--inducer", "52", "--exducer", "71")["wheel"]["inducer_mm"])
        self.assertIn("trim", self.run_it("wheel", "Alder 52", "--trim", "40", code=4).stderr)
        self.json("wheel", "Alder 52", "--trim", "53.6")
        for option, text in (("--inducer", "-3"), ("--speed-limit", "-3"), ("--speed-limit", "138 bar"), ("--speed-limit", "fast")):
            said = self.run_it("wheel", "Alder 52", option, text, code=2).stderr
            self.assertEqual(1, said.count("\n"), said)
        self.assertEqual(138000, self.json("wheel", "Alder 52", "--speed-limit", "138 krpm")["wheel"]["speed_limit_rpm"])
        self.assertEqual(138500, self.json("wheel", "Alder 52", "--speed-limit", "138500")["wheel"]["speed_limit_rpm"])
        self.assertAlmostEqual(76.2, self.json("wheel", "Rowan 83", "--inducer", "3 in")["wheel"]["inducer_mm"])
        # However its capitals and spaces are written.
        self.assertEqual({"name": "Alder 52", "tags": ["lake ferry"]}, self.json("tag", "alder-52"))
        self.assertEqual("Alder 52", self.json("show", "ALDER 52")["name"])
        for query in (["brochure"], ["alder", "52"], ["guess"], ["--maker", "fellside"], ["--tag", "lake ferry"], ["--inducer", "50..60"], ["--inducer", "52"]):
            self.assertEqual(["Alder 52"], [found["name"] for found in self.json("find", *query)], query)
        self.assertEqual(2, len(self.json("find", "--kind", "compressor")))
        self.assertIn("nothing found", self.run_it("find", "larch").stdout)
        self.run_it("find", code=2)
        self.run_it("find", "--inducer", "wide", code=2)
        self.json("remove", "Rowan 83", "--message", "kept twice")
        self.assertEqual(["Alder 52"], [entry["name"] for entry in self.json("list")])
        self.assertEqual(["Rowan 83"], [found["name"] for found in self.json("find", "--removed")])
        self.json("restore", "Rowan 83")
        self.assertEqual(2, len(self.json("list")))
        self.run_it("remove", "Larch 60", code=1)
        shown = self.run_it("show", "Alder 52").stdout
        for words in ("lake ferry", "the choke end is a guess", "inducer 52 mm"):
            self.assertIn(words, shown)

    def test_finding_by_what_a_map_can_do(self):
        for name, flow in (("Alder 44", 0.7), ("Alder 52", 1.0), ("Larch 83", 2.5)):
            self.add(document(title=name, flow=flow), name)
        found = self.json("find", "--flow", "0.175 kg/s", "--pressure-ratio", "1.95", "--efficiency", "72 %", "--surge-margin", "0.1")
        self.assertEqual(["Alder 52"], [one["name"] for one in found["maps"]])
        self.assertEqual(0, found["not_searched"])
        asked = json.loads(subprocess.run([ISLEBOOK, "ask", "Alder 52", "--flow", "0.175", "--pressure-ratio", "1.95", "--json"], capture_output=True, text=True,
                                          env=self.environment, check=False).stdout)[0]
        self.assertAlmostEqual(asked["efficiency"], found["maps"][0]["mean_efficiency"], 9)
        self.assertAlmostEqual(asked["surge_margin"], found["maps"][0]["least_surge_margin"], 9)
        self.assertIn("no compressor", self.run_it("find", "--flow", "0.175", "--pressure-ratio", "1.95", "--efficiency", "0.95").stdout)
        with open(os.path.join(self.folder, "line.csv"), "w", encoding="utf-8") as file:
            file.write("flow [lb/min],pressure_ratio\n21,1.8\n23,1.95\n25,2.1\n")
        self.assertEqual(["Alder 52"], [one["name"] for one in self.json("find", "--points", "line.csv", "--efficiency", "0.7")["maps"]])
        self.assertEqual("Alder 44", self.json("find", "--like", "Alder 52")[0]["name"])
        self.run_it("find", "--flow", "0.2", code=2)
        self.run_it("find", "--efficiency", "0.7", code=2)
        self.run_it("find", "--flow", "3 parsecs", "--pressure-ratio", "2", code=2)
        self.run_it("find", "--like", "Rowan 83", code=1)

    def test_copies(self):
        self.add(document())
        self.json("backup", "copy.db")
        self.run_it("backup", "copy.db", code=1)
        self.assertEqual(1, self.json("verify", "--shelf", os.path.join(self.folder, "copy.db"))["revisions"])
        saved = self.json("salvage", "saved.db")
        self.assertEqual((1, []), (saved["revisions"], saved["losses"]))
        self.assertEqual([], self.json("verify", "--shelf", os.path.join(self.folder, "saved.db"))["problems"])
        with open(self.shelf, "r+b") as file:
            file.write(b"x" * 4096)
        self.run_it("salvage", "again.db", code=1)
        self.assertFalse(os.path.exists(os.path.join(self.folder, "again.db")))

    def test_digitizing_anew_shows_before_it_writes(self):
        sheet = os.path.join(SOURCE, "sample_maps", "birch-52", "birch-52-scan.jpg")
        done = subprocess.run([ISLEBOOK, "digitize", sheet, "--out", self.folder, "--quiet"], env=self.environment, cwd=self.folder, check=False)
        self.assertIn(done.returncode, (0, 4))
        path = os.path.join(self.folder, "birch-52-scan.map.json")
        self.json("add", path, "--name", "birch 52", "--sheet", sheet)
        self.assertEqual([], self.json("redigitize", "birch 52")["maps"][0]["changes"])
        with open(path, encoding="utf-8") as file:
            older = json.load(file)
        older["curves"] = older["curves"][1:]
        with open(path, "w", encoding="utf-8") as file:
            json.dump(older, file)
        head = self.json("add", path, "--name", "birch 52")["added"][0]["revision"]
        shown = self.json("redigitize", "--pictures", "pictures", code=4)["maps"][0]
        self.assertEqual(["curve_added"], [change["change"] for change in shown["changes"]])
        self.assertTrue(os.path.exists(os.path.join(self.folder, "pictures", "birch 52.png")))
        self.assertEqual(head, self.json("show", "birch 52")["revision"])
        accepted = self.json("redigitize", "birch 52", "--accept")["maps"][0]["accepted"]
        self.assertEqual(accepted, self.json("show", "birch 52")["revision"])
        self.add(document(), "Alder 52")
        self.run_it("redigitize", "Alder 52", code=1)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
