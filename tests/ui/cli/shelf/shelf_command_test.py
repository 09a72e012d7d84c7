#!/usr/bin/env python3
"""islebook shelf through the built program: what it prints, where, and the exit codes.

Usage: shelf_command_test.py ISLEBOOK
"""
import hashlib
import json
import os
import re
import signal
import subprocess
import sys
import tempfile
import unittest

ISLEBOOK = sys.argv[1]
SHEET = bytes(range(256)) * 40


def document(title, speed):
    return {
        "document": "performance-map", "schema": 1, "kind": "compressor", "title": title,
        "axes": {"x": {"quantity": "corrected_mass_flow", "unit": "kg/s", "scale": "linear", "min": 0, "max": 0.6},
                 "y": {"quantity": "pressure_ratio_tt", "unit": "1", "scale": "linear", "min": 1, "max": 4}},
        "reference_conditions": {"temperature_K": 298, "pressure_Pa": 100000, "basis": "assumed"},
        "curves": [{"role": "speed_line", "value": speed, "unit": "rpm", "closed": False, "points": [[0.1, 2.0], [0.2, 1.9], [0.25, 1.5]],
                    "points_px": [[10, 20], [30, 40], [50, 60.5]], "sigma": [[0.001, 0.002]] * 3, "confidence": 0.4, "needs_review": True,
                    "reasons": ["the print was not read"]}],
        "source": {"file": "sheet.png", "sha256": hashlib.sha256(SHEET).hexdigest(), "size_px": [800, 600], "page": 1},
        "needs_review": ["reference conditions are assumed"],
    }


