#!/usr/bin/env python3
"""Tables of a map as CSV and as Modelica's table blocks read them, through the built program.

The text format is read here as the Modelica Standard Library's documentation of Modelica.Blocks.Tables describes it: a first line "#1", comments after "#", then
"double name(rows,columns)" and rows x columns numbers.

Usage: tables_test.py ISLEBOOK MAPS
"""
import csv
import io
import json
import os
import re
import subprocess
import sys
import tempfile
import unittest

ISLEBOOK, MAPS = sys.argv[1:3]


def read_modelica(text):
    lines = text.split("\n")
    assert lines[0] == "#1", lines[0]
    words = " ".join(re.sub("#.*", "", line) for line in lines[1:]).split()
    tables, at = {}, 0
    while at < len(words):
        assert words[at] == "double", words[at]
        name, rows, columns = re.fullmatch(r"(\w+)\((\d+),(\d+)\)", words[at + 1]).groups()
        size = int(rows) * int(columns)
        numbers = [float(word) for word in words[at + 2:at + 2 + size]]
        assert len(numbers) == size
        tables[name] = [numbers[i * int(columns):(i + 1) * int(columns)] for i in range(int(rows))]
        at += 2 + size
    return tables


class Tables(unittest.TestCase):
    def setUp(self):
        temporary = tempfile.TemporaryDirectory()
        self.addCleanup(temporary.cleanup)
        self.folder = temporary.name

    def islebook(self, *arguments, code=0):
        done = subprocess.run([ISLEBOOK, *arguments], capture_output=True, text=True, check=False)
        self.assertEqual(code, done.returncode, done.stdout + done.stderr)
        return done

    def export(self, name, *arguments):
        out, table = os.path.join(self.folder, name + ".csv"), os.path.join(self.folder, name + ".txt")
        done = self.islebook("export", os.path.join(MAPS, name + ".map.json"), "--csv", out, "--table", table, "--json", *arguments)
        self.assertEqual({"files": [out, table], "needs_review": []}, json.loads(done.stdout))
        with open(out, encoding="utf-8", newline="") as one, open(table, encoding="utf-8") as two:
            return list(csv.DictReader(io.StringIO(one.read()))), read_modelica(two.read())

    def test_a_compressor(self):
        rows, tables = self.export("compressor")
        self.assertEqual({"flow", "pressure_ratio", "efficiency", "efficiency_standing"}, set(tables))
        flow = tables["flow"]
        self.assertEqual([0.0] + [i / 20 for i in range(21)], flow[0])
        speeds = [row[0] for row in flow[1:]]
        self.assertEqual(sorted(set(speeds)), speeds)
        self.assertEqual((len(flow) - 1) * 21, len(rows))
        for table in tables.values():
            self.assertEqual([row[0] for row in flow], [row[0] for row in table])
        for i, row in enumerate(rows):
            line, beta = divmod(i, 21)
            self.assertEqual(speeds[line], float(row["line_speed [rpm]"]))
            self.assertEqual(flow[line + 1][beta + 1], float(row["flow [kg/s]"]))
            self.assertEqual(tables["pressure_ratio"][line + 1][beta + 1], float(row["pressure_ratio"]))
            standing = ["known", "extrapolated", "unknown"][int(tables["efficiency_standing"][line + 1][beta + 1])]
            self.assertEqual(standing, row["efficiency_standing"])
            if row["efficiency"] and standing == "known":
                self.assertAlmostEqual(tables["efficiency"][line + 1][beta + 1], float(row["efficiency"]), delta=1e-6)
            self.assertEqual("true", row["inside"], row)
            if beta == 0:
                self.assertEqual(0, float(row["surge_margin"]))
            if beta == 20:
                self.assertAlmostEqual(0, float(row["choke_margin"]), delta=1e-6)
        for line in flow[1:]:
            self.assertEqual(sorted(line[1:]), line[1:])  # flow grows from surge to choke

    def test_the_tables_are_the_map(self):
        """Each cell asked on the command line gives the cell's speed back."""
        rows, _ = self.export("compressor", "--betas", "5", "--rows-between-lines", "0")
        inner = [row for row in rows if 0 < float(row["beta"]) < 1]
        points = os.path.join(self.folder, "points.csv")
        with open(points, "w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, ["flow [kg/s]", "pressure_ratio"], extrasaction="ignore")
            writer.writeheader()
            writer.writerows(inner)
        done = subprocess.run([ISLEBOOK, "ask", os.path.join(MAPS, "compressor.map.json"), "--points", points, "--json"], capture_output=True, text=True, check=False)
        for row, answer in zip(inner, json.loads(done.stdout)):
            self.assertAlmostEqual(float(row["line_speed [rpm]"]), answer["speed"], delta=1e-6 * answer["speed"])

    def test_turbines(self):
        for name, column in (("vanes", "line_vane_opening [%]"), ("turbine", "line_speed [rpm]")):
            rows, tables = self.export(name, "--betas", "11")
            self.assertEqual({"flow", "expansion_ratio", "efficiency", "efficiency_standing"}, set(tables))
            self.assertTrue(all(row[column] for row in rows))
            self.assertTrue(all(float(row["flow"] if "flow" in row else row[next(key for key in row if key.startswith("flow"))]) > 0 for row in rows))
            self.assertTrue(all(value >= 1 for line in tables["expansion_ratio"][1:] for value in line[1:]))

    def test_wrong_command_lines(self):
        map_file = os.path.join(MAPS, "compressor.map.json")
        for arguments in ([map_file], [map_file, "--csv", "x.csv", "--betas", "1"], [map_file, "--csv", "x.csv", "--rows-between-lines", "99"], [map_file, "--csv", "x.csv", "--surge-margin", "mine"]):
            self.assertEqual(1, self.islebook("export", *arguments, code=2).stderr.count("\n"))
        self.islebook("export", map_file, "--csv", os.path.join(self.folder, "no", "x.csv"), code=1)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
