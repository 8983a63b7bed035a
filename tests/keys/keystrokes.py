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


@dataclass(frozen=True, slots=True)
class Burst:
    """Keys posted together, and what follows."""

    keys: tuple[str, ...]
    wait: str


def bursts(chance: Random, count: int = KEYS_A_RUN) -> Iterator[Burst]:
    """Bursts of 1 to 10 keys, `count` keys in all, in one mood after another."""
    left, mood, mood_left = count, "", 0
    while left > 0:
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
