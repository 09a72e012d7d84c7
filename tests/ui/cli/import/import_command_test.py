#!/usr/bin/env python3
"""islebook export and import of curves through the built program; spreadsheets are changed by another program (openpyxl), as a colleague would.

Usage: import_command_test.py ISLEBOOK SOURCES
"""
import csv
import hashlib
import json
import os
import subprocess
import sys
import tempfile
import unittest

import openpyxl

ISLEBOOK, SOURCES = sys.argv[1:3]


def document(speeds=(90000, 70000), surge=True):
    def line(speed):
        top = 1 + 1.6 * (speed / 90000) ** 2
        points = [[0.1 * speed / 90000 + 0.01 * i, top - 0.02 * i * i / 4] for i in range(12)]
        return {"role": "speed_line", "value": speed, "unit": "rpm", "closed": False, "points": points,
                "points_px": [[100 + 1000 * x, 900 - 200 * y] for x, y in points], "sigma": [[0.0005, 0.002]] * 12,
                "confidence": 0.9, "needs_review": False, "reasons": []}
    return {
        "document": "performance-map", "schema": 1, "kind": "compressor", "title": "Alder 52",
        "axes": {"x": {"quantity": "corrected_mass_flow", "unit": "kg/s", "scale": "linear", "min": 0, "max": 0.4},
                 "y": {"quantity": "pressure_ratio_tt", "unit": "1", "scale": "linear", "min": 1, "max": 4}},
        "reference_conditions": {"temperature_K": 298, "pressure_Pa": 100000, "basis": "printed"},
        "curves": [line(speed) for speed in speeds],
        "source": {"file": "sheet.png", "sha256": hashlib.sha256(b"sheet").hexdigest(), "size_px": [800, 1000], "page": 1},
        "needs_review": [],
    }


