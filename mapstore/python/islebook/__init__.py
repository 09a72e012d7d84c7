"""Ask compressor and turbine maps from Python, and work out an engine's operating points on them.

    import islebook

    with islebook.open("compressor.map.json") as turbo_map:
        answer = turbo_map.ask(flow="0.2 kg/s", pressure_ratio=2.0)
        print(answer.speed, answer.surge_margin, answer.reason)
        answers = turbo_map.ask_many(flow=[0.15, 0.2, 0.25], pressure_ratio=2.0)
        print(answers.efficiency)

    with islebook.open_bench("case.toml", shelf="shelf.db") as bench:
        print(bench.summary)
        print(bench.values("compressor", "surge_margin"))

A map's values are in the map's printed units (``Map.flow_unit``, ...) unless a unit is named; efficiencies and margins are fractions. What cannot be known is None in an
``Answer`` and NaN in ``Answers``, and the reason says why. numpy is used where it is installed and is not needed.

A map read from a picture is an estimate, and makers' limits come first: see the README before you act on a number.
"""

from ._bench import Bench, BenchColumn, open_bench, open_bench_text
from ._map import (
    Answer,
    Answers,
    Edge,
    Edges,
    IslebookError,
    Map,
    NotFoundError,
    Slope,
    Slopes,
    open,
    open_document,
    open_shelf,
    version,
)

__all__ = ["Answer", "Answers", "Bench", "BenchColumn", "Edge", "Edges", "IslebookError", "Map", "NotFoundError", "Slope", "Slopes", "open", "open_bench", "open_bench_text",
           "open_document", "open_shelf", "version"]
