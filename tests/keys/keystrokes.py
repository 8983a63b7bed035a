"""Random keys in bursts, the same for the same seed: what hands, sleeves and queues do to a keyboard."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from random import Random

KEYS_A_RUN = 400
MOST_IN_A_BURST = 10
DIGITS = tuple("0123456789.,")
LETTERS = tuple("abcdefghijklmnopqrstuvwxyz")
FUNCTION = tuple(f"f{number}" for number in range(1, 11))
CONTROL = ("ctrl+o", "ctrl+r", "ctrl+t", "ctrl+p", "ctrl+q")
MOVES = ("up", "down", "left", "right", "pageup", "pagedown", "tab")
EDITS = ("backspace", "delete", "space")
EVERY_KEY = (*DIGITS, *LETTERS, *FUNCTION, *CONTROL, *MOVES, *EDITS, "enter", "escape")
READINGS = ("4.2", "3,4", "5.1", "27.6", "6.5", "930", "11.1", "0", "0.95", "1234567", "27 44", "4.2 bar", "..")
"""What a hand types at a row, right or wrong there."""
OPENINGS: Mapping[str, Sequence[Sequence[str]]] = {
    "run": (("f2",), ("f4",), ("f7",), ("f8",), ("f8", "h"), ("f8", "s"), ("ctrl+o",), ("f3",), ("f9",), ("ctrl+p",)),
    "practice": (("ctrl+t",), ("enter", "4", "enter"), ("enter", "1", "enter"), ("f3",), ("escape",)),
    "records": (("ctrl+r",), ("f8",), ("enter",), ("f2",), ("f4",), ("f3",), ("escape",)),
}
"""Keys that open something, by the part of the app where they do."""
SECRET = "secret"
"""In a walk, in place of the person's PIN; nobody knows it in most runs."""
WALKS: Sequence[Sequence[str]] = (
    ("ctrl+t", "up", "enter", "2", *("enter", "4", "enter", "1", "enter", "1", "enter", "enter") * 4, "escape", "2"),
    ("ctrl+t", "up", "up", "enter", "1", *"kim", "enter", "f8", *("enter", "1", "enter") * 4, "enter", "escape", "1"),
    ("ctrl+t", "1", "4", "1", "1", SECRET, "f8", *("enter", "3", "enter", "2", "enter", "2", "enter", "enter") * 3),
    ("ctrl+t", "up", "enter", "5", "1", "4", ".", "2", "enter", "escape", "6", "escape", "escape"),
    ("f8", "h", "1", "enter", *"ida", "enter", *"air", "enter", SECRET, "f8", "1"),
    ("f8", "s", "1", SECRET, "f8", "1"),
    ("f8", "s", "up", "enter", *"kim", "enter", "f8", "2", "1", "1"),
    ("ctrl+o", "1", *("2", "enter") * 9, SECRET, "f8", "1"),
    ("f2", "1", "1"), ("f2", "2", "1"), ("f2", "3", "1", "1"), ("f2", "4", "1", "f2", "1"), ("f2", "5", "1"),
    ("f7", "1", "1"), ("f7", "1", "2"), ("f7", "2", "2"), ("f7", "3", "2"), ("f7", "4", "1"),
    ("f4", "1"), ("f4", "2", "f4", "f4", "1"),
    ("ctrl+r", "f3", "down", "enter", "f8", "1", *"seen", "enter", "1", "enter", SECRET, "f8", "escape", "escape"),
    ("ctrl+r", "f3", "f8", "1", "2", "f4", "f7", "f2", "escape"), ("ctrl+r", "f8", "5", "1", "escape"),
    ("ctrl+p", *"records", "enter", "escape"), ("ctrl+p", *"leave", "enter", "2"), ("ctrl+q", "1"),
    ("f3", "pagedown", "escape"), ("f9", "down", "escape"), ("f8", "down", "down", "enter"), ("f8", "s"),
)  # fmt: skip
"""Ways into the app's depths, a key at a time with a look at what it did; now and then a key of them goes astray."""
SIGN_WALK = WALKS[5]
WALKED = 0.07
"""Share of the times that a walk comes in place of a burst."""
ASTRAY = 0.06
MOODS: Mapping[str, Mapping[str, float]] = {
    "typing": {"reading": 7, "choice": 5, "down": 5, "enter": 3, "moves": 2, "edits": 1.5, "digits": 1, "any": 0.3},
    "choosing": {"choice": 6, "down": 3, "edits": 2, "enter": 4, "moves": 4, "letters": 2, "run": 1},
    "asking": {"run": 4, "digits": 5, "enter": 5, "escape": 2, "letters": 2, "moves": 3, "reading": 1},
    "practising": {"practice": 4, "digits": 5, "enter": 5, "moves": 2, "escape": 0.5, "letters": 0.5},
    "reading": {"records": 4, "moves": 4, "enter": 4, "digits": 2, "escape": 1, "letters": 0.5},
    "mashing": {"enter": 20, "escape": 1, "space": 4, "any": 1},
    "wild": {"any": 1},
}
"""By mood the weight of each kind of key."""
OFTEN = {"typing": 3.0, "choosing": 2.0}
"""Moods that come more often than the others."""
KEYS_A_MOOD = 60
DOUBLED = 0.15
"""Share of keys that come twice."""
WAITS = (("none", 0.3), ("idle", 0.5), ("short", 0.17), ("stall", 0.03))
"""What follows a burst: nothing, until all is done, a moment, or the app's loop stands still for 0.7 s first."""
LOOK, LOOK_LONGER = "look", "look longer"
"""What follows a key of a walk: until all is done and a moment more; before the same key longer than a bounce."""


