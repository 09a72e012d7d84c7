#!/usr/bin/env python3
"""The examples of mapstore/answers/README.md, run as they stand there: the libraries are installed into a temporary folder and programs built against them.

Usage: guide_test.py SOURCE BUILD MAPS ISLEBOOK
"""
import csv
import io
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import unittest
import zipfile

SOURCE, BUILD, MAPS, ISLEBOOK = sys.argv[1:5]


def examples():
    """Fenced examples by language, in order."""
    with open(os.path.join(SOURCE, "mapstore/answers/README.md"), encoding="utf-8") as file:
        found = {}
        for language, text in re.findall(r"^```(\w+)\n(.*?)^```$", file.read(), re.MULTILINE | re.DOTALL):
            found.setdefault(language, []).append(text)
        return found


class Guide(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.mkdtemp(prefix="guide-")
        cls.addClassCleanup(shutil.rmtree, cls.folder)
        cls.prefix = os.path.join(cls.folder, "installed")
        cls.work = os.path.join(cls.folder, "work")
        os.mkdir(cls.work)
        shutil.copy(os.path.join(MAPS, "compressor.map.json"), cls.work)
        cls.examples = examples()
        with open(os.path.join(cls.work, "engine.toml"), "w", encoding="utf-8") as file:
            file.write(cls.examples["toml"][0])
        cls.run_in(cls, "cmake", "--install", BUILD, "--component", "mapstore", "--prefix", cls.prefix)
        libraries = [root for root, _, names in os.walk(cls.prefix) if "libislebook.so" in names]
        cls.environment = {"PATH": os.environ["PATH"], "CMAKE_GENERATOR": "Ninja", "HOME": cls.folder, "LD_LIBRARY_PATH": libraries[0], "PKG_CONFIG_PATH": os.path.join(libraries[0], "pkgconfig")}
        cls.c_output = None

    def run_in(self, *command, environment=None):
        done = subprocess.run(command, cwd=self.work, env=environment, capture_output=True, text=True, check=False)
        if done.returncode != 0:
            raise AssertionError(f"{' '.join(command)}\n{done.stdout}{done.stderr}")
        return done.stdout

    def example(self, language, name, at=0):
        with open(os.path.join(self.work, name), "w", encoding="utf-8") as file:
            file.write(self.examples[language][at])

    def pkg_config(self, *arguments):
        return self.run_in("pkg-config", *arguments, environment=self.environment).split()

    def run_c(self, name="ask", at=0):
        self.example("c", name + ".c", at)
        self.run_in("cc", "-std=c11", "-Wall", "-Wextra", "-Werror", name + ".c", "-o", name + "_c", *self.pkg_config("--cflags", "--libs", "islebook"))
        return self.run_in(f"./{name}_c", environment=self.environment)

    def test_c(self):
        lines = self.run_c().splitlines()
        self.assertEqual(2, len(lines))
        for line in lines:
            self.assertRegex(line, r"^([\d.]+ rpm .+|The .+)$")

    def test_cpp_with_cmake(self):
        self.example("cmake", "CMakeLists.txt")
        self.example("cpp", "sizing.cc")
        self.run_in("cmake", "-S", ".", "-B", "b", f"-DCMAKE_PREFIX_PATH={self.prefix}", environment=self.environment)
        self.run_in("cmake", "--build", "b", environment=self.environment)
        self.assertEqual(self.run_c().splitlines()[0], self.run_in("b/sizing", environment=self.environment).strip())

    def test_cpp_with_pkg_config(self):
        self.example("cpp", "sizing.cc")
        self.run_in("c++", "sizing.cc", "-o", "sizing_p", *self.pkg_config("--cflags", "--libs", "islebook-cpp"), environment=self.environment)
        self.assertEqual(self.run_c().splitlines()[0], self.run_in("./sizing_p", environment=self.environment).strip())

    def run_python(self, name="ask", at=0):
        packages = [root for root, _, names in os.walk(self.prefix) if "py.typed" in names]
        self.example("python", name + ".py", at)
        environment = {**self.environment, "PYTHONPATH": os.path.dirname(packages[0])}
        del environment["LD_LIBRARY_PATH"]  # it finds the library that it was installed with
        return self.run_in(sys.executable, "-B", name + ".py", environment=environment)

    def test_python(self):
        lines = self.run_python().splitlines()
        self.assertEqual(4, len(lines))
        speed = re.match(r"([\d.]+) rpm", self.run_c().splitlines()[0])
        self.assertEqual(speed and float(speed[1]), float(lines[0].split()[0]) if speed else None)

    def run_sh(self, at):
        environment = {**self.environment, "PATH": os.path.dirname(ISLEBOOK) + ":" + os.environ["PATH"], "ISLEBOOK_SHELF": os.path.join(self.folder, "shelf.db")}
        return self.run_in("bash", "-e", "-u", "-m", "-c", self.examples["sh"][at], environment=environment)

    def read(self, name):
        with open(os.path.join(self.work, name), encoding="utf-8", newline="") as file:
            return file.read()

    def test_command_line(self):
        answer, = json.loads(self.run_sh(0))
        self.assertEqual(90000, answer["speed"])
        lines = self.read("answers.csv").splitlines()
        self.assertEqual(3, len(lines))
        self.assertTrue(lines[0].startswith("flow [kg/s],pressure_ratio,speed [rpm],"))

    def test_http(self):
        text = self.run_sh(1)
        single, many = (json.loads(part) for part in re.split(r"(?<=\])\s*(?=\[)", text.strip()))
        self.assertEqual(1, len(single))
        self.assertEqual(2, len(many))
        self.assertAlmostEqual(26 * 0.45359237 / 60, many[0]["flow"], places=12)

    def test_tables_and_fmu(self):
        self.assertEqual("#1\n", self.run_sh(2))
        with zipfile.ZipFile(os.path.join(self.work, "compressor.fmu")) as archive:
            self.assertIn("modelDescription.xml", archive.namelist())

    def test_the_bench(self):
        printed = self.run_c("bench", 1)
        self.assertEqual(2, printed.count("surge margin 0."), printed)
        self.assertEqual(printed, self.run_python("bench", 1))
        self.example("cpp", "bench.cc", 1)
        self.run_in("c++", "bench.cc", "-o", "bench_p", *self.pkg_config("--cflags", "--libs", "islebook-cpp"), environment=self.environment)
        self.assertEqual(printed, self.run_in("./bench_p", environment=self.environment))
        with open(os.path.join(self.work, "CMakeLists.txt"), "w", encoding="utf-8") as file:
            file.write(self.examples["cmake"][0].replace("sizing.cc", "bench.cc").replace("islebook::answers", "islebook::bench islebook::shelf"))
        self.run_in("cmake", "-S", ".", "-B", "bb", f"-DCMAKE_PREFIX_PATH={self.prefix}", environment=self.environment)
        self.run_in("cmake", "--build", "bb", environment=self.environment)
        self.assertEqual(printed, self.run_in("bb/sizing", environment=self.environment))
        self.assertEqual("point,wheel,engine_speed [rev/s],engine_\n", self.run_sh(3))
        table = self.read("results.csv")
        for line, row in zip(printed.splitlines(), csv.DictReader(io.StringIO(table, newline=""))):
            self.assertEqual(float(line.split()[-1]), float(row["compressor_surge_margin"]))
        self.assertEqual(2, len(json.loads(self.read("report.json"))["points"]))
        self.assertEqual(table.replace("\r", ""), self.run_sh(4))

    def test_every_installed_header_stands_alone(self):
        top = os.path.join(self.prefix, "include", "islebook")
        headers = [os.path.relpath(os.path.join(root, name), top) for root, _, names in os.walk(top) for name in sorted(names)]
        self.assertGreater(len(headers), 20)
        with open(os.path.join(self.work, "all.cc"), "w", encoding="utf-8") as file:
            file.writelines(f'#include "{header}"\n' for header in sorted(headers))
        with open(os.path.join(self.work, "reversed.cc"), "w", encoding="utf-8") as file:
            file.writelines(f'#include "{header}"\n' for header in sorted(headers, reverse=True))
        for name in ("all.cc", "reversed.cc"):
            self.run_in("c++", "-std=c++23", "-fsyntax-only", "-I", top, name)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
