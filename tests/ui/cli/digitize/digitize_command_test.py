#!/usr/bin/env python3
"""islebook digitize through the built program: documents, proofs, stage pictures, messages, exit codes, and what bad input gets.

Usage: digitize_command_test.py ISLEBOOK PAINT_MAPS SOURCE_FOLDER
"""
import glob
import hashlib
import json
import os
import random
import re
import resource
import signal
import struct
import subprocess
import sys
import tempfile
import time
import unittest
import zlib

ISLEBOOK, PAINT_MAPS, SOURCE = sys.argv[1:4]


def png(width, height, pixel):
    """A gray PNG; pixel(x, y) gives 0..255, or one level for all."""
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    if callable(pixel):
        rows = b"".join(b"\0" + bytes(pixel(x, y) for x in range(width)) for y in range(height))
    else:
        rows = (b"\0" + bytes([pixel]) * width) * height
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")


class Painted:
    """One clean sheet and one worn one, painted once."""
    folder = tempfile.TemporaryDirectory()
    clean = scan = None

    @classmethod
    def make(cls):
        if cls.clean:
            return
        subprocess.run([PAINT_MAPS, "--out", cls.folder.name, "--count", "2", "--seed", "4711", "--class", "clean,scan"], check=True, capture_output=True,
                       env=dict(os.environ, QT_QPA_PLATFORM="offscreen"))
        pictures = sorted(p for p in glob.glob(cls.folder.name + "/*") if p.endswith((".png", ".jpg")))
        cls.clean = next(p for p in pictures if "scan" not in os.path.basename(p))
        cls.scan = next(p for p in pictures if p != cls.clean)


