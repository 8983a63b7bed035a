"""Which gates to shut or open, in one sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.quantities import Kind, show

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preflight.engine.gate_advice import GateAdvice, GateChange

MOST_OPTIONS = 3
"""More ways of one size than these are counted, not listed."""


def advice_sentence(advice: GateAdvice, units: str) -> str:
    """What to do with the gates, or that it is not by gates. Empty when nothing needs to change."""
    if advice.reason is not None:
        reason = advice.reason
        if reason.kind == "flow" and reason.best is not None:
            best = show(reason.best, Kind.AIR_FLOW, units)
            return (
                f"Not by gates: {reason.subject} gets {best} at most. "
                "Clean the filter, split the job, or ask the system's designer."
            )
        if reason.kind == "velocity" and reason.best is not None:
            best = show(reason.best, Kind.AIR_SPEED, units)
            return f"Not by gates: run {reason.subject} reaches {best} at most. Ask the system's designer."
        return "Not by gates: clean the filter, split the job, or ask the system's designer."
    ways = [_change(option) for option in advice.options if option.close or option.open]
    if not ways:
        return ""
    listed = ", or ".join(ways[:MOST_OPTIONS])
    more = f", or {len(ways) - MOST_OPTIONS} more ways" if len(ways) > MOST_OPTIONS else ""
    return f"{listed[0].upper()}{listed[1:]}{more}; then read again."


def _change(option: GateChange) -> str:
    parts = []
    if option.close:
        parts.append(f"shut {_names(option.close)}")
    if option.open:
        parts.append(f"open {_names(option.open)}")
    return " and ".join(parts)


def _names(gates: Iterable[str]) -> str:
    return " + ".join(sorted(gates))
