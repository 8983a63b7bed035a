"""The duct tree as lines of runs, the collector first: flow, velocity bar against its limits, verdict."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.quantities import Kind, show
from preflight.tui.painting import clip, fit

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from preflight.checks.air_evidence import AirEvidence
    from preflight.checks.finding import Verdict
    from preflight.shop.extraction import Extraction, Run
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line, Picture

FASTEST = 40.0
"""m/s at the end of a velocity bar."""


def duct_lines(
    ducts: Extraction,
    known: AirEvidence,
    verdicts: Mapping[str, Verdict],
    units: str,
    width: int,
    height: int,
    charset: Charset,
) -> Picture:
    """At most `height` lines of `width` cells; runs without air are dim, what does not fit is counted."""
    fan = known.modelled.fan
    flow, pressure = show(fan.flow, Kind.AIR_FLOW, units), show(fan.pressure, Kind.DUCT_PRESSURE, units)
    head = clip(f"fan {flow} at {pressure}" + ("" if fan.on_curve else ", outside its curve"), width, charset.ellipsis)
    lines: list[Line] = [[(head, "strong")]]
    tree = list(_tree(ducts))
    for depth, run in tree[: height - 1]:
        lines.append(_line(depth, run, known, verdicts.get(run.id), units, width, charset))
    if len(tree) > height - 1 and height > 1:
        lines[-1] = [(f"{len(tree) - height + 2} more runs", "dim")]
    return lines


def _tree(ducts: Extraction) -> Iterator[tuple[int, Run]]:
    waiting = [(0, run) for run in reversed(ducts.runs) if run.into == "collector"]
    while waiting:
        depth, run = waiting.pop()
        yield depth, run
        waiting += [(depth + 1, other) for other in reversed(ducts.runs) if other.into == run.id]


def _line(
    depth: int, run: Run, known: AirEvidence, verdict: Verdict | None, units: str, width: int, charset: Charset
) -> Line:
    found = known.modelled.runs[run.id]
    role = verdict.word if verdict is not None else "dim"
    mark = charset.mark(verdict) if verdict is not None else " "
    name = fit("  " * depth + run.id, 18, charset.ellipsis)
    flow = f"{show(found.flow, Kind.AIR_FLOW, units):>12}"
    speed = f"{show(found.velocity, Kind.AIR_SPEED, units):>9}"
    room = width - len(name) - len(flow) - len(speed) - 5
    filled = max(0, min(room, round(found.velocity / FASTEST * room)))
    bar = (
        [(charset.inside * filled, role if verdict else "dim"), (charset.outside * (room - filled), "rule")]
        if room > 3
        else []
    )
    return [
        (f"{mark} ", role),
        (name, "text" if verdict is not None else "dim"),
        (flow, "air"),
        (speed, role),
        (" ", "text"),
        *bar,
    ]
