"""The C interface (islebook.h) by ctypes."""

from __future__ import annotations

import ctypes
import os
import pathlib
from typing import List

ABI_VERSION = 1

FLOW, PRESSURE_RATIO, SPEED, EXPANSION_RATIO, VANE_OPENING = (1 << i for i in range(5))
GIVEN = {"flow": FLOW, "pressure_ratio": PRESSURE_RATIO, "speed": SPEED, "expansion_ratio": EXPANSION_RATIO, "vane_opening": VANE_OPENING}
# Values of an answer; the bit of each is its place.
VALUES = ("flow", "pressure_ratio", "speed", "expansion_ratio", "vane_opening", "efficiency", "surge_margin", "choke_margin", "sigma_flow",
          "sigma_pressure_ratio", "sigma_speed", "sigma_efficiency", "sigma_surge_margin", "map_width")
SLOPES = {"flow": 1 << 0, "pressure_ratio": 1 << 1, "speed": 1 << 2, "efficiency": 1 << 5, "surge_margin": 1 << 6, "choke_margin": 1 << 7, "map_width": 1 << 13,
          "expansion_ratio": 1 << 3, "vane_opening": 1 << 4}
EDGES = ("less_flow", "more_flow", "less_pressure_ratio", "more_pressure_ratio", "toward_surge", "toward_choke", "slower", "faster", "nearest")
REGIONS = {-1: "not_asked", 0: "on_map", 1: "left_of_surge", 2: "past_choke", 3: "over_speed", 4: "under_speed", 5: "outside_lines", 6: "not_known"}


class Options(ctypes.Structure):
    _fields_ = [("struct_size", ctypes.c_size_t), ("surge_margin", ctypes.c_char_p), ("sigma", ctypes.c_int32), ("threads", ctypes.c_int32)]


class Facts(ctypes.Structure):
    _fields_ = [("struct_size", ctypes.c_size_t), ("kind", ctypes.c_int32), ("has_efficiency", ctypes.c_int32), ("title", ctypes.c_char_p),
                ("name", ctypes.c_char_p), ("revision", ctypes.c_char_p), ("flow_unit", ctypes.c_char_p), ("speed_unit", ctypes.c_char_p),
                ("vane_opening_unit", ctypes.c_char_p), ("surge_margin", ctypes.c_char_p), ("lowest_line", ctypes.c_double),
                ("highest_line", ctypes.c_double), ("reference_temperature_K", ctypes.c_double), ("reference_pressure_Pa", ctypes.c_double),
                ("doubts", ctypes.c_uint64)]


class Question(ctypes.Structure):
    _fields_ = [("given", ctypes.c_uint32), ("reserved", ctypes.c_uint32)] + [(name, ctypes.c_double) for name in GIVEN]


class CAnswer(ctypes.Structure):
    _fields_ = [(name, ctypes.c_double) for name in VALUES[:13]] + [("known", ctypes.c_uint32), ("doubts", ctypes.c_uint32), ("region", ctypes.c_int32),
                                                                    ("alternatives", ctypes.c_uint32), ("map_width", ctypes.c_double)]


class CSlope(ctypes.Structure):
    _fields_ = [("by_first", ctypes.c_double), ("by_second", ctypes.c_double)]


class CSlopes(ctypes.Structure):
    _fields_ = [("known", ctypes.c_uint32), ("reserved", ctypes.c_uint32)] + [(name, CSlope) for name in SLOPES]


class CEdge(ctypes.Structure):
    _fields_ = [(name, ctypes.c_double) for name in ("flow", "pressure_ratio", "speed", "change", "share")] + [("beyond", ctypes.c_int32), ("known", ctypes.c_int32)]


class CEdges(ctypes.Structure):
    _fields_ = [("known", ctypes.c_int32), ("reserved", ctypes.c_int32)] + [(name, CEdge) for name in EDGES]


class NamedMap(ctypes.Structure):
    _fields_ = [("name", ctypes.c_char_p), ("map", ctypes.c_void_p)]


class BenchOptions(ctypes.Structure):
    _fields_ = [("struct_size", ctypes.c_size_t), ("surge_margin", ctypes.c_char_p), ("maps", ctypes.POINTER(NamedMap)), ("map_count", ctypes.c_size_t),
                ("folder", ctypes.c_char_p), ("shelf_file", ctypes.c_char_p)]


