#!/usr/bin/env python3
"""islebook bench through the built program: the sample cases on the sample maps, what it prints and draws, and what bad input gets.

Usage: bench_command_test.py ISLEBOOK SAMPLE_MAPS
"""
import csv
import json
import math
import os
import re
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree as ElementTree

ISLEBOOK, SAMPLE_MAPS = sys.argv[1:3]
CASES = os.path.join(SAMPLE_MAPS, "cases")


def document(wheel):
    """The map of a wheel as a perfect digitizer would have it, from the truth of one of its sheets."""
    folder = os.path.join(SAMPLE_MAPS, wheel)
    name = sorted(n for n in os.listdir(folder) if n.endswith(".truth.json"))[0]
    with open(os.path.join(folder, name), encoding="utf-8") as file:
        truth = json.load(file)
    reference = truth["reference_conditions"]
    return {"document": "performance-map", "schema": 1, "kind": truth["kind"], "title": truth["printed"]["title"], "axes": truth["axes"],
            "reference_conditions": dict(reference, basis="printed") if reference else None,
            "curves": [{"role": c["role"], "value": c["value"], "unit": c["unit"] or "", "closed": c["closed"], "points": c["points"], "points_px": c["points_px"],
                        "sigma": [[0.0, 0.0]] * len(c["points"]), "confidence": 1.0, "needs_review": False, "reasons": []} for c in truth["curves"]],
            "needs_review": []}


