#!/usr/bin/env python3
"""The same cases in C++, C, Python, on the command line and over HTTP: the same reports, tables and arrays, to the last digit.

Usage: same_bench_test.py ISLEBOOK FOLDER_OF_TEST_PROGRAMS MAPS
"""
import csv
import http.client
import io
import json
import math
import os
import subprocess
import sys
import tempfile
import unittest

import islebook

ISLEBOOK, PROGRAMS, MAPS = sys.argv[1:4]
ENGINE = """units = "us"
[engine]
displacement = "12.5 L"
air_fuel_ratio = 24
brake_specific_fuel_consumption = "215 g/kWh"
[air_path]
inlet_loss = "2 kPa at 0.5 kg/s"
cooler_loss = "5 kPa at 0.5 kg/s"
"""
POINTS = """
[[point]]
name = "cruise, \\"long\\" way"
speed = ["1400 rpm", "1800 rpm", "2200 rpm"]
altitude = ["0 m", "1500 m"]
boost = "0.8 bar"
[[point]]
speed = "2000 rpm"
power = "300 kW"
"""
CASES = {
    "one": ENGINE + '[[stage]]\ncompressor = "Alder 52"\n' + POINTS + '[[point]]\nname = "no boost"\nspeed = "1000 rpm"\nmanifold_pressure = "0.9 bar absolute"\n',
    "two": ENGINE + '[[stage]]\ncompressor = "Alder 52"\n[[stage]]\ncompressor = "Alder 52"\n[[point]]\nspeed = ["1600 rpm", "2400 rpm"]\nboost = "2 bar"\n',
    "area": ENGINE + '[[stage]]\ncompressor = "Alder 52"\nturbine_effective_area = "20 cm2"\nwastegate_diameter = "20 mm"\n' + POINTS,
    "map": ENGINE + '[[stage]]\ncompressor = "Alder 52"\nturbine = "vanes"\n' + POINTS,
    "doubtful": ENGINE + '[[stage]]\ncompressor = "doubtful"\n' + POINTS,
}


def without_case(report):
    """HTTP has no file's name."""
    return {**report, "case": ""}


