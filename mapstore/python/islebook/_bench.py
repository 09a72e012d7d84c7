"""The bench: an engine's operating points on maps."""

from __future__ import annotations

import array
import ctypes
import json
import os
from typing import Any, Dict, Mapping, NamedTuple, Optional, Tuple, Union

from . import _library as lib
from ._map import Map, _c, _check

try:
    import numpy
except ImportError:  # everything works without
    numpy = None  # type: ignore[assignment]

_GRADES = ("room", "unknown", "close", "over")


class BenchColumn(NamedTuple):
    """What an array of a bench holds. ``unit`` is SI; "1" is a pure number, and 0 or 1 for what is so or not."""

    role: str
    """engine, compressor or turbine"""
    quantity: str
    unit: str


def open_bench(case: Union[str, "os.PathLike[str]"], *, maps: Optional[Mapping[str, Map]] = None, folder: Optional[Union[str, "os.PathLike[str]"]] = None,
               shelf: Optional[Union[str, "os.PathLike[str]"]] = None, surge_margin: Optional[str] = None) -> "Bench":
    """Works out a case file (TOML; mapstore/bench/CASE_FILE.md). The maps that it names are looked for in ``maps``, then as files in ``folder`` (by default beside the
    case), then on ``shelf``. Raises IslebookError, whose place is the line of the case; a point that cannot be worked out raises nothing, see Bench.failures."""
    return Bench._open(_c.islebook_bench_open_file, (os.fsencode(case),), maps, folder, shelf, surge_margin)


def open_bench_text(case: Union[str, bytes], *, maps: Optional[Mapping[str, Map]] = None, folder: Optional[Union[str, "os.PathLike[str]"]] = None,
                    shelf: Optional[Union[str, "os.PathLike[str]"]] = None, surge_margin: Optional[str] = None) -> "Bench":
    """The same for a case in memory, as TOML text. Map files are looked for in ``folder`` only."""
    data = case.encode() if isinstance(case, str) else bytes(case)
    return Bench._open(_c.islebook_bench_open_text, (data, len(data)), maps, folder, shelf, surge_margin)


class Bench:
    """A case worked out, made by islebook.open_bench or open_bench_text. It never changes; any number of threads may read it.

    Arrays have one row a point and wheel: row ``point * len(stages) + stage``."""

    title: str
    points: Tuple[str, ...]
    """names of the operating points"""
    stages: Tuple[str, ...]
    """names of the stages, in the order of the air"""
    failures: Tuple[str, ...]
    """why each point could not be worked out; "": it was"""
    grade: str
    """the worst of all: room, unknown, close or over"""
    summary: str
    """the most important thing in one line"""
    needs_review: bool
    """something is over, not known or doubted; the report says what"""
    has_turbines: bool
    rows: int
    columns: Tuple[BenchColumn, ...]

    def __init__(self) -> None:
        self._handle: Optional[ctypes.c_void_p] = None
        raise TypeError("open a case with islebook.open_bench or open_bench_text")

    @classmethod
    def _open(cls, function: Any, arguments: Tuple[Any, ...], maps: Optional[Mapping[str, Map]], folder: Optional[Union[str, "os.PathLike[str]"]],
              shelf: Optional[Union[str, "os.PathLike[str]"]], surge_margin: Optional[str]) -> "Bench":
        named = (lib.NamedMap * len(maps or {}))(*(lib.NamedMap(name.encode(), opened._open_handle()) for name, opened in (maps or {}).items()))
        options = lib.BenchOptions(ctypes.sizeof(lib.BenchOptions), None if surge_margin is None else surge_margin.encode(), named, len(named),
                                   None if folder is None else os.fsencode(folder), None if shelf is None else os.fsencode(shelf))
        handle, error = ctypes.c_void_p(), ctypes.c_void_p()
        _check(function(*arguments, ctypes.byref(options), ctypes.byref(handle), ctypes.byref(error)), error)
        self = cls.__new__(cls)
        self._handle = handle
        facts = lib.BenchFacts(struct_size=ctypes.sizeof(lib.BenchFacts))
        _c.islebook_bench_facts_of(handle, ctypes.byref(facts))
        self.title, self.summary = facts.title.decode("utf-8", "replace"), facts.summary.decode("utf-8", "replace")
        self.grade = _GRADES[facts.grade]
        self.needs_review, self.has_turbines, self.rows = facts.needs_review != 0, facts.has_turbines != 0, facts.rows
        self.points = tuple(_c.islebook_bench_point(handle, i).decode("utf-8", "replace") for i in range(facts.points))
        self.stages = tuple(_c.islebook_bench_stage(handle, i).decode("utf-8", "replace") for i in range(facts.stages))
        self.failures = tuple(_c.islebook_bench_failure(handle, i).decode("utf-8", "replace") for i in range(facts.points))
        columns = []
        for i in range(facts.columns):
            column = lib.BenchColumn(struct_size=ctypes.sizeof(lib.BenchColumn))
            _check(_c.islebook_bench_column_of(handle, i, ctypes.byref(column)), error)
            columns.append(BenchColumn(column.role.decode(), column.quantity.decode(), column.unit.decode()))
        self.columns = tuple(columns)
        return self

    def close(self) -> None:
        """Frees the bench. Once is enough, twice does no harm."""
        handle, self._handle = self._handle, None
        if handle:
            _c.islebook_bench_close(handle)

    def __enter__(self) -> "Bench":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def __del__(self) -> None:
        if getattr(self, "_handle", None) is not None:
            self.close()

    def __repr__(self) -> str:
        return f"<islebook.Bench {self.title!r}, {len(self.points)} points, {len(self.stages)} stages: {self.grade}>"

    def _open_handle(self) -> ctypes.c_void_p:
        if self._handle is None:
            raise ValueError("the bench is closed")
        return self._handle

    @property
    def report(self) -> Dict[str, Any]:
        """Everything, as CASE_FILE.md describes the report."""
        text: bytes = _c.islebook_bench_report(self._open_handle(), None)
        report: Dict[str, Any] = json.loads(text)
        return report

    @property
    def csv(self) -> str:
        """The columns as a table (RFC 4180), with names in words."""
        text: bytes = _c.islebook_bench_csv(self._open_handle(), None)
        return text.decode("utf-8", "replace")

    def values(self, role: str, quantity: str) -> Any:
        """One column: a numpy array where numpy is installed, else an array.array. NaN: not known, or the case has no such thing."""
        error = ctypes.c_void_p()
        found: Any = (ctypes.c_double * self.rows)()
        _check(_c.islebook_bench_values(self._open_handle(), role.encode(), quantity.encode(), found, self.rows, ctypes.byref(error)), error)
        return numpy.array(found, dtype=numpy.float64) if numpy is not None else array.array("d", found)

    def changes(self, goal: str, point: Optional[str] = None) -> Dict[str, Any]:
        """What to change first for ``goal`` (power, low-speed, drive-ratio, altitude) at a point, by its name or its number from 1; the first if none is given. Tried are
        the wheels of the bench's own maps and shelf, one at a time, and ports, openings and coolers."""
        text, error = ctypes.c_void_p(), ctypes.c_void_p()
        _check(_c.islebook_bench_changes(self._open_handle(), goal.encode(), None if point is None else point.encode(), ctypes.byref(text), ctypes.byref(error)), error)
        try:
            changes: Dict[str, Any] = json.loads(ctypes.string_at(text.value or 0))
        finally:
            _c.islebook_text_free(text)
        return changes
