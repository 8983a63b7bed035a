"""One line: machine, job and operator, the time, and the worst verdict of the run."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Verdict
from preflight.tui.painting import clip, spread, width_of
from preflight.tui.widgets.cells import Painted

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line


UNKEPT = "draft not kept"
START_UP = "start-up"
"""What the screen shows while nothing else is said."""
NARROW = 80
LEAST = 12
"""Columns of a name below which it tells nothing."""


def verdict_spans(verdict: Verdict, charset: Charset) -> Line:
    """Mark, word and colour of a verdict, a stop as a filled badge."""
    role = "badge" if verdict is Verdict.STOP else f"{verdict.word} strong"
    return [(f" {charset.mark(verdict)} {verdict.word} ", role)]


def top_line(
    names: Sequence[str],
    time: str,
    verdict: Verdict | None,
    width: int,
    charset: Charset,
    state: str = START_UP,
    *,
    unkept: bool = False,
) -> Line:
    """`names` are machine, job and operator: the last are left out where the others then stand whole, else all are cut.

    A narrow line has the state only where a name still has room beside it. `unkept`: what was typed is not in the
    draft; that stands there until it is.
    """
    narrow = width < NARROW
    mark = [(f" {charset.mark(Verdict.STOP)} {UNKEPT} ", "badge")] if unkept else []
    ends = [(f" {time} ", "dim"), *(verdict_spans(verdict, charset) if verdict is not None else [])]
    said: list[tuple[str, str]] = [(f" {state} ", "dim" if state == START_UP else "strong")]
    if narrow and (state == START_UP or width - 2 - width_of([*mark, *ends, *said]) < LEAST):
        said = []
    right = [*mark, *ends[:1], *said, *ends[1:]]
    given = [name for name in names[: 2 if narrow else None] if name]
    gap = f"  {charset.dot}  "
    free = width - 2 - width_of(right)
    fitting = [many for many in range(len(given), 0, -1) if _needed(given[:many], gap) <= free]
    if fitting and said:
        given = given[: fitting[0]]
    while len(given) > 1 and free - len(gap) * (len(given) - 1) < LEAST * len(given):
        given.pop()
    room = free - len(gap) * max(0, len(given) - 1)
    while sum(map(len, given)) > room and max(map(len, given)) > 3:
        longest = max(range(len(given)), key=lambda i: len(given[i]))
        given[longest] = clip(given[longest], len(given[longest]) - 1, charset.ellipsis)
    left: list[tuple[str, str]] = [(" ", "text")]
    for place, name in enumerate(given):
        left += [(gap, "dim")] if place else []
        left.append((name, "strong" if place == 0 else "text"))
    return spread(left, right, width)


def _needed(names: Sequence[str], gap: str) -> int:
    return sum(map(len, names)) + len(gap) * (len(names) - 1)


class TopLine(Painted):
    """The top line of the run."""

    DEFAULT_CSS = "TopLine { height: 1; background: $panel; }"

    def __init__(self, charset: Charset, *, id: str | None = None) -> None:  # noqa: A002 (Textual's name)
        super().__init__(charset, id=id)
        self.names: Sequence[str] = ("start-up check",)
        self.now: datetime | None = None
        self.verdict: Verdict | None = None
        self.state = START_UP
        self.unkept = False

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """One line."""
        time = self.now.strftime("%H:%M") if self.now else ""
        return [top_line(self.names, time, self.verdict, width, self.charset, self.state, unkept=self.unkept)]
