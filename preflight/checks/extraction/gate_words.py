"""Which gates to shut or open, in one sentence that fits the panel beside the verdict."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.quantities import Kind, show

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from preflight.engine.gate_advice import GateAdvice, GateChange, NotByGates

LONGEST = 200
"""Characters of the sentence."""
LONG_LIST = 6
"""More gates to shut than this are not named when those that stay open are fewer."""
BALANCE = (
    "Gates were set for balance; shutting off machines with them is a question for the designer of the system. "
    "This computed figure is no legal airflow test."
)
"""Goes with every advice, for "why"."""


def advice_sentence(
    advice: GateAdvice, units: str, opened: Collection[str], make_up: Collection[str] = (), own: Collection[str] = ()
) -> str:
    """What to do with the gates, or that it is not by gates. Empty when nothing needs to change.

    `opened` are the gates open now. Ways that open nothing but `make_up` gates and this machine's `own` are
    named before others, and the others are then only counted.
    """
    if advice.reason is not None:
        return _not_by_gates(advice.reason, units)
    options = [option for option in advice.options if option.close or option.open]
    if not options:
        return ""
    usual = [option for option in options if option.open <= {*make_up, *own}]
    ways = [_change(option, opened) for option in usual or options]
    end = {
        "complete": "; then read again.",
        "ties cut short": "; then read again. There may be more ways.",
        "size not proven": "; then read again. Fewer gates may do it too.",
    }[advice.search]
    for listed in range(len(ways), 0, -1):
        left = len(options) - listed
        more = f" ({left} other way{'s' if left > 1 else ''})" if left else ""
        sentence = ", or ".join(ways[:listed]) + more + end
        if len(sentence) <= LONGEST and listed <= 3:
            break
    return sentence[0].upper() + sentence[1:]


def _not_by_gates(reason: NotByGates, units: str) -> str:
    if reason.kind == "not found":
        return (
            "No set of gates was found in a short search. Shut gates nobody uses; a lead can have all sets tried "
            "with: preflight airflow."
        )
    why = ""
    if reason.kind == "flow" and reason.best is not None:
        why = f": {reason.subject} gets {show(reason.best, Kind.AIR_FLOW, units)} at most"
    elif reason.kind == "velocity" and reason.best is not None:
        why = f": run {reason.subject} reaches {show(reason.best, Kind.AIR_SPEED, units)} at most"
    return f"Not by gates{why}. Clean the filter, split the job, or ask the system's designer."


def _change(option: GateChange, opened: Collection[str]) -> str:
    parts = []
    if option.close:
        staying = set(opened) - option.close
        if len(option.close) > LONG_LIST and len(staying) < len(option.close):
            parts.append(f"of the open gates leave only {_names(staying)}" if staying else "shut all open gates")
        else:
            parts.append(f"shut {_names(option.close)}")
    if option.open:
        parts.append(f"open {_names(option.open)}")
    return " and ".join(parts)


def _names(gates: Iterable[str]) -> str:
    return " + ".join(sorted(gates))
