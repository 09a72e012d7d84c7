#!/usr/bin/env python3
"""islebook ask through the built program: what it prints, where, and the exit codes.

Usage: ask_command_test.py ISLEBOOK
"""
import csv
import io
import json
import math
import os
import re
import subprocess
import sys
import tempfile
import unittest

ISLEBOOK = sys.argv[1]
SPEEDS = [60000, 75000, 90000, 105000]
TOP = 105000


def head(ratio):
    return ratio ** (2 / 7) - 1


def place(speed, t):
    """A plain invented map: flow in kg/s and pressure ratio along a speed line, t from 0 at surge to 1 at choke."""
    n = speed / TOP
    surge, choke = 0.12 * n ** 1.4, 0.30 * n
    flow = surge + (choke - surge) * math.sin(0.5 * math.pi * t)
    return [flow, (1 + 0.5 * n * n * (0.35 + 0.65 * math.cos(0.5 * math.pi * 0.95 * t))) ** 3.5]


def efficiency(speed, t):
    return 0.79 - 0.5 * (t - 0.45) ** 2 - 0.6 * (speed / TOP - 0.8) ** 2


def island(level):
    """Closed rings only: every level here is reached inside the map."""
    points = []
    for k in range(90):
        angle = 2 * math.pi * k / 90
        radius = math.sqrt(0.79 - level)
        points.append(place(TOP * (0.8 + radius * math.sin(angle) / math.sqrt(0.6)), 0.45 + radius * math.cos(angle) / math.sqrt(0.5)))
    return points


def curve(role, points, value=None, unit="", closed=False, **more):
    return {"role": role, "value": value, "unit": unit, "closed": closed, "points": points, "confidence": 1.0, "needs_review": False, "reasons": [], **more}


def document(kind, axes, curves, **more):
    return {"document": "performance-map", "schema": 1, "kind": kind, "title": "Alder 52", "axes": axes,
            "reference_conditions": {"temperature_K": 298, "pressure_Pa": 100000, "basis": "printed"}, "curves": curves, "needs_review": [], **more}


def axis(quantity, unit, low, high):
    return {"quantity": quantity, "unit": unit, "scale": "linear", "min": low, "max": high}


def compressor(**more):
    curves = [curve("speed_line", [place(speed, k / 60) for k in range(61)], speed, "rpm") for speed in SPEEDS]
    curves.append(curve("surge_line", [place(SPEEDS[0] + (TOP - SPEEDS[0]) * k / 80, 0) for k in range(81)]))
    curves += [curve("efficiency_island", island(level), level, "1", True) for level in (0.78, 0.77, 0.76)]
    return document("compressor", {"x": axis("corrected_mass_flow", "kg/s", 0, 0.35), "y": axis("pressure_ratio_tt", "1", 1, 5)}, curves, **more)


def turbine():
    curves = []
    for opening in (20, 40, 60, 80, 100):
        ratios = [1.2 + 1.8 * k / 50 for k in range(51)]
        curves.append(curve("flow_line", [[r, 0.0005 * (20 + opening) * math.sqrt(1 - r ** -2)] for r in ratios], opening, "%"))
        curves.append(curve("efficiency_line", [[r, 0.5 + 0.002 * opening - 0.02 * (r - 2) ** 2] for r in ratios], opening, "%"))
    axes = {"x": axis("expansion_ratio_ts", "1", 1, 3.2), "y": axis("turbine_flow_parameter", "kg s-1 K0.5 kPa-1", 0, 0.07), "efficiency": axis("efficiency_ts", "1", 0.4, 0.8)}
    return document("turbine", axes, curves)


