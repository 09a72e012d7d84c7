#!/usr/bin/env python3
"""islebook chart through the built program: what it writes, what it says, and what bad input gets.

Usage: chart_command_test.py ISLEBOOK PAINT_MAPS
"""
import json
import os
import struct
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree as ElementTree

ISLEBOOK, PAINT_MAPS = sys.argv[1:3]


def document(truth):
    """A map document as a perfect digitizer would have made it, from a painted sheet's truth."""
    reference = truth["reference_conditions"]
    return {"document": "performance-map", "schema": 1, "kind": truth["kind"], "title": truth["printed"]["title"], "axes": truth["axes"],
            "reference_conditions": dict(reference, basis="printed") if reference else None,
            "curves": [{"role": c["role"], "value": c["value"], "unit": c["unit"] or "", "closed": c["closed"], "points": c["points"], "points_px": c["points_px"],
                        "sigma": [[0.0, 0.0]] * len(c["points"]), "confidence": 1.0, "needs_review": False, "reasons": []} for c in truth["curves"]],
            "needs_review": []}


class ChartCommand(unittest.TestCase):
    maps = {}

    @classmethod
    def setUpClass(cls):
        with tempfile.TemporaryDirectory() as folder:
            subprocess.run([PAINT_MAPS, "--out", folder, "--style", "ledger,tvane", "--seed", "33"], check=True, capture_output=True)
            for name in os.listdir(folder):
                if name.endswith(".truth.json"):
                    with open(os.path.join(folder, name), encoding="utf-8") as file:
                        truth = json.load(file)
                    cls.maps[truth["style"]] = document(truth)

    def setUp(self):
        temporary = tempfile.TemporaryDirectory()
        self.addCleanup(temporary.cleanup)
        self.folder = temporary.name
        self.compressor = self.write("compressor.map.json", json.dumps(self.maps["ledger"]))
        self.turbine = self.write("turbine.map.json", json.dumps(self.maps["tvane"]))

    def path(self, name):
        return os.path.join(self.folder, name)

    def write(self, name, text):
        with open(self.path(name), "w", encoding="utf-8") as file:
            file.write(text)
        return self.path(name)

    def test_several_maps_on_common_axes_say_what_was_converted(self):
        other = dict(self.maps["ledger"])
        factor = 2.20462262184878 * 60  # kg/s in lb/min: the pound of 0.45359237 kg (international yard and pound agreement, 1959)
        other["axes"] = json.loads(json.dumps(other["axes"]))
        self.assertEqual(other["axes"]["x"]["unit"], "kg/s")
        other["axes"]["x"].update(unit="lb/min", min=other["axes"]["x"]["min"] * factor, max=other["axes"]["x"]["max"] * factor)
        other["curves"] = [dict(c, points=[[x * factor, y] for x, y in c["points"]]) for c in other["curves"]]
        second = self.write("pounds.map.json", json.dumps(other))
        done = self.run_chart(self.compressor, "--with", second, "--svg", self.path("both.svg"), "--json")
        both = json.loads(done.stdout)
        self.assertEqual([m["letter"] for m in both["maps"]], ["A", "B"])
        self.assertAlmostEqual(both["maps"][1]["flow_factor"], 1 / factor, places=9)
        self.assertEqual(both["maps"][0]["converted"], [])
        self.assertIn("lb/min", " ".join(both["maps"][1]["converted"]))
        text = "".join(ElementTree.parse(self.path("both.svg")).getroot().itertext())
        self.assertIn("lb/min are drawn in kg/s", text)
        # Each surge line says whose it is.
        self.assertRegex(text, r"surge [AB]")
        self.assertNotRegex(text, r"surge(?! [AB])")

    def test_a_compressor_and_a_turbine_cannot_be_laid_over_each_other(self):
        done = self.run_chart(self.compressor, "--with", self.turbine, "--svg", self.path("both.svg"), code=1)
        self.assertIn("cannot be laid over each other", done.stderr)
        self.assertFalse(os.path.exists(self.path("both.svg")))

    def run_chart(self, *arguments, code=0):
        environment = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "QT_QPA_PLATFORM", "XDG_RUNTIME_DIR")}
        done = subprocess.run([ISLEBOOK, "chart", *arguments], capture_output=True, text=True, env=environment, timeout=60, check=False)
        self.assertEqual(done.returncode, code, done.stderr + done.stdout)
        return done

    def a_point_inside(self):
        """The middle of a middle speed line lies on the map."""
        lines = [c for c in self.maps["ledger"]["curves"] if c["role"] == "speed_line"]
        points = lines[len(lines) // 2]["points"]
        return points[len(points) // 2], lines[len(lines) // 2]["value"]

    def test_writes_svg_png_and_pdf_without_a_screen(self):
        svg, png, pdf = self.path("a.svg"), self.path("a.png"), self.path("a.pdf")
        done = self.run_chart(self.compressor, "--svg", svg, "--png", png, "--pdf", pdf)
        self.assertEqual(done.stderr, "")
        texts = [e.text for e in ElementTree.parse(svg).iter("{http://www.w3.org/2000/svg}text")]
        self.assertIn(self.maps["ledger"]["title"], texts)
        self.assertIn("surge", texts)
        with open(png, "rb") as file:
            head = file.read(24)
        self.assertEqual(head[:8], b"\x89PNG\r\n\x1a\n")
        self.assertEqual(struct.unpack(">II", head[16:24]), (1600, 1180))
        with open(pdf, "rb") as file:
            self.assertEqual(file.read(5), b"%PDF-")

    def test_points_are_placed_and_told(self):
        (flow, ratio), speed = self.a_point_inside()
        points = self.write("points.csv", f"flow,pressure_ratio\n{flow},{ratio}\n{flow / 20},{ratio}\n")
        done = self.run_chart(self.compressor, "--points", points, "--svg", self.path("a.svg"), "--json", code=4)  # 4: one point lies off the map
        answer = json.loads(done.stdout)
        self.assertEqual([p["off_map"] for p in answer["points"]], [False, True])
        self.assertIn("left of surge", answer["points"][1]["words"])
        told = float(answer["points"][0]["words"].split(": ")[1].split(" rpm")[0].replace(",", ""))
        self.assertAlmostEqual(told / speed, 1, delta=0.003)

    def test_turbine_points(self):
        line = next(c for c in self.maps["tvane"]["curves"] if c["role"] == "flow_line")
        ratio, flow = line["points"][len(line["points"]) // 2]
        points = self.write("points.csv", f"expansion_ratio,flow\n{ratio},{flow * 1.02}\n")
        answer = json.loads(self.run_chart(self.turbine, "--points", points, "--png", self.path("a.png"), "--json").stdout)
        self.assertFalse(answer["points"][0]["off_map"])
        self.assertIn("efficiency", answer["points"][0]["words"])

    def test_doubts_end_with_4(self):
        doubted = dict(self.maps["ledger"], needs_review=["The flow axis has no unit."])
        done = self.run_chart(self.write("d.map.json", json.dumps(doubted)), "--svg", self.path("a.svg"), code=4)
        self.assertIn("1 doubt about this map", done.stdout)
        with open(self.path("a.svg"), encoding="utf-8") as file:
            self.assertIn("The flow axis has no unit.", file.read())

    def test_bad_lines_are_named_and_the_rest_is_drawn(self):
        (flow, ratio), _ = self.a_point_inside()
        points = self.write("points.csv", f"flow,pressure_ratio\n{flow},{ratio}\nmany,2\n")
        done = self.run_chart(self.compressor, "--points", points, "--svg", self.path("a.svg"), code=1)
        self.assertIn("line 3", done.stderr)
        self.assertTrue(os.path.exists(self.path("a.svg")))

    def test_refusals(self):
        self.assertIn("--svg", self.run_chart(self.compressor, code=2).stderr)
        self.run_chart(code=2)
        self.assertIn("nowhere.map.json", self.run_chart(self.path("nowhere.map.json"), "--svg", self.path("a.svg"), code=1).stderr)
        done = self.run_chart(self.compressor, "--svg", self.path("no/such/folder/a.svg"), code=1)
        self.assertEqual(done.stderr.count("\n"), 1, done.stderr)
        self.assertIn("no/such/folder/a.svg", done.stderr)
        done = self.run_chart(self.compressor, "--points", self.write("p.csv", "speed [furlong]\n1\n"), "--svg", self.path("a.svg"), code=1)
        self.assertIn("p.csv", done.stderr)
        self.assertFalse(os.path.exists(self.path("a.svg")))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=2)
