#!/usr/bin/env python3
"""The shared library depends on neither the digitizer's nor the desktop's libraries, and shows nothing but its interface.

Usage: library_test.py LIBISLEBOOK HEADER...
"""
import re
import subprocess
import sys
import unittest

LIBRARY, HEADERS = sys.argv[1], sys.argv[2:]


def output(*command):
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


class Library(unittest.TestCase):
    def test_it_needs_neither_opencv_nor_qt(self):
        needed = output("ldd", LIBRARY)
        self.assertIn("libstdc++", needed)
        self.assertIsNone(re.search(r"opencv|Qt\d|tesseract|lept|ceres|poppler", needed, re.IGNORECASE), needed)

    def test_it_shows_the_functions_of_the_headers_and_nothing_else(self):
        declared = set()
        for header in HEADERS:
            with open(header, encoding="utf-8") as file:
                declared |= set(re.findall(r"ISLEBOOK_API [^;(]*?(islebook_\w+)\(", file.read()))
        self.assertGreater(len(declared), 15)
        shown = {line.split()[-1].split("@")[0] for line in output("nm", "-D", "--defined-only", LIBRARY).splitlines() if line.split()[-2] not in "A"}
        self.assertEqual(declared, shown)

    def test_its_name_carries_the_interface_version(self):
        self.assertIn("libislebook.so.1", output("readelf", "-d", LIBRARY))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
