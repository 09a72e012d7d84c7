"""Maps, questions and answers."""

from __future__ import annotations

import array
import ctypes
import os
from typing import Any, Dict, List, Mapping, NamedTuple, Optional, Sequence, Tuple, Union

from . import _library as lib

try:
    import numpy
except ImportError:  # everything works without
    numpy = None  # type: ignore[assignment]

_c = lib.load()

Value = Union[float, int, str]
Values = Any  # a number, or a sequence or numpy array of them


class IslebookError(Exception):
    """What went wrong, in a sentence. ``code`` is one of islebook.h's codes, ``place`` the file, key or line that it is about."""

    def __init__(self, code: int, message: str, place: str) -> None:
        super().__init__(f"{place}: {message}" if place else message)
        self.code = code
        self.message = message
        self.place = place


class NotFoundError(IslebookError):
    """There is no such file, shelf, map or revision."""


class Answer(NamedTuple):
    """What a map says at one point; None: cannot be known, and ``reason`` says why."""

    flow: Optional[float]
    pressure_ratio: Optional[float]
    speed: Optional[float]
    expansion_ratio: Optional[float]
    vane_opening: Optional[float]
    efficiency: Optional[float]
    surge_margin: Optional[float]
    choke_margin: Optional[float]
    sigma_flow: Optional[float]
    sigma_pressure_ratio: Optional[float]
    sigma_speed: Optional[float]
    sigma_efficiency: Optional[float]
    sigma_surge_margin: Optional[float]
    map_width: Optional[float]
    inside: bool
    region: str
    """on_map, left_of_surge, past_choke, over_speed, under_speed; outside_lines (a turbine's); not_asked (the question made no sense)"""
    doubts: int
    reason: str
    revision: str
    alternatives: Tuple["Answer", ...]
    """further answers where there is more than one; this one is the likelier"""


class Answers(NamedTuple):
    """What a map says at many points, a column a value: numpy arrays where numpy is installed, array.array and lists otherwise. NaN: cannot be known."""

    flow: Any
    pressure_ratio: Any
    speed: Any
    expansion_ratio: Any
    vane_opening: Any
    efficiency: Any
    surge_margin: Any
    choke_margin: Any
    sigma_flow: Any
    sigma_pressure_ratio: Any
    sigma_speed: Any
    sigma_efficiency: Any
    sigma_surge_margin: Any
    map_width: Any
    inside: Any
    region: Any
    """names, as in Answer"""
    doubts: Any
    alternatives: Any
    """how many further answers each point has; Map.ask gives them"""


class Slope(NamedTuple):
    """How a value changes with the two that were asked with, in the order flow, pressure or expansion ratio, speed or vane opening."""

    by_first: float
    by_second: float


class Slopes(NamedTuple):
    """First derivatives of an answer; None: not known, or what was asked with."""

    flow: Optional[Slope]
    pressure_ratio: Optional[Slope]
    speed: Optional[Slope]
    efficiency: Optional[Slope]
    surge_margin: Optional[Slope]
    choke_margin: Optional[Slope]
    map_width: Optional[Slope]
    expansion_ratio: Optional[Slope]
    vane_opening: Optional[Slope]


class Edge(NamedTuple):
    """Where one way from a point meets the edge of the map."""

    flow: float
    pressure_ratio: float
    speed: float
    change: float
    """of what changes on this way, with its sign: flow, pressure ratio or speed"""
    share: float
    """straight distance to there, in parts of the map's extent in flow and in pressure ratio"""
    beyond: str
    """what lies on the other side, as Answer.region"""


class Edges(NamedTuple):
    """How far a point is from the edges of the map; None: no edge that way."""

    less_flow: Optional[Edge]
    """this and the next at constant pressure ratio; change of flow"""
    more_flow: Optional[Edge]
    less_pressure_ratio: Optional[Edge]
    """this and the next at constant flow; change of pressure ratio"""
    more_pressure_ratio: Optional[Edge]
    toward_surge: Optional[Edge]
    """this and the next along the speed line; change of flow"""
    toward_choke: Optional[Edge]
    slower: Optional[Edge]
    """this and the next at the same place between surge and choke; change of speed"""
    faster: Optional[Edge]
    nearest: Optional[Edge]
    """of the whole edge; its change is its share"""


def version() -> str:
    """The library's version."""
    text: bytes = _c.islebook_version()
    return text.decode()


