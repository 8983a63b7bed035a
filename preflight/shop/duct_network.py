"""An extraction profile as the engine's network, with every problem of the tree in one message."""

from __future__ import annotations

import difflib
from functools import lru_cache
from typing import TYPE_CHECKING

from preflight.engine.air import air_at
from preflight.engine.ducts import Gate, Run
from preflight.engine.fan import FanCurve, Filter, fan_problems
from preflight.engine.fittings import FITTINGS, MATERIALS
from preflight.engine.network import Network, tree_problems

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preflight.shop import extraction as profile

ROOM = 293.15
"""K; the air's temperature where the profile names none."""


@lru_cache(maxsize=8)
def network(ducts: profile.Extraction) -> Network:
    """The profile's network with a clean filter. Raises ValueError naming everything that is wrong with it."""
    runs = [_run(run) for run in ducts.runs]
    gates = [Gate(g.id, g.run, g.hood_k, g.leak, g.stays_open, g.make_up) for g in ducts.gates]
    flows, pressures = ([point[n].value for point in ducts.fan] for n in (0, 1))
    problems = [problem for run in ducts.runs for problem in _unknown(run)]
    problems += [*tree_problems(runs, gates), *fan_problems(flows, pressures)]
    state = ducts.air
    try:
        air = air_at(
            state.temperature.value if state.temperature else ROOM, state.altitude.value if state.altitude else 0.0
        )
        dust_filter = clean_filter(ducts.filter)
    except ValueError as error:
        problems.append(str(error))
    if problems:
        raise ValueError("; ".join(problems))
    return Network.from_parts(runs, gates, air, FanCurve(tuple(flows), tuple(pressures)), dust_filter)


def clean_filter(written: profile.Filter) -> Filter:
    """The clean filter: its linear and quadratic drop, else the clean drop taken as linear."""
    linear = written.linear.drop / written.linear.flow if written.linear else 0.0
    quadratic = written.quadratic.drop / written.quadratic.flow**2 if written.quadratic else 0.0
    if not (linear or quadratic) and written.clean_drop and written.at_flow:
        linear = written.clean_drop.value / written.at_flow.value
    return Filter(linear, quadratic)


def _run(run: profile.Run) -> Run:
    """The run; a material or fitting that is not known counts nothing, `_unknown` names it."""
    known = MATERIALS.get(run.material or "galvanised")
    roughness = run.roughness.value if run.roughness else known.roughness if known else 0.0
    fittings = 0.0
    for fitting in run.fittings:
        usual = FITTINGS.get(fitting.kind)
        fittings += fitting.count * (fitting.k if fitting.k is not None else usual.k if usual else 0.0)
    return Run(run.id, run.into, run.diameter.value, run.length.value, roughness, fittings + (run.k or 0.0))


def _unknown(run: profile.Run) -> list[str]:
    found = []
    if run.roughness is None and run.material is not None and run.material not in MATERIALS:
        found.append(_suggest(f"run {run.id!r}: material {run.material!r} is not known", run.material, MATERIALS))
    strange = [fitting.kind for fitting in run.fittings if fitting.k is None and fitting.kind not in FITTINGS]
    return found + [
        _suggest(f"run {run.id!r}: fitting {kind!r} without its own k is not known", kind, FITTINGS) for kind in strange
    ]


def _suggest(message: str, word: str, known: Iterable[str]) -> str:
    names = list(known)
    near = difflib.get_close_matches(word, names, n=1, cutoff=0.4)
    # no semicolon inside: it parts one problem from the next
    return f"{message}, did you mean {near[0]!r}?" if near else f"{message}, known: {', '.join(names)}"
