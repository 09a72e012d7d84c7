#!/usr/bin/env python3
"""islebook parcel through the built program: packing, looking, unpacking, keys; what it prints, where, and the exit codes.

Usage: parcel_command_test.py ISLEBOOK VALIDATE_BAG
"""
import hashlib
import io
import json
import os
import shutil
import subprocess
import sys
import tempfile
import unittest
import xml.dom.minidom
import zipfile

ISLEBOOK, VALIDATE_BAG = sys.argv[1:3]
SHEET = b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 40


def document(title, speed):
    return {
        "document": "performance-map", "schema": 1, "kind": "compressor", "title": title,
        "axes": {"x": {"quantity": "corrected_mass_flow", "unit": "kg/s", "scale": "linear", "min": 0, "max": 0.6},
                 "y": {"quantity": "pressure_ratio_tt", "unit": "1", "scale": "linear", "min": 1, "max": 4}},
        "reference_conditions": {"temperature_K": 298, "pressure_Pa": 100000, "basis": "printed"},
        "curves": [{"role": "speed_line", "value": speed, "unit": "rpm", "closed": False, "points": [[0.1, 2.0], [0.2, 1.9], [0.25, 1.5]],
                    "points_px": [[10, 20], [30, 40], [50, 60.5]], "sigma": [[0.001, 0.002]] * 3, "confidence": 0.9, "needs_review": False, "reasons": []}],
        "source": {"file": "sheet.png", "sha256": hashlib.sha256(SHEET).hexdigest(), "size_px": [800, 600], "page": 1},
        "needs_review": [],
    }