SHOWN = "shown"
"""In place of a wait: until the run is shown."""


@dataclass(frozen=True, slots=True)
class Burst:
    """Keys posted together, and what follows."""

    keys: tuple[str, ...]
    wait: str


def bursts(chance: Random, count: int = KEYS_A_RUN, secret: str = "", first: Sequence[str] = ()) -> Iterator[Burst]:
    """Bursts of 1 to 10 keys, `count` keys in all, in one mood after another, and walks between them.

    secret: typed in walks where a secret is asked for; else any digits. first: a walk before anything else.
    """
    left, mood, mood_left = count, "", 0
    while left > 0:
        if first or chance.random() < WALKED:
            walk, first = first or chance.choice(WALKS), ()
            for step in _walk(walk, chance, secret or "".join(chance.choices("0123456789", k=8))):
                if left > 0:
                    left -= len(step.keys)
                    yield step
            continue
        if mood_left <= 0:
            mood, mood_left = chance.choices(list(MOODS), [OFTEN.get(name, 1.0) for name in MOODS])[0], KEYS_A_MOOD
        keys: list[str] = []
        size = min(left, chance.randint(1, MOST_IN_A_BURST))
        while len(keys) < size:
            for key in _keys(chance, MOODS[mood]):
                keys += [key, key] if chance.random() < DOUBLED else [key]
        keys = keys[:size]
        left, mood_left = left - size, mood_left - size
        yield Burst(tuple(keys), chance.choices([name for name, _ in WAITS], [share for _, share in WAITS])[0])


def _walk(walk: Sequence[str], chance: Random, secret: str) -> Iterator[Burst]:
    for key, following in zip(walk, (*walk[1:], ""), strict=True):
        wait = LOOK_LONGER if key == following else LOOK
        if key == SECRET:
            yield Burst(tuple(secret), wait)
        elif chance.random() < ASTRAY:
            yield Burst((key, chance.choice(EVERY_KEY)), wait)
        else:
            yield Burst((key,), wait)


def _keys(chance: Random, weights: Mapping[str, float]) -> Sequence[str]:
    kind = chance.choices(list(weights), list(weights.values()))[0]
    if kind == "reading":
        return ["space" if key == " " else key for key in (*chance.choice(READINGS),)] + ["enter"]
    if kind == "choice":
        return ("space", "enter")
    if kind in OPENINGS:
        return chance.choice(OPENINGS[kind])
    pools = {"digits": DIGITS, "letters": LETTERS, "moves": MOVES, "edits": EDITS, "any": EVERY_KEY}
    return [chance.choice(pools[kind])] if kind in pools else [kind]


def character(key: str) -> str | None:
    """What a key prints; None for one that prints nothing."""
    return key if len(key) == 1 else {"space": " "}.get(key)
