"""Belts, glue and wear as sections: how long belts last, what glue costs, where the wood went over the width."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.audit.account import belt_lives, glue_months, wear
from preflight.audit.chart import BarRow
from preflight.audit.queries import distinct
from preflight.audit.section import Section
from preflight.audit.wear_over_time import surfaces
from preflight.audit.words import day

if TYPE_CHECKING:
    import sqlite3

    from preflight.audit.rules import Prices
    from preflight.audit.wear_over_time import WearMoment


def account_sections(
    connection: sqlite3.Connection,
    since: int,
    until: int,
    names: dict[str, str],
    machine: str = "",
    prices: Prices | None = None,
) -> list[Section]:
    """Belt life, the glue account and the wood over the width; the wear maps as they stand, of one machine all."""
    made = [_belts(connection, since, until, names, machine), _glue(connection, since, until, machine, prices)]
    for of in [machine] if machine else distinct(connection, "machine"):
        strips = wear(connection, of, since, until)
        if strips:
            said = (
                f"Most {max(strips):.0f} m, least {min(strips):.0f} m, mean over peak "
                f"{sum(strips) / len(strips) / max(strips):.2f}; left edge first."
            )
            made.append(Section(f"Wood over the width: {names.get(of, of)}", (said,), bars=tuple(strips)))
        made += wear_sections(connection, of, names.get(of, of), since, until, newest=not machine)
    return made


def wear_sections(
    connection: sqlite3.Connection, machine: str, name: str, since: int, until: int, *, newest: bool = False
) -> list[Section]:
    """The wear maps of one machine over time, belts and drum of each head; `newest`: only those that go on."""
    found = surfaces(connection, machine, since, until)
    shares = (
        "Metres of wood over the width, left edge first. Peak: the strip that passed most; mean and lowest strip as "
        "shares of it."
    )
    if newest:
        rows = tuple(
            _share_row(one.moments[-1], f"{one.kind} {one.name} since {day(one.moments[-1].since)}")
            for one in found
            if one.in_use
        )
        said = f"{shares} Since: the first run on this surface, or of the records."
        return [Section(f"Wear maps now: {name}", (said,), bar_rows=rows)] if rows else []
    said = (
        f"{shares} A row stands at the end of each month and when a new surface came; it counts from the day that it "
        "names."
    )
    made = []
    for head, kind in sorted({(one.head, one.kind) for one in found}):
        moments = [(m.at, one.name, m) for one in found if (one.head, one.kind) == (head, kind) for m in one.moments]
        rows = tuple(
            _bar_row(m, f"{day(m.since)} to {day(m.at)}{f' {of}' if kind == 'belt' else ''}")
            for _, of, m in sorted(moments, key=lambda one: one[:2])
        )
        made.append(Section(f"Wear of head {head}, {kind}: {name}", (said,), bar_rows=rows))
    return made


def _bar_row(one: WearMoment, label: str) -> BarRow:
    """One map as bars."""
    shares = f"mean/peak {one.mean_over_peak:.2f}, lowest/peak {one.lowest_over_peak:.2f}"
    said = f"{shares}, peak {max(one.metres):.0f} m"
    return BarRow(label, one.metres, f"{said}; {one.change}" if one.change else said)


def _share_row(one: WearMoment, label: str) -> BarRow:
    """The same under a scale of its own: a belt beside a drum that has seen ten of them."""
    row_ = _bar_row(one, label)
    return BarRow(label, tuple(value / max(one.metres) for value in one.metres), row_.said)


def _belts(connection: sqlite3.Connection, since: int, until: int, names: dict[str, str], machine: str) -> Section:
    lives = belt_lives(connection, since, until, machine)
    return Section(
        "Belts that came off",
        ("Hours and wood of belts that were used up; reasons of all that came off.",)
        if lives
        else ("No belt came off in this period.",),
        ("machine", "head", "backing", "used up", "median h", "shortest h", "longest h", "median m2", "reasons"),
        tuple(
            (
                names.get(one.machine, one.machine),
                one.head,
                one.backing,
                str(one.belts),
                *(
                    "" if figure is None else f"{figure:.1f}"
                    for figure in (one.median_hours, one.shortest, one.longest, one.median_area)
                ),
                ", ".join(f"{reason} {times}" for reason, times in one.reasons),
            )
            for one in lives
        ),
    )


def _glue(connection: sqlite3.Connection, since: int, until: int, machine: str, prices: Prices | None) -> Section:
    months = glue_months(connection, since, until, machine)
    said = ["Lots back at start-up are held records whose stop is glue; the rest is told after a run."]
    unpriced = [name for name in ("belt", "minute", "lot") if prices is None or getattr(prices, name) is None]
    if len(unpriced) == 3:
        said.append("No cost: the shop's audit.toml has no [prices] for belt, minute or lot.")
    elif unpriced:
        said.append(f"Not in the cost, for want of a price in audit.toml: {', '.join(unpriced)}.")
    currency = f", {prices.currency}" if prices is not None and prices.currency else ""
    costs = [one.cost(prices) if prices is not None else None for one in months]
    return Section(
        "Glue account",
        tuple(said) if months else ("No lot sent back, no belt and no minute lost to glue in this period.",),
        ("month", "lots back at start-up", "lots back after a run", "belts", "minutes", f"cost{currency}"),
        tuple(
            (m.month, *map(str, (m.held, m.lots, m.belts, m.minutes)), "no price" if cost is None else f"{cost:.2f}")
            for m, cost in zip(months, costs, strict=True)
        ),
    )
