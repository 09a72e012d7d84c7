#!/usr/bin/env python3
"""Reads every #include and #includes of the build and reports each one that goes against the layers.

Usage: include_rules.py [ROOT]     Exit code 0: none; 1: violations, one a line.

The layers (DEVELOPERS.md): units <- map <- {shelf, surface <- query <- bench}; digitizer uses units and map and its own
earlier stages; ui uses everything; nothing uses ui. A library from outside stays in the folders that own it.
"""
import os
import re
import sys

SOURCES = (".h", ".hpp", ".cc", ".cpp", ".c")
HEADERS = (".h", ".hpp")
INCLUDE = re.compile(r'^[ \t]*#[ \t]*include[ \t]*(?:"([^"\n]+)"|<([^>\n]+)>)', re.MULTILINE)

# What each room of mapstore may include, besides itself.
MAPSTORE = {
    "units": set(),
    "map": {"units"},
    "shelf": {"units", "map"},
    "surface": {"units", "map"},
    "query": {"units", "map", "surface"},
    "bench": {"units", "map", "surface", "query"},
    "find": {"units", "map", "shelf", "surface", "query"},
    "parcel": {"units", "map", "shelf"},
    "answers": {"units", "map", "surface", "query"},
    "tables": {"units", "map", "surface", "query", "answers"},
    "fmu": {"units", "map", "surface", "query", "answers"},
    "capi": {"units", "map", "shelf", "surface", "query", "answers", "bench"},
}
# Headers that are installed side by side, without the tree around them: they include each other by name.
STANDS_ALONE = "mapstore/capi/islebook"

DIGITIZER_MAY_USE = {"units", "map"}

QT = re.compile(r"Q[A-Z]\w*$|Qt\w*/|q[a-z]+\.h$")

# A library from outside, and the folders (or the one file) that may include it. Tests may include anything.
OUTSIDE = [
    ("OpenCV", re.compile(r"opencv2?/"), ("digitizer/",)),
    ("pugixml", re.compile(r"pugixml\.hpp$"), ("digitizer/drawing/", "mapstore/parcel/")),
    ("libzip", re.compile(r"zip\.h$"), ("mapstore/parcel/", "mapstore/fmu/")),
    ("libxlsxwriter", re.compile(r"xlsxwriter"), ("mapstore/parcel/",)),
    ("Tesseract", re.compile(r"(tesseract|leptonica)/|allheaders\.h$|baseapi\.h$"), ("digitizer/",)),
    ("Qt", QT, ("ui/",)),
    ("libpq", re.compile(r"libpq-fe\.h$|libpq/"), ("mapstore/shelf/server/",)),
    ("SQLite", re.compile(r"sqlite3(ext)?\.h$"), ("mapstore/shelf/",)),
    ("CLI11", re.compile(r"CLI/"), ("ui/cli/command_line.cc",)),
    ("UDUNITS", re.compile(r"udunits2?\.h$|udunits2/"), ("mapstore/units/",)),
    ("Ceres", re.compile(r"ceres/"), ("digitizer/",)),  # brings GPL parts along (as Debian builds it); mapstore stays free of them
    ("toml++", re.compile(r"toml\+\+/|toml\.hpp$"), ("mapstore/bench/", "ui/")),
    ("GSL", re.compile(r"gsl/"), ()),
]
# Slow or intrusive headers that our own headers keep out.
NOT_IN_HEADERS = [
    ("nlohmann/json.hpp (json_fwd.hpp is fine)", re.compile(r"nlohmann/json\.hpp$")),
    ("CLI11", re.compile(r"CLI/")),
    ("Boost.Geometry", re.compile(r"boost/geometry")),
    ("Ceres", re.compile(r"ceres/")),
    ("Eigen/Dense", re.compile(r"Eigen/Dense$")),
    ("the whole of OpenCV", re.compile(r"opencv2/opencv\.hpp$")),
    ("spdlog", re.compile(r"spdlog/")),
]
STANDARD_HEADER = re.compile(r"[a-z_0-9]+$|std[a-z]+\.h$")


def digitizer_rooms(root):
    """(stages in the order of the flow, rooms that come after all stages), as digitizer/CMakeLists.txt lists them."""
    path = os.path.join(root, "digitizer", "CMakeLists.txt")
    if not os.path.exists(path):
        return [], []
    with open(path, encoding="utf-8") as file:
        text = file.read()
    stages = re.search(r"foreach\s*\(\s*stage\s+([^)]*)\)", text)
    return stages.group(1).split() if stages else [], re.findall(r"^add_subdirectory\(\s*(\w+)\s*\)", text, re.MULTILINE)


