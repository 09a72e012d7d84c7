#!/usr/bin/env python3
"""The same questions in C, C++, Python, on the command line (JSON and CSV), over HTTP (one by one, points, columns) and in a functional mock-up: the same answers, to the
last digit.

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
REGIONS = {-1: None, 0: "on_map", 1: "left_of_surge", 2: "past_choke", 3: "over_speed", 4: "under_speed", 5: None, 6: None}


def same(one, two):
    return one == two or (math.isnan(one) and math.isnan(two))


def number(value):
    return math.nan if value is None else value


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
        return [([float(word) for word in line.split()[:14]], REGIONS[int(line.split()[14])]) for line in out.splitlines()]

    def python(self, map_file, questions):
        with islebook.open(map_file) as opened:
            singles = [opened.ask(**question) for question in questions]
            return [([number(getattr(answer, value)) for value in VALUES], answer.region if answer.region in REGIONS.values() else None) for answer in singles], singles

    def from_json(self, answers):
        return [([number(answer["sigma"].get(value[6:]) if value.startswith("sigma_") else answer.get(value)) for value in VALUES], answer.get("region")) for answer in answers]

    def command_line(self, map_file, questions):
        file = os.path.join(self.folder, "points.csv")
        used = [value for value in GIVEN if any(value in question for question in questions)]
        with open(file, "w", encoding="utf-8") as out:
            out.write(",".join(used) + "\n" + "".join(",".join(repr(question[value]) if value in question else "" for value in used) + "\n" for question in questions))
        as_json = json.loads(subprocess.run([ISLEBOOK, "ask", map_file, "--points", file, "--json"], capture_output=True, text=True, check=False).stdout)
        text = subprocess.run([ISLEBOOK, "ask", map_file, "--points", file, "--csv"], capture_output=True, text=True, check=False).stdout
        rows = [{key.split(" [")[0]: value for key, value in row.items()} for row in csv.DictReader(io.StringIO(text, newline=""))]
        as_csv = [([float(row[value]) if row.get(value) else math.nan for value in VALUES], row.get("region") or None) for row in rows]
        return as_json, as_csv

    def service(self, map_file, questions):
        server = subprocess.Popen([ISLEBOOK, "serve", map_file, "--port", "0", "--json", "--quiet", "--shelf", os.path.join(self.folder, "none.db")], stdout=subprocess.PIPE, text=True)
        try:
            connection = http.client.HTTPConnection("127.0.0.1", json.loads(server.stdout.readline())["port"], timeout=30)
            target = "/v1/maps/" + os.path.basename(map_file).split(".")[0] + "/ask"

            def post(body):
                connection.request("POST", target, json.dumps(body), {"Content-Type": "application/json"})
                return json.loads(connection.getresponse().read())
            points = post({"points": questions})
            singles = []
            for question in questions:
                connection.request("GET", target + "?" + urllib.parse.urlencode({key: repr(value) for key, value in question.items()}))
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
        commands, asked = [], []
        for i, question in enumerate(questions):
            if frozenset(question) in pairs:
                asked.append(i)
                commands += [f"integer {references['given']} {pairs[frozenset(question)]}"] + [f"real {references[key + '_in']} {value!r}" for key, value in question.items()]
                commands += ["get " + " ".join(references[value] for value in outputs), "state"]
        out = subprocess.run([os.path.join(PROGRAMS, "fmu_master"), os.path.join(place, "binaries/linux64/islebook_map.so"), pathlib.Path(place, "resources").as_uri(), root.get("guid"), "cs"],
                             input="\n".join(commands), check=True, capture_output=True, text=True).stdout.splitlines()
        answers = {}
        for i, values, state in zip(asked, out[::2], out[1::2]):
            found = dict(zip(outputs, map(float, values.split())))
            answers[i] = ([found.get(value, math.nan) for value in VALUES], REGIONS[int(state.split()[1])])
        return answers

    def compare(self, door, expected, found, questions):
        self.assertEqual(len(expected), len(found), door)
        for question, one, two in zip(questions, expected, found):
            self.assertTrue(all(map(same, one[0], two[0])), f"{door} {question}: {dict(zip(VALUES, zip(one[0], two[0])))}")
            self.assertEqual(one[1], two[1], f"{door} {question}")

    def test_every_door(self):
        for name in ("compressor", "folding", "turbine", "vanes"):
            with self.subTest(map=name):
                map_file = os.path.join(MAPS, name + ".map.json")
                questions = self.questions(name)
                turbine = name in ("turbine", "vanes")
                expected = self.program("ask_in_cpp", map_file, questions)
                if turbine:
                    expected = [(values, None) for values, _ in expected]

                def plain(answers):
                    return [(values, None) for values, _ in answers] if turbine else answers
                self.assertGreater(sum(not math.isnan(values[5]) for values, _ in expected), 50)
                self.compare("C", expected, plain(self.program("ask_in_c", map_file, questions)), questions)
                answers, singles = self.python(map_file, questions)
                self.compare("Python", expected, plain(answers), questions)
                as_json, as_csv = self.command_line(map_file, questions)
                self.compare("JSON", expected, plain(self.from_json(as_json)), questions)
                self.compare("CSV", expected, plain(as_csv), questions)
                for single, answer in zip(singles, as_json):
                    self.assertEqual(single.reason, answer.get("reason", ""))
                    self.assertEqual([number(other.speed) for other in single.alternatives], [number(other.get("speed")) for other in answer.get("alternatives", [])])
                for form, got in zip(("points", "singles", "columns"), self.service(map_file, questions)):
                    self.assertEqual(as_json, got, f"HTTP {form}")
                mocked = self.mock_up(map_file, questions)
                self.assertGreater(len(mocked), 100)
                self.compare("FMU", [expected[i] for i in mocked], plain(list(mocked.values())), [questions[i] for i in mocked])


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