class BenchCommand(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.temporary = tempfile.TemporaryDirectory()
        cls.shelf = os.path.join(cls.temporary.name, "shelf.db")
        for wheel in ("birch-52", "larch-83", "rowan-64", "elm-58", "yew-70"):
            file = os.path.join(cls.temporary.name, wheel + ".map.json")
            with open(file, "w", encoding="utf-8") as out:
                json.dump(document(wheel), out)
            subprocess.run([ISLEBOOK, "shelf", "add", file, "--name", wheel, "--author", "test", "--shelf", cls.shelf], check=True, capture_output=True)

    @classmethod
    def tearDownClass(cls):
        cls.temporary.cleanup()

    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = folder.name

    def path(self, name):
        return os.path.join(self.folder, name)

    def case(self, text):
        with open(self.path("case.toml"), "w", encoding="utf-8") as file:
            file.write(text)
        return self.path("case.toml")

    def bench(self, *arguments, codes=(0, 4)):
        environment = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "QT_QPA_PLATFORM", "XDG_RUNTIME_DIR", "ISLEBOOK_SHELF")}
        done = subprocess.run([ISLEBOOK, "bench", *arguments, "--shelf", self.shelf], capture_output=True, text=True, env=environment, timeout=60, check=False)
        self.assertIn(done.returncode, codes, done.stderr + done.stdout)
        return done

    def small_case(self, **changes):
        keys = {"displacement": '"5.9 L"', "speed": '"2000 rpm"', "boost": '"1.1 bar"', "compressor": '"birch-52"', "more": "", "more_stage": ""}
        keys.update(changes)
        return self.case("[engine]\ndisplacement = {displacement}\nspeed = {speed}\nboost = {boost}\n{more}\n[[stage]]\ncompressor = {compressor}\n{more_stage}\n".format(**keys))

    def test_every_sample_case_is_worked_out(self):
        cases = sorted(n for n in os.listdir(CASES) if n.endswith(".toml"))
        self.assertGreaterEqual(len(cases), 2)
        for name in cases:
            report = json.loads(self.bench(os.path.join(CASES, name), "--json").stdout)
            self.assertTrue(report["points"])
            for point in report["points"]:
                self.assertNotIn("failure", point, point)
                inside = [stage["inside"] or stage["region"] == "under_speed" for stage in point["stages"]]
                self.assertIn(True, inside + [point["grade"] == "over"])

    def test_shafts_balance(self):
        """Turbine power less the bearings' share is compressor power; the exhaust is air and fuel; wastegate and vanes hold the target or say why not."""
        for name in ("lake-ferry-turbine.toml", "timber-hauler-turbines.toml"):
            report = json.loads(self.bench(os.path.join(CASES, name), "--json").stdout)
            for point in report["points"]:
                exhaust = point["exhaust"]
                self.assertAlmostEqual(exhaust["flow_kg_s"] / (point["air_flow_kg_s"] + point["fuel_flow_kg_s"]), 1, 9)
                for stage in point["stages"]:
                    turbine = stage["turbine"]
                    self.assertAlmostEqual(0.97 * turbine["power_W"] / stage["power_W"], 1, 7)
                    self.assertAlmostEqual((turbine["flow_kg_s"] + turbine["wastegate_flow_kg_s"]) / exhaust["flow_kg_s"], 1, 7)
                regulation = point["stages"][-1]["turbine"]["regulation"]
                if regulation == "holding":
                    self.assertAlmostEqual(exhaust["target_ratio"], 1, 6)
                else:
                    self.assertNotAlmostEqual(exhaust["target_ratio"], 1, 3)
                    self.assertIn("target", [v["what"] for v in point["verdicts"] if v["grade"] in ("close", "over")])
            self.assertIn("holding", [p["stages"][-1]["turbine"]["regulation"] for p in report["points"]])
        text = self.bench(os.path.join(CASES, "timber-hauler-turbines.toml")).stdout
        for words in ("Exhaust", "drive pressure", "Its turbine (effective area 17 cm2", "wastegate", "shaft"):
            self.assertIn(words, text)

    def test_a_table_for_a_spreadsheet(self):
        """One row a point and wheel; what each column is stands in the header; the numbers are the report's."""
        table = self.path("table.csv")
        report = json.loads(self.bench(os.path.join(CASES, "timber-hauler-turbines.toml"), "--json", "--csv", table).stdout)
        with open(table, encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        self.assertEqual([(point["name"], stage["name"]) for point in report["points"] for stage in point["stages"]], [(row["point"], row["wheel"]) for row in rows])
        stages = [stage for point in report["points"] for stage in point["stages"]]
        for row, stage in zip(rows, stages):
            self.assertEqual(stage["efficiency"], float(row["compressor_efficiency"]))
            self.assertEqual(stage["turbine"]["expansion_ratio"], float(row["turbine_expansion_ratio"]))
            self.assertAlmostEqual((stage["speed"] or 0) / 60, float(row["compressor_speed [rev/s]"] or 0), 6)  # off the map there is none
        for name in rows[0]:
            self.assertRegex(name, r"^(engine|compressor|turbine)_\w+( \[[^\]]+\])?$|^(point|wheel|grade|region|regulation|failure|needs_review)$")
        self.bench(os.path.join(CASES, "lake-ferry.toml"), "--csv", os.path.join(self.path("nowhere"), "table.csv"), codes=(1,))

    def assertNothingIsCut(self, pdf):
        """Every word stands within the margins of 15 mm."""
        boxes = subprocess.run(["pdftotext", "-bbox", pdf, "-"], capture_output=True, text=True, check=True).stdout
        page = 0.0
        for kind, first, last in re.findall(r'<(page|word) (?:width|xMin)="([\d.]+)".*?(?:height|xMax)="([\d.]+)"', boxes):
            if kind == "page":
                page = float(first)
            else:
                self.assertGreater(float(first), 40)
                self.assertLess(float(last), page - 40)
        self.assertGreater(page, 500)

    def test_report_for_a_customer(self):
        pdf = self.path("report.pdf")
        self.bench(os.path.join(CASES, "timber-hauler-turbines.toml"), "--pdf", pdf)
        text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
        pages = text.split("\f")
        self.assertGreaterEqual(len(pages) - 1, 4)
        for words in ("Timber hauler, Larch 83 and Rowan 64", "long grade, sea level", "drive pressure", "Boost and drive pressure over engine speed", "Engine speed, rpm", "boost, 6,000 ft",
                      "Verdicts", "Graded by", "Left out in the case and taken as", "Cautions", "a wheel that bursts throws fragments", "its turbine"):
            self.assertIn(words, text)
        for number, page in enumerate(pages[:-1], 1):
            self.assertRegex(page.strip().splitlines()[-1], r"timber-hauler-turbines\.toml\s+%d$" % number)
        self.assertNothingIsCut(pdf)
        for words in ("shaft", "power", "choke margin"):
            self.assertIn(words, text)
        # In SI, over more points, the columns are wider; what every point has in common is said once.
        points = 'speed = ["1000 rpm", "1400 rpm", "1800 rpm", "2200 rpm"]\naltitude = ["0 m", "1200 m", "2200 m"]\nboost = "1.9 bar"\n'
        self.bench(self.case('[engine]\ndisplacement = "9.6 L"\nair_fuel_ratio = 25\n[[stage]]\nname = "large"\ncompressor = "larch-83"\nturbine_effective_area = "14 cm2"\n'
                             '[[stage]]\nname = "small"\ncompressor = "rowan-64"\nturbine = "elm-58"\nwastegate_diameter = "30 mm"\n[[point]]\n' + points), "--pdf", pdf)
        self.assertNothingIsCut(pdf)
        text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
        self.assertEqual(len(re.findall(r"the turbine runs beyond the lines of its map", text)), 1)
        # Many points make long tables: nothing is lost at a page's end.
        points = "".join('[[point]]\nname = "point %d"\nspeed = "%d rpm"\n' % (i, 1000 + 10 * i) for i in range(120))
        self.bench(self.case('[engine]\ndisplacement = "5.9 L"\nboost = "1 bar"\n[[stage]]\ncompressor = "birch-52"\n' + points), "--pdf", pdf)
        text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
        for i in range(120):
            self.assertGreaterEqual(len(re.findall(r"\bpoint %d\b" % i, text)), 3, i)
        done = self.bench(os.path.join(CASES, "lake-ferry.toml"), "--pdf", self.path("no/such/folder/r.pdf"), codes=(1,))
        self.assertIn("cannot be written", done.stderr)

    def test_what_to_change_first(self):
        case = os.path.join(CASES, "timber-hauler-turbines.toml")
        done = self.bench(case, "--what-first", "low-speed", "--point", "long grade, sea level", "--json", codes=(0,))
        found = json.loads(done.stdout)
        self.assertEqual((found["document"], found["goal"], found["point"]), ("bench-changes", "low-speed", "long grade, sea level"))
        gains = [c["gain"] for c in found["changes"] if c["gain"] is not None]
        self.assertGreater(len(gains), 5)
        self.assertGreater(max(gains), 0)
        self.assertLess(min(gains), 0)
        words = " ".join(c["words"] for c in found["changes"])
        for part in ("wastegate port", "cooler of", "turbine one size up", "yew-70 instead of elm-58", "birch-52 instead of rowan-64"):
            self.assertIn(part, words)
        text = self.bench(case, "--what-first", "drive-ratio", "--point", "3", codes=(0,)).stdout
        self.assertIn("What to change first: drive pressure over boost, at long grade, sea level", text)
        self.assertIn("there is no goal", self.bench(case, "--what-first", "torque", codes=(2,)).stderr)
        self.assertIn("the case has no point", self.bench(case, "--what-first", "power", "--point", "idle", codes=(2,)).stderr)

    def test_turbines_that_do_not_fit_are_refused(self):
        for more, words in (('turbine = "birch-52"', "wants a turbine map"), ('turbine = "oak-999"', "oak-999"), ('turbine = "yew-70"\nvane_opening = "99 %"', "outside the lines"),
                            ('turbine = "elm-58"\nvane_opening = "40 %"', "not labeled with openings"), ('wastegate_diameter = "20 mm"', "belongs to a turbine")):
            done = self.bench(self.small_case(more_stage=more), codes=(1,))
            self.assertIn(words, done.stderr)
            self.assertIn("line", done.stderr)

    def test_numbers_hang_together(self):
        """Formulas of the published README, section 1.1 and 4.4, on what the report says."""
        report = json.loads(self.bench(os.path.join(CASES, "timber-hauler.toml"), "--json").stdout)
        for point in report["points"]:
            for stage, chart in zip(point["stages"], report["maps"]):
                reference = chart["reference_conditions"]
                corrected = stage["flow_kg_s"] * math.sqrt(stage["inlet_K"] / reference["temperature_K"]) / (stage["inlet_Pa"] / reference["pressure_Pa"])
                self.assertAlmostEqual(stage["corrected_flow_kg_s"] / corrected, 1, 9)
                self.assertAlmostEqual(stage["speed"] / stage["corrected_speed"], math.sqrt(stage["inlet_K"] / reference["temperature_K"]), 9)
                self.assertAlmostEqual(stage["outlet_Pa"] / stage["inlet_Pa"], stage["pressure_ratio"], 9)
                # Constant heat capacity is off by little here: 3 K.
                rise = stage["inlet_K"] * (stage["pressure_ratio"] ** (0.4 / 1.4) - 1) / stage["efficiency"]
                self.assertAlmostEqual(stage["outlet_K"], stage["inlet_K"] + rise, delta=4)
            air = 0.91 * 6 * 130 * 1.6387064e-5 * point["engine_speed_rev_s"] / 2 * point["manifold_Pa"] / (287.05 * point["manifold_K"])
            self.assertAlmostEqual(point["air_flow_kg_s"] / air, 1, 4)
        # In the mountains the points stand further right and higher.
        low, high = report["points"][2], report["points"][3]
        self.assertGreater(high["stages"][0]["corrected_flow_kg_s"], 1.1 * low["stages"][0]["corrected_flow_kg_s"])
        self.assertGreater(high["overall_pressure_ratio"], low["overall_pressure_ratio"])

    def test_text_begins_with_the_most_important_thing(self):
        done = self.bench(os.path.join(CASES, "lake-ferry.toml"))
        self.assertRegex(done.stdout.splitlines()[0], r"^(Room everywhere|Close|Over|The map does not say)\b.* at ")
        for words in ("Left out in the case file and taken as", "relative_humidity", "Verdicts", "Graded by", "Cautions", "maker's speed limit", "Surge margin:"):
            self.assertIn(words, done.stdout)

    def test_exit_code_says_whether_a_person_should_look(self):
        calm = self.bench(self.small_case(), codes=(0,))
        self.assertTrue(calm.stdout.startswith("Room everywhere"), calm.stdout)
        self.bench(self.small_case(boost='"3.2 bar"'), codes=(4,))
        done = self.bench(self.small_case(boost='"-0.3 bar"'), codes=(1,))
        self.assertIn("without a compressor", done.stderr)

    def test_the_limit_on_record_stands_where_the_case_gives_none(self):
        def verdict(case):
            report = json.loads(self.bench(case, "--json").stdout)
            return report, next(v for v in report["points"][0]["stages"][0]["verdicts"] if v["what"] == "speed")
        report, without = verdict(self.small_case())
        speed = report["points"][0]["stages"][0]["speed"]
        self.assertEqual(without["grade"], "room")
        limit = str(round(0.9 * speed))
        record = ["shelf", "wheel", "birch-52", "--shelf", self.shelf]
        subprocess.run([ISLEBOOK, *record, "--speed-limit", limit], check=True, capture_output=True)
        self.addCleanup(subprocess.run, [ISLEBOOK, *record, "--speed-limit", "999999"], check=True, capture_output=True)
        report, over = verdict(self.small_case())
        self.assertEqual(over["grade"], "over")
        self.assertIn("stage 1.speed_limit", [value["key"] for value in report["assumed"]])
        report, given = verdict(self.small_case(more_stage='speed_limit = "%d rpm"' % (2 * speed)))
        self.assertEqual(given["grade"], "room")
        self.assertNotIn("stage 1.speed_limit", [value["key"] for value in report["assumed"]])

    def test_draws_each_stage(self):
        svg, png = self.path("hauler.svg"), self.path("hauler.png")
        self.bench(os.path.join(CASES, "timber-hauler.toml"), "--svg", svg, "--png", png)
        for file, wheel in ((svg, "Larch 83"), (self.path("hauler-2.svg"), "Rowan 64")):
            texts = " ".join(e.text or "" for e in ElementTree.parse(file).iter("{http://www.w3.org/2000/svg}text"))
            self.assertIn(wheel, texts)
            self.assertIn("6,000 ft", texts)
        for file in (png, self.path("hauler-2.png")):
            with open(file, "rb") as out:
                self.assertEqual(out.read(8), b"\x89PNG\r\n\x1a\n")
        self.bench(self.small_case(), "--pdf", self.path("chart.pdf"))
        with open(self.path("chart.pdf"), "rb") as out:
            self.assertEqual(out.read(5), b"%PDF-")

    def test_a_map_beside_the_case(self):
        with open(self.path("mine.map.json"), "w", encoding="utf-8") as out:
            json.dump(document("birch-52"), out)
        by_file = json.loads(self.bench(self.small_case(compressor='"mine.map.json"'), "--json").stdout)
        by_name = json.loads(self.bench(self.small_case(), "--json").stdout)
        self.assertEqual(by_file["points"][0]["stages"][0]["speed"], by_name["points"][0]["stages"][0]["speed"])
        self.assertIsNone(by_file["maps"][0]["revision"])
        self.assertRegex(by_name["maps"][0]["revision"], r"^[0-9a-f]{64}$")

    def test_surge_margin_by_name(self):
        case = self.small_case()
        default = json.loads(self.bench(case, "--json").stdout)["points"][0]["stages"][0]["surge_margin"]
        other = json.loads(self.bench(case, "--json", "--surge-margin", "constant-pressure-ratio").stdout)
        self.assertNotAlmostEqual(other["points"][0]["stages"][0]["surge_margin"], default, 3)
        self.assertIn("constant pressure ratio", other["maps"][0]["surge_margin_definition"])
        done = self.bench(case, "--surge-margin", "lucky", codes=(2,))
        self.assertIn("constant-speed", done.stderr)

    def test_mistakes_name_their_line(self):
        plain = json.loads(json.dumps(document("birch-52")))
        plain["curves"] = [c for c in plain["curves"] if c["role"] != "efficiency_island"]
        with open(self.path("plain.map.json"), "w", encoding="utf-8") as out:
            json.dump(plain, out)
        for changes, line, words in (
                ({"displacement": '"0 L"'}, 2, "above 0"),
                ({"displacement": "5.9"}, 2, "no unit"),
                ({"boost": '"2.1 bar absolute"'}, 4, "manifold_pressure"),
                ({"more": 'manifold_pressure = "2.1 bar"'}, 5, "contradict"),
                ({"more": '[ambient]\naltitude = "40 km"'}, 6, "9,000 m"),
                ({"more": 'displacment = "5 L"'}, 5, "did you mean displacement"),
                ({"compressor": '"nowhere.map.json"'}, 7, "no map file"),
                ({"compressor": '"nowhere"'}, 7, "nowhere"),
                ({"compressor": '"yew-70"'}, 7, "turbine map"),
                ({"compressor": '"plain.map.json"'}, 7, "assumed_efficiency"),
                ({"compressor": '"plain.map.json"', "more_stage": 'speed_limit = "400 m/s"'}, 7, "assumed_efficiency")):
            done = self.bench(self.small_case(**changes), codes=(1,))
            self.assertEqual(len(done.stderr.strip().splitlines()), 1, done.stderr)
            self.assertRegex(done.stderr, r"case\.toml, line {}\b".format(line))
            self.assertIn(words, done.stderr)
            self.assertEqual(done.stdout, "")
        done = self.bench(self.path("absent.toml"), codes=(1,))
        self.assertIn("absent.toml", done.stderr)
        error = json.loads(self.bench(self.small_case(displacement='"0 L"'), "--json", codes=(1,)).stdout)
        self.assertIn("displacement", error["error"]["message"])
        self.bench(codes=(2,))

    def test_a_chart_that_cannot_be_written(self):
        done = self.bench(self.small_case(), "--svg", self.path("no/such/folder/chart.svg"), codes=(1,))
        self.assertIn("chart", done.stderr)
        self.assertTrue(done.stdout)  # the report is still given

    def test_every_documented_key_is_known(self):
        """The page beside the bench and the program agree on the keys."""
        page = os.path.join(SAMPLE_MAPS, "..", "mapstore", "bench", "CASE_FILE.md")
        with open(page, encoding="utf-8") as file:
            text = file.read()
        done = self.bench(self.small_case(more="zzzzzzzzzzzzzzzzzzzz = 1"), codes=(1,))
        known = re.search(r"known are ([^.]*)\.", done.stderr).group(1).split(", ")
        for key in known:
            if key != "name":
                self.assertIn("`{}`".format(key), text)


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0]])