class AskCommand(unittest.TestCase):
    def setUp(self):
        temporary = tempfile.TemporaryDirectory()
        self.addCleanup(temporary.cleanup)
        self.folder = temporary.name
        self.environment = {"PATH": os.environ["PATH"], "HOME": self.folder, "ISLEBOOK_SHELF": os.path.join(self.folder, "shelf.db"), "XDG_RUNTIME_DIR": self.folder}
        self.map = self.write("alder.map.json", json.dumps(compressor()))
        self.turbine = self.write("rowan.map.json", json.dumps(turbine()))

    def write(self, name, text):
        with open(os.path.join(self.folder, name), "w", encoding="utf-8", newline="") as file:
            file.write(text)
        return os.path.join(self.folder, name)

    def islebook(self, *arguments, code=0):
        done = subprocess.run([ISLEBOOK, *arguments], capture_output=True, text=True, env=self.environment, cwd=self.folder, check=False)
        self.assertEqual(code, done.returncode, done.stdout + done.stderr)
        return done

    def ask(self, *arguments, code=0):
        return json.loads(self.islebook("ask", *arguments, "--json", code=code).stdout)

    def test_a_point_on_the_map(self):
        flow, ratio = place(84000, 0.5)
        answer, = self.ask(self.map, "--flow", repr(flow), "--pressure-ratio", repr(ratio))
        self.assertTrue(answer["inside"])
        self.assertEqual("on_map", answer["region"])
        self.assertEqual("rpm", answer["speed_unit"])
        self.assertAlmostEqual(84000, answer["speed"], delta=20)
        self.assertAlmostEqual(efficiency(84000, 0.5), answer["efficiency"], delta=0.001)
        surge_flow, surge_ratio = place(84000, 0)
        self.assertAlmostEqual(surge_ratio / ratio * flow / surge_flow - 1, answer["surge_margin"], delta=0.002)
        self.assertAlmostEqual(place(84000, 1)[0] / flow - 1, answer["choke_margin"], delta=0.001)
        self.assertEqual({"speed", "efficiency", "surge_margin"}, set(answer["sigma"]))
        self.assertGreater(answer["sigma"]["speed"], 0)
        self.assertIsNone(answer["revision"])
        self.assertNotIn("reason", answer)

    def test_what_is_wrong_on_the_command_line_alone_is_code_2(self):
        for option, text in (("--flow", "-1"), ("--flow", "nan"), ("--flow", "abc"), ("--flow", "0"), ("--pressure-ratio", "-2"), ("--flow", "3 parsec")):
            others = {"--flow": "0.2", "--pressure-ratio": "2"}
            others[option] = text
            done = self.islebook("ask", self.map, *[word for pair in others.items() for word in pair], code=2)
            self.assertEqual("", done.stdout, text)
            self.assertEqual(1, done.stderr.count("\n"), done.stderr)
            self.assertIn(text.split()[-1], done.stderr)

    def test_a_wrong_command_line_is_told_as_json_too(self):
        for arguments in (("--flow", "-1", "--pressure-ratio", "2"), ("--polish",), ("--flow",)):
            done = self.islebook("ask", self.map, "--json", *arguments, code=2)
            error = json.loads(done.stdout)["error"]
            self.assertEqual({"code", "message", "place"}, set(error))
            self.assertIn(error["message"], done.stderr)

    def test_the_way_to_the_edges_in_plain_numbers_with_units(self):
        flow, ratio = place(84000, 0.5)
        text = self.islebook("ask", self.map, "--flow", repr(flow), "--pressure-ratio", repr(ratio), "--edges").stdout
        self.assertRegex(text, r"toward surge -0\.\d+ kg/s;")
        self.assertRegex(text, r"slower -[\d,]+ rpm;")
        self.assertRegex(text, r"more pressure ratio \+\d+\.\d+;")

    def test_a_table_with_semicolons_and_decimal_commas(self):
        flow, ratio = place(84000, 0.5)
        plain = self.write("plain.csv", f"flow [kg/s],pressure_ratio\n{flow:.6f},{ratio:.6f}\n0.2,2\n")
        comma = (f"flow [kg/s];pressure_ratio\r\n{flow:.6f};{ratio:.6f}\r\n".replace(".", ",") + '"0,2";2\r\n')
        self.assertEqual(self.ask(self.map, "--points", plain), self.ask(self.map, "--points", self.write("comma.csv", comma)))
        points = self.write("points.csv", f"flow;pressure_ratio\n{flow:.6f};{ratio:.6f}\n0.2;2\n")
        self.assertEqual(self.ask(self.map, "--points", plain), self.ask(self.map, "--points", points))
        # With decimal commas a point may part thousands.
        done = self.islebook("ask", self.map, "--points", self.write("mixed.csv", "flow;speed\n0,2;90.000\n"), code=1)
        self.assertIn("90.000", done.stderr)
        # A semicolon in the name of a column that is not used is no separator.
        named = self.write("named.csv", f"flow,pressure_ratio,rig; bench\n{flow:.6f},{ratio:.6f},3\n0.2,2,4\n")
        self.assertEqual(self.ask(self.map, "--points", plain), self.ask(self.map, "--points", named))

    def test_a_bad_row_is_named_with_its_line_and_column(self):
        points = self.write("bad.csv", "flow,pressure_ratio\n0.2,2\n-0.1,2\n0.2,x\n0.2,\n")
        done = self.islebook("ask", self.map, "--points", points, code=1)
        for words in ("line 3: the value in column flow is not above zero", "line 4: \"x\" in column pressure_ratio", "line 5: Two of"):
            self.assertIn(words, done.stderr)

    def test_without_a_surge_line_flagged_speed_lines_tell_no_region(self):
        for flagged in (False, True):
            document = compressor()
            document["curves"] = [curve for curve in document["curves"] if curve["role"] != "surge_line"]
            for line in document["curves"]:
                if line["role"] == "speed_line":
                    line["needs_review"], line["reasons"] = flagged, ["its left end is in doubt"] if flagged else []
            path = self.write("bare.map.json", json.dumps(document))
            flow, ratio = place(84000, 0.5)
            for asked, region in ((0.2 * flow, "left_of_surge"), (flow, "on_map")):
                answer, = self.ask(path, "--flow", repr(asked), "--pressure-ratio", repr(ratio), code=4)
                self.assertEqual(None if flagged else region, answer["region"])
                self.assertEqual(flagged, answer["surge_margin"] is None)
                if flagged:
                    self.assertFalse(answer["inside"])
                    self.assertIn("no surge line", answer["reason"])
            text = self.islebook("ask", path, "--flow", repr(flow), "--pressure-ratio", repr(ratio), code=4).stdout
            self.assertEqual(flagged, "not known" in text)

    def test_the_text_says_what_the_uncertainty_is_of(self):
        flow, ratio = place(84000, 0.5)
        text = self.islebook("ask", self.map, "--flow", repr(flow), "--pressure-ratio", repr(ratio)).stdout
        self.assertIn("±", text)
        self.assertIn("uncertainty of reading the sheet", text)
        self.assertRegex(text, r"\d ± [\d.]+ %")

    def test_speed_with_flow_and_with_pressure_ratio(self):
        flow, ratio = place(90000, 0.6)
        answer, = self.ask(self.map, "--speed", "90 krpm", "--flow", repr(flow))
        self.assertAlmostEqual(ratio, answer["pressure_ratio"], delta=0.001 * ratio)
        answer, = self.ask(self.map, "--speed", "90000", "--pressure-ratio", repr(ratio))
        self.assertAlmostEqual(flow, answer["flow"], delta=0.001 * flow)

    def test_units_and_reference_conditions(self):
        flow, ratio = place(84000, 0.5)
        printed, = self.ask(self.map, "--flow", repr(flow), "--pressure-ratio", repr(ratio))
        pounds, = self.ask(self.map, "--flow", f"{flow * 60 / 0.45359237!r} lb/min", "--pressure-ratio", repr(ratio))
        self.assertAlmostEqual(printed["speed"], pounds["speed"], delta=0.01)
        # The same physical point corrected to the standard day: flow is 1 / 0.970475 times as large (square root of the temperatures over the pressures).
        standard, = self.ask(self.map, "--flow", repr(flow / 0.970475), "--pressure-ratio", repr(ratio), "--reference", "288.15 K, 101.325 kPa")
        self.assertAlmostEqual(printed["speed"], standard["speed"], delta=1)

    def test_a_table_of_points(self):
        flow, ratio = place(84000, 0.5)
        points = self.write("points.csv", f"flow [kg/h],pressure_ratio\r\n{flow * 3600!r},{ratio!r}\r\n{flow * 360!r},{ratio!r}\r\n")
        answers = self.ask(self.map, "--points", points, code=4)
        self.assertEqual(["on_map", "left_of_surge"], [answer["region"] for answer in answers])
        self.assertAlmostEqual(84000, answers[0]["speed"], delta=20)
        self.assertIsNone(answers[1]["speed"])
        self.assertLess(answers[1]["surge_margin"], 0)
        self.assertIn("left of the surge line", answers[1]["reason"])

    def test_bad_lines_are_named_and_the_rest_is_answered(self):
        flow, ratio = place(84000, 0.5)
        points = self.write("points.csv", f"flow,pressure_ratio\n{flow!r},{ratio!r}\nx,2\n")
        done = self.islebook("ask", self.map, "--points", points, "--json", code=1)
        answers = json.loads(done.stdout)
        self.assertAlmostEqual(84000, answers[0]["speed"], delta=20)
        self.assertIsNone(answers[1]["speed"])
        self.assertIn("line 3", answers[1]["reason"])
        self.assertIn("line 3", done.stderr)
        done = self.islebook("ask", self.map, "--points", self.write("bad.csv", "flow,pressure_ratio\n\"0.1,2\n"), code=1)
        self.assertIn("line 2", done.stderr)

    def test_answers_as_csv_can_be_asked_again(self):
        flow, ratio = place(84000, 0.5)
        points = self.write("points.csv", f"flow [kg/h],pressure_ratio\r\n{flow * 3600!r},{ratio!r}\r\n{flow * 360!r},{ratio!r}\r\n")
        text = self.islebook("ask", self.map, "--points", points, "--csv", code=4).stdout
        rows = list(csv.DictReader(io.StringIO(text, newline="")))
        as_json = self.ask(self.map, "--points", points, code=4)
        self.assertEqual([answer["speed"] for answer in as_json], [float(row["speed [rpm]"]) if row["speed [rpm]"] else None for row in rows])
        self.assertEqual(["true", "false"], [row["inside"] for row in rows])
        self.assertEqual(as_json[1]["reason"], rows[1]["reason"])
        self.assertEqual(2, self.islebook("ask", self.map, "--points", points, "--csv", "--json", code=2).returncode)
        again = self.write("again.csv", "\n".join(",".join(line.split(",")[:2]) for line in text.splitlines()[:2]) + "\n")
        self.assertEqual(rows[0]["speed [rpm]"], next(csv.DictReader(io.StringIO(self.islebook("ask", self.map, "--points", again, "--csv").stdout)))["speed [rpm]"])

    @unittest.skipIf(os.environ.get("ISLEBOOK_SANITIZED") == "1", "under a sanitizer memory is no measure")
    def test_a_table_of_any_size_in_little_memory(self):
        """Three hundred thousand points through a pipe: answered in order, and never held whole."""
        count, (flow, ratio) = 300000, place(84000, 0.5)
        for form in ("--csv", "--json", "--quiet"):
            with open(os.path.join(self.folder, "out"), "wb") as out:
                process = subprocess.Popen([ISLEBOOK, "ask", self.map, "--points", "-", form], stdin=subprocess.PIPE, stdout=out, env=self.environment, cwd=self.folder)
                with process.stdin as pipe:
                    pipe.write(b"flow,pressure_ratio\n")
                    for start in range(0, count, 10000):
                        pipe.write("".join(f"{flow * (1 + 1e-7 * i):.9f},{ratio!r}\n" for i in range(start, start + 10000)).encode())
                    pipe.flush()
                    with open(f"/proc/{process.pid}/status", encoding="ascii") as status:
                        highest = next(int(line.split()[1]) for line in status if line.startswith("VmHWM"))
                self.assertEqual(0, process.wait(60))
            self.assertLess(highest, 120 * 1024)  # kilobytes
            with open(os.path.join(self.folder, "out"), encoding="utf-8") as out:
                lines = out.read().split("\n")
            if form == "--json":
                answers = json.loads("\n".join(lines))
                self.assertEqual(count, len(answers))
                self.assertEqual(sorted(answer["flow"] for answer in answers), [answer["flow"] for answer in answers])
            else:
                self.assertGreater(len(lines), count)

    def test_a_quote_that_never_closes_after_good_lines(self):
        flow, ratio = place(84000, 0.5)
        points = self.write("points.csv", f"flow,pressure_ratio\n{flow!r},{ratio!r}\n\"0.2,2\n0.2,2\n")
        done = self.islebook("ask", self.map, "--points", points, "--json", code=1)
        self.assertEqual(1, len(json.loads(done.stdout)))
        self.assertIn("points.csv, line 3: a quoted field is not closed", done.stderr)

    def test_many_bad_lines_are_counted_not_all_named(self):
        points = self.write("points.csv", "flow,pressure_ratio\n" + "x,2\n" * 500)
        done = self.islebook("ask", self.map, "--points", points, "--json", code=1)
        self.assertEqual(500, len(json.loads(done.stdout)))
        self.assertEqual(21, done.stderr.count("\n"))
        self.assertIn("480 further points", done.stderr)

    def test_it_starts_without_the_heavy_libraries(self):
        needed = subprocess.run(["ldd", ISLEBOOK], check=True, capture_output=True, text=True).stdout
        self.assertIsNone(re.search(r"opencv|Qt\d|tesseract|lept|ceres", needed), needed)

    def test_every_region(self):
        middle_surge, top, bottom, choke = place(84000, 0), place(TOP, 0.5), place(SPEEDS[0], 0.5), place(84000, 1)
        cases = {"left_of_surge": (0.8 * middle_surge[0], middle_surge[1]), "over_speed": (top[0], 1.05 * top[1]), "under_speed": (bottom[0], 1 + 0.9 * (bottom[1] - 1)),
                 "past_choke": (1.05 * choke[0], 1 + 0.6 * (choke[1] - 1))}
        for region, (flow, ratio) in cases.items():
            answer, = self.ask(self.map, "--flow", repr(flow), "--pressure-ratio", repr(ratio), code=4)
            self.assertEqual(region, answer["region"])
            self.assertFalse(answer["inside"])
            self.assertIsNone(answer["speed"])
            self.assertTrue(answer["reason"])

    def test_margins_by_name(self):
        flow, ratio = place(84000, 0.5)
        surge_flow, surge_ratio = place(84000, 0)
        for name, value in {"flow": 1 - surge_flow / flow, "flow-over-surge-flow": flow / surge_flow - 1, "pressure-ratio": surge_ratio / ratio - 1}.items():
            answer, = self.ask(self.map, "--flow", repr(flow), "--pressure-ratio", repr(ratio), "--surge-margin", name)
            self.assertEqual(name, answer["surge_margin_definition"])
            self.assertAlmostEqual(value, answer["surge_margin"], delta=0.002)
        self.assertIn("constant-flow", self.islebook("ask", self.map, "--flow", "0.2", "--pressure-ratio", "2", "--surge-margin", "mine", code=2).stderr)

    def test_text_for_people(self):
        flow, ratio = place(84000, 0.5)
        text = self.islebook("ask", self.map, "--flow", repr(flow), "--pressure-ratio", repr(ratio)).stdout
        self.assertIn("on the map", text)
        self.assertIn("±", text)
        self.assertIn("constant corrected speed", text)
        self.assertIn("298 K and 100 kPa", text)
        self.assertNotIn("nan", text)

    def test_a_turbine(self):
        answer, = self.ask(self.turbine, "--expansion-ratio", "2", "--vane-opening", "50")
        self.assertAlmostEqual(0.0005 * 70 * math.sqrt(1 - 2 ** -2), answer["flow"], delta=1e-4)
        self.assertAlmostEqual(0.6, answer["efficiency"], delta=1e-3)
        self.assertEqual(50, answer["vane_opening"])
        self.assertTrue(answer["inside"])
        answer, = self.ask(self.turbine, "--expansion-ratio", "2", "--flow", repr(0.0005 * 70 * math.sqrt(0.75)))
        self.assertAlmostEqual(50, answer["vane_opening"], delta=0.3)
        answer, = self.ask(self.turbine, "--expansion-ratio", "2", "--vane-opening", "10", code=4)
        self.assertIsNone(answer["flow"])
        self.assertIn("outside the labeled lines", answer["reason"])
        answer, = self.ask(self.turbine, "--expansion-ratio", "2", "--speed", "50000", code=1)
        self.assertIn("not labeled with speeds", answer["reason"])

    def test_questions_for_the_other_kind(self):
        self.assertIn("no surge margin", self.islebook("ask", self.turbine, "--expansion-ratio", "2", "--vane-opening", "50", "--surge-margin", "flow", code=1).stderr)
        self.assertIn("expansion ratio", self.islebook("ask", self.turbine, "--flow", "0.03", "--pressure-ratio", "2", code=1).stderr)
        self.assertIn("compressor map", self.islebook("ask", self.map, "--expansion-ratio", "2", "--speed", "90000", code=1).stderr)

    def test_wrong_command_lines(self):
        for arguments in ([], [self.map], [self.map, "--flow", "0.2"], [self.map, "--flow", "0.2", "--pressure-ratio", "2", "--speed", "90000"],
                          [self.map, "--flow", "0.2 parsec", "--pressure-ratio", "2"], [self.map, "--flow", "0.2 bar", "--pressure-ratio", "2"],
                          [self.map, "--flow", "lots", "--pressure-ratio", "2"], [self.map, "--points", "x.csv", "--flow", "1"],
                          [self.map, "--flow", "0.2", "--pressure-ratio", "2", "--reference", "warm"]):
            done = self.islebook("ask", *arguments, code=2)
            self.assertEqual("", done.stdout)
            self.assertEqual(1, done.stderr.count("\n"), done.stderr)

    def test_files_that_are_not_there_or_no_maps(self):
        self.assertIn("nowhere.map.json", self.islebook("ask", "nowhere.map.json", "--flow", "0.2", "--pressure-ratio", "2", code=1).stderr)
        self.assertIn("nobody", self.islebook("ask", "nobody", "--flow", "0.2", "--pressure-ratio", "2", code=1).stderr)
        self.assertTrue(self.islebook("ask", self.write("junk.map.json", "{"), "--flow", "0.2", "--pressure-ratio", "2", code=1).stderr)
        empty = self.write("empty.map.json", json.dumps(document(None, {}, [], needs_review=["no chart was found"])))
        self.assertIn("no chart was found", self.islebook("ask", empty, "--flow", "0.2", "--pressure-ratio", "2", code=1).stderr)
        self.assertIn("missing.csv", self.islebook("ask", self.map, "--points", "missing.csv", code=1).stderr)
        for values in (["--flow", "-1", "--pressure-ratio", "2"], ["--flow", "0", "--pressure-ratio", "2"]):
            self.assertIn("not above zero", self.islebook("ask", self.map, *values, code=2).stderr)

    def test_a_map_that_asks_for_a_look(self):
        flow, ratio = place(84000, 0.5)
        doubtful = self.write("doubtful.map.json", json.dumps({**compressor(), "needs_review": ["the pressure ratio axis may be off"]}))
        text = self.islebook("ask", doubtful, "--flow", repr(flow), "--pressure-ratio", repr(ratio), code=4).stdout
        self.assertIn("the pressure ratio axis may be off", text)
        point = f"{flow!r},{ratio!r}\n"
        points = self.write("two.csv", "flow,pressure_ratio\n" + 2 * point)
        first, second = self.ask(doubtful, "--points", points, code=4)
        self.assertEqual(["the pressure ratio axis may be off"], first.pop("map_needs_review"))
        self.assertEqual(first, second)
        self.assertIn("the pressure ratio axis may be off", self.islebook("ask", doubtful, "--points", points, "--csv", code=4).stderr)

    def test_a_name_on_the_shelf(self):
        flow, ratio = place(84000, 0.5)
        self.islebook("shelf", "add", self.map, "--name", "Alder 52", "--author", "M. Tarn")
        answer, = self.ask("Alder 52", "--flow", repr(flow), "--pressure-ratio", repr(ratio))
        self.assertEqual(64, len(answer["revision"]))
        old, = self.ask("Alder 52@" + answer["revision"][:10], "--flow", repr(flow), "--pressure-ratio", repr(ratio))
        self.assertEqual(answer, old)
        for meant in ("alder-52", "ALDER_52", "alder 52@" + answer["revision"][:10]):
            self.assertEqual([answer], self.ask(meant, "--flow", repr(flow), "--pressure-ratio", repr(ratio)))
        self.islebook("shelf", "add", self.map, "--name", "alder 52", "--author", "M. Tarn")
        done = self.islebook("ask", "alder-52", "--flow", repr(flow), "--pressure-ratio", repr(ratio), code=1)
        self.assertIn('"Alder 52" or "alder 52"', done.stderr)

    def test_a_chart_with_the_points(self):
        flow, ratio = place(84000, 0.5)
        svg, png = os.path.join(self.folder, "c.svg"), os.path.join(self.folder, "c.png")
        self.islebook("ask", self.map, "--flow", repr(flow), "--pressure-ratio", repr(ratio), "--svg", svg, "--png", png)
        with open(svg, encoding="utf-8") as file:
            self.assertIn("<svg", file.read())
        with open(png, "rb") as file:
            self.assertEqual(b"\x89PNG", file.read(4))
        nowhere = os.path.join(self.folder, "no", "c.svg")
        self.assertTrue(self.islebook("ask", self.map, "--flow", repr(flow), "--pressure-ratio", repr(ratio), "--svg", nowhere, code=1).stderr)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
