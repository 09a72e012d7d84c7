#!/usr/bin/env python3
"""The tree keeps its layers, and the checker notices every kind of breach planted in a small tree."""
import os
import sys
import tempfile
import unittest

sys.dont_write_bytecode = True
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import include_rules  # noqa: E402

ROOT = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..")

# A small tree that keeps every rule.
GOOD = {
    "digitizer/CMakeLists.txt": "foreach(stage sheet page axes)\nendforeach()\nadd_subdirectory(proof)\n",
    "digitizer/digitize.h": '#pragma once\n#include "digitizer/axes/axes.h"\n#include "mapstore/map/map.h"\n',
    "digitizer/sheet/sheet.h": '#pragma once\n#include <opencv2/core/mat.hpp>\n#include "mapstore/units/error.h"\n',
    "digitizer/page/page.h": '#pragma once\n#include "digitizer/sheet/sheet.h"\n',
    "digitizer/axes/axes.h": '#pragma once\n#include "digitizer/page/page.h"\n',
    "digitizer/axes/axes.cc": '#include "digitizer/axes/axes.h"\n#include <ceres/ceres.h>\n#include <nlohmann/json.hpp>\n',
    "digitizer/proof/proof.h": '#pragma once\n#include "digitizer/digitize.h"\n#include "digitizer/axes/axes.h"\n',
    "mapstore/units/error.h": "#pragma once\n#include <string>\n",
    "mapstore/map/map.h": '#pragma once\n#include "mapstore/units/error.h"\n#include <stdint.h>\n',
    "mapstore/map/map.cc": '#include "mapstore/map/map.h"\n#include <nlohmann/json.hpp>\n',
    "mapstore/shelf/shelf.h": '#pragma once\n#include "mapstore/map/map.h"\n',
    "mapstore/shelf/shelf.cc": '#include "mapstore/shelf/shelf.h"\n#include <sqlite3.h>\n',
    "mapstore/surface/surface.h": '#pragma once\n#include "mapstore/map/map.h"\n',
    "mapstore/query/query.h": '#pragma once\n#include "mapstore/surface/surface.h"\n',
    "mapstore/bench/bench.h": '#pragma once\n#include "mapstore/query/query.h"\n',
    "ui/cli/command_line.cc": '#include <CLI/CLI.hpp>\n#include "mapstore/shelf/shelf.h"\n#include "digitizer/digitize.h"\n',
    "ui/desk/desk.h": '#pragma once\n#include "mapstore/shelf/shelf.h"\n',
    "ui/desktop/window.cc": "#include <QMainWindow>\n",
    "tests/support/painter.h": "#pragma once\n",
    "tests/digitizer/page_test.cc": '#include "ui/desk/desk.h"\n#include <opencv2/core.hpp>\n#include <sqlite3.h>\n',
}

