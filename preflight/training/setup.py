"""A sound set-up to plant faults into: a bundled setup sheet with the belts, job and machine that it names.

The sheet, the cards of the belts on the heads and the job card lie open as plain tables; what is made of them goes
through the same models as any file, so a drill can hold nothing that a shop's files could not.
"""

from __future__ import annotations

import copy
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from preflight.checks.running.stop_rotation import station_of_the_day
from preflight.quantities import Kind, parse, show
from preflight.sheet import SetupSheet
from preflight.shop.bundled import bundled
from preflight.shop.cards import BeltCard, JobCard
from preflight.shop.files import load, validate
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from preflight.history import History
    from preflight.shop.view import ShopView

SOUND = ("ok-two-heads", "ok-one-head", "ok-three-heads")
"""Bundled sheets on which `assess` finds nothing but ok."""


@dataclass(frozen=True, slots=True)
class Change:
    """One value put into a set-up, or taken out of it."""

    where: str
    """ "sheet", "job", or "card 1" for the card of the belt on head 1."""
    key: str
    """Keys joined by dots, lists counted from 1: "belts.2.platen"; empty: the whole table."""
    value: Any
    """None takes the key away."""


@dataclass(frozen=True, slots=True)
class Scene:
    """What a check sees of a drill."""

    sheet: SetupSheet
    view: ShopView
    history: History | None = None


@dataclass(frozen=True, slots=True)
class Setup:
    """One set-up as plain tables."""

    base: str
    """Name of the bundled sheet it began as."""
    view: ShopView
    """Machine, ducts and every bundled card."""
    sheet: Mapping[str, Any]
    job: Mapping[str, Any]
    cards: Mapping[str, Mapping[str, Any]]
    """By head id."""

    @property
    def machine(self) -> Machine:
        """The machine profile."""
        return self.view.machine

    def changed(self, changes: Iterable[Change]) -> Setup:
        """The set-up with these changes, in their order. ValueError for a place that no set-up has."""
        tables: dict[str, Any] = {"sheet": copy.deepcopy(dict(self.sheet)), "job": copy.deepcopy(dict(self.job))}
        tables |= {f"card {head}": copy.deepcopy(dict(card)) for head, card in self.cards.items()}
        for change in changes:
            if change.where not in tables:
                raise ValueError(f"a set-up has no {change.where!r}; it has {', '.join(tables)}")
            if change.key:
                _put(tables[change.where], change.key.split("."), change.value)
            else:
                tables[change.where] = copy.deepcopy(change.value)
        cards = {head: tables[f"card {head}"] for head in self.cards}
        return replace(self, sheet=tables["sheet"], job=tables["job"], cards=cards)

    def scene(self, history: History | None = None) -> Scene:
        """The set-up through the models. Raises `FileProblemsError` for values that no file may hold."""
        name = f"drill on {self.base}"
        sheet = copy.deepcopy(dict(self.sheet))
        belts = dict(self.view.belts)
        for head, card in self.cards.items():
            made = validate(dict(card), BeltCard, f"{name}, belt on head {head}")
            belts[made.id] = made
            for on in sheet.get("belts", ()):
                if on["head"] == head and "card" in on:
                    on["card"] = made.id
        jobs = {str(sheet.get("job", "")): validate(dict(self.job), JobCard, f"{name}, job")}
        view = replace(self.view, belts=MappingProxyType(belts), jobs=MappingProxyType(jobs))
        return Scene(validate(sheet, SetupSheet, name), view, history)


@lru_cache(maxsize=8)
def sound(base: str) -> Setup:
    """The bundled sheet of that name as a set-up. ValueError for a name that is not one of `SOUND`.

    The emergency stop tried is the one whose turn it is: another one would be a slip that nobody planted.
    """
    if base not in SOUND:
        raise ValueError(f"{base!r} is no sound set-up; there are {', '.join(SOUND)}")
    shop = shop_at(None)
    sheet = load(bundled() / "sheets" / f"{base}.toml", SetupSheet).raw
    profile = shop.load(Machine, sheet["machine"])
    jobs = {ref: shop.load(JobCard, ref) for ref in shop.ids(JobCard)}
    belts = {ref: shop.load(BeltCard, ref) for ref in shop.ids(BeltCard)}
    view = shop.machine_view(profile, jobs, belts)
    cards = {on["head"]: belts[on["card"]].raw for on in sheet["belts"]}
    made = Setup(base, view, sheet, jobs[sheet["job"]].raw, cards)
    today = station_of_the_day(view.machine, sheet["at"].date())
    return made.changed([Change("sheet", "running.stop.station", today)]) if today else made


def moved_board(reading: Mapping[str, Any], by: float, units: str) -> dict[str, Any]:
    """One place of the test board with everything read after the pass moved by so many m: all of it hangs together."""

    def moved(text: str) -> str:
        return show(parse(text, Kind.LENGTH).value + by, Kind.LENGTH, units, more=1)

    after = {key: moved(reading[key]) for key in ("after", "second") if key in reading}
    ends = {"ends": [moved(text) for text in reading["ends"]]} if "ends" in reading else {}
    return {**reading, **after, **ends}


def _put(table: Any, keys: list[str], value: Any) -> None:
    """Set, or with None take away, the value at the keys of nested tables and lists."""
    here = table
    for part in keys[:-1]:
        here = here[int(part) - 1] if isinstance(here, list) else here.setdefault(part, {})
    last = keys[-1]
    if isinstance(here, list):
        at = int(last) - 1
        if value is None:
            del here[at]
        elif at == len(here):
            here.append(copy.deepcopy(value))
        else:
            here[at] = copy.deepcopy(value)
    elif value is None:
        here.pop(last, None)
    else:
        here[last] = copy.deepcopy(value)
