"""What an event voids: only that is asked again; a pause by itself voids nothing. Common practice, no source."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

HEAD: Final = "{head}"
"""In a void's key, the head that an event is about."""


@dataclass(frozen=True, slots=True)
class Void:
    """Answers that no longer hold."""

    key: str
    """Of one answer; with a point at its end the beginning of the keys of many; empty for all."""
    words: str
    facts: bool = False
    """Also what stands as a fact: it is no longer that one."""

    def covers(self, key: str, *, fact: bool) -> bool:
        """Whether that answer is among them."""
        meant = key.startswith(self.key) if self.key.endswith(".") or not self.key else key == self.key
        return meant and (self.facts or not fact)


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened since the last signed check."""

    id: str
    label: str
    voids: tuple[Void, ...]
    heads: tuple[str, ...] = ()
    """The heads it happened on; empty for an event that is not about heads, or when they are not named yet."""

    @property
    def asks_heads(self) -> bool:
        """Whether it happens on a head, and on which is to be asked."""
        return any(HEAD in void.key for void in self.voids)

    @property
    def full_id(self) -> str:
        """Its id and the heads: "belt changed:1,2"."""
        return f"{self.id}:{','.join(self.heads)}" if self.heads else self.id

    def on(self, heads: Sequence[str]) -> Event:
        """The event on those heads."""
        return replace(self, heads=tuple(heads)) if self.asks_heads else self

    @property
    def ended(self) -> list[Void]:
        """What it voids, head by head."""
        each = [
            [replace(void, key=void.key.replace(HEAD, head), words=f"{void.words} head {head}") for head in self.heads]
            if HEAD in void.key
            else [void]
            for void in self.voids
        ]
        return [void for voids in each for void in voids]


def _whole(*stations: str) -> tuple[Void, ...]:
    return tuple(Void(f"{station}.", station.replace("_", " ")) for station in stations)


EVENTS: tuple[Event, ...] = (
    Event("new job", "a new job", _whole("stock", "glue", "removal", "feed", "test_board")),
    Event(
        "belt changed",
        "a belt was changed",
        (
            Void(f"belts.{HEAD}.", "belt and looks", facts=True),
            Void(f"tension.{HEAD}", "tension"),
            Void(f"tension.running.{HEAD}", "tension"),
            Void("running.tracking", "tracking"),
            *_whole("removal", "feed", "test_board"),
        ),
    ),
    Event(
        "broke down",
        "it broke down, or was adjusted",
        _whole("condition", "tension", "extraction", "running", "removal", "test_board"),
    ),
    Event("power or air off", "power or air was off", _whole("tension", "extraction", "running", "test_board")),
    Event("shift change", "another shift or person", (Void("", "everything"),)),
)


def again(happened: Event) -> str:
    """What an event asks again, in words: "Asks again: tension head 1, tracking, test board."."""
    if any(not void.key for void in happened.voids):
        return "Asks everything again; belts and gates stand as they are."
    words = [f"{void.words} of that head" if HEAD in void.key else void.words for void in happened.voids]
    if happened.heads:
        words = [void.words for void in happened.ended]
    return f"Asks again: {', '.join(dict.fromkeys(words))}."


def event(full_id: str) -> Event:
    """The event of that id, with its heads if they are named behind a colon."""
    event_id, _, heads = full_id.partition(":")
    return next(one for one in EVENTS if one.id == event_id).on([head for head in heads.split(",") if head])


def kept(typed: Mapping[str, str], happened: Event, facts: Mapping[str, bool]) -> dict[str, str]:
    """The answers that still stand. Facts stay and are confirmed; of what an event voids, readings go.

    An action taken on a caution goes with the readings of its station, where the station is voided whole.
    """
    voids = happened.ended
    return {key: text for key, text in typed.items() if not any(_covered(key, void, facts) for void in voids)}


def _covered(key: str, void: Void, facts: Mapping[str, bool]) -> bool:
    if key.startswith("action:"):
        station = key.split(":", 2)[1]
        return not void.key or void.key.partition(".")[0] == station
    return void.covers(key, fact=facts.get(key, False))