def source_files(root):
    for folder in ("digitizer", "mapstore", "ui", "tests"):
        for where, folders, names in os.walk(os.path.join(root, folder)):
            folders.sort()
            for name in sorted(names):
                if name.endswith(SOURCES):
                    yield os.path.relpath(os.path.join(where, name), root)


def includes_of(text):
    """(line number, path, quoted) of every include."""
    for match in INCLUDE.finditer(text):
        line = text.count("\n", 0, match.start()) + 1
        yield line, match.group(1) or match.group(2), match.group(1) is not None


def check_own(path, target, stages, after):
    """What is wrong with including our own header `target` from `path`; None if nothing."""
    here, there = path.split("/"), target.split("/")
    if here[0] == "tests":
        return None
    if there[0] == "tests":
        return "only tests include tests/"
    if there[0] == "ui":
        return None if here[0] == "ui" else "nothing outside ui/ includes ui/"
    if here[0] == "ui":
        if len(here) > 2 and here[1] in ("chart", "desk") and there[0] == "ui" and len(there) > 2 and there[1] not in ("chart", "desk"):
            return f"ui/{here[1]} serves every door and includes none of them"
        return None
    if here[0] == "mapstore":
        if there[0] == "digitizer":
            return "mapstore/ does not know the digitizer"
        if len(here) < 3 or len(there) < 3:
            return None
        allowed = MAPSTORE.get(here[1])
        if allowed is None:
            return f"mapstore/{here[1]} has no line in the layer table (tests/include_rules/include_rules.py)"
        if there[1] != here[1] and there[1] not in allowed:
            return f"mapstore/{here[1]} may include {', '.join('mapstore/' + a for a in sorted(allowed)) or 'only itself'}, not mapstore/{there[1]}"
        return None
    if here[0] == "digitizer":
        if there[0] == "mapstore":
            if len(there) > 2 and there[1] not in DIGITIZER_MAY_USE:
                return "the digitizer knows only mapstore/units and mapstore/map"
            return None
        if len(here) > 2 and here[1] not in after:
            if len(there) < 3:
                return f"a stage does not include {target}, which knows all stages"
            if there[1] in after:
                return f"digitizer/{there[1]} comes after all stages and no stage may include it"
            if here[1] not in stages:
                return f"digitizer/{here[1]} is not among the stages of digitizer/CMakeLists.txt"
            if there[1] in stages and stages.index(there[1]) > stages.index(here[1]):
                return f"digitizer/{here[1]} comes before digitizer/{there[1]} in the flow and may not include it"
    return None


def check_outside(path, target):
    if path.startswith("tests/"):
        return None
    for name, pattern, homes in OUTSIDE:
        if pattern.match(target) and not any(path == home or (home.endswith("/") and path.startswith(home)) for home in homes):
            return f"{name} is included only under {', '.join(homes) or 'tests/'}"
    if path.startswith("ui/desk/") and QT.match(target):
        return "ui/desk has no Qt"
    if path.endswith(HEADERS):
        for name, pattern in NOT_IN_HEADERS:
            if pattern.match(target):
                return f"{name} stays out of our headers"
        if path.startswith("mapstore/") and not STANDARD_HEADER.match(target) and target != "nlohmann/json_fwd.hpp":
            return "a mapstore header includes only the standard library and mapstore"
    return None


def violations(root):
    stages, after = digitizer_rooms(root)
    found = []
    for path in source_files(root):
        path = path.replace(os.sep, "/")
        with open(os.path.join(root, path), encoding="utf-8", errors="replace") as file:
            text = file.read()
        for line, target, quoted in includes_of(text):
            if quoted and path.startswith(STANDS_ALONE) and os.path.exists(os.path.join(root, os.path.dirname(path), target)):
                wrong = None
            elif quoted:
                if "/" not in target or target.startswith(".") or not os.path.exists(os.path.join(root, target)):
                    wrong = "an include in quotes is a path from the top of the repository to a file that exists"
                else:
                    wrong = check_own(path, target, stages, after)
            else:
                wrong = check_outside(path, target)
                if wrong is None and target.split("/")[0] in ("digitizer", "mapstore", "ui", "tests"):
                    wrong = "our own headers are included in quotes"
            if wrong:
                found.append(f"{path}:{line}: includes {target}: {wrong}")
        if path.endswith(HEADERS) and "#pragma once" not in text:
            found.append(f"{path}:1: a header begins with #pragma once")
    return found


def main(arguments):
    root = arguments[0] if arguments else os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..")
    if not any(True for _ in source_files(root)):
        print(f"include_rules: no sources under {root}", file=sys.stderr)
        return 1
    found = violations(root)
    for line in found:
        print(line)
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