# One breach each: the file, the line that is added to it, a word of the complaint.
BREACHES = [
    ("mapstore/units/error.h", '#include "mapstore/map/map.h"', "only itself"),
    ("mapstore/map/map.cc", '#include "mapstore/shelf/shelf.h"', "mapstore/map may include"),
    ("mapstore/shelf/shelf.cc", '#include "mapstore/surface/surface.h"', "mapstore/shelf may include"),
    ("mapstore/surface/surface.h", '#include "mapstore/query/query.h"', "mapstore/surface may include"),
    ("mapstore/query/query.h", '#include "mapstore/bench/bench.h"', "mapstore/query may include"),
    ("mapstore/bench/bench.h", '#include "mapstore/shelf/shelf.h"', "mapstore/bench may include"),
    ("mapstore/bench/bench.h", '#include "digitizer/digitize.h"', "does not know the digitizer"),
    ("mapstore/map/map.cc", '#include "ui/desk/desk.h"', "nothing outside ui/"),
    ("digitizer/axes/axes.cc", '#include "ui/desk/desk.h"', "nothing outside ui/"),
    ("digitizer/axes/axes.cc", '#include "mapstore/shelf/shelf.h"', "only mapstore/units and mapstore/map"),
    ("digitizer/page/page.h", '#include "digitizer/axes/axes.h"', "comes before"),
    ("digitizer/page/page.h", '#include "digitizer/digitize.h"', "knows all stages"),
    ("digitizer/page/page.h", '#include "digitizer/proof/proof.h"', "after all stages"),
    ("mapstore/map/map.cc", '#include "tests/support/painter.h"', "only tests"),
    ("mapstore/map/map.cc", "#include <opencv2/core.hpp>", "OpenCV"),
    ("ui/cli/command_line.cc", "#  include  <opencv2/imgproc.hpp>", "OpenCV"),
    ("ui/cli/command_line.cc", "#include <tesseract/baseapi.h>", "Tesseract"),
    ("digitizer/axes/axes.cc", "#include <QImage>", "Qt"),
    ("digitizer/axes/axes.cc", "#include <QtGui/QImage>", "Qt"),
    ("ui/desk/desk.h", "#include <QString>", "no Qt"),
    ("mapstore/map/map.cc", "#include <ceres/ceres.h>", "Ceres"),
    ("mapstore/map/map.cc", "#include <sqlite3.h>", "SQLite"),
    ("ui/cli/command_line.cc", "#include <sqlite3.h>", "SQLite"),
    ("ui/desktop/window.cc", "#include <CLI/App.hpp>", "CLI11"),
    ("digitizer/axes/axes.h", "#include <nlohmann/json.hpp>", "nlohmann"),
    ("ui/desk/desk.h", "#include <nlohmann/json.hpp>", "nlohmann"),
    ("digitizer/axes/axes.h", "#include <ceres/ceres.h>", "Ceres"),
    ("mapstore/shelf/shelf.h", "#include <boost/math/tools/roots.hpp>", "standard library"),
    ("mapstore/shelf/shelf.h", "#include <fmt/format.h>", "standard library"),
    ("mapstore/bench/bench.h", "#include <gsl/gsl_spline.h>", "GSL"),
    ("digitizer/axes/axes.h", '#include "axes.h"', "path from the top"),
    ("digitizer/axes/axes.h", '#include "../page/page.h"', "path from the top"),
    ("digitizer/axes/axes.h", '#include "digitizer/axes/gone.h"', "path from the top"),
    ("digitizer/axes/axes.h", "#include <digitizer/page/page.h>", "in quotes"),
]


def plant(root, files):
    for name, text in files.items():
        path = os.path.join(root, name)
        os.makedirs(os.path.dirname(path), exist_ok=True)
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)


class IncludeRules(unittest.TestCase):
    maxDiff = None

    def test_the_tree_keeps_its_layers(self):
        self.assertGreater(len(list(include_rules.source_files(ROOT))), 10)
        self.assertIn("axes", include_rules.digitizer_rooms(ROOT)[0])
        self.assertEqual([], include_rules.violations(ROOT))

    def test_a_tree_that_keeps_the_rules_passes(self):
        with tempfile.TemporaryDirectory() as root:
            plant(root, GOOD)
            self.assertEqual([], include_rules.violations(root))

    def test_every_planted_breach_is_noticed(self):
        for name, line, word in BREACHES:
            with self.subTest(file=name, line=line), tempfile.TemporaryDirectory() as root:
                plant(root, dict(GOOD, **{name: GOOD[name] + line + "\n"}))
                found = include_rules.violations(root)
                self.assertEqual(1, len(found), found)
                self.assertIn(word, found[0])
                self.assertTrue(found[0].startswith(f"{name}:{GOOD[name].count(chr(10)) + 1}:"), found[0])

    def test_a_room_without_a_line_in_the_table_is_noticed(self):
        with tempfile.TemporaryDirectory() as root:
            plant(root, dict(GOOD, **{"mapstore/attic/attic.cc": '#include "mapstore/map/map.h"\n'}))
            self.assertIn("no line in the layer table", include_rules.violations(root)[0])

    def test_a_header_without_its_guard_is_noticed(self):
        with tempfile.TemporaryDirectory() as root:
            plant(root, dict(GOOD, **{"mapstore/map/bare.h": "#include <string>\n"}))
            self.assertIn("#pragma once", include_rules.violations(root)[0])

    def test_an_empty_folder_is_not_a_pass(self):
        with tempfile.TemporaryDirectory() as root:
            self.assertEqual(1, include_rules.main([root]))


if __name__ == "__main__":
    unittest.main()