class ParcelCommand(unittest.TestCase):
    def setUp(self):
        temporary = tempfile.TemporaryDirectory()
        self.addCleanup(temporary.cleanup)
        self.folder = temporary.name
        self.write("sheet.png", SHEET)
        for speed in (90000, 91000):
            self.write("alder.map.json", json.dumps(document("Alder 52", speed)).encode())
            self.run_it("ours", "shelf", "add", "alder.map.json", "--name", "Alder 52", "--sheet", "sheet.png", "--author", "Ines", "--message", f"speed {speed}")

    def path(self, name):
        return os.path.join(self.folder, name)

    def write(self, name, content):
        with open(self.path(name), "wb") as file:
            file.write(content)

    def read(self, name):
        with open(self.path(name), "rb") as file:
            return file.read()

    def environment(self, shop):
        return {"PATH": os.environ["PATH"], "HOME": self.folder, "ISLEBOOK_SHELF": self.path(f"{shop}.db"), "XDG_CONFIG_HOME": self.path(f"{shop}-config")}

    def run_it(self, shop, *arguments, code=0):
        done = subprocess.run([ISLEBOOK, *arguments], capture_output=True, text=True, env=self.environment(shop), cwd=self.folder, check=False)
        self.assertEqual(code, done.returncode, done.stdout + done.stderr)
        return done

    def json(self, shop, *arguments, code=0):
        return json.loads(self.run_it(shop, *arguments, "--json", code=code).stdout)

    def validate(self, name):
        done = subprocess.run([sys.executable, "-B", VALIDATE_BAG, self.path(name)], capture_output=True, text=True, check=False)
        self.assertEqual(0, done.returncode, done.stdout + done.stderr)

    def test_there_and_back(self):
        packed = self.json("ours", "parcel", "pack", "Alder 52", "--out", "a.zip")
        self.assertEqual((1, 2, 1), (packed["maps"], packed["revisions"], packed["sheets"]))
        self.assertIsNone(packed["signed_by"])
        self.validate("a.zip")
        looked = self.json("theirs", "parcel", "look", "a.zip")
        self.assertEqual("unsigned", looked["signature"]["state"])
        self.assertEqual("Alder 52", looked["maps"][0]["name"])
        self.assertEqual(["speed 91000", "speed 90000"], [revision["message"] for revision in looked["maps"][0]["history"]])
        self.assertFalse(os.path.exists(self.path("theirs.db")), "looking makes no shelf")
        unpacked = self.json("theirs", "parcel", "unpack", "a.zip")
        self.assertEqual("new", unpacked["maps"][0]["as"])
        self.assertEqual(self.json("ours", "shelf", "log", "Alder 52"), self.json("theirs", "shelf", "log", "Alder 52"))
        self.run_it("theirs", "shelf", "show", "Alder 52", "--sheet", "back.png")
        self.assertEqual(SHEET, self.read("back.png"))
        self.assertEqual("same", self.json("theirs", "parcel", "unpack", "a.zip")["maps"][0]["as"])
        self.assertEqual("same", self.json("theirs", "parcel", "look", "a.zip")["maps"][0]["here"]["as"])

    def test_the_same_bytes_again_and_a_name_of_its_own(self):
        self.run_it("ours", "parcel", "pack", "Alder 52")
        first = self.read("alder-52-parcel.zip")
        self.run_it("ours", "parcel", "pack", "--all", "--out", "b.zip")
        self.assertEqual(first, self.read("b.zip"))

    def test_what_a_colleague_without_the_program_finds(self):
        self.run_it("ours", "parcel", "pack", "Alder 52", "--out", "a.zip")
        with zipfile.ZipFile(self.path("a.zip")) as archive:
            names = archive.namelist()
            base = names[0].split("/")[0]
            sheet = f"{base}/data/sheets/{hashlib.sha256(SHEET).hexdigest()}.png"
            self.assertEqual(SHEET, archive.read(sheet))
            page = archive.read(f"{base}/data/summary.html").decode()
            charts = [name for name in names if "/data/charts/" in name]
            self.assertEqual(1, len(charts))
            self.assertIn(charts[0].split("/data/")[1], page)
            self.assertEqual("svg", xml.dom.minidom.parseString(archive.read(charts[0])).documentElement.tagName)
            for name in names:
                if name.endswith(".map.json"):
                    self.assertEqual("performance-map", json.loads(archive.read(name))["document"])
            self.assertTrue(all(info.date_time == (1980, 1, 1, 0, 0, 0) for info in archive.infolist()))

    def test_no_sheets(self):
        self.run_it("ours", "parcel", "pack", "Alder 52", "--no-sheets", "--out", "a.zip")
        self.validate("a.zip")
        with zipfile.ZipFile(self.path("a.zip")) as archive:
            self.assertFalse([name for name in archive.namelist() if "/sheets/" in name])
            self.assertFalse([name for name in archive.namelist() if SHEET in archive.read(name)])
        self.assertTrue(self.json("theirs", "parcel", "look", "a.zip")["sheets_left_out"])
        self.run_it("theirs", "parcel", "unpack", "a.zip")

    def test_signatures(self):
        self.run_it("ours", "parcel", "key", code=1)
        made = self.json("ours", "parcel", "key", "--name", "Tarnside Engine Works", "--out", "tarnside.key")
        self.assertTrue(made["is_new"])
        self.assertEqual(made["key"], self.json("ours", "parcel", "key")["key"])
        self.run_it("ours", "parcel", "key", "--name", "Another", code=1)
        self.run_it("ours", "parcel", "pack", "Alder 52", "--out", "a.zip")
        self.run_it("ours", "parcel", "pack", "Alder 52", "--out", "again.zip")
        self.assertEqual(self.read("a.zip"), self.read("again.zip"))
        self.validate("a.zip")
        self.assertEqual("trusted", self.json("ours", "parcel", "look", "a.zip")["signature"]["state"])
        looked = self.json("theirs", "parcel", "look", "a.zip", code=4)
        self.assertEqual(("unknown", made["key"], "Tarnside Engine Works"), tuple(looked["signature"][key] for key in ("state", "key", "signer")))
        self.run_it("theirs", "parcel", "unpack", "a.zip", "--trusted", code=1)
        self.assertFalse(os.path.exists(self.path("theirs.db")))
        self.run_it("theirs", "parcel", "unpack", "a.zip", code=4)
        self.run_it("theirs", "parcel", "trust", "tarnside.key", "--name", "Tarnside")
        self.assertEqual([{"name": "Tarnside", "key": made["key"]}], self.json("theirs", "parcel", "trust")["trusted"])
        looked = self.json("theirs", "parcel", "look", "a.zip")
        self.assertEqual(("trusted", "Tarnside"), (looked["signature"]["state"], looked["signature"]["name"]))
        self.run_it("theirs", "parcel", "unpack", "a.zip", "--trusted")
        self.run_it("theirs", "parcel", "trust", "Tarnside", "--remove")
        self.run_it("theirs", "parcel", "trust", "Tarnside", "--remove", code=1)
        self.run_it("theirs", "parcel", "look", "a.zip", code=4)
        self.run_it("ours", "parcel", "pack", "Alder 52", "--unsigned", "--out", "u.zip")
        self.assertEqual("unsigned", self.json("theirs", "parcel", "look", "u.zip")["signature"]["state"])
        self.run_it("theirs", "parcel", "unpack", "u.zip", "--trusted", code=1)

    def repack(self, source, target, change):
        """The bag with `change(files)` made and its manifests set right again, as a forger would."""
        with zipfile.ZipFile(self.path(source)) as archive:
            files = {name: archive.read(name) for name in archive.namelist()}
        base = next(iter(files)).split("/")[0] + "/"
        change(files, base)
        digest = lambda data: hashlib.sha256(data).hexdigest()
        payload = sorted(name for name in files if name.startswith(base + "data/"))
        files[base + "manifest-sha256.txt"] = "".join(f"{digest(files[n])}  {n[len(base):]}\n" for n in payload).encode()
        info = [line for line in files[base + "bag-info.txt"].decode().splitlines() if not line.startswith("Payload-Oxum")]
        info.append(f"Payload-Oxum: {sum(len(files[n]) for n in payload)}.{len(payload)}")
        files[base + "bag-info.txt"] = ("\n".join(info) + "\n").encode()
        tags = sorted(n for n in files if not n.startswith((base + "data/", base + "tagmanifest")))
        files[base + "tagmanifest-sha256.txt"] = "".join(f"{digest(files[n])}  {n[len(base):]}\n" for n in tags).encode()
        with zipfile.ZipFile(self.path(target), "w", zipfile.ZIP_DEFLATED) as archive:
            for name, data in files.items():
                archive.writestr(name, data)

    def test_another_program_may_pack_it_again(self):
        self.run_it("ours", "parcel", "pack", "Alder 52", "--out", "a.zip")
        self.repack("a.zip", "b.zip", lambda files, base: None)
        self.validate("b.zip")
        self.run_it("theirs", "parcel", "unpack", "b.zip")

    def test_a_forged_parcel(self):
        self.run_it("ours", "parcel", "key", "--name", "Tarnside Engine Works")
        self.run_it("ours", "parcel", "pack", "Alder 52", "--out", "a.zip")

        def change(files, base):
            files[base + "data/extra.txt"] = b"more"
        self.repack("a.zip", "forged.zip", change)
        looked = self.run_it("ours", "parcel", "look", "forged.zip", "--json", code=1)
        self.assertEqual("wrong", json.loads(looked.stdout)["signature"]["state"])
        self.assertIn("signature does not hold", looked.stderr)
        failed = self.json("theirs", "parcel", "unpack", "forged.zip", code=1)
        self.assertIn("nothing was taken over", failed["error"]["message"])
        self.assertFalse(os.path.exists(self.path("theirs.db")))

    def test_diverged(self):
        self.run_it("ours", "parcel", "pack", "Alder 52", "--out", "a.zip")
        self.run_it("theirs", "parcel", "unpack", "a.zip")
        for shop, speed in (("ours", 92000), ("theirs", 93000)):
            self.write("alder.map.json", json.dumps(document("Alder 52", speed)).encode())
            self.run_it(shop, "shelf", "add", "alder.map.json", "--name", "Alder 52", "--author", shop)
        self.run_it("ours", "parcel", "pack", "Alder 52", "--out", "b.zip")
        self.assertEqual("branch", self.json("theirs", "parcel", "look", "b.zip")["maps"][0]["here"]["as"])
        unpacked = self.json("theirs", "parcel", "unpack", "b.zip", code=4)
        self.assertEqual(("branch", "from a parcel"), (unpacked["maps"][0]["as"], unpacked["maps"][0]["branch"]))
        self.assertEqual("theirs", self.json("theirs", "shelf", "show", "Alder 52")["author"])
        self.assertEqual("same", self.json("theirs", "parcel", "unpack", "b.zip")["maps"][0]["as"])

    def test_damage(self):
        self.run_it("ours", "parcel", "pack", "Alder 52", "--out", "a.zip")
        whole = self.read("a.zip")
        for length in range(0, len(whole), 1000):
            self.write("cut.zip", whole[:length])
            done = self.run_it("theirs", "parcel", "unpack", "cut.zip", "--json", code=1)
            self.assertIn("message", json.loads(done.stdout)["error"])
        self.assertFalse(os.path.exists(self.path("theirs.db")))
        self.run_it("theirs", "parcel", "look", "absent.zip", code=1)
        self.run_it("theirs", "parcel", "look", ".", code=1)

    def test_a_disk_that_is_full(self):
        self.run_it("ours", "parcel", "pack", "Alder 52", "--out", "a.zip")
        before = self.read("a.zip")
        done = subprocess.run(["bash", "-c", f'ulimit -f 4; exec "{ISLEBOOK}" parcel pack "Alder 52" --out a.zip'], capture_output=True, text=True,
                              env=self.environment("ours"), cwd=self.folder, check=False)
        self.assertEqual(1, done.returncode, done.stderr)
        self.assertEqual(before, self.read("a.zip"))
        self.assertEqual(["a.zip"], [name for name in os.listdir(self.folder) if name.startswith("a.zip")])

    def test_wrong_command_lines(self):
        self.run_it("ours", "parcel", code=2)
        self.run_it("ours", "parcel", "pack", code=2)
        self.run_it("ours", "parcel", "pack", "Alder 52", "--all", code=2)
        self.run_it("ours", "parcel", "unpack", code=2)
        self.run_it("ours", "parcel", "trust", "--remove", code=2)
        self.run_it("ours", "parcel", "trust", "no key", code=1)
        self.run_it("ours", "parcel", "pack", "Rowan 83", code=1)
        for words in (["parcel", "--help"], ["parcel", "pack", "--help"], ["parcel", "look", "--help"], ["parcel", "trust", "--help"]):
            self.assertIn("Usage", self.run_it("ours", *words).stdout)


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0]])