class ShelfCommand(unittest.TestCase):
    def setUp(self):
        temporary = tempfile.TemporaryDirectory()
        self.addCleanup(temporary.cleanup)
        self.folder = temporary.name
        self.shelf = os.path.join(self.folder, "library", "shelf.db")
        self.environment = {"PATH": os.environ["PATH"], "HOME": self.folder, "ISLEBOOK_SHELF": self.shelf}

    def path(self, name):
        return os.path.join(self.folder, name)

    def write(self, name, content):
        with open(self.path(name), "wb") as file:
            file.write(content if isinstance(content, bytes) else json.dumps(content).encode())
        return self.path(name)

    def run_it(self, *arguments, code=0, **options):
        done = subprocess.run([ISLEBOOK, "shelf", *arguments], capture_output=True, text=True, env=self.environment, cwd=self.folder, check=False, **options)
        self.assertEqual(code, done.returncode, done.stderr)
        return done

    def json(self, *arguments, code=0):
        done = self.run_it(*arguments, "--json", code=code)
        return json.loads(done.stdout)

    def test_a_command_that_there_is_not_is_named_with_those_that_there_are(self):
        done = self.run_it("frob", code=2)
        self.assertIn('"frob" is no shelf command', done.stderr)
        self.assertIn("add, list, show", done.stderr)
        self.assertIn("say which shelf command", self.run_it(code=2).stderr)

    def test_every_help_shows_the_common_options(self):
        commands = [[], ["add"], ["list"], ["show"], ["log"], ["verify"], ["tag"]]
        for command in commands:
            text = self.run_it(*command, "--help").stdout
            for option in ("--json", "--quiet", "--shelf"):
                self.assertIn(option, text, command)

    def test_a_line_break_in_a_name_splits_no_message(self):
        done = self.run_it("add", self.path("two\nlines.map.json"), code=1)
        self.assertEqual(1, done.stderr.count("\n"), done.stderr)
        self.assertIn("two\\nlines", done.stderr)

    def add(self, name="Alder 52", speed=90000, *more):
        return self.json("add", self.write(f"{name}.map.json", document(name, speed)), *more)["added"][0]

    def test_add_list_show_log_verify(self):
        first = self.add("Alder 52", 90000, "--sheet", self.write("sheet.png", SHEET), "--message", "from the brochure", "--author", "Ines")
        self.assertTrue(first["is_new"] and first["sheet_is_new"])
        second = self.add("Alder 52", 91000, "--author", "Tomas")
        self.assertEqual([first["revision"]], second["parents"])
        self.add("Rowan 83", 50000)
        listed = self.json("list")
        self.assertEqual(["Alder 52", "Rowan 83"], [entry["name"] for entry in listed])
        self.assertEqual([2, 1], [entry["revisions"] for entry in listed])
        self.assertEqual(second["revision"], listed[0]["revision"])
        self.assertTrue(listed[0]["sheet_on_shelf"])
        shown = self.json("show", "Alder 52")
        self.assertEqual(document("Alder 52", 91000), shown["map"])
        self.assertTrue(shown["is_head"])
        old = self.json("show", f"Alder 52@{first['revision'][:8]}")
        self.assertEqual(document("Alder 52", 90000), old["map"])
        self.assertFalse(old["is_head"])
        self.assertEqual(("Ines", "from the brochure"), (old["author"], old["message"]))
        log = self.json("log", "Alder 52")
        self.assertEqual([second["revision"], first["revision"]], [entry["revision"] for entry in log])
        report = self.json("verify")
        self.assertEqual([2, 3, 3, 1, len(SHEET), []], [report[key] for key in ("maps", "revisions", "documents", "sheets", "sheet_bytes", "problems")])

    def test_the_same_map_twice_is_one_revision(self):
        first = self.add()
        again = self.add()
        self.assertFalse(again["is_new"])
        self.assertEqual(first["revision"], again["revision"])
        self.assertIn("was there already", self.run_it("add", self.path("Alder 52.map.json")).stdout)

    def test_text_for_people(self):
        self.add("Alder 52", 90000, "--message", "first line\nsecond line", "--author", "Ines")
        listed = self.run_it("list").stdout
        self.assertRegex(listed, r"(?m)^Alder 52 +compressor +[0-9a-f]{12} \(1\) +20\d\d-\d\d-\d\dT\d\d:\d\d:\d\dZ +Ines +Alder 52$")
        shown = self.run_it("show", "Alder 52").stdout
        for words in ("corrected mass flow, 0 to 0.6 kg/s", "pressure ratio tt, 1 to 4\n", "298 K, 100000 Pa, assumed", "1 speed line", "1 curve\n",
                      "reference conditions are assumed", "not on the shelf", "first line\n"):
            self.assertIn(words, shown)
        self.assertRegex(self.run_it("log", "Alder 52").stdout, r"(?m)^[0-9a-f]{12}  20\S+  Ines +first line$")
        self.assertEqual("1 map, 1 revision, 0 sheets (0 bytes): everything is what its hash says.\n", self.run_it("verify").stdout)

    def test_quiet(self):
        added = self.run_it("add", self.write("a.map.json", document("a", 1)), "--quiet")
        self.assertEqual(("", ""), (added.stdout, added.stderr))
        verified = self.run_it("verify", "--quiet")
        self.assertEqual(("", ""), (verified.stdout, verified.stderr))
        self.assertEqual("", self.run_it("list", "--quiet").stderr)

    def test_names(self):
        path = self.write("scan 7.map.json", document("Alder 52", 90000))
        self.assertEqual("scan 7", self.json("add", path)["added"][0]["name"])
        self.assertEqual("Alder 52", self.json("add", path, "--name", "Alder 52")["added"][0]["name"])
        self.assertEqual("plain", self.json("add", self.write("plain.json", document("x", 1)))["added"][0]["name"])
        done = self.run_it("add", path, "--name", "a@b", code=1)
        self.assertIn("'@'", done.stderr)

    def test_where_the_shelf_is(self):
        path = self.write("a.map.json", document("a", 1))
        elsewhere = self.path("other.db")
        self.run_it("add", path, "--shelf", elsewhere)
        self.assertTrue(os.path.exists(elsewhere))
        self.assertFalse(os.path.exists(self.shelf))
        del self.environment["ISLEBOOK_SHELF"]
        self.run_it("add", path)
        self.assertTrue(os.path.exists(self.path(".local/share/islebook/shelf.db")))
        self.environment["XDG_DATA_HOME"] = self.path("xdg")
        self.run_it("add", path)
        self.assertTrue(os.path.exists(self.path("xdg/islebook/shelf.db")))

    def test_a_batch_goes_on_past_what_is_wrong(self):
        good, bad = self.write("good.map.json", document("good", 1)), self.write("bad.map.json", b"not a map")
        done = self.run_it("add", bad, self.path("absent.map.json"), good, "--json", code=1)
        result = json.loads(done.stdout)
        self.assertEqual(["good"], [entry["name"] for entry in result["added"]])
        self.assertEqual([bad, self.path("absent.map.json")], [entry["file"] for entry in result["failed"]])
        *refused, remark = done.stderr.splitlines()
        self.assertEqual(2, len(refused), done.stderr)
        for line, path in zip(refused, (bad, self.path("absent.map.json"))):
            self.assertTrue(line.startswith(f"islebook shelf add: {path}: "), line)
        self.assertIn("is not on the shelf; add the map again with --sheet", remark)  # of the one that was added

    def test_what_is_out_comes_back(self):
        self.add("Alder 52", 90000, "--sheet", self.write("sheet.png", SHEET))
        self.run_it("show", "Alder 52", "--sheet", self.path("back.png"), "--document", self.path("back.map.json"))
        with open(self.path("back.png"), "rb") as file:
            self.assertEqual(SHEET, file.read())
        with open(self.path("back.map.json"), encoding="utf-8") as file:
            self.assertEqual(document("Alder 52", 90000), json.load(file))
        self.assertFalse(self.json("add", self.path("back.map.json"), "--name", "Alder 52")["added"][0]["is_new"])
        self.run_it("show", "Alder 52", "--sheet", self.path("no/such/folder/x.png"), code=1)

    def test_one_clear_sentence_and_the_right_code(self):
        path = self.write("a.map.json", document("a", 1))
        self.assertIn("no shelf here yet", self.run_it("list", code=1).stderr)
        self.add()
        cases = [
            (("show", "Rowan 83"), 1, "no map of this name"),
            (("log", "Rowan 83"), 1, "no map of this name"),
            (("show", "Alder 52@12"), 1, "4 to 64 digits"),
            (("show", "Alder 52@0123456789abcdef"), 1, "no such revision"),
            (("add", path, "--sheet", path), 1, "not the sheet"),
            (("add", path, "--sheet", self.path("absent.png")), 1, "absent.png"),
            (("add", path, "--author", "\udcff"), 1, "author"),
            (("list", "--shelf", path), 1, "not a shelf"),
            (("list", "--shelf", self.folder), 1, "folder"),
            (("add", path, path, "--name", "x"), 2, "one map"),
            (("add",), 2, "FILE"),
            (("show",), 2, "NAME"),
            (("list", "more"), 2, "more"),
            ((), 2, "--help"),
            (("lend",), 2, "--help"),
        ]
        for arguments, code, words in cases:
            with self.subTest(arguments=arguments):
                done = self.run_it(*arguments, code=code)
                self.assertEqual("", done.stdout)
                self.assertEqual(1, len(done.stderr.splitlines()), done.stderr)
                self.assertTrue(done.stderr.startswith("islebook shelf"), done.stderr)
                self.assertIn(words, done.stderr)

    def test_json_says_what_failed(self):
        error = self.json("list", code=1)["error"]
        self.assertEqual(["code", "message", "place"], sorted(error))
        self.assertEqual(self.shelf, error["place"])

    def test_help(self):
        self.assertEqual("", self.run_it("--help").stderr)
        for command in ("add", "list", "show", "log", "verify"):
            done = self.run_it(command, "--help")
            for option in ("--json", "--quiet", "--help", "--shelf"):
                self.assertIn(option, done.stdout)
            self.assertIn(command, self.run_it("--help").stdout)

    def test_verify_names_the_damage(self):
        revision = self.add()["document_sha256"]
        subprocess.run(["sqlite3", self.shelf, "DROP TRIGGER documents_stay; UPDATE documents SET body = replace(body, '90000', '90009')"], check=True)
        done = self.run_it("verify", code=1)
        self.assertIn(f"document {revision}", done.stderr)
        self.assertIn("problem", done.stdout)
        places = [problem["place"] for problem in self.json("verify", code=1)["problems"]]
        self.assertIn(f"document {revision}", places)
        self.assertIn("not what its hash says", self.run_it("show", "Alder 52", code=1).stderr)

    def test_a_result_that_cannot_be_written_is_an_error(self):
        self.add()
        with open("/dev/full", "w", encoding="utf-8") as full:
            done = subprocess.run([ISLEBOOK, "shelf", "list"], stdout=full, stderr=subprocess.PIPE, text=True, env=self.environment, check=False)
        self.assertEqual(1, done.returncode)
        self.assertIn("cannot be written", done.stderr)

    def test_a_full_disk_leaves_the_shelf_as_it_was(self):
        self.add()
        path = self.write("big.map.json", document("big", 1))

        def small_files_only():
            import resource
            resource.setrlimit(resource.RLIMIT_FSIZE, (20000, 20000))
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)

        self.write("sheet.png", SHEET)
        done = self.run_it("add", path, "--sheet", self.path("sheet.png"), code=1, preexec_fn=small_files_only)
        self.assertIn("nothing was changed", done.stderr)
        self.assertEqual(["Alder 52"], [entry["name"] for entry in self.json("list")])
        self.assertEqual([], self.json("verify")["problems"])

    def test_two_programs_at_once(self):
        paths = [self.write(f"map {i}.map.json", document(f"map {i}", i + 1)) for i in range(24)]
        running = [subprocess.Popen([ISLEBOOK, "shelf", "add", *paths[i::4], "--quiet"], env=self.environment) for i in range(4)]
        self.assertEqual([0, 0, 0, 0], [program.wait() for program in running])
        self.assertEqual(24, len(self.json("list")))
        self.assertEqual([], self.json("verify")["problems"])

    def test_short_ids_in_text_find_the_revision(self):
        self.add()
        said = self.run_it("add", self.write("Alder 52.map.json", document("Alder 52", 95000))).stdout
        spec = re.match(r"(.+@[0-9a-f]{12})  added", said).group(1)
        self.assertEqual(95000, self.json("show", spec)["map"]["curves"][0]["value"])


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