def _check(code: int, error: ctypes.c_void_p) -> None:
    if code == 0:
        return
    try:
        message = _c.islebook_error_message(error).decode("utf-8", "replace")
        place = _c.islebook_error_place(error).decode("utf-8", "replace")
    finally:
        _c.islebook_error_free(error)
    raise (NotFoundError if code == 2 else IslebookError)(code, message, place)


def _options(surge_margin: Optional[str], sigma: bool, threads: int) -> lib.Options:
    return lib.Options(ctypes.sizeof(lib.Options), None if surge_margin is None else surge_margin.encode(), int(sigma), threads)


def open(path: Union[str, "os.PathLike[str]"], *, surge_margin: Optional[str] = None, sigma: bool = True, threads: int = 1) -> "Map":  # pylint: disable=redefined-builtin
    """A map document (*.map.json). ``threads`` of one ask_many, 0: as many as there are processors. Raises IslebookError."""
    return Map._open(_c.islebook_open_file, (os.fsencode(path),), _options(surge_margin, sigma, threads))


def open_document(document: Union[str, bytes], *, surge_margin: Optional[str] = None, sigma: bool = True, threads: int = 1) -> "Map":
    """A map document in memory."""
    data = document.encode() if isinstance(document, str) else bytes(document)
    return Map._open(_c.islebook_open_document, (data, len(data)), _options(surge_margin, sigma, threads))


def open_shelf(shelf: Union[str, "os.PathLike[str]"], name: str, *, surge_margin: Optional[str] = None, sigma: bool = True, threads: int = 1) -> "Map":
    """A map on a shelf, by NAME or NAME@REVISION."""
    return Map._open(_c.islebook_open_shelf, (os.fsencode(shelf), name.encode()), _options(surge_margin, sigma, threads))


