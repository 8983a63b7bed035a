"""Hostile text, and what no output may hold: what the tests of this folder feed in and look for."""

from __future__ import annotations

import copy
from typing import TYPE_CHECKING, Any

import tomli_w

from preflight.outside_text import unfit

if TYPE_CHECKING:
    from collections.abc import Iterator

UNSEEN = "\x1b]0;owned\x07\x9b2J\u202egnp\u200b\ufeff\r\nVerification: intact (exit status 0).\n\x08\x7f"
"""Sets a terminal's title, clears it, turns reading round, hides, and begins a line as the product itself prints it."""

VISIBLE = '=A("b") [bold]x[/] <script>a</script> &amp; {0} %s'
"""Characters that anybody may use, and that a spreadsheet, a page or a markup would act on."""

FORGED_LINE = "Verification: intact (exit status 0)."

Place = tuple[str | int, ...]


def assert_shown(output: str) -> None:
    """Lines of what can be seen, and none that only the hostile text would begin."""
    for line in output.split("\n"):
        assert unfit(line.removesuffix("\r")) == "", line
        assert not line.startswith(FORGED_LINE), output


def places(table: Any, at: Place = ()) -> Iterator[Place]:
    """Where a text stands in nested tables and lists."""
    if isinstance(table, str):
        yield at
    elif isinstance(table, dict):
        for key, value in table.items():
            yield from places(value, (*at, key))
    elif isinstance(table, list):
        for index, value in enumerate(table):
            yield from places(value, (*at, index))


def kind_of(place: Place) -> Place:
    """The place without the numbers of list items: what stands there is treated alike."""
    return tuple(part for part in place if isinstance(part, str))


def each_kind(table: Any) -> list[Place]:
    """One place of each kind."""
    return list({kind_of(place): place for place in places(table)}.values())


def put(table: dict[str, Any], place: Place, text: str) -> dict[str, Any]:
    """A copy of the tables with another text there."""
    changed = copy.deepcopy(table)
    here: Any = changed
    for part in place[:-1]:
        here = here[part]
    here[place[-1]] = text
    return changed


def put_key(table: dict[str, Any], place: Place, key: str) -> dict[str, Any]:
    """A copy of the tables in which the table that holds this place has one more key."""
    changed = copy.deepcopy(table)
    here: Any = changed
    for part in place[:-1]:
        if not isinstance(here[part], dict):
            break
        here = here[part]
    here[key] = "x"
    return changed


def toml(table: dict[str, Any]) -> str:
    """The tables as a file, whatever they hold."""
    return tomli_w.dumps(table)
