#!/usr/bin/env python3
"""The same questions in C, C++, Python, on the command line (JSON and CSV), over HTTP (one by one, points, columns) and in a functional mock-up: the same answers, slopes
and distances to the edges, to the last digit.

Usage: same_answers_test.py ISLEBOOK FOLDER_OF_TEST_PROGRAMS MAPS
"""
import csv
import http.client
import io
import json
import math
import os
import pathlib
import random
import subprocess
import sys
import tempfile
import unittest
import urllib.parse
import xml.etree.ElementTree
import zipfile

import islebook

ISLEBOOK, PROGRAMS, MAPS = sys.argv[1:4]
GIVEN = ("flow", "pressure_ratio", "speed", "expansion_ratio", "vane_opening")
VALUES = GIVEN + ("efficiency", "surge_margin", "choke_margin", "sigma_flow", "sigma_pressure_ratio", "sigma_speed", "sigma_efficiency", "sigma_surge_margin", "map_width")
SLOPES = GIVEN[:2] + ("expansion_ratio", "speed", "vane_opening", "efficiency", "surge_margin", "choke_margin", "map_width")
ORDER = ("flow", "pressure_ratio", "expansion_ratio", "speed", "vane_opening")  # of the values asked with: the first, the second
EDGES = ("less_flow", "more_flow", "less_pressure_ratio", "more_pressure_ratio", "toward_surge", "toward_choke", "slower", "faster", "nearest")
EDGE = ("flow", "pressure_ratio", "speed", "change", "share")
REGIONS = {-1: None, 0: "on_map", 1: "left_of_surge", 2: "past_choke", 3: "over_speed", 4: "under_speed", 5: None, 6: None}


def same(one, two):
    return one == two or (one != one and two != two)


def number(value):
    return math.nan if value is None else value


def bare(answer):
    """An answer without what it says about its map as a whole."""
    return {key: value for key, value in answer.items() if key != "map_needs_review"}