class DigitizeCommand(unittest.TestCase):
    def setUp(self):
        Painted.make()
        temporary = tempfile.TemporaryDirectory()
        self.addCleanup(temporary.cleanup)
        self.folder = temporary.name
        self.out = os.path.join(self.folder, "out")

    def path(self, name):
        return os.path.join(self.folder, name)

    def write(self, name, content):
        with open(self.path(name), "wb") as file:
            file.write(content if isinstance(content, bytes) else content.encode())
        return self.path(name)

    def run_it(self, *arguments, code, out=None, **options):
        """`code` None: 4 where the document asks for a person's eye, else 0."""
        done = subprocess.run([ISLEBOOK, "digitize", *arguments, "--out", out or self.out], capture_output=True, text=True, timeout=240, **options)
        if code is None:
            documents = [self.document(name) for name in os.listdir(self.out) if name.endswith(".map.json")]
            code = 4 if any(one["needs_review"] or any(curve["needs_review"] for curve in one["curves"]) for one in documents) else 0
        self.assertEqual(done.returncode, code, f"{arguments}\nstdout: {done.stdout}\nstderr: {done.stderr}")
        return done

    def document(self, name, folder=None):
        with open(os.path.join(folder or self.out, name), encoding="utf-8") as file:
            return json.load(file)

    def one_sentence(self, done, *words):
        """Standard error holds exactly one line, one sentence, with these words."""
        lines = done.stderr.strip().splitlines()
        self.assertEqual(len(lines), 1, done.stderr)
        self.assertTrue(lines[0].startswith("islebook"), lines[0])
        self.assertTrue(lines[0].endswith("."), lines[0])
        for word in words:
            self.assertIn(word, lines[0])

    def nothing_left(self, folder=None):
        folder = folder or self.out
        self.assertEqual(sorted(os.listdir(folder)) if os.path.isdir(folder) else [], [])

    # The main job.

    def test_a_sheet_becomes_a_document(self):
        stem = os.path.splitext(os.path.basename(Painted.clean))[0]
        done = self.run_it(Painted.clean, "--proof", "--stages", self.path("stages"), code=None)
        document = self.document(stem + ".map.json")
        self.assertEqual(document["document"], "performance-map")
        self.assertIn(document["kind"], ("compressor", "turbine"))
        with open(Painted.clean, "rb") as file:
            self.assertEqual(document["source"]["sha256"], hashlib.sha256(file.read()).hexdigest())
        self.assertGreater(len(document["curves"]), 3)
        for curve in document["curves"]:
            self.assertEqual(len(curve["points"]), len(curve["points_px"]))
            self.assertEqual(len(curve["points"]), len(curve["sigma"]))
            self.assertEqual(bool(curve["needs_review"]), bool(curve["reasons"]))
        with open(os.path.join(self.out, stem + ".proof.png"), "rb") as file:
            self.assertEqual(file.read(8), b"\x89PNG\r\n\x1a\n")
        self.assertEqual([re.sub(r".*\.(\d-\w+)\.png", r"\1", name) for name in sorted(os.listdir(self.path("stages")))],
                         ["1-page", "2-ridges", "3-print", "4-axes", "5-curves", "6-roles"])
        self.assertIn(stem, done.stdout)
        self.assertEqual(done.stderr, "")

    def test_the_same_twice_and_whatever_the_number_of_jobs(self):
        self.run_it(Painted.clean, Painted.scan, "--quiet", "--jobs", "1", code=4)
        self.run_it(Painted.clean, Painted.scan, "--quiet", "--jobs", "2", code=4, out=self.path("again"))
        names = sorted(os.listdir(self.out))
        self.assertEqual(names, sorted(os.listdir(self.path("again"))))
        for name in names:
            with open(os.path.join(self.out, name), "rb") as a, open(os.path.join(self.path("again"), name), "rb") as b:
                self.assertEqual(a.read(), b.read(), name)

    def test_json_is_one_document_and_quiet_is_quiet(self):
        done = self.run_it(Painted.clean, "--json", code=None)
        summary = json.loads(done.stdout)
        self.assertEqual(summary["not_done"], 0)
        entry = summary["sheets"][0]["maps"][0]
        self.assertTrue(os.path.exists(entry["file"]))
        curves = self.document(os.path.basename(entry["file"]))["curves"]
        self.assertEqual(sum(entry["curves"].values()), len(curves))
        done = self.run_it(Painted.clean, "--quiet", code=None)
        self.assertEqual((done.stdout, done.stderr), ("", ""))

    def test_a_recipe_is_replayed_and_kept(self):
        self.run_it(Painted.clean, "--quiet", code=None)
        name = os.listdir(self.out)[0]
        before = self.document(name)
        curve = max((c for c in before["curves"] if c["role"] == "speed_line"), key=lambda c: len(c["points_px"]))
        at = curve["points_px"][len(curve["points_px"]) // 2]
        recipe = {"recipe": 1, "corrections": [{"do": "relabel_curve", "curve": {"near_px": at}, "value": 4321, "unit": "rpm"}, {"do": "set_title", "title": "Alder 52"},
                                               {"do": "delete_curve", "curve": {"near_px": [1, 1]}, "note": "a stain"}]}
        self.run_it(Painted.clean, "--quiet", "--recipe", self.write("recipe.json", json.dumps(recipe)), code=4, out=self.path("corrected"))
        after = self.document(name, self.path("corrected"))
        self.assertEqual([c["value"] for c in after["curves"]].count(4321), 1)
        self.assertEqual(after["title"], "Alder 52")
        self.assertEqual(len(after["curves"]), len(before["curves"]))
        self.assertEqual(len(after["recipe"]["corrections"]), 3)
        self.assertTrue(any("correction 3" in doubt and "does not apply" in doubt for doubt in after["needs_review"]), after["needs_review"])
        # The recipe out of the document gives the document again.
        self.run_it(Painted.clean, "--quiet", "--recipe", self.write("kept.json", json.dumps(after["recipe"])), code=4, out=self.path("replayed"))
        self.assertEqual(self.document(name, self.path("replayed")), after)

    def test_corrections_are_not_lost_when_the_sheet_is_digitized_again(self):
        blank = self.write("blank.png", png(300, 200, 255))
        titled = self.write("recipe.json", json.dumps({"recipe": 1, "corrections": [{"do": "set_title", "title": "Alder 52"}]}))
        self.run_it(blank, "--recipe", titled, code=4)
        self.run_it(blank, "--recipe", titled, code=4)
        self.assertEqual(os.listdir(self.out), ["blank.map.json"])
        corrected = self.document("blank.map.json")
        done = self.run_it(blank, code=4)
        self.assertEqual(self.document("blank.kept-1.map.json"), corrected)
        self.assertEqual(self.document("blank.map.json")["recipe"].get("corrections", []), [])
        self.assertIn("blank.kept-1.map.json", done.stdout)
        # The kept document stands for its recipe; what holds no correction is overwritten as ever.
        self.run_it(blank, code=4)
        self.run_it(blank, "--recipe", os.path.join(self.out, "blank.kept-1.map.json"), code=4)
        self.assertEqual(self.document("blank.map.json"), corrected)
        done = self.run_it(blank, "--json", code=4)
        self.assertEqual(json.loads(done.stdout)["sheets"][0]["maps"][0]["kept"], os.path.join(self.out, "blank.kept-2.map.json"))
        self.assertEqual(len(os.listdir(self.out)), 3)

    def test_the_example_of_the_readme(self):
        with open(os.path.join(SOURCE, "README.md"), encoding="utf-8") as file:
            example = re.search(r"```json\n(\{\"recipe\".*?)```", file.read(), re.S).group(1)
        sheet = os.path.join(SOURCE, "sample_maps/birch-52/birch-52-scan.jpg")
        done = self.run_it(sheet, "--recipe", self.write("recipe.json", example), "--quiet", code=None)
        self.assertEqual(done.stderr, "")
        document = self.document("birch-52-scan.map.json")
        self.assertEqual([doubt for doubt in document["needs_review"] if "does not apply" in doubt], [])
        for step in json.loads(example)["corrections"]:
            x, y = step["curve"]["near_px"]
            near = min(document["curves"], key=lambda curve: min((x - px) ** 2 + (y - py) ** 2 for px, py in curve["points_px"]))
            self.assertEqual(near["value"], step["value"])

    # Sheets that can be read but hold no map.

    def test_a_photograph_without_a_chart_gets_its_document(self):
        noise = random.Random(5)
        waves = png(500, 400, lambda x, y: max(0, min(255, 130 + (x * y // 900) % 40 + noise.randrange(25))))
        done = self.run_it(self.write("lake.png", waves), code=4)
        document = self.document("lake.map.json")
        self.assertIsNone(document["kind"])
        self.assertEqual(document["curves"], [])
        self.assertTrue(document["needs_review"])
        self.assertIn("lake.png", done.stdout)
        self.assertIn("Next: digitize again with --proof", done.stdout)
        self.assertIn("Next: look at " + os.path.join(self.out, "lake.proof.png"), self.run_it(self.path("lake.png"), "--proof", code=4).stdout)

    def test_a_blank_page_gets_its_document(self):
        self.run_it(self.write("blank.png", png(800, 600, 255)), code=4)
        document = self.document("blank.map.json")
        self.assertEqual((document["kind"], document["curves"]), (None, []))
        self.assertTrue(document["needs_review"])

    def test_a_chart_that_is_no_map_is_not_forced_into_one(self):
        bars = [(150, 300), (250, 180), (350, 240), (450, 120)]

        def pixel(x, y):
            if (x in (100, 101) and 60 <= y <= 400) or (y in (400, 401) and 100 <= x <= 560):
                return 0
            return 90 if any(left <= x < left + 50 and y >= top and y < 400 for left, top in bars) else 255
        self.run_it(self.write("bars.png", png(640, 480, pixel)), code=4)
        document = self.document("bars.map.json")
        self.assertTrue(document["needs_review"])
        self.assertEqual([c["role"] for c in document["curves"] if c["role"] not in ("other",) and not c["needs_review"]], [])

    # Files that are no sheets: one sentence, exit code 1, nothing left.

    def test_what_is_no_sheet_is_refused(self):
        with open(Painted.scan, "rb") as file:
            jpeg = file.read()
        self.assertEqual(jpeg[:2], b"\xff\xd8")
        cases = {
            "empty.png": (b"", "empty"),
            "cut.jpg": (jpeg[:len(jpeg) // 2], "cut short"),
            "words.png": (b"Flow, pressure ratio\n1, 2\n", "text"),
            "dot.png": (png(1, 1, 0), "too small"),
            "vast.png": (png(30000, 30000, 255), "too large"),
        }
        for name, (content, word) in cases.items():
            with self.subTest(name):
                start = time.process_time()
                done = self.run_it(self.write(name, content), code=1)
                self.one_sentence(done, name, word)
                self.nothing_left()
                self.assertEqual(done.stdout, "")
        self.one_sentence(self.run_it(self.path("absent.png"), code=1), "absent.png", "no such file")
        self.one_sentence(self.run_it(self.folder, code=1), "folder")

    def test_one_bad_file_does_not_stop_the_rest(self):
        done = self.run_it(self.write("empty.png", b""), Painted.clean, "--json", code=1)
        summary = json.loads(done.stdout)
        self.assertEqual(summary["not_done"], 1)
        self.assertEqual(len(summary["sheets"][0]["errors"]), 1)
        self.assertEqual(len(summary["sheets"][1]["maps"]), 1)
        self.assertEqual(len(os.listdir(self.out)), 1)

    def test_two_sheets_of_one_name_do_not_overwrite_each_other(self):
        os.mkdir(self.path("a"))
        blank, other = self.write("a/page.png", png(300, 200, 255)), self.write("page.png", png(300, 220, 255))
        done = self.run_it(blank, other, code=1)
        self.one_sentence(done, other, "same page.map.json")
        self.assertEqual(self.document("page.map.json")["source"]["size_px"], [300, 200])

    # Where nothing can be written.

    def test_a_folder_that_cannot_be_made(self):
        blocked = self.write("file", b"x") + "/out"
        self.one_sentence(self.run_it(Painted.clean, code=1, out=blocked), "file/out", "folder")

    @unittest.skipIf(os.geteuid() == 0, "the superuser may write anywhere")
    def test_a_folder_without_permission(self):
        os.mkdir(self.out, 0o500)
        self.one_sentence(self.run_it(Painted.clean, code=1), "permission")
        self.nothing_left()

    def test_a_full_disk_leaves_nothing_half_written(self):
        def full():
            resource.setrlimit(resource.RLIMIT_FSIZE, (20000, 20000))
        done = self.run_it(Painted.clean, code=1, preexec_fn=full)
        self.one_sentence(done, "cannot be written")
        self.nothing_left()
        # The document fits, the proof does not: the document stays, whole, and the rest is named.
        def fits():
            resource.setrlimit(resource.RLIMIT_FSIZE, (100000, 100000))
        blank = self.write("wide.png", png(2600, 1900, lambda x, y: 255 - (x * 7 + y * 13) % 9 * 8))
        done = self.run_it(blank, "--proof", code=1, preexec_fn=fits)
        self.one_sentence(done, "wide.proof.png", "cannot be written")
        self.assertEqual(os.listdir(self.out), ["wide.map.json"])
        self.document("wide.map.json")

    def test_a_result_that_cannot_be_printed(self):
        with open("/dev/full", "w") as full:
            done = subprocess.run([ISLEBOOK, "digitize", self.write("blank.png", png(300, 200, 255)), "--out", self.out, "--json"], stdout=full, stderr=subprocess.PIPE, text=True)
        self.assertEqual(done.returncode, 1)
        self.one_sentence(done, "standard output")

    def test_an_interrupt_leaves_whole_files_only(self):
        sheets = []
        with open(Painted.scan, "rb") as file:
            content = file.read()
        for i in range(12):
            sheets.append(self.write(f"sheet{i}.jpg", content))
        running = subprocess.Popen([ISLEBOOK, "digitize", *sheets, "--out", self.out, "--proof"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        deadline = time.monotonic() + 120
        while time.monotonic() < deadline and not (os.path.isdir(self.out) and os.listdir(self.out)):
            time.sleep(0.02)
        running.send_signal(signal.SIGINT)
        _, messages = running.communicate(timeout=120)
        self.assertEqual(running.returncode, 130, messages)
        self.assertIn("interrupted", messages)
        names = os.listdir(self.out)
        self.assertLess(len(names), 24)
        for name in names:
            self.assertTrue(name.endswith((".map.json", ".proof.png")), name)
            if name.endswith(".json"):
                self.document(name)

    # Recipes and the command line.

    def test_a_wrong_unit_in_a_recipe(self):
        recipe = self.write("recipe.json", json.dumps({"recipe": 1, "corrections": [{"do": "set_axis", "axis": "x", "unit": "barrels"}]}))
        done = self.run_it(Painted.clean, "--recipe", recipe, code=1)
        self.one_sentence(done, "recipe.json: correction 1, unit: ", "barrels")
        done = self.run_it(Painted.clean, "--recipe", recipe, "--json", code=1)
        self.assertEqual(json.loads(done.stdout)["error"]["place"], recipe + ": corrections[0].unit")
        self.nothing_left()
        self.one_sentence(self.run_it(Painted.clean, "--recipe", self.path("absent.json"), code=1), "absent.json")

    def test_a_wrong_command_line(self):
        def wrong(*arguments):
            done = subprocess.run([ISLEBOOK, "digitize", *arguments], capture_output=True, text=True)
            self.assertEqual(done.returncode, 2, done.stderr)
            self.assertEqual(done.stdout, "")
            self.one_sentence(done)
            return done.stderr
        self.assertIn("--out", wrong(Painted.clean))
        self.assertIn("SHEET", wrong("--out", self.out))
        self.assertIn("--kind", wrong(Painted.clean, "--out", self.out, "--kind", "pump"))
        self.assertIn("--jobs", wrong(Painted.clean, "--out", self.out, "--jobs", "0"))
        self.assertIn("--polish", wrong(Painted.clean, "--out", self.out, "--polish"))
        self.nothing_left()

    def test_help_names_every_option(self):
        done = subprocess.run([ISLEBOOK, "digitize", "--help"], capture_output=True, text=True)
        self.assertEqual(done.returncode, 0)
        for option in ("--out", "--kind", "--recipe", "--jobs", "--page", "--proof", "--stages", "--json", "--quiet"):
            self.assertIn(option, done.stdout)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