class BenchFacts(ctypes.Structure):
    _fields_ = [("struct_size", ctypes.c_size_t), ("points", ctypes.c_size_t), ("stages", ctypes.c_size_t), ("rows", ctypes.c_size_t), ("columns", ctypes.c_size_t),
                ("failures", ctypes.c_size_t), ("grade", ctypes.c_int32), ("has_turbines", ctypes.c_int32), ("needs_review", ctypes.c_int32),
                ("reserved", ctypes.c_int32), ("title", ctypes.c_char_p), ("summary", ctypes.c_char_p)]


class BenchColumn(ctypes.Structure):
    _fields_ = [("struct_size", ctypes.c_size_t), ("role", ctypes.c_char_p), ("quantity", ctypes.c_char_p), ("unit", ctypes.c_char_p)]


def _candidates() -> List[str]:
    named = os.environ.get("ISLEBOOK_LIBRARY")
    if named:
        return [named]
    here = pathlib.Path(__file__).resolve().parent
    # Installed beside the library (lib/python3/dist-packages/islebook), else wherever the system looks.
    beside = [folder / "libislebook.so.1" for folder in list(here.parents)[:5]]
    return [str(path) for path in beside if path.exists()] + ["libislebook.so.1"]


def load() -> ctypes.CDLL:
    failures = []
    for name in _candidates():
        try:
            library = ctypes.CDLL(name)
        except OSError as failure:
            failures.append(str(failure))
            continue
        break
    else:
        raise ImportError("the library libislebook.so.1 cannot be loaded; install it, or name it in ISLEBOOK_LIBRARY (" + "; ".join(failures) + ")")
    library.islebook_abi_version.restype = ctypes.c_int32
    found = library.islebook_abi_version()
    if found != ABI_VERSION:
        raise ImportError(f"libislebook speaks interface version {found}, this module version {ABI_VERSION}; install both from one build")
    pointer, text, size, code = ctypes.c_void_p, ctypes.c_char_p, ctypes.c_size_t, ctypes.c_int32
    out, options, number = ctypes.POINTER(ctypes.c_void_p), ctypes.POINTER(Options), ctypes.POINTER(ctypes.c_double)
    bench_options = ctypes.POINTER(BenchOptions)
    for name, result, arguments in (
            ("version", text, []), ("error_code", code, [pointer]), ("error_message", text, [pointer]), ("error_place", text, [pointer]),
            ("error_free", None, [pointer]), ("open_file", code, [text, options, out, out]), ("open_document", code, [text, size, options, out, out]),
            ("open_shelf", code, [text, text, options, out, out]), ("close", None, [pointer]), ("facts_of", code, [pointer, ctypes.POINTER(Facts)]),
            ("doubt", text, [pointer, size]), ("read_value", code, [pointer, ctypes.c_uint32, text, number, out]),
            ("unit_factor", code, [pointer, ctypes.c_uint32, text, number, out]), ("ask", code, [pointer, pointer, size, pointer, size, size, out]),
            ("slopes_of", code, [pointer, pointer, size, pointer, size, size, out]),
            ("edges_of", code, [pointer, pointer, size, pointer, size, size, out]),
            ("alternatives", code, [pointer, pointer, size, pointer, size, size, ctypes.POINTER(size), out]),
            ("reason", code, [pointer, pointer, size, text, size, ctypes.POINTER(size), out]),
            ("bench_open_file", code, [text, bench_options, out, out]), ("bench_open_text", code, [text, size, bench_options, out, out]),
            ("bench_close", None, [pointer]), ("bench_facts_of", code, [pointer, ctypes.POINTER(BenchFacts)]),
            ("bench_report", text, [pointer, ctypes.POINTER(size)]), ("bench_csv", text, [pointer, ctypes.POINTER(size)]), ("bench_point", text, [pointer, size]),
            ("bench_failure", text, [pointer, size]), ("bench_stage", text, [pointer, size]),
            ("bench_column_of", code, [pointer, size, ctypes.POINTER(BenchColumn)]), ("bench_values", code, [pointer, text, text, number, size, out]),
            ("bench_changes", code, [pointer, text, text, out, out]), ("text_free", None, [pointer])):
        function = getattr(library, "islebook_" + name)
        function.restype = result
        function.argtypes = arguments
    return library