class SameAnswers(unittest.TestCase):
    def setUp(self):
        temporary = tempfile.TemporaryDirectory()
        self.addCleanup(temporary.cleanup)
        self.folder = temporary.name

    def questions(self, name):
        """Some hundred on and around the map, of every pair of values, and some that make no sense."""
        rng = random.Random(5)
        found = []
        with islebook.open(os.path.join(MAPS, name + ".map.json")) as opened:
            low, high = opened.lowest_line, opened.highest_line
            if opened.kind == "turbine":
                word = "vane_opening" if opened.vane_opening_unit else "speed"
                for _ in range(120):
                    point = {"expansion_ratio": rng.uniform(1.0, 4.0), word: rng.uniform(0.8 * low, 1.1 * high)}
                    found.append(point)
                    flow = opened.ask(**point).flow
                    if flow is not None:
                        found += [{"expansion_ratio": point["expansion_ratio"], "flow": flow}, {"flow": flow, word: point[word]}]
                return found + [{"expansion_ratio": -1.0, word: low}, {"flow": 0.02}]
            for _ in range(120):
                point = {"speed": rng.uniform(0.9 * low, 1.05 * high), "pressure_ratio": rng.uniform(1.05, 4.0)}
                found.append(point)
                flow = opened.ask(**point).flow
                if flow is not None:
                    found += [{"flow": flow, "pressure_ratio": point["pressure_ratio"]}, {"flow": flow * rng.uniform(0.7, 1.3), "pressure_ratio": point["pressure_ratio"]},
                              {"speed": point["speed"], "flow": flow}]
        return found + [{"flow": -1.0, "pressure_ratio": 2.0}, {"flow": 0.2}, {"flow": 0.2, "pressure_ratio": 2.0, "speed": 90000.0}]

    def program(self, name, map_file, questions):
        lines = "".join(" ".join(repr(question.get(value, math.nan)) for value in GIVEN) + "\n" for question in questions)
        out = subprocess.run([os.path.join(PROGRAMS, name), map_file], input=lines, check=True, capture_output=True, text=True).stdout
        found = []
        for line in out.splitlines():
            words = line.split()
            edges = words[33:]
            details = list(map(float, words[15:33])) + [float(word) for i, word in enumerate(edges) if i % 6 != 5] + [REGIONS[int(word)] for word in edges[5::6]]
            found.append((list(map(float, words[:14])), REGIONS[int(words[14])], details))
        return found

    def asked_with(self, question):
        return [value for value in ORDER if value in question]

    def details(self, question, slopes, edges):
        """What the programs print of slopes and edges, from objects with those names."""
        by = self.asked_with(question)
        numbers = []
        for name in SLOPES:
            slope = (slopes or {}).get(name)
            numbers += [math.nan, math.nan] if slope is None else [slope["by_" + by[0]], slope["by_" + by[1]]]
        hits = [(edges or {}).get(way) for way in EDGES]
        return numbers + [math.nan if hit is None else hit[key] for hit in hits for key in EDGE] + [None if hit is None else hit["beyond"] for hit in hits]

    def python(self, map_file, questions):
        with islebook.open(map_file) as opened:
            singles = [opened.ask(**question) for question in questions]
            found = []
            for question, answer in zip(questions, singles):
                by = self.asked_with(question)
                slopes = {name: {"by_" + value: slope[i] for i, value in enumerate(by[:2])} for name, slope in opened.slopes(**question)._asdict().items() if slope is not None}
                edges = opened.edges(**question) if opened.kind == "compressor" else None
                edges = edges and {way: hit and hit._asdict() for way, hit in edges._asdict().items()}
                found.append(([number(getattr(answer, value)) for value in VALUES], answer.region if answer.region in REGIONS.values() else None,
                              self.details(question, slopes, edges)))
            return found, singles

    def from_json(self, answers, questions):
        return [([number(answer["sigma"].get(value[6:]) if value.startswith("sigma_") else answer.get(value)) for value in VALUES], answer.get("region"),
                 self.details(question, answer.get("slopes"), answer.get("edges"))) for answer, question in zip(answers, questions)]

    def command_line(self, map_file, questions, turbine):
        more = ["--slopes"] if turbine else ["--slopes", "--edges"]
        file = os.path.join(self.folder, "points.csv")
        used = [value for value in GIVEN if any(value in question for question in questions)]
        with open(file, "w", encoding="utf-8") as out:
            out.write(",".join(used) + "\n" + "".join(",".join(repr(question[value]) if value in question else "" for value in used) + "\n" for question in questions))
        as_json = json.loads(subprocess.run([ISLEBOOK, "ask", map_file, "--points", file, "--json", *more], capture_output=True, text=True, check=False).stdout)
        text = subprocess.run([ISLEBOOK, "ask", map_file, "--points", file, "--csv", *more], capture_output=True, text=True, check=False).stdout
        rows = [{key.split(" [")[0]: value for key, value in row.items()} for row in csv.DictReader(io.StringIO(text, newline=""))]
        as_csv = []
        for row, question in zip(rows, questions):
            by = self.asked_with(question)
            self.assertEqual([], [key for key, value in row.items() if value and "_by_" in key and key.split("_by_")[1] not in by], question)
            slopes = {name: {"by_" + value: float(row[f"{name}_by_{value}"]) for value in by} for name in SLOPES if all(row.get(f"{name}_by_{value}") for value in by)}
            edges = [float(row["edge_" + way]) if row.get("edge_" + way) else math.nan for way in EDGES]
            as_csv.append(([float(row[value]) if row.get(value) else math.nan for value in VALUES], row.get("region") or None,
                           self.details(question, slopes, None)[:18] + edges + [row.get("edge_nearest_beyond") or None]))
        return as_json, as_csv

    def service(self, map_file, questions, turbine):
        more = {"slopes": True} if turbine else {"slopes": True, "edges": True}
        server = subprocess.Popen([ISLEBOOK, "serve", map_file, "--port", "0", "--json", "--quiet", "--shelf", os.path.join(self.folder, "none.db")], stdout=subprocess.PIPE, text=True)
        try:
            connection = http.client.HTTPConnection("127.0.0.1", json.loads(server.stdout.readline())["port"], timeout=30)
            target = "/v1/maps/" + os.path.basename(map_file).split(".")[0] + "/ask"

            def post(body):
                connection.request("POST", target, json.dumps({**body, **more}), {"Content-Type": "application/json"})
                return json.loads(connection.getresponse().read())
            points = post({"points": questions})
            singles = []
            for question in questions:
                connection.request("GET", target + "?" + urllib.parse.urlencode({**{key: repr(value) for key, value in question.items()}, **{key: "true" for key in more}}))
                singles += json.loads(connection.getresponse().read())
            pairs = {}
            for i, question in enumerate(questions):
                pairs.setdefault(tuple(question), []).append(i)
            columns = [None] * len(questions)
            for keys, places in pairs.items():
                for i, answer in zip(places, post({"columns": {key: [questions[i][key] for i in places] for key in keys}})):
                    columns[i] = answer
            connection.close()
            return points, singles, columns
        finally:
            server.terminate()
            server.wait(20)
            server.stdout.close()

    def mock_up(self, map_file, questions):
        place = os.path.join(self.folder, "fmu")
        exported = subprocess.run([ISLEBOOK, "export", map_file, "--fmu", place + ".fmu", "--quiet"], check=False)
        self.assertIn(exported.returncode, (0, 4))  # 4: the map itself asks for a look
        with zipfile.ZipFile(place + ".fmu") as archive:
            archive.extractall(place)
        root = xml.etree.ElementTree.parse(os.path.join(place, "modelDescription.xml")).getroot()
        references = {variable.get("name"): variable.get("valueReference") for variable in root.iter("ScalarVariable")}
        choices = next(variable.get("description") for variable in root.iter("ScalarVariable") if variable.get("name") == "given").split("question. ")[1]
        pairs = {frozenset(choice.split(": ")[1].split(" and ")): choice.split(": ")[0] for choice in choices.split("; ")}
        outputs = [value for value in VALUES if value in references]
        edges = [way for way in EDGES if "edge_" + way in references]
        slopes = [name for name in SLOPES if name in references]
        commands, asked = [], []
        for i, question in enumerate(questions):
            if frozenset(question) in pairs:
                asked.append(i)
                commands += [f"integer {references['given']} {pairs[frozenset(question)]}"] + [f"real {references[key + '_in']} {value!r}" for key, value in question.items()]
                commands += ["get " + " ".join(references[value] for value in outputs), "state"]
                commands += ["get " + " ".join(references["edge_" + way] for way in edges)] if edges else []
                commands += ["slopes " + " ".join(f"{references[name]} {references[value + '_in']}" for name in slopes for value in self.asked_with(question))]
        out = subprocess.run([os.path.join(PROGRAMS, "fmu_master"), os.path.join(place, "binaries/linux64/islebook_map.so"), pathlib.Path(place, "resources").as_uri(), root.get("guid"), "cs"],
                             input="\n".join(commands), check=True, capture_output=True, text=True).stdout.splitlines()
        answers = {}
        step = 4 if edges else 3
        self.assertEqual(step * len(asked), len(out))
        for place, i in enumerate(asked):
            values, state, *more = out[step * place:step * (place + 1)]
            found = dict(zip(outputs, map(float, values.split())))
            by = self.asked_with(questions[i])
            numbers = iter(map(float, more[-1].split()))
            told = {name: {"by_" + value: next(numbers) for value in by} for name in slopes}
            for name in by:  # what was asked with changes with itself alone
                self.assertEqual({"by_" + value: float(value == name) for value in by}, told.pop(name))
            answers[i] = ([found.get(value, math.nan) for value in VALUES], REGIONS[int(state.split()[1])],
                          self.details(questions[i], told, None)[:18] + (list(map(float, more[0].split())) if edges else [math.nan] * 9))
        return answers

    def compare(self, door, expected, found, questions):
        self.assertEqual(len(expected), len(found), door)
        for question, one, two in zip(questions, expected, found):
            self.assertTrue(all(map(same, one[0], two[0])), f"{door} {question}: {dict(zip(VALUES, zip(one[0], two[0])))}")
            self.assertEqual(one[1], two[1], f"{door} {question}")
            details = one[2]
            if len(two[2]) < len(details):  # doors that give of each edge only how far it is
                details = details[:18] + details[21:63:5] + [details[-1]] * (len(two[2]) - 27)
            self.assertEqual(len(details), len(two[2]), door)
            self.assertTrue(all(same(a, b) for a, b in zip(details, two[2])), f"{door} {question}: {details} {two[2]}")

    def test_every_door(self):
        for name in ("compressor", "folding", "turbine", "vanes"):
            with self.subTest(map=name):
                map_file = os.path.join(MAPS, name + ".map.json")
                questions = self.questions(name)
                turbine = name in ("turbine", "vanes")
                expected = self.program("ask_in_cpp", map_file, questions)
                if turbine:
                    expected = [(values, None, details) for values, _, details in expected]

                def plain(answers):
                    return [(values, None, details) for values, _, details in answers] if turbine else answers
                self.assertGreater(sum(not math.isnan(values[5]) for values, _, _ in expected), 50)
                self.assertGreater(sum(not math.isnan(details[10]) for _, _, details in expected), 50)  # efficiency has slopes
                self.assertEqual(turbine, not any(details[18] == details[18] for _, _, details in expected))  # and compressors have edges
                self.compare("C", expected, plain(self.program("ask_in_c", map_file, questions)), questions)
                answers, singles = self.python(map_file, questions)
                self.compare("Python", expected, plain(answers), questions)
                as_json, as_csv = self.command_line(map_file, questions, turbine)
                self.compare("JSON", expected, plain(self.from_json(as_json, questions)), questions)
                self.compare("CSV", expected, plain(as_csv), questions)
                for single, answer in zip(singles, as_json):
                    self.assertEqual(single.reason, answer.get("reason", ""))
                    self.assertEqual([number(other.speed) for other in single.alternatives], [number(other.get("speed")) for other in answer.get("alternatives", [])])
                for form, got in zip(("points", "singles", "columns"), self.service(map_file, questions, turbine)):
                    # The first answer of every request carries the map's doubts, where it has any.
                    self.assertEqual("map_needs_review" in as_json[0], "map_needs_review" in got[0], f"HTTP {form}")
                    self.assertEqual([bare(answer) for answer in as_json], [bare(answer) for answer in got], f"HTTP {form}")
                mocked = self.mock_up(map_file, questions)
                self.assertGreater(len(mocked), 100)
                self.compare("FMU", [expected[i] for i in mocked], plain(list(mocked.values())), [questions[i] for i in mocked])


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