class Map:
    """One map, opened by islebook.open, open_document or open_shelf. It never changes; any number of threads may ask it."""

    kind: str
    """compressor or turbine"""
    title: str
    name: str
    revision: str
    flow_unit: str
    speed_unit: str
    vane_opening_unit: str
    surge_margin: str
    has_efficiency: bool
    lowest_line: float
    highest_line: float
    reference_temperature_K: float
    reference_pressure_Pa: float
    doubts: Tuple[str, ...]
    """about the map as a whole: look at them before you rely on it"""

    def __init__(self) -> None:
        self._handle: Optional[ctypes.c_void_p] = None
        raise TypeError("open a map with islebook.open, open_document or open_shelf")

    @classmethod
    def _open(cls, function: Any, arguments: Tuple[Any, ...], options: lib.Options) -> "Map":
        handle, error = ctypes.c_void_p(), ctypes.c_void_p()
        _check(function(*arguments, ctypes.byref(options), ctypes.byref(handle), ctypes.byref(error)), error)
        self = cls.__new__(cls)
        self._handle = handle
        facts = lib.Facts(struct_size=ctypes.sizeof(lib.Facts))
        _c.islebook_facts_of(handle, ctypes.byref(facts))
        self.kind = "turbine" if facts.kind == 1 else "compressor"
        self.has_efficiency = facts.has_efficiency != 0
        for name in ("title", "name", "revision", "flow_unit", "speed_unit", "vane_opening_unit", "surge_margin"):
            setattr(self, name, getattr(facts, name).decode("utf-8", "replace"))
        for name in ("lowest_line", "highest_line", "reference_temperature_K", "reference_pressure_Pa"):
            setattr(self, name, getattr(facts, name))
        self.doubts = tuple(_c.islebook_doubt(handle, i).decode("utf-8", "replace") for i in range(facts.doubts))
        return self

    def close(self) -> None:
        """Frees the map; it cannot be asked any more. Once is enough, twice does no harm."""
        handle, self._handle = self._handle, None
        if handle:
            _c.islebook_close(handle)

    def __enter__(self) -> "Map":
        return self

    def __exit__(self, *exception: object) -> None:
        self.close()

    def __del__(self) -> None:
        if getattr(self, "_handle", None):
            self.close()

    def __repr__(self) -> str:
        return f"<islebook.Map {self.kind} {self.name!r}>"

    def _open_handle(self) -> ctypes.c_void_p:
        if self._handle is None:
            raise ValueError("the map is closed")
        return self._handle

    def value(self, which: str, text: Value) -> float:
        """"0.42 kg/s", "52,000 rpm" or a plain number in the map's printed unit. ``which``: flow, pressure_ratio, speed, expansion_ratio, vane_opening."""
        if not isinstance(text, str):
            return float(text)
        number, error = ctypes.c_double(), ctypes.c_void_p()
        _check(_c.islebook_read_value(self._open_handle(), _bit(which), text.encode(), ctypes.byref(number), ctypes.byref(error)), error)
        return number.value

    def unit_factor(self, which: str, unit: str) -> float:
        """What a number in ``unit`` is multiplied by to be in the map's printed unit."""
        factor, error = ctypes.c_double(), ctypes.c_void_p()
        _check(_c.islebook_unit_factor(self._open_handle(), _bit(which), unit.encode(), ctypes.byref(factor), ctypes.byref(error)), error)
        return factor.value

    def ask(self, *, flow: Optional[Value] = None, pressure_ratio: Optional[Value] = None, speed: Optional[Value] = None,
            expansion_ratio: Optional[Value] = None, vane_opening: Optional[Value] = None) -> Answer:
        """One point, two of its values given. A value may carry its unit: ``flow="0.2 kg/s"``."""
        question = self._question({"flow": flow, "pressure_ratio": pressure_ratio, "speed": speed, "expansion_ratio": expansion_ratio, "vane_opening": vane_opening})
        handle = self._open_handle()
        found, error = lib.CAnswer(), ctypes.c_void_p()
        _check(_c.islebook_ask(handle, ctypes.byref(question), ctypes.sizeof(question), ctypes.byref(found), ctypes.sizeof(found), 1, ctypes.byref(error)), error)
        reason = ""
        if found.doubts or found.region != 0:
            reason = self._reason(question)
        others: Tuple[Answer, ...] = ()
        if found.alternatives:
            more, count = (lib.CAnswer * found.alternatives)(), ctypes.c_size_t()
            _check(_c.islebook_alternatives(handle, ctypes.byref(question), ctypes.sizeof(question), more, ctypes.sizeof(found), found.alternatives,
                                            ctypes.byref(count), ctypes.byref(error)), error)
            others = tuple(self._answer(other, "", ()) for other in more)
        return self._answer(found, reason, others)

    def slopes(self, *, flow: Optional[Value] = None, pressure_ratio: Optional[Value] = None, speed: Optional[Value] = None,
               expansion_ratio: Optional[Value] = None, vane_opening: Optional[Value] = None) -> Slopes:
        """First derivatives of the answer by the values given: ``map.slopes(flow=0.2, pressure_ratio=2).speed.by_first`` is speed by flow."""
        question = self._question({"flow": flow, "pressure_ratio": pressure_ratio, "speed": speed, "expansion_ratio": expansion_ratio, "vane_opening": vane_opening})
        found, error = lib.CSlopes(), ctypes.c_void_p()
        _check(_c.islebook_slopes_of(self._open_handle(), ctypes.byref(question), ctypes.sizeof(question), ctypes.byref(found), ctypes.sizeof(found), 1,
                                     ctypes.byref(error)), error)
        return Slopes(*(Slope(getattr(found, name).by_first, getattr(found, name).by_second) if found.known & bit else None for name, bit in lib.SLOPES.items()))

    def edges(self, *, flow: Optional[Value] = None, pressure_ratio: Optional[Value] = None, speed: Optional[Value] = None) -> Optional[Edges]:
        """How far the point is from the edges of a compressor's map, each way; None: it is not on the map."""
        question = self._question({"flow": flow, "pressure_ratio": pressure_ratio, "speed": speed})
        found, error = lib.CEdges(), ctypes.c_void_p()
        _check(_c.islebook_edges_of(self._open_handle(), ctypes.byref(question), ctypes.sizeof(question), ctypes.byref(found), ctypes.sizeof(found), 1,
                                    ctypes.byref(error)), error)
        if not found.known:
            return None
        edges = (getattr(found, name) for name in lib.EDGES)
        return Edges(*(Edge(edge.flow, edge.pressure_ratio, edge.speed, edge.change, edge.share, lib.REGIONS[edge.beyond]) if edge.known else None for edge in edges))

    def _question(self, given: Mapping[str, Optional[Value]]) -> lib.Question:
        question = lib.Question()
        for name, value in given.items():
            if value is not None:
                setattr(question, name, self.value(name, value))
                question.given |= lib.GIVEN[name]
        return question

    def _reason(self, question: lib.Question) -> str:
        size = 256
        while True:
            buffer, needed, error = ctypes.create_string_buffer(size), ctypes.c_size_t(), ctypes.c_void_p()
            _check(_c.islebook_reason(self._open_handle(), ctypes.byref(question), ctypes.sizeof(question), buffer, size, ctypes.byref(needed),
                                      ctypes.byref(error)), error)
            if needed.value < size:
                return buffer.value.decode("utf-8", "replace")
            size = needed.value + 1

    def _answer(self, found: lib.CAnswer, reason: str, others: Tuple[Answer, ...]) -> Answer:
        values: List[Any] = [getattr(found, name) if found.known & (1 << i) else None for i, name in enumerate(lib.VALUES)]
        return Answer._make(values + [found.region == 0, lib.REGIONS.get(found.region, "not_asked"), found.doubts, reason, self.revision, others])

    def ask_many(self, *, units: Optional[Mapping[str, str]] = None, flow: Values = None, pressure_ratio: Values = None, speed: Values = None,
                 expansion_ratio: Values = None, vane_opening: Values = None) -> Answers:
        """Many points at once, as columns; a plain number stands for every point. ``units={"flow": "lb/min"}``: what the columns are in, if not in printed units.
        numpy arrays of any shape are flattened in order."""
        given = {"flow": flow, "pressure_ratio": pressure_ratio, "speed": speed, "expansion_ratio": expansion_ratio, "vane_opening": vane_opening}
        columns = {name: values for name, values in given.items() if values is not None}
        for name in units or {}:
            _bit(name)
        factors = {name: self.unit_factor(name, unit) for name, unit in (units or {}).items() if name in columns}
        return self._ask_numpy(columns, factors) if numpy is not None else self._ask_plain(columns, factors)

    def _ask_columns(self, questions: Any, answers: Any, count: int) -> None:
        error = ctypes.c_void_p()
        _check(_c.islebook_ask(self._open_handle(), questions, ctypes.sizeof(lib.Question), answers, ctypes.sizeof(lib.CAnswer), count, ctypes.byref(error)), error)

    def _ask_numpy(self, columns: Dict[str, Values], factors: Dict[str, float]) -> Answers:
        arrays: Dict[str, Any] = {name: numpy.asarray(values, dtype=numpy.float64).reshape(-1) if numpy.ndim(values) else float(values) for name, values in columns.items()}
        count = _length({name: None if isinstance(values, float) else len(values) for name, values in arrays.items()})
        questions: Any = numpy.zeros(count, dtype=numpy.dtype(lib.Question))
        for name, values in arrays.items():
            questions[name] = values * factors.get(name, 1.0)
            questions["given"] |= lib.GIVEN[name]
        answers: Any = numpy.zeros(count, dtype=numpy.dtype(lib.CAnswer))
        self._ask_columns(questions.ctypes.data, answers.ctypes.data, count)
        names = numpy.array([lib.REGIONS[code] for code in sorted(lib.REGIONS)])
        return Answers._make([answers[name].copy() for name in lib.VALUES] +
                             [answers["region"] == 0, names[answers["region"] + 1], answers["doubts"].copy(), answers["alternatives"].copy()])

    def _ask_plain(self, columns: Dict[str, Values], factors: Dict[str, float]) -> Answers:
        lists: Dict[str, Union[float, List[float]]] = {
            name: float(values) if isinstance(values, (int, float)) else [float(value) for value in values] for name, values in columns.items()}
        count = _length({name: None if isinstance(values, float) else len(values) for name, values in lists.items()})
        questions = (lib.Question * count)()
        for name, values in lists.items():
            factor, bit = factors.get(name, 1.0), lib.GIVEN[name]
            for i in range(count):
                setattr(questions[i], name, (values if isinstance(values, float) else values[i]) * factor)
                questions[i].given |= bit
        answers = (lib.CAnswer * count)()
        self._ask_columns(questions, answers, count)
        found: List[Any] = [array.array("d", (getattr(answer, name) for answer in answers)) for name in lib.VALUES]
        return Answers._make(found + [[answer.region == 0 for answer in answers], [lib.REGIONS.get(answer.region, "not_asked") for answer in answers],
                                      [answer.doubts for answer in answers], [answer.alternatives for answer in answers]])


def _bit(which: str) -> int:
    if which not in lib.GIVEN:
        raise ValueError(f"there is no value {which!r}; there are {', '.join(lib.GIVEN)}")
    return lib.GIVEN[which]


def _length(lengths: Mapping[str, Optional[int]]) -> int:
    found: Sequence[int] = sorted({length for length in lengths.values() if length is not None})
    if len(found) > 1:
        raise ValueError(f"the columns are of unequal length: {dict(lengths)}")
    return found[0] if found else (1 if lengths else 0)
