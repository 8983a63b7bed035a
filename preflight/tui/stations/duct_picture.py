"""The duct tree as lines of runs, the collector first: velocity, flow, a bar against the limit, and the gates."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checks.extraction.run_speed import fed_runs
from preflight.quantities import Kind, show
from preflight.tui.painting import clip, fit

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preflight.checks.extraction.air_evidence import AirEvidence
    from preflight.checks.finding import Verdict
    from preflight.shop.extraction import Extraction, Run
    from preflight.shop.limits import Limit
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line, Picture, Span

FASTEST = 40.0
"""m/s at the end of a velocity bar."""
SHORTEST_NAME = 9
SPEED_WIDTH = 11
FLOW_WIDTH = 12
BAR = (8, 24)
LEAKS = "leaks only"
"""In place of a velocity where no open gate's air flows: what shut gates let through is not judged."""
GATES_WIDTH = 16


@dataclass(frozen=True, slots=True)
class Columns:
    """Cells of each part of a line; 0 leaves the part out. What says most gets its room first."""

    name: int
    flow: int
    bar: int
    gates: int

    @classmethod
    def of(cls, width: int, longest: int) -> Columns:
        """The parts that fit beside mark and velocity; `longest` is the longest name, indented."""
        room = width - 2 - SPEED_WIDTH
        flow = FLOW_WIDTH if room >= SHORTEST_NAME + FLOW_WIDTH else 0
        room -= flow
        name = max(0, min(longest, room))
        room -= name
        gates = GATES_WIDTH if room >= GATES_WIDTH + BAR[0] + 2 else 0
        room -= gates
        bar = min(BAR[1], room - 1) if room - 1 >= BAR[0] else 0
        return cls(name, flow, bar, gates)


def duct_lines(
    ducts: Extraction,
    known: AirEvidence,
    verdicts: Mapping[str, Verdict],
    limit: Limit,
    units: str,
    width: int,
    height: int,
    charset: Charset,
) -> Picture:
    """At most `height` lines of `width` cells; runs without an open gate's air are dim and give way
    where not all fit; what is left out is counted.

    `verdicts` by run id; `limit` is the velocity's, its floor drawn as a tick in each bar.
    """
    fan = known.modelled.fan
    flow, pressure = show(fan.flow, Kind.AIR_FLOW, units), show(fan.pressure, Kind.DUCT_PRESSURE, units)
    doubt = "" if known.model_holds or not known.opened else ", outside its curve"
    lines: list[Line] = [[(clip(f"fan {flow} at {pressure}{doubt}", width, charset.ellipsis), "strong")]]
    tree = _tree(ducts)
    columns = Columns.of(width, max(2 * depth + len(run.id) for depth, run in tree) + 1)
    room = height - 1
    fed = fed_runs(ducts, known.opened)
    shown = tree if len(tree) <= room else sorted(tree, key=lambda place: place[1].id not in fed)[: max(0, room - 1)]
    lines += [
        _line(depth, run, ducts, known, verdicts.get(run.id), limit, units, columns, charset, fed=run.id in fed)
        for depth, run in shown
    ]
    if len(shown) < len(tree) and room > 0:
        lines.append([(clip(f"{len(tree) - len(shown)} more runs", width, charset.ellipsis), "dim")])
    return lines[:height]


def shared_runs(ducts: Extraction) -> list[Run]:
    """The main and every run that others lead into, the collector first."""
    feeding = {run.into for run in ducts.runs}
    return [run for _, run in _tree(ducts) if run.id in feeding]


def _tree(ducts: Extraction) -> list[tuple[int, Run]]:
    tributaries: dict[str, list[Run]] = {}
    for run in reversed(ducts.runs):
        tributaries.setdefault(run.into, []).append(run)
    waiting = [(0, run) for run in tributaries.get("collector", [])]
    tree = []
    while waiting:
        depth, run = waiting.pop()
        tree.append((depth, run))
        waiting += [(depth + 1, other) for other in tributaries.get(run.id, [])]
    return tree


def _line(
    depth: int,
    run: Run,
    ducts: Extraction,
    known: AirEvidence,
    verdict: Verdict | None,
    limit: Limit,
    units: str,
    columns: Columns,
    charset: Charset,
    *,
    fed: bool,
) -> Line:
    found = known.modelled.runs[run.id]
    role = verdict.word if verdict is not None else "dim"
    speed = f"{show(found.velocity, Kind.AIR_SPEED, units) if fed else LEAKS:>{SPEED_WIDTH}}"
    line: list[Span] = [
        (f"{charset.mark(verdict)} " if verdict is not None else "  ", role),
        (
            fit(" " * min(2 * depth, columns.name - 4) + run.id, columns.name, charset.ellipsis),
            "text" if verdict else "dim",
        ),
    ]
    if columns.flow:
        line.append(
            (f"{show(found.flow, Kind.AIR_FLOW, units):>{columns.flow}}", "air" if verdict is not None else "dim")
        )
    line.append((speed, role))
    if columns.bar:
        line += [(" ", "text"), *_bar(found.velocity, limit, role, columns.bar, charset)]
    if columns.gates:
        states = [f"{g.id} {'open' if g.id in known.opened else 'shut'}" for g in ducts.gates if g.run == run.id]
        line.append(
            (fit(f" {', '.join(states)}", columns.gates, charset.ellipsis), "text" if verdict is not None else "dim")
        )
    return line


def _bar(velocity: float, limit: Limit, role: str, width: int, charset: Charset) -> list[Span]:
    """Filled up to the velocity; the limit's floor stands in it as a tick, passed only by what is not below it."""
    filled = max(0, min(width, round(velocity / FASTEST * width)))
    tick = None
    if limit.floor is not None and 0 < limit.floor < FASTEST:
        tick = min(width - 2, int(limit.floor / FASTEST * width))
        filled = min(filled, tick) if velocity < limit.floor else max(filled, tick + 2)
    cells = [(charset.inside, role)] * filled + [(charset.outside, "rule")] * (width - filled)
    if tick is not None:
        cells[tick] = (charset.vertical, "strong")
    return cells
