"""Written drills as TOML files: a sound set-up, what is changed in it, and the findings it has to bring about."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field

from preflight.checks.finding import Verdict
from preflight.errors import PreflightError
from preflight.history import DueItem, History
from preflight.shop.fields import Strict
from preflight.shop.files import load
from preflight.training.drill import STATIONS, Drill, Expected, Planted
from preflight.training.setup import Change, Setup, sound

FOLDER = Path(__file__).parent / "drills"
Text = Annotated[str, Field(min_length=3, max_length=600)]
Line = Annotated[str, Field(min_length=3, max_length=60)]
"""Short enough to choose among others on a narrow terminal."""


class NoSuchDrillError(PreflightError):
    """A drill that is not there."""


class Find(Strict):
    """One finding that must be made."""

    check: Literal[STATIONS]  # type: ignore[valid-type]
    subject: str
    verdict: Literal["caution", "open", "stop"]


class FaultText(Strict):
    """One planted fault in words."""

    like: str = ""
    """Fault of the library that it is: the lines of that one are no wrong answers here."""
    kind: str
    cause: Line
    remedy: Line
    safety: bool = False
    find: Annotated[tuple[Find, ...], Field(min_length=1, strict=False)]
    """Every finding that is not ok; its own station first."""


class Due(Strict):
    """One maintenance item as earlier records count it."""

    item: str
    used: Annotated[float, Field(ge=0, strict=False)]
    safety: bool = False
    counted: str = ""


class Earlier(Strict):
    """One start-up of the days before: the set-up of the drill, but for what differed then."""

    days: Annotated[int, Field(ge=1, le=400)]
    """Days before the drill."""
    put: Mapping[str, Any] = Field(default_factory=dict)
    """Dotted keys of its sheet and their values."""


class DrillFile(Strict):
    """One file of `drills`."""

    schema_: Annotated[Literal[1], Field(alias="schema")]
    title: Annotated[str, Field(min_length=3, max_length=60)]
    base: str
    """Bundled sound sheet that it begins as."""
    situation: Text
    why: Text
    words: Annotated[tuple[str, ...], Field(strict=False)] = ()
    """Words of the glossary."""
    asked: Annotated[tuple[str, ...], Field(strict=False)] = STATIONS
    put: Mapping[str, Mapping[str, Any]] = Field(default_factory=dict)
    """By "sheet", "job", "card 1": dotted keys and their values."""
    without: Mapping[str, tuple[str, ...] | list[str]] = Field(default_factory=dict)
    """Dotted keys taken away, likewise."""
    due: Annotated[tuple[Due, ...], Field(strict=False)] = ()
    earlier: Annotated[tuple[Earlier, ...], Field(strict=False)] = ()
    """Start-ups before it, oldest first."""
    faults: Annotated[tuple[FaultText, ...], Field(strict=False)] = ()


def written() -> tuple[str, ...]:
    """Ids of the written drills, sorted."""
    return tuple(sorted(path.stem for path in FOLDER.glob("*.toml")))


@lru_cache(maxsize=64)
def written_drill(drill_id: str) -> Drill:
    """One written drill. Raises `NoSuchDrillError`, or `FileProblemsError` for a file that cannot be used."""
    if drill_id not in written():
        raise NoSuchDrillError(f"There is no drill {drill_id!r}.", "List them with: preflight train list")
    return drill_from(load(FOLDER / f"{drill_id}.toml", DrillFile).value, drill_id)


def drill_from(file: DrillFile, drill_id: str) -> Drill:
    """The drill that a file describes."""
    changes = [Change(where, key, value) for where, table in file.put.items() for key, value in table.items()]
    changes += [Change(where, key, None) for where, keys in file.without.items() for key in keys]
    setup = sound(file.base).changed(changes)
    return Drill(
        id=drill_id,
        title=file.title,
        situation=file.situation,
        scene=setup.scene(_history(file, setup)),
        planted=tuple(_planted(fault, fault.like or f"{drill_id}-{at}") for at, fault in enumerate(file.faults, 1)),
        why=file.why,
        asked=tuple(check for check in STATIONS if check in file.asked),
        words=file.words,
    )


def _history(file: DrillFile, setup: Setup) -> History | None:
    """What the records before it would say; None where the file names none."""
    if not file.due and not file.earlier:
        return None
    before = [setup.changed(Change("sheet", key, value) for key, value in one.put.items()) for one in file.earlier]
    return History(
        due=tuple(DueItem(one.item, one.used, one.safety, one.counted) for one in file.due),
        sheets=tuple(one.sheet for one in before),
        times=tuple(setup.sheet["at"] - timedelta(days=one.days) for one in file.earlier),
    )


def _planted(fault: FaultText, fault_id: str) -> Planted:
    found = tuple(Expected(one.check, one.subject, Verdict[one.verdict.upper()]) for one in fault.find)
    return Planted(fault_id, fault.kind, fault.cause, fault.remedy, found, fault.safety)
