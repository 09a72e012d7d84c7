#!/usr/bin/env python3
"""Runs every example of mapstore/shelf/FILE_FORMAT.md in plain sqlite3 on a shelf made by the built program.

Usage: file_format_test.py ISLEBOOK FILE_FORMAT.md
"""
import hashlib
import json
import os
import re
import subprocess
import sys
import tempfile
import unittest

ISLEBOOK, PAGE = sys.argv[1], sys.argv[2]
SHEET = b"the sheet's bytes, \x00 among them"


def document(speed):
    return {
        "document": "performance-map", "schema": 1, "kind": "compressor", "title": "Alder 52, Fellside Rotors",
        "axes": {"x": {"quantity": "corrected_mass_flow", "unit": "kg/s", "scale": "linear", "min": 0, "max": 0.6},
                 "y": {"quantity": "pressure_ratio_tt", "unit": "1", "scale": "linear", "min": 1, "max": 4}},
        "reference_conditions": {"temperature_K": 298, "pressure_Pa": 100000, "basis": "printed"},
        "curves": [{"role": "speed_line", "value": value, "unit": "rpm", "closed": False, "points": [[0.1, 2.0], [0.2, 1.9], [0.25, 1.5]],
                    "points_px": [[10, 20], [30, 40], [50, 60.5]], "sigma": [[0.001, 0.002]] * 3, "confidence": 0.9, "needs_review": False,
                    "reasons": []} for value in (speed, speed + 20000)],
        "source": {"file": "sheet.png", "sha256": hashlib.sha256(SHEET).hexdigest(), "size_px": [800, 600], "page": 1}, "needs_review": [],
    }


class FileFormat(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.shelf = os.path.join(cls.folder.name, "shelf.db")
        with open(os.path.join(cls.folder.name, "sheet.png"), "wb") as file:
            file.write(SHEET)
        cls.revisions = []
        for speed in (90000, 91000):
            path = os.path.join(cls.folder.name, "Alder 52.map.json")
            with open(path, "w", encoding="utf-8") as file:
                json.dump(document(speed), file)
            done = subprocess.run([ISLEBOOK, "shelf", "add", path, "--sheet", os.path.join(cls.folder.name, "sheet.png"), "--message", f"brochure, at {speed}", "--author",
                                   "Ines", "--json", "--shelf", cls.shelf], capture_output=True, check=True)
            cls.revisions.append(json.loads(done.stdout)["added"][0]["revision"])
        with open(path, "w", encoding="utf-8") as file:
            json.dump(document(92000), file)
        for command in (["add", path, "--branch", "by eye", "--author", "Tomas"], ["tag", "Alder 52", "lake ferry"],
                        ["wheel", "Alder 52", "--maker", "Fellside Rotors", "--inducer", "52", "--exducer", "71"]):
            done = subprocess.run([ISLEBOOK, "shelf", *command, "--json", "--shelf", cls.shelf], capture_output=True, check=True)
            if command[0] == "add":
                cls.branch = json.loads(done.stdout)["added"][0]["revision"]
        with open(PAGE, encoding="utf-8") as file:
            page = file.read()
        cls.examples = {}
        for before, language, text in re.findall(r"([^\n]+:|[^\n]+)\n\n```(sql|sh)\n(.*?)```", page, re.DOTALL):
            cls.examples[before.rstrip(":")] = (language, text)

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def run_example(self, title):
        language, text = self.examples.pop(title)
        command = ["sqlite3", "-bail", self.shelf, text] if language == "sql" else ["bash", "-c", text]
        done = subprocess.run(command, capture_output=True, cwd=self.folder.name, text=True, check=False)
        self.assertEqual("", done.stderr)
        self.assertEqual(0, done.returncode)
        return done.stdout.splitlines()

    def test_every_example(self):
        first, second = self.revisions
        self.assertEqual(12, len(self.examples), list(self.examples))
        rows = self.run_example("What is on the shelf")
        self.assertEqual(1, len(rows))
        self.assertTrue(rows[0].startswith(f"Alder 52|compressor|Alder 52, Fellside Rotors|{second[:12]}|"), rows)
        self.assertEqual(document(91000), json.loads(self.run_example("A map document, as text")[0]))
        self.assertEqual(["91000|rpm|3", "111000|rpm|3"], self.run_example("The speed lines of a map and how many points each has, by SQLite's JSON functions"))
        rows = self.run_example("A map's history, latest first")
        self.assertEqual([second[:12], first[:12]], [row.split("|")[0] for row in rows])
        self.assertTrue(rows[0].endswith("|Ines|brochure, at 91000"))
        rows = self.run_example("Every revision that a name ever pointed at, with the branch and the time it was pointed there")
        self.assertEqual([first[:12], second[:12], self.branch[:12]], [row.split("|")[1] for row in rows])
        self.assertEqual(["Alder 52|lake ferry|Fellside Rotors|52.0|71.0"], self.run_example("Maps with a tag, and their wheels"))
        rows = self.run_example("Maps whose name, title, maker, tags, notes or messages hold a word that begins so")
        self.assertEqual(1, sum(row.startswith("Alder 52|") for row in rows))
        self.assertIn("[brochure]", rows[0])
        self.assertEqual([f"Alder 52|by eye|{self.branch[:12]}|Tomas"], self.run_example("Branches that wait to be merged"))
        self.run_example("A sheet out of the shelf, byte for byte")
        with open(os.path.join(self.folder.name, "sheet.out"), "rb") as file:
            self.assertEqual(SHEET, file.read())
        self.assertEqual([], self.run_example("Sheets that documents name and that are not on the shelf"))
        self.assertEqual(first, self.run_example("One revision checked by hand; the digits that come out are the revision's id")[0].split()[0])
        self.run_example("A copy of the shelf while others use it")
        copy = os.path.join(self.folder.name, "copy.db")
        subprocess.run([ISLEBOOK, "shelf", "verify", "--quiet", "--shelf", copy], check=True)
        self.assertEqual({}, self.examples)

    def test_the_header(self):
        for pragma, value in (("application_id", "1232301157"), ("user_version", "3")):
            with open(PAGE, encoding="utf-8") as file:
                self.assertRegex(file.read(), rf"\| `{pragma}` \| {value}\b")
            done = subprocess.run(["sqlite3", self.shelf, f"PRAGMA {pragma}"], capture_output=True, text=True, check=True)
            self.assertEqual(value, done.stdout.strip())

    def test_the_tables(self):
        """Every table and column is described, and nothing else."""
        with open(PAGE, encoding="utf-8") as file:
            page = file.read()
        described = {name: text for name, text in re.findall(r"^\| `(\w+)` \| (.*) \|$", page, re.MULTILINE)}
        done = subprocess.run(["sqlite3", self.shelf, "SELECT m.name, c.name FROM sqlite_schema AS m JOIN pragma_table_xinfo(m.name) AS c WHERE m.type = 'table'"],
                              capture_output=True, text=True, check=True)
        tables = {}
        for row in done.stdout.splitlines():
            table, column = row.split("|")
            tables.setdefault(table, []).append(column)
        indexes = {table for table in tables if re.match(r"(words|reach_bands)(_|$)|reach_(maps|kept|due)$", table)}
        tables = {table: columns for table, columns in tables.items() if table not in indexes}
        self.assertEqual({"sheets", "documents", "revisions", "parents", "maps", "heads", "removals", "tags", "notes", "wheels"}, set(tables))
        for table, columns in tables.items():
            for column in columns:
                self.assertIn(f"`{column}`", described[table], f"{table}.{column}")


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
