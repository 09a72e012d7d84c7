"""A caller whose types are checked (mypy --strict); never run."""
from typing import Optional

import islebook


def margin_at(path: str, flow: float) -> Optional[float]:
    with islebook.open(path, surge_margin="flow") as opened:
        answer: islebook.Answer = opened.ask(flow=f"{flow} kg/s", pressure_ratio=2)
        slope = opened.slopes(flow=flow, pressure_ratio=2).speed
        print(answer.region, 0.0 if slope is None else slope.by_first)
        return answer.surge_margin


def tightest(case: str) -> str:
    with islebook.open_bench(case, shelf="shelf.db") as bench:
        first: islebook.BenchColumn = bench.columns[0]
        return f"{bench.summary} {bench.grade} {first.unit} {min(bench.values('compressor', 'surge_margin'))} {bench.report['title']}"
