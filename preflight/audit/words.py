"""Figures and dates as lists, charts and reports write them: one place, so that terminal and page agree."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from preflight.audit.visit import number

if TYPE_CHECKING:
    from preflight.audit.queries import Listed, Reading


def day(at: float) -> str:
    """The date of a moment, UTC."""
    return datetime.fromtimestamp(at, UTC).strftime("%Y-%m-%d")


def figure(value: float, like: Reading) -> str:
    """An SI value in the unit that a reading was typed in, with one digit more; in SI when that cannot be told."""
    typed = number(like.text)
    unit = like.text.split(" ", 1)[1] if " " in like.text else ""
    if typed is None or typed[0] == 0 or like.value == 0 or not unit:
        return f"{value:.4g} {like.unit}"
    return f"{value * typed[0] / like.value:.{typed[1] + 1}f} {unit}"


def row(one: Listed, machine: str = "") -> tuple[str, ...]:
    """Date and time, machine, number, kind, person, verdict, what it is about."""
    when = one.local[:16].replace("T", " ")
    what = f"counts for nothing: {one.why}" if one.why else one.about or one.job
    return when, machine or one.machine, str(one.sequence), one.kind, one.person, one.verdict, what


ROW_NAMES = ("time", "machine", "number", "kind", "person", "verdict", "about")
