"""Wear maps out of saved records: each run record holds the maps as they stood after it, so the newest one counts.

A belt that was thrown away ends its own map, never the drum's; a drum that was ground or changed (told after a run, or
a repair entry) starts anew.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from preflight.checks.feed.wear import WearMap
from preflight.quantities import Kind, parse

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from preflight.history import WearStrip

    Maps = dict[str, tuple[WearStrip, ...]]

THROWN_AWAY = ("worn", "dull", "torn", "burn", "glue", "broke")
"""A reason with one of these ends the belt; one that goes back to the rack keeps its map."""
NEW_SURFACE = ("ground", "grind", "changed", "replaced", "exchanged", "new drum", "new rubber", "covered")
"""A repair of a drum that says one of these gives it a new surface."""


def wear_maps(records: Iterable[Mapping[str, Any]]) -> tuple[Maps, Maps]:
    """Maps per belt card and per head's drum, from start-ups, runs and repairs, oldest first."""
    belts: dict[str, Mapping[str, Any]] = {}
    drums: dict[str, Mapping[str, Any]] = {}
    for record in records:
        run = record.get("run", {})
        for one in run.get("wear", ()):
            (drums if "drum" in one else belts)[one.get("drum", one.get("belt", ""))] = one
        for off in run.get("off", ()):
            if thrown_away(str(off.get("why", ""))):
                belts.pop(str(off.get("belt", "")), None)
        for head in [*(str(one.get("head")) for one in run.get("drums", ())), *_new_drums(record)]:
            drums.pop(head, None)
    return _strips(belts), _strips(drums)


def thrown_away(why: str) -> bool:
    """Whether a belt that came off for this reason is not used again."""
    return any(word in why.casefold() for word in THROWN_AWAY)


def _new_drums(record: Mapping[str, Any]) -> Iterator[str]:
    """Heads whose drum got a new surface by the repairs of this record."""
    entries = [*record.get("repairs", ()), *([record["repair"]] if isinstance(record.get("repair"), dict) else [])]
    for repair in entries:
        subject, what = str(repair.get("subject", "")), str(repair.get("what", "")).casefold()
        if subject.startswith("drum ") and any(word in what for word in NEW_SURFACE):
            yield subject.removeprefix("drum ")


def _strips(tables: Mapping[str, Mapping[str, Any]]) -> Maps:
    """The maps of the tables that stand at the end."""
    return {
        name: WearMap(parse(table["left"], Kind.LENGTH).value, tuple(table["metres"])).strips
        for name, table in tables.items()
        if table["metres"]
    }