class ImportCommand(unittest.TestCase):
    def setUp(self):
        temporary = tempfile.TemporaryDirectory()
        self.addCleanup(temporary.cleanup)
        self.folder = temporary.name
        self.environment = {"PATH": os.environ["PATH"], "HOME": self.folder, "ISLEBOOK_SHELF": self.path("shelf.db"), "OMP_THREAD_LIMIT": "1"}
        with open(self.path("alder.map.json"), "w", encoding="utf-8") as file:
            json.dump(document(), file)
        self.run_it("shelf", "add", "alder.map.json", "--name", "Alder 52", "--author", "Ines")

    def path(self, name):
        return os.path.join(self.folder, name)

    def read(self, name):
        with open(self.path(name), "rb") as file:
            return file.read()

    def run_it(self, *arguments, code=0):
        done = subprocess.run([ISLEBOOK, *arguments], capture_output=True, text=True, env=self.environment, cwd=self.folder, check=False)
        self.assertEqual(code, done.returncode, done.stdout + done.stderr)
        return done

    def json(self, *arguments, code=0):
        return json.loads(self.run_it(*arguments, "--json", code=code).stdout)

    def shown(self, spec):
        return self.json("shelf", "show", spec)

    def change(self, name, change, target=None):
        book = openpyxl.load_workbook(self.path(name))
        change(book)
        book.save(self.path(target or name))

    def test_a_spreadsheet_that_nobody_changed(self):
        self.run_it("export", "Alder 52", "--spreadsheet", "a.xlsx", "--curves", "a.csv", "--document", "a.map.json")
        for file in ("a.xlsx", "a.csv"):
            imported = self.json("import", file)
            self.assertEqual([], imported["changes"])
            self.assertIsNone(imported["revision"])
        self.change("a.xlsx", lambda book: None)  # saved again by another program
        self.assertEqual([], self.json("import", "a.xlsx")["changes"])
        self.assertEqual(1, len(self.json("shelf", "log", "Alder 52")))
        self.assertEqual(document()["curves"][0]["value"], json.loads(self.read("a.map.json"))["curves"][0]["value"])

    def test_a_colleague_reads_and_corrects_a_spreadsheet(self):
        self.run_it("export", "Alder 52", "--spreadsheet", "a.xlsx")

        def correct(book):
            self.assertEqual(["Map", "Curves", "Points", "How to correct"], book.sheetnames)
            curves, points = book["Curves"], book["Points"]
            self.assertEqual("role", curves["B1"].value)
            self.assertEqual("x corrected_mass_flow [kg/s]", points["B1"].value)
            self.assertEqual(90000, curves["C2"].value)
            curves["C2"] = 95000
            self.assertEqual(2, points["A14"].value)
            points["C14"] = points["C14"].value + 0.05
        self.change("a.xlsx", correct)
        dry = self.json("import", "a.xlsx", "--dry-run")
        self.assertEqual(2, len(dry["changes"]))
        self.assertIn("95,000 rpm, was 90,000 rpm", dry["changes"][0])
        self.assertIn("1 point new or moved", dry["changes"][1])
        self.assertEqual(1, len(self.json("shelf", "log", "Alder 52")))
        imported = self.json("import", "a.xlsx", "--author", "Tomas")
        self.assertEqual(dry["changes"], imported["changes"])
        self.assertTrue(imported["is_new"])
        self.assertGreater(imported["recipe_entries"], 0)
        shown = self.shown("Alder 52")
        self.assertEqual("Tomas", shown["author"])
        self.assertIn("95,000 rpm", shown["message"])
        self.assertEqual(95000, shown["map"]["curves"][0]["value"])
        before = document()["curves"][1]
        after = shown["map"]["curves"][1]
        self.assertAlmostEqual(before["points"][0][1] + 0.05, after["points"][0][1], 6)
        self.assertEqual(12, len(after["points_px"]))
        # The sheet of this map is a plain scale: 200 pixels a unit of pressure ratio.
        self.assertAlmostEqual(before["points_px"][0][1] - 10, after["points_px"][0][1], 1)
        steps = [step["do"] for step in shown["map"]["recipe"]["corrections"]]
        self.assertEqual(["relabel_curve", "delete_curve", "add_curve"], steps)
        again = self.json("import", "a.xlsx")  # the same file once more
        self.assertFalse(again["is_new"])
        self.assertEqual(2, len(self.json("shelf", "log", "Alder 52")))

    def test_a_csv_is_corrected(self):
        self.run_it("export", "Alder 52", "--curves", "a.csv")
        with open(self.path("a.csv"), encoding="utf-8", newline="") as file:
            rows = list(csv.reader(file))
        self.assertEqual(["map", "curve", "role", "value", "unit", "closed", "needs_review", "x corrected_mass_flow [kg/s]", "y pressure_ratio_tt [1]",
                          "sigma_x", "sigma_y"], rows[0])
        for row in rows[1:]:
            if row[1] == "2":
                row[3] = "71000"
        with open(self.path("b.csv"), "w", encoding="utf-8", newline="") as file:
            csv.writer(file, delimiter=";").writerows([[cell.replace(".", ",") if index >= 7 else cell for index, cell in enumerate(row)] if number else row
                                                       for number, row in enumerate(rows)])
        imported = self.json("import", "b.csv")
        self.assertEqual(1, len(imported["changes"]))
        self.assertIn("71,000 rpm", imported["changes"][0])
        self.assertEqual(71000, self.shown("Alder 52")["map"]["curves"][1]["value"])

    def test_the_map_has_moved_on(self):
        self.run_it("export", "Alder 52", "--spreadsheet", "a.xlsx")
        with open(self.path("alder.map.json"), "w", encoding="utf-8") as file:
            json.dump(document((90000, 72000)), file)
        self.run_it("shelf", "add", "alder.map.json", "--name", "Alder 52", "--author", "Ines")
        head = self.shown("Alder 52")["revision"]
        self.change("a.xlsx", lambda book: book["Curves"].__setitem__("C2", 91000))
        imported = self.json("import", "a.xlsx", code=4)
        self.assertTrue(imported["branch"].startswith("correction of "))
        self.assertEqual(head, self.shown("Alder 52")["revision"])
        self.assertEqual(91000, self.shown("Alder 52@" + imported["branch"])["map"]["curves"][0]["value"])
        self.assertFalse(self.json("import", "a.xlsx", code=4)["is_new"])  # still to be merged

    def test_files_instead_of_the_shelf(self):
        self.run_it("export", "alder.map.json", "--spreadsheet", "a.xlsx")
        self.change("a.xlsx", lambda book: book["Map"].__setitem__("B3", "Alder 52 B"))
        self.run_it("import", "a.xlsx", "--corrects", "./alder.map.json", code=2)
        imported = self.json("import", "a.xlsx", "--corrects", "./alder.map.json", "--out", "b.map.json")
        self.assertIn("the title is", imported["changes"][0])
        self.assertEqual("Alder 52 B", json.loads(self.read("b.map.json"))["title"])

    def test_a_new_map_from_a_table(self):
        with open(self.path("own.csv"), "w", encoding="utf-8") as file:
            file.write("role,value [rpm],x [lb/min],y [1]\nspeed_line,90000,10,2.5\nspeed_line,90000,20,2.3\nspeed_line,90000,25,1.8\n")
        imported = self.json("import", "own.csv", "--name", "Rowan 83", code=4)
        self.assertTrue(imported["is_new"] and imported["needs_review"])
        self.assertEqual(90000, self.shown("Rowan 83")["map"]["curves"][0]["value"])

    def test_documents(self):
        self.assertTrue(self.json("import", "alder.map.json", "--name", "Copy")["is_new"])
        self.assertEqual(self.shown("Alder 52")["document_sha256"], self.shown("Copy")["document_sha256"])

    def test_what_cannot_be_read(self):
        self.run_it("export", "Alder 52", "--spreadsheet", "a.xlsx")
        whole = self.read("a.xlsx")
        for length in range(0, len(whole), 1000):
            with open(self.path("cut.xlsx"), "wb") as file:
                file.write(whole[:length])
            self.assertIn("message", self.json("import", "cut.xlsx", code=1)["error"])
        wrong = [lambda book: book["Points"].__setitem__("B2", "about 3"), lambda book: book["Curves"].__setitem__("B2", "wiggle"),
                 lambda book: book["Points"].__setitem__("A2", 77), lambda book: book["Points"].__setitem__("B2", 1e300),
                 lambda book: book["Points"].__setitem__("B2", None), lambda book: book.remove(book["Curves"]),
                 lambda book: book["Map"].__setitem__("B3", None) or book["Curves"].__setitem__("C2", "=1/0")]
        for change in wrong:
            self.change("a.xlsx", change, "wrong.xlsx")
            done = self.run_it("import", "wrong.xlsx", "--json", code=1) if change is not wrong[-1] else None
            if done:
                self.assertIn("wrong.xlsx", json.loads(done.stdout)["error"]["place"])
        self.run_it("import", "absent.csv", code=1)
        self.run_it("import", code=2)
        self.run_it("import", "a.xlsx", "--new", "--corrects", "Alder 52", code=2)
        self.assertEqual(1, len(self.json("shelf", "log", "Alder 52")))
        self.assertIn("Usage", self.run_it("import", "--help").stdout)

    def test_a_correction_stands_when_the_sheet_is_digitized_again(self):
        sheet = os.path.join(SOURCES, "sample_maps", "alder-44", "alder-44-scan.jpg")
        done = subprocess.run([ISLEBOOK, "digitize", sheet, "--out", "maps"], capture_output=True, text=True, env=self.environment, cwd=self.folder, check=False)
        self.assertIn(done.returncode, (0, 4), done.stderr)
        self.run_it("shelf", "add", "maps/alder-44-scan.map.json", "--name", "alder-44")
        done = subprocess.run([ISLEBOOK, "export", "alder-44", "--spreadsheet", "s.xlsx"], capture_output=True, text=True, env=self.environment, cwd=self.folder, check=False)
        self.assertIn(done.returncode, (0, 4), done.stderr)
        row = next(i for i, cell in enumerate(openpyxl.load_workbook(self.path("s.xlsx"))["Curves"]["B"], 1) if cell.value == "speed_line")
        value = openpyxl.load_workbook(self.path("s.xlsx"))["Curves"][f"C{row}"].value
        self.change("s.xlsx", lambda book: book["Curves"].__setitem__(f"C{row}", value + 500))
        done = subprocess.run([ISLEBOOK, "import", "s.xlsx", "--json"], capture_output=True, text=True, env=self.environment, cwd=self.folder, check=False)
        self.assertIn(done.returncode, (0, 4), done.stderr)
        corrected = self.shown("alder-44")["map"]
        with open(self.path("recipe.json"), "w", encoding="utf-8") as file:
            json.dump(corrected["recipe"], file)
        done = subprocess.run([ISLEBOOK, "digitize", sheet, "--out", "again", "--recipe", "recipe.json"], capture_output=True, text=True, env=self.environment,
                              cwd=self.folder, check=False)
        self.assertIn(done.returncode, (0, 4), done.stderr)
        again = json.loads(self.read("again/alder-44-scan.map.json"))
        self.assertIn(value + 500, [curve["value"] for curve in again["curves"] if curve["role"] == "speed_line"])
        self.assertNotIn(value, [curve["value"] for curve in again["curves"] if curve["role"] == "speed_line"])


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0]])
