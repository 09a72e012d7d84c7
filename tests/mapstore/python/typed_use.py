"""A caller whose types are checked (mypy --strict); never run."""
from typing import Optional

import islebook


def margin_at(path: str, flow: float) -> Optional[float]:
    with islebook.open(path, surge_margin="flow") as opened:
        answer: islebook.Answer = opened.ask(flow=f"{flow} kg/s", pressure_ratio=2)
        slope = opened.slopes(flow=flow, pressure_ratio=2).speed
        print(answer.region, 0.0 if slope is None else slope.by_first)
        return answer.surge_margin
