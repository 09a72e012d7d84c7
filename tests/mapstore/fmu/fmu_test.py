#!/usr/bin/env python3
"""A map exported as a functional mock-up: its description against the standard's XML schema, and its library run by a master in C.

Usage: fmu_test.py ISLEBOOK FMU_MASTER MAPS SCHEMA
"""
import json
import math
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree
import zipfile

ISLEBOOK, MASTER, MAPS, SCHEMA = sys.argv[1:5]


class Fmu(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.mkdtemp(prefix="fmu test ")  # a space, which the resource address must escape
        self.addCleanup(shutil.rmtree, self.folder)

    def islebook(self, *arguments, code=0):
        done = subprocess.run([ISLEBOOK, *arguments], capture_output=True, text=True, check=False)
        self.assertEqual(code, done.returncode, done.stdout + done.stderr)
        return done

    def export(self, name, *arguments):
        file = os.path.join(self.folder, name + ".fmu")
        self.islebook("export", os.path.join(MAPS, name + ".map.json"), "--fmu", file, *arguments)
        return file

    def unpack(self, name, *arguments):
        place = os.path.join(self.folder, name)
        with zipfile.ZipFile(self.export(name, *arguments)) as archive:
            self.assertIsNone(archive.testzip())
            archive.extractall(place)
        return place

    def describe(self, place):
        root = xml.etree.ElementTree.parse(os.path.join(place, "modelDescription.xml")).getroot()
        variables = {variable.get("name"): (variable.find("*").tag, int(variable.get("valueReference")), variable.find("*").get("start"))
                     for variable in root.iter("ScalarVariable")}
        return root, variables

    def run_master(self, place, commands, kind="cs", guid=None, code=0, environment=None):
        root, _ = self.describe(place)
        identifier = root.find("CoSimulation").get("modelIdentifier")
        done = subprocess.run([MASTER, os.path.join(place, "binaries", "linux64", identifier + ".so"), pathlib.Path(place, "resources").as_uri(), guid or root.get("guid"), kind],
                              input="\n".join(commands), capture_output=True, text=True, check=False, env=environment)
        self.assertEqual(code, done.returncode, done.stdout + done.stderr)
        return done.stdout.splitlines()

    def test_the_same_bytes_in_every_time_zone(self):
        archives = []
        for zone in ("UTC", "Asia/Tokyo", "America/Denver"):
            file = os.path.join(self.folder, zone.replace("/", "-") + ".fmu")
            subprocess.run([ISLEBOOK, "export", os.path.join(MAPS, "compressor.map.json"), "--fmu", file], env=dict(os.environ, TZ=zone), check=True, capture_output=True)
            with open(file, "rb") as archive:
                archives.append(archive.read())
        self.assertEqual(archives[0], archives[1])
        self.assertEqual(archives[0], archives[2])

    def test_the_description_keeps_to_the_schema(self):
        if not os.path.exists(SCHEMA):
            self.skipTest(f"the standard's schema is not at {SCHEMA}")
        for name in ("compressor", "turbine", "vanes"):
            place = self.unpack(name)
            done = subprocess.run(["xmllint", "--noout", "--schema", SCHEMA, os.path.join(place, "modelDescription.xml")], capture_output=True, text=True, check=False)
            self.assertEqual(0, done.returncode, done.stderr)
            self.assertIn("validates", done.stderr)

    def test_references_outputs_and_starts(self):
        # FMI 2.0.5, 2.2.7 and 2.2.8: a reference is unique within its type, and the structure lists exactly the outputs.
        for name in ("compressor", "vanes"):
            root, variables = self.describe(self.unpack(name))
            self.assertEqual(len(variables), len({(kind, reference) for kind, reference, _ in variables.values()}))
            listed = list(root.iter("ScalarVariable"))
            outputs = [i + 1 for i, variable in enumerate(listed) if variable.get("causality") == "output"]
            self.assertEqual(outputs, [int(unknown.get("index")) for unknown in root.find("ModelStructure/Outputs")])
            self.assertEqual(outputs, [int(unknown.get("index")) for unknown in root.find("ModelStructure/InitialUnknowns")])
            units = {unit.get("name") for unit in root.iter("Unit")}
            self.assertTrue(all(variable.find("Real").get("unit") in units for variable in listed if variable.find("Real") is not None))

    def test_it_starts_on_the_map(self):
        for name in ("compressor", "turbine", "vanes"):
            place = self.unpack(name)
            for kind in ("cs", "me"):
                state, = self.run_master(place, ["state"], kind)
                self.assertTrue(state.startswith("1 0 0"), (name, state))

    def test_it_answers_as_the_command_line_does_to_the_last_digit(self):
        place = self.unpack("compressor", "--surge-margin", "flow")
        _, variables = self.describe(place)
        middle = float(variables["speed_in"][2])
        csv = os.path.join(self.folder, "points.csv")
        points = [(middle * (0.7 + 0.05 * i), 1.2 + 0.12 * k) for i in range(12) for k in range(20)]
        with open(csv, "w", encoding="utf-8") as file:
            file.write("speed,pressure_ratio\n" + "".join(f"{speed!r},{ratio!r}\n" for speed, ratio in points))
        done = subprocess.run([ISLEBOOK, "ask", os.path.join(MAPS, "compressor.map.json"), "--points", csv, "--json", "--surge-margin", "flow"], capture_output=True, text=True, check=False)
        answers = json.loads(done.stdout)
        names = ["flow", "efficiency", "surge_margin", "choke_margin", "sigma_flow", "sigma_efficiency", "sigma_surge_margin"]
        commands = [f"integer {variables['given'][1]} 3"]
        for speed, ratio in points:
            commands += [f"real {variables['speed_in'][1]} {speed!r}", f"real {variables['pressure_ratio_in'][1]} {ratio!r}", "get " + " ".join(str(variables[name][1]) for name in names), "state"]
        for kind in ("cs", "me"):
            lines = self.run_master(place, commands, kind)
            self.assertEqual(2 * len(points), len(lines))
            for answer, values, state in zip(answers, lines[::2], lines[1::2]):
                for name, text in zip(names, values.split()):
                    expected = answer["sigma"].get(name[6:]) if name.startswith("sigma_") else answer[name]
                    self.assertTrue(math.isnan(float(text)) if expected is None else expected == float(text), (name, answer, text))
                self.assertEqual(answer["inside"], state.startswith("1 0"))
                self.assertEqual(answer.get("reason", ""), state.split(" ", 3)[3])
        self.assertTrue(any(answer["inside"] for answer in answers) and not all(answer["inside"] for answer in answers))

    def test_directional_derivatives_are_those_of_the_outputs(self):
        # FMI 2.0.5, 2.1.9. Against differences of the outputs themselves, uncertainties and edges included.
        place = self.unpack("compressor")
        root, variables = self.describe(place)
        for kind in ("ModelExchange", "CoSimulation"):
            self.assertEqual("true", root.find(kind).get("providesDirectionalDerivative"))
        flow, ratio = (variables[name + "_in"] for name in ("flow", "pressure_ratio"))
        names = [name for name in variables if name.startswith(("sigma_speed", "sigma_eff", "edge_")) and variables[name][0] == "Real"] + ["speed", "efficiency", "surge_margin", "map_width"]
        at, step = float(flow[2]), 1e-4 * float(flow[2])
        get = "get " + " ".join(str(variables[name][1]) for name in names)
        more, less, told = (list(map(float, line.split())) for line in self.run_master(place, [
            f"real {flow[1]} {at + step!r}", get, f"real {flow[1]} {at - step!r}", get, f"real {flow[1]} {at!r}", "slopes " + " ".join(f"{variables[name][1]} {flow[1]}" for name in names)]))
        self.assertGreater(len(names), 12)
        for name, above, below, slope in zip(names, more, less, told):
            self.assertAlmostEqual((above - below) / (2 * step), slope, delta=0.02 * abs(slope) + 1e-3 * (abs(above) + 1e-3) / at, msg=name)
        itself, = self.run_master(place, [f"slopes {variables['flow'][1]} {flow[1]} {variables['flow'][1]} {ratio[1]} 999 {flow[1]} {variables['speed'][1]} 999"])
        self.assertEqual(["1", "0", "error", "error"], itself.split())

    def test_bad_input(self):
        place = self.unpack("compressor")
        _, variables = self.describe(place)
        flow, given = variables["flow_in"][1], variables["given"][1]
        lines = self.run_master(place, [f"real {flow} nan", "state", f"get {variables['speed'][1]}", f"real {flow} -1", "state", f"real {flow} inf", "state", f"integer {given} 7",
                                        "real 999 1", "get 999", "string 0 mine", "reset", "state"])
        self.assertTrue(lines[0].startswith("0 -1 0 Two of"), lines)
        self.assertEqual("nan", lines[1].strip())
        self.assertTrue(lines[2].startswith("0 -1") and lines[3].startswith("0 -1"))
        self.assertEqual(["error", "error", "error", "error", "ok"], [line.strip() for line in lines[4:9]])
        self.assertTrue(lines[9].startswith("1 0"))
        self.run_master(place, [], guid="{another}", code=3)
        os.remove(os.path.join(place, "resources", "map.json"))
        self.run_master(place, [], code=3)

    @unittest.skipIf(os.environ.get("ISLEBOOK_SANITIZED") == "1", "a sanitizer brings its own library along")
    def test_it_stands_alone(self):
        place = self.unpack("compressor")
        needed = subprocess.run(["ldd", os.path.join(place, "binaries", "linux64", "islebook_map.so")], check=True, capture_output=True, text=True).stdout
        names = {line.split()[0].split(".so")[0].rsplit("/", 1)[-1] for line in needed.splitlines()}
        self.assertLessEqual(names, {"linux-vdso", "libm", "libc", "ld-linux-x86-64"}, needed)
        shown = subprocess.run(["nm", "-D", "--defined-only", os.path.join(place, "binaries", "linux64", "islebook_map.so")], check=True, capture_output=True, text=True).stdout
        self.assertTrue(all(line.split()[-1].startswith("fmi2") for line in shown.splitlines()), shown)

    def test_the_same_map_gives_the_same_file(self):
        with open(self.export("vanes"), "rb") as one:
            first = one.read()
        with open(self.export("vanes"), "rb") as two:
            self.assertEqual(first, two.read())

    def test_what_cannot_be_exported(self):
        out = os.path.join(self.folder, "x.fmu")
        self.islebook("export", os.path.join(MAPS, "compressor.map.json"), code=2)
        self.islebook("export", "nowhere.map.json", "--fmu", out, code=1)
        self.islebook("export", os.path.join(MAPS, "vanes.map.json"), "--fmu", out, "--surge-margin", "flow", code=1)
        self.islebook("export", os.path.join(MAPS, "vanes.map.json"), "--fmu", os.path.join(self.folder, "no", "x.fmu"), code=1)
        self.assertFalse(os.path.exists(out))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
