#!/usr/bin/env python3
"""The Python module, with numpy and without. Usage: islebook_test.py MAPS with|without"""
import json
import math
import os
import sys
import threading
import unittest

MAPS, WITH_NUMPY = sys.argv[1], sys.argv[2] == "with"
if WITH_NUMPY:
    import numpy
else:
    sys.modules["numpy"] = None  # as where it is not installed

import islebook  # noqa: E402  pylint: disable=wrong-import-position


def path(name):
    return os.path.join(MAPS, name + ".map.json")


class Compressor(unittest.TestCase):
    def setUp(self):
        self.map = islebook.open(path("compressor"))
        self.addCleanup(self.map.close)
        self.middle = 0.5 * (self.map.lowest_line + self.map.highest_line)

    def on_line(self):
        """Points on the speed line in the middle."""
        points = [self.map.ask(speed=self.middle, pressure_ratio=1.1 + 0.05 * i) for i in range(60)]
        points = [point for point in points if point.inside]
        self.assertGreater(len(points), 3)
        return points

    def test_facts(self):
        self.assertEqual(("compressor", "kg/s", "rpm", "constant-speed", ""), (self.map.kind, self.map.flow_unit, self.map.speed_unit, self.map.surge_margin, self.map.revision))
        self.assertTrue(self.map.has_efficiency)
        self.assertEqual((), self.map.doubts)
        self.assertEqual('Alder 52, "trim" B', self.map.title)
        self.assertIn("compressor.map.json", repr(self.map))

    def test_there_and_back(self):
        for point in self.on_line():
            back = self.map.ask(flow=point.flow, pressure_ratio=point.pressure_ratio)
            self.assertAlmostEqual(self.middle, back.speed, delta=1e-6 * self.middle)
            self.assertGreater(back.sigma_speed, 0)
            self.assertEqual("on_map", back.region)
            # W_choke / W - 1 grows as flow falls.
            self.assertGreater(back.choke_margin, -1e-9)

    def test_slopes_are_those_of_the_answers(self):
        """Against central differences of the answers themselves."""
        for point in self.on_line()[1:-1]:
            slopes = self.map.slopes(flow=point.flow, pressure_ratio=point.pressure_ratio)
            step = 1e-4 * point.flow
            more, less = (self.map.ask(flow=point.flow + sign * step, pressure_ratio=point.pressure_ratio) for sign in (1, -1))
            if not (more.inside and less.inside):
                continue
            for name in ("speed", "surge_margin", "choke_margin", "map_width"):
                difference = (getattr(more, name) - getattr(less, name)) / (2 * step)
                self.assertAlmostEqual(difference, getattr(slopes, name).by_first, delta=1e-3 * abs(difference) + 1e-4)
            self.assertIsNone(slopes.flow)
        self.assertEqual((None,) * 9, tuple(self.map.slopes(flow=-1, pressure_ratio=2)))

    def test_slopes_of_a_turbine(self):
        with islebook.open(path("vanes")) as vanes:
            opening, step = 0.5 * (vanes.lowest_line + vanes.highest_line), 1e-4
            slopes = vanes.slopes(expansion_ratio=2.0, vane_opening=opening)
            more, less = (vanes.ask(expansion_ratio=2.0 + sign * step, vane_opening=opening) for sign in (1, -1))
            for name in ("flow", "efficiency"):
                difference = (getattr(more, name) - getattr(less, name)) / (2 * step)
                self.assertAlmostEqual(difference, getattr(slopes, name).by_first, delta=1e-2 * abs(difference) + 1e-6)
            self.assertIsNone(slopes.vane_opening)
            self.assertEqual((None,) * 9, tuple(vanes.slopes(flow=1, speed=2)))

    def test_edges(self):
        for point in self.on_line()[1:-1]:
            edges = self.map.edges(flow=point.flow, pressure_ratio=point.pressure_ratio)
            for way, sign in (("less_flow", -1), ("more_flow", 1)):
                edge = getattr(edges, way)
                self.assertAlmostEqual(point.flow + edge.change, edge.flow, places=12)
                inside, outside = (self.map.ask(flow=edge.flow + part * sign * 1e-4 * point.flow, pressure_ratio=point.pressure_ratio) for part in (-1, 1))
                self.assertTrue(inside.inside)
                self.assertEqual(edge.beyond, outside.region)
                self.assertGreater(edge.share + 1e-5, edges.nearest.share)
            self.assertAlmostEqual(self.map.highest_line, self.middle + edges.faster.change, delta=1e-6 * self.middle)
        self.assertIsNone(self.map.edges(flow=1e-6, pressure_ratio=2))
        with islebook.open(path("vanes")) as vanes, self.assertRaises(islebook.IslebookError):
            vanes.edges(flow=1, speed=2)

    def test_units_in_words(self):
        point = self.on_line()[2]
        # A pound is 0.45359237 kg exactly (international yard and pound agreement, 1959).
        pounds = self.map.ask(flow=f"{point.flow * 60 / 0.45359237!r} lb/min", pressure_ratio=point.pressure_ratio)
        self.assertAlmostEqual(self.middle, pounds.speed, delta=1e-5 * self.middle)
        self.assertAlmostEqual(0.45359237 / 60, self.map.unit_factor("flow", "lb/min"), places=14)

    def test_many_are_as_single_ones(self):
        points = self.on_line()
        columns = self.map.ask_many(flow=[point.flow for point in points] + [-1.0, math.nan, 1e-7], pressure_ratio=[point.pressure_ratio for point in points] + [2.0] * 3)
        for i, point in enumerate(points):
            single = self.map.ask(flow=point.flow, pressure_ratio=point.pressure_ratio)
            for name in ("flow", "speed", "efficiency", "surge_margin", "choke_margin", "sigma_speed", "sigma_efficiency"):
                value = getattr(single, name)
                if value is None:
                    self.assertTrue(math.isnan(getattr(columns, name)[i]))
                else:
                    self.assertEqual(value, getattr(columns, name)[i])
        self.assertEqual(["not_asked", "not_asked", "left_of_surge"], list(columns.region[-3:]))
        self.assertTrue(all(math.isnan(value) for value in columns.speed[-3:]))
        self.assertFalse(columns.inside[-1])

    def test_one_number_for_all_and_units_for_columns(self):
        points = self.on_line()
        flows = [point.flow for point in points]
        plain = self.map.ask_many(flow=flows, speed=self.middle)
        hours = self.map.ask_many(flow=[flow * 3600 for flow in flows], speed=self.middle / 1000, units={"flow": "kg/h", "speed": "krpm"})
        for one, two in zip(plain.pressure_ratio, hours.pressure_ratio):
            self.assertAlmostEqual(one, two, delta=1e-9)
        self.assertEqual(0, len(self.map.ask_many(flow=[], pressure_ratio=[]).speed))
        self.assertEqual(1, len(self.map.ask_many(flow=0.2, pressure_ratio=2).speed))

    @unittest.skipUnless(WITH_NUMPY, "numpy is away")
    def test_numpy_arrays(self):
        flows = numpy.linspace(0.05, 0.4, 5000, dtype=numpy.float32)[::2]
        answers = self.map.ask_many(flow=flows, pressure_ratio=numpy.full((50, 50), 2.0))
        self.assertIsInstance(answers.speed, numpy.ndarray)
        self.assertEqual((2500,), answers.speed.shape)
        self.assertEqual(numpy.isfinite(answers.speed).sum(), answers.inside.sum())
        at = int(numpy.flatnonzero(answers.inside)[0])
        self.assertEqual(answers.speed[at], self.map.ask_many(flow=[float(flows[at])], pressure_ratio=2).speed[0])

    @unittest.skipIf(WITH_NUMPY, "numpy is there")
    def test_works_without_numpy(self):
        with self.assertRaises(ImportError):
            import numpy as absent  # noqa: F401  pylint: disable=import-outside-toplevel,unused-import
        self.assertEqual("d", self.map.ask_many(flow=[0.2], pressure_ratio=2).speed.typecode)

    def test_questions_that_make_no_sense(self):
        for given in ({"flow": math.nan, "pressure_ratio": 2}, {"flow": math.inf, "pressure_ratio": 2}, {"flow": -0.1, "pressure_ratio": 2}, {"flow": 0.2}, {},
                      {"flow": 0.2, "pressure_ratio": 2, "speed": 90000}, {"expansion_ratio": 2, "flow": 0.2}):
            answer = self.map.ask(**given)
            self.assertEqual("not_asked", answer.region)
            self.assertIsNone(answer.speed)
            self.assertFalse(answer.inside)
            self.assertTrue(answer.reason)
        for wrong in ("3 parsec", "0.2 bar", "lots", ""):
            with self.assertRaises(islebook.IslebookError) as caught:
                self.map.ask(flow=wrong, pressure_ratio=2)
            self.assertTrue(str(caught.exception))
        with self.assertRaises(ValueError):
            self.map.ask_many(flow=[1, 2], pressure_ratio=[1, 2, 3])
        with self.assertRaises(ValueError):
            self.map.ask_many(flow=[1], pressure_ratio=2, units={"flaw": "kg/s"})

    def test_other_margins(self):
        point = self.on_line()[2]
        with islebook.open(path("compressor"), surge_margin="flow", sigma=False) as other:
            answer = other.ask(flow=point.flow, pressure_ratio=point.pressure_ratio)
            self.assertEqual("flow", other.surge_margin)
            self.assertNotEqual(point.surge_margin, answer.surge_margin)
            self.assertIsNone(answer.sigma_speed)
        with self.assertRaises(islebook.IslebookError):
            islebook.open(path("compressor"), surge_margin="mine")

    def test_threads_share_a_map(self):
        expected = self.map.ask(speed=self.middle, pressure_ratio=self.on_line()[1].pressure_ratio)
        wrong = []

        def work():
            for _ in range(200):
                if self.map.ask(speed=self.middle, pressure_ratio=expected.pressure_ratio) != expected:
                    wrong.append(1)
        threads = [threading.Thread(target=work) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        self.assertEqual([], wrong)

    def test_a_closed_map(self):
        closed = islebook.open(path("compressor"))
        closed.close()
        closed.close()
        with self.assertRaises(ValueError):
            closed.ask(flow=0.2, pressure_ratio=2)


class Others(unittest.TestCase):
    def test_two_answers_where_lines_cross(self):
        with islebook.open(path("folding")) as folding:
            flows = [0.02 + 0.004 * i for i in range(200)]
            for ratio in (1.4 + 0.02 * i for i in range(150)):
                columns = folding.ask_many(flow=flows, pressure_ratio=ratio)
                several = [i for i, count in enumerate(columns.alternatives) if count]
                if several:
                    answer = folding.ask(flow=flows[several[0]], pressure_ratio=ratio)
                    self.assertEqual(columns.alternatives[several[0]], len(answer.alternatives))
                    self.assertNotEqual(answer.speed, answer.alternatives[0].speed)
                    self.assertIn("more than one", answer.reason)
                    return
        self.fail("no point has two answers")

    def test_turbines(self):
        with islebook.open(path("vanes")) as vanes:
            answer = vanes.ask(expansion_ratio=2, vane_opening=0.5 * (vanes.lowest_line + vanes.highest_line))
            self.assertEqual("turbine", vanes.kind)
            self.assertTrue(0 < answer.efficiency < 1)
            self.assertIsNone(answer.surge_margin)
            back = vanes.ask(expansion_ratio=2, flow=answer.flow)
            self.assertAlmostEqual(answer.vane_opening, back.vane_opening, delta=0.01 * answer.vane_opening)
            self.assertEqual("not_asked", vanes.ask(flow=0.02, pressure_ratio=2).region)
        with self.assertRaisesRegex(islebook.IslebookError, "surge margin"):
            islebook.open(path("turbine"), surge_margin="flow")

    def test_documents_in_memory_and_files_that_are_none(self):
        with open(path("compressor"), encoding="utf-8") as file:
            text = file.read()
        with islebook.open_document(text) as one, islebook.open(path("compressor")) as two:
            self.assertEqual(one.ask(flow=0.2, pressure_ratio=2)._replace(reason=""), two.ask(flow=0.2, pressure_ratio=2)._replace(reason=""))
        for broken in ("", "{", json.dumps({"document": "performance-map"}), b"\xff\xfe"):
            with self.assertRaises(islebook.IslebookError):
                islebook.open_document(broken)
        with self.assertRaises(islebook.IslebookError):
            islebook.open("no such file.map.json")
        with self.assertRaises(islebook.NotFoundError):
            islebook.open_shelf("no such shelf.db", "Alder 52")
        with self.assertRaises(TypeError):
            islebook.Map()

    def test_it_says_that_it_is_typed(self):
        self.assertTrue(os.path.exists(os.path.join(os.path.dirname(islebook.__file__), "py.typed")))
        for name in islebook.__all__:
            self.assertTrue(getattr(islebook, name).__doc__, name)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
