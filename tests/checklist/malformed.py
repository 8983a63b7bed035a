"""Records of every kind with something in them that does not belong there, or is as odd as its type allows."""

from __future__ import annotations

import copy
from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import random
    from collections.abc import Callable

MACHINE_KINDS = ("startup", "held", "late", "run", "override", "repair", "countersign", "correction")

ODD: tuple[Any, ...] = (
    0,
    -1,
    2**62,
    1e308,
    -1e-308,
    True,
    "",
    "x",
    "1e400 mm",
    "-9e99 h",
    "nan bar",
    "99999999999999999999 mm",
    "\x00\x1b[2J\u202e",
    "x" * 5000,
    "=1+1",
    "[bold]x[/]",
    datetime(1, 1, 1, tzinfo=UTC),
    datetime(9999, 12, 31, 23, 59, 59, tzinfo=UTC),
    datetime(2026, 11, 25),  # noqa: DTZ001 (without offset)
    date(2026, 11, 25),
    time(6, 52),
    [],
    ["x"],
    [[[[[[]]]]]],
    {},
    {"x": 1},
    [{"x": {}}],
    "0001-01-01T00:00:00+00:00",
    "9999-12-31T23:59:59+00:00",
    "9999-12-31T23:59:59-14:00",
)
"""Values of every type, and of each type the ones that are hard to bear."""


def full(kind: str, heading: dict[str, Any], at: datetime) -> dict[str, Any]:
    """Tables that a record of that kind can hold besides what it must, so that there is something to spoil."""
    quantity = {"value": 4.2e5, "unit": "Pa", "text": "4.2 bar"}
    if kind in ("startup", "held", "late"):
        return {
            "record": heading | {"notes": ["The clock ran backwards."]},
            "job": "ash-treads",
            "stock": {"thickness": ["27.6 mm", "27.9 mm"], "instrument": {"name": "c", "resolution": "0.01 mm"}},
            "belts": [{"head": "1", "card": "H-204", "looked": ["edges"]}, {"head": "2", "platen": "lifted"}],
            "condition": {"looks": {"conveyor": "sound"}, "done": ["weekly clean-out"]},
            "tension": {"1": "4.2 bar", "supply": "6.2 bar"},
            "extraction": {"open": ["two-1"], "readings": [{"gate": "two-1", "hood_static": "911 Pa"}]},
            "running": {"stop": {"station": "infeed", "seconds": {"1": 6.2}}, "idle_current": {"1": "11 A"}},
            "test_board": {"readings": [{"x": "60 mm", "before": "27.7 mm", "after": "27.4 mm"}]},
            "repairs": [{"check": "running", "subject": "head 1 stop", "what": "lining changed", "who": "S. Ollery"}],
            "actions": {"tension": {"head 1": "read again"}},
            "refers": {"machine": "m-7f3a91c2d04e", "sequence": 1, "sha256": "0" * 64},
            "released": {
                "until": at.isoformat(),
                "overrides": [
                    {"record": 1, "check": "tension", "subject": "head 1", "by": "T. Varga", "until": at.isoformat()}
                ],
            },
            "entries": [{"key": "tension.1", "text": "4.2", "at": at, "earlier": [{"at": at, "text": "42"}]}],
            "findings": [
                {"check": "tension", "subject": "head 1", "verdict": "ok", "measured": quantity, "low": quantity},
                {"check": "running", "subject": "limit bar", "verdict": "stop", "takes_override": False},
            ],
            "limits": {"machine": {"name": "Bay two"}, "belts/H-204": {"backing": "cloth X", "grit": "P100"}},
        }
    if kind == "run":
        board = {"part": 1, "width": "180 mm", "length": "900 mm", "left_edge": "20 mm", "place": "1", "count": 12}
        return {
            "record": heading,
            "run": {
                "began": at.isoformat(),
                "boards": [board],
                "glue": {"lots": 0, "belts": 0, "minutes": 5},
                "off": [{"head": "1", "belt": "H-204", "why": "worn out"}],
                "drums": [{"head": "1", "what": "ground"}],
                "readings": [{"thickness": ["27.0 mm"], "current": {"1": "14 A"}}],
                "wear": [{"belt": "H-204", "left": "15 mm", "strip": "10 mm", "metres": [1.5, 2.0]}],
            },
        }
    more: dict[str, Any] = {
        "countersign": {"remark": "seen"},
        "correction": {"key": "tension.1", "was": "42", "text": "4.2", "reason": "a slip"},
    }
    return {"record": heading} | ({kind: more[kind]} if kind in more else {})


def spoilt(document: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    """The document with one to three places made odd."""
    made = copy.deepcopy(document)
    for _ in range(rng.randint(1, 3)):
        table, key = rng.choice(list(_places(made)))
        rng.choice(WAYS)(table, key, rng)
    return made


def _odd(table: Any, key: Any, rng: random.Random) -> None:
    table[key] = copy.deepcopy(rng.choice(ODD))


def _like(table: Any, key: Any, rng: random.Random) -> None:
    """Another value of the same type: what passes has to be borne by whoever reads it."""
    same = [value for value in ODD if type(value) is type(table[key])]
    table[key] = copy.deepcopy(rng.choice(same or list(ODD)))


def _gone(table: Any, key: Any, _rng: random.Random) -> None:
    del table[key]


def _added(table: Any, _key: Any, rng: random.Random) -> None:
    if isinstance(table, dict):
        table[rng.choice(("x", "seal", "kind", "record", ""))] = copy.deepcopy(rng.choice(ODD))
    else:
        table.append(copy.deepcopy(rng.choice(ODD)))


WAYS: tuple[Callable[[Any, Any, random.Random], None], ...] = (_odd, _like, _like, _gone, _added)


def _places(value: Any) -> Any:
    """Every table or list with a key or place in it."""
    if isinstance(value, dict):
        for key, item in list(value.items()):
            yield value, key
            yield from _places(item)
    elif isinstance(value, list) and value:
        place = len(value) - 1
        yield value, place
        yield from _places(value[place])