class SameBench(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        temporary = tempfile.TemporaryDirectory()
        cls.addClassCleanup(temporary.cleanup)
        cls.folder = temporary.name
        cls.shelf = os.path.join(cls.folder, "shelf.db")
        with open(os.path.join(MAPS, "compressor.map.json"), encoding="utf-8") as file:
            doubtful = json.load(file)
        doubtful["curves"] = [curve for curve in doubtful["curves"] if curve["role"] != "surge_line"]
        for curve in doubtful["curves"]:
            if curve["role"] == "speed_line":
                curve.update(needs_review=True, reasons=["its ends are not sure"], confidence=0.4)
        with open(os.path.join(cls.folder, "doubtful.map.json"), "w", encoding="utf-8") as file:
            json.dump(doubtful, file)
        for name, path in (("Alder 52", os.path.join(MAPS, "compressor.map.json")), ("vanes", os.path.join(MAPS, "vanes.map.json")), ("doubtful", file.name)):
            subprocess.run([ISLEBOOK, "shelf", "add", path, "--name", name, "--author", "M. Tarn", "--shelf", cls.shelf], check=True, capture_output=True)
        cls.server = subprocess.Popen([ISLEBOOK, "serve", "--port", "0", "--json", "--quiet", "--shelf", cls.shelf], stdout=subprocess.PIPE, text=True)
        cls.addClassCleanup(cls.stop)
        cls.port = json.loads(cls.server.stdout.readline())["port"]

    @classmethod
    def stop(cls):
        cls.server.terminate()
        cls.server.wait(20)
        cls.server.stdout.close()

    def write(self, name, text):
        path = os.path.join(self.folder, name + ".toml")
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
        return path

    def program(self, name, case):
        report, table, arrays = subprocess.run([os.path.join(PROGRAMS, name), case, self.shelf], check=True, capture_output=True).stdout.decode().split("----\n")
        columns = {}
        for line in arrays.splitlines():
            role, quantity, unit, *values = line.split(" ")
            columns[role, quantity, unit] = list(map(float, values))
        return json.loads(report), table, columns

    def command_line(self, case):
        table = os.path.join(self.folder, "table.csv")
        done = subprocess.run([ISLEBOOK, "bench", case, "--json", "--csv", table, "--quiet", "--shelf", self.shelf], capture_output=True, text=True, check=False)
        with open(table, encoding="utf-8", newline="") as file:
            return done.returncode, json.loads(done.stdout), file.read()

    def post(self, text, query="", kind="application/toml"):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            connection.request("POST", "/v1/bench" + query, text, {"Content-Type": kind})
            response = connection.getresponse()
            return response.status, response.headers["Content-Type"], response.read().decode()
        finally:
            connection.close()

    def same_arrays(self, door, expected, found):
        self.assertEqual(list(expected), list(found), door)
        for column, values in expected.items():
            self.assertTrue(len(values) == len(found[column]) and all(a == b or (a != a and b != b) for a, b in zip(values, found[column])), f"{door} {column}")

    def of_table(self, table, columns):
        rows = list(csv.DictReader(io.StringIO(table, newline="")))
        found = {}
        for role, quantity, unit in columns:
            name = f"{role}_{quantity}" + ("" if unit == "1" else f" [{unit}]")
            found[role, quantity, unit] = [float(row[name]) if row[name] else math.nan for row in rows]
        return rows, found

    def test_every_door(self):
        for name, text in CASES.items():
            with self.subTest(case=name):
                case = self.write(name, text)
                report, table, columns = self.program("bench_in_cpp", case)
                rows, of_table = self.of_table(table, columns)
                stages = text.count("[[stage]]")
                self.assertEqual(len(report["points"]) * stages, len(rows))
                self.same_arrays("CSV", columns, of_table)
                self.assertEqual((report, table, columns), (self.program("bench_in_c", case)[0], self.program("bench_in_c", case)[1], columns))
                self.same_arrays("C", columns, self.program("bench_in_c", case)[2])
                code, as_json, as_csv = self.command_line(case)
                self.assertEqual((report, table), (as_json, as_csv))
                failed = [point["name"] for point in report["points"] if "failure" in point]
                self.assertEqual(["no boost"] if name == "one" else [], failed)
                self.assertIn(code, (1,) if failed else (0, 4))
                with islebook.open_bench(case, shelf=self.shelf) as bench:
                    self.assertEqual((report, table), (bench.report, bench.csv))
                    self.same_arrays("Python", columns, {tuple(column): list(bench.values(column.role, column.quantity)) for column in bench.columns})
                    self.assertEqual(tuple(point["name"] for point in report["points"]), bench.points)
                    self.assertEqual(tuple(point.get("failure", "") for point in report["points"]), bench.failures)
                    self.assertEqual((report["summary"]["grade"], report["summary"]["words"]), (bench.grade, bench.summary))
                    self.assertEqual(code == 4, bench.needs_review and not failed)
                status, kind, body = self.post(text)
                self.assertEqual((200, "application/json", without_case(report)), (status, kind, without_case(json.loads(body))))
                self.assertEqual((200, "text/csv; charset=utf-8; header=present", table), self.post(text, "?csv=true"))
                self.agrees(report, rows, stages)

    def agrees(self, report, rows, stages):
        """The table says what the report says."""
        for i, row in enumerate(rows):
            point = report["points"][i // stages]
            self.assertEqual(point["name"], row["point"])
            self.assertEqual(point.get("failure", ""), row["failure"])
            if "failure" in point:
                self.assertEqual("", row["compressor_efficiency"] + row["grade"] + row["engine_air_flow [kg/s]"])
                continue
            stage = point["stages"][i % stages]
            self.assertEqual((stage["name"], stage["region"] or ""), (row["wheel"], row["region"]))

            def same(value, key):
                self.assertEqual(value, float(row[key]) if row[key] else None, key)
            same(point["air_flow_kg_s"], "engine_air_flow [kg/s]")
            same(point["boost_Pa"], "engine_boost [Pa]")
            same(point["power_W"], "engine_power [W]")
            same(stage["surge_margin"], "compressor_surge_margin")
            same(stage["sigma"]["outlet_K"], "compressor_sigma_outlet_temperature [K]")
            same(stage["efficiency"], "compressor_efficiency")
            turbine = stage.get("turbine", {})
            same(turbine.get("power_W"), "turbine_power [W]")
            same(turbine.get("shaft_speed_rev_s"), "turbine_speed [rev/s]")
            self.assertEqual(turbine.get("regulation", ""), row["regulation"])

    def test_what_to_change_first(self):
        case = self.write("change", CASES["area"])
        printed = json.loads(subprocess.run([ISLEBOOK, "bench", case, "--what-first", "power", "--point", "7", "--json", "--shelf", self.shelf], check=True, capture_output=True).stdout)
        self.assertGreater(len(printed["changes"]), 3)
        with islebook.open_bench(case, shelf=self.shelf) as bench:
            self.assertEqual(printed, bench.changes("power", "7"))
            self.assertEqual(bench.changes("power"), bench.changes("power", bench.points[0]))
            with self.assertRaisesRegex(islebook.IslebookError, "known are power"):
                bench.changes("fame")
            with self.assertRaisesRegex(islebook.IslebookError, "no point"):
                bench.changes("power", "8")
        status, _, body = self.post(CASES["area"], "?what_first=power&point=7")
        self.assertEqual((200, printed), (status, json.loads(body)))

    def test_a_doubtful_region_is_left_open_everywhere(self):
        """The bench, the chart and the answers to single questions leave open what a flagged map without a surge line cannot tell."""
        case = self.write("open", CASES["doubtful"])
        _, report, _ = self.command_line(case)
        open_points = 0
        for point in report["points"]:
            stage, = point["stages"]
            asked = subprocess.run([ISLEBOOK, "ask", "doubtful", "--flow", repr(stage["map_flow"]), "--pressure-ratio", repr(stage["pressure_ratio"]), "--json", "--shelf", self.shelf],
                                   capture_output=True, check=False)
            answer, = json.loads(asked.stdout)
            self.assertEqual((answer["region"], answer["surge_margin"], answer["inside"], answer.get("reason")),
                             (stage["region"], stage["surge_margin"], stage["inside"], stage["reason"]))
            if answer["region"] is not None:
                continue
            open_points += 1
            grades = {verdict["what"]: verdict["grade"] for verdict in stage["verdicts"]}
            self.assertEqual(("unknown", "unknown"), (grades["on_map"], grades["surge"]))
            points = os.path.join(self.folder, "points.csv")
            with open(points, "w", encoding="utf-8") as file:
                file.write(f"flow,pressure_ratio\n{stage['map_flow']!r},{stage['pressure_ratio']!r}\n")
            drawn = subprocess.run([ISLEBOOK, "chart", "doubtful", "--points", points, "--svg", os.path.join(self.folder, "c.svg"), "--json", "--shelf", self.shelf],
                                   capture_output=True, check=False, env={**os.environ, "QT_QPA_PLATFORM": "offscreen"})
            self.assertEqual(4, drawn.returncode, drawn.stderr)
            placed, = json.loads(drawn.stdout)["points"]
            self.assertIn("cannot be told", placed["words"])
            self.assertNotIn("surge margin", placed["words"])
            self.assertFalse(placed["off_map"])
        self.assertGreater(open_points, 3)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
