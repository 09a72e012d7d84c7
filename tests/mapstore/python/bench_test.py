#!/usr/bin/env python3
"""The bench of the Python module, with numpy and without. Usage: bench_test.py MAPS with|without"""
import array
import math
import os
import sys
import tempfile
import threading
import unittest

MAPS, WITH_NUMPY = sys.argv[1], sys.argv[2] == "with"
if WITH_NUMPY:
    import numpy
else:
    sys.modules["numpy"] = None  # as where it is not installed

import islebook  # noqa: E402  pylint: disable=wrong-import-position

CASE = """title = "Timber hauler"
[engine]
displacement = "5.9 L"
speed = ["1400 rpm", "1800 rpm", "2200 rpm"]
boost = "0.8 bar"
[[stage]]
name = "first"
compressor = "alder"
[[stage]]
name = "second"
compressor = "compressor.map.json"
"""


class Bench(unittest.TestCase):
    def setUp(self):
        self.alder = islebook.open(os.path.join(MAPS, "compressor.map.json"))
        self.addCleanup(self.alder.close)

    def open(self, text=CASE, **more):
        bench = islebook.open_bench_text(text, **{"maps": {"alder": self.alder}, "folder": MAPS, **more})
        self.addCleanup(bench.close)
        return bench

    def test_facts(self):
        bench = self.open()
        self.assertEqual(("Timber hauler", ("first", "second"), ("1,400 rpm", "1,800 rpm", "2,200 rpm"), ("", "", ""), 6), (bench.title, bench.stages, bench.points, bench.failures, bench.rows))
        self.assertIn(bench.grade, ("room", "unknown", "close", "over"))
        self.assertFalse(bench.has_turbines)
        self.assertEqual(bench.summary, bench.report["summary"]["words"])
        self.assertIn("Timber hauler", repr(bench))
        self.assertIn(islebook.BenchColumn("compressor", "surge_margin", "1"), bench.columns)
        self.assertTrue(bench.csv.startswith("point,wheel,engine_speed [rev/s],"))

    def test_arrays(self):
        bench = self.open()
        ratios = bench.values("compressor", "pressure_ratio")
        self.assertIsInstance(ratios, numpy.ndarray if WITH_NUMPY else array.array)
        self.assertEqual(6, len(ratios))
        overall = bench.values("engine", "pressure_ratio")
        for point in range(3):
            # Pressure ratios multiply; between the stages stands a loss.
            self.assertGreater(ratios[2 * point] * ratios[2 * point + 1], overall[2 * point])
            self.assertEqual(overall[2 * point], overall[2 * point + 1])
        self.assertTrue(all(math.isnan(value) for value in bench.values("turbine", "power")))
        with self.assertRaises(islebook.NotFoundError):
            bench.values("turbine", "fame")

    def test_files_and_where_maps_are(self):
        with tempfile.TemporaryDirectory() as folder:
            path = os.path.join(folder, "case.toml")
            with open(path, "w", encoding="utf-8") as file:
                file.write(CASE)
            with self.assertRaises(islebook.NotFoundError) as caught:
                islebook.open_bench(path, maps={"alder": self.alder})
            self.assertIn("case.toml, line 11", caught.exception.place)
            with islebook.open_bench(path, maps={"alder": self.alder}, folder=MAPS) as bench:
                self.assertEqual(self.open().csv, bench.csv)
                self.assertEqual("case.toml", bench.report["case"])
            with islebook.open_bench(path, maps={"alder": self.alder, "compressor.map.json": self.alder}, surge_margin="flow") as bench:
                self.assertNotEqual(self.open().values("compressor", "surge_margin")[0], bench.values("compressor", "surge_margin")[0])
        with self.assertRaisesRegex(islebook.IslebookError, "no such case.toml"):
            islebook.open_bench("no such case.toml")
        with self.assertRaises(islebook.NotFoundError):
            self.open(folder=None)

    def test_bad_cases_name_their_line(self):
        for text, line in ((CASE.replace('"5.9 L"', "5.9"), "line 3"), (CASE.replace("boost", "bost"), "line 5"), (CASE + "[[", "line 12"),
                           (CASE.replace('"0.8 bar"', '"2 bar absolute"'), "line 5"), (b"\xff\xfe", ""), ("", "")):
            with self.assertRaises(islebook.IslebookError) as caught:
                self.open(text)
            self.assertIn(line, caught.exception.place)
            self.assertEqual(3200, caught.exception.code)
        with self.assertRaises(islebook.IslebookError):
            self.open(surge_margin="mine")

    def test_what_to_change_first(self):
        changes = self.open().changes("altitude", "2")
        self.assertEqual(("bench-changes", "altitude", "1,800 rpm"), (changes["document"], changes["goal"], changes["point"]))
        self.assertTrue({"compressor", "cooler", "split"} <= {change["element"] for change in changes["changes"]})
        for goal, point in (("fame", None), ("power", None), ("drive-ratio", None), ("altitude", "9")):
            with self.assertRaises(islebook.IslebookError):
                self.open().changes(goal, point)

    def test_threads_share_a_bench(self):
        bench = self.open()
        expected, wrong = list(bench.values("compressor", "efficiency")), []

        def work():
            for _ in range(100):
                if list(bench.values("compressor", "efficiency")) != expected:
                    wrong.append(1)
        threads = [threading.Thread(target=work) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        self.assertEqual([], wrong)

    def test_closed_ones(self):
        bench = self.open()
        bench.close()
        bench.close()
        with self.assertRaises(ValueError):
            bench.values("engine", "speed")
        with self.assertRaises(TypeError):
            islebook.Bench()
        closed = islebook.open(os.path.join(MAPS, "compressor.map.json"))
        closed.close()
        with self.assertRaises(ValueError):
            self.open(maps={"alder": closed})


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
