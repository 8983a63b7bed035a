"""What an event voids: only that is asked again; a pause by itself voids nothing. Common practice, no source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened since the last signed check."""

    id: str
    label: str
    voids: tuple[str, ...]
    """Beginnings of answer keys: "tension." voids the whole station, "running.tracking" one answer."""


EVENTS: tuple[Event, ...] = (
    Event("new job", "a new job", ("stock.", "glue.", "removal.", "feed.", "test_board.")),
    Event(
        "belt changed",
        "a belt was changed",
        ("belts.", "backing.", "tension.", "running.tracking", "removal.", "feed.", "test_board."),
    ),
    Event(
        "broke down",
        "it broke down, or was adjusted",
        ("condition.", "tension.", "extraction.", "running.", "removal.", "test_board."),
    ),
    Event("power or air off", "power or air was off", ("tension.", "extraction.", "running.", "test_board.")),
    Event("shift change", "another shift or person", ("",)),
)


def again(happened: Event) -> str:
    """What an event asks again, in words: "asks again: tension, extraction"."""
    if "" in happened.voids:
        return "Asks everything again; belts and gates stand as they are."
    words = [start.rstrip(".").rsplit(".", 1)[-1].replace("_", " ") for start in happened.voids]
    return f"Asks again: {', '.join(words)}."


def event(event_id: str) -> Event:
    """The event of that id."""
    return next(event for event in EVENTS if event.id == event_id)


def kept(typed: Mapping[str, str], happened: Event, facts: Mapping[str, bool]) -> dict[str, str]:
    """The answers that still stand. Facts stay and are confirmed; of what an event voids, readings go."""
    return {
        key: text
        for key, text in typed.items()
        if facts.get(key, False) or not any(key.startswith(start) for start in happened.voids)
    }
