"""What has been fed of a lot, and the plan from there on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from preflight.checks.feed.feed_task import ROTATION, FeedTask, left_edge
from preflight.engine.boards import Placement
from preflight.engine.lanes import FeedPlan, replan

if TYPE_CHECKING:
    from preflight.sheet import Fed, SetupSheet


@dataclass(frozen=True, slots=True)
class Progress:
    """Boards fed, in their order, and the rest."""

    fed: tuple[Placement, ...]
    rest: FeedPlan
    """Without feeds when the lot is done."""


def progress(sheet: SetupSheet, task: FeedTask, followed: FeedPlan) -> Progress:
    """Where a lot stands that began by the plan `followed`. Boards fed elsewhere plan the rest anew.

    ValueError when more was fed than there is, or where nothing can lie.
    """
    return _after(task, followed, tuple(sheet.feed.fed))


@lru_cache(maxsize=64)
def _after(task: FeedTask, followed: FeedPlan, entries: tuple[Fed, ...]) -> Progress:
    if not entries:
        return Progress((), followed)
    before, entry = _after(task, followed, entries[:-1]), entries[-1]
    row = before.fed[-1].row + 1 if before.fed else 0
    if entry.feeds is None:
        boards = tuple(Placement(entry.part - 1, left_edge(entry, task), row + n) for n in range(entry.count))
        whole = replace(before.rest, placements=(*before.fed, *before.rest.placements))
        fed = (*before.fed, *boards)
        turning = before.rest.rows if task.trade == ROTATION else ()
        return Progress(fed, replan(task.parts, task.belt, fed, whole, task.wear, task.places, rotation=turning))
    rest, taken = before.rest, entry.feeds
    if taken > rest.feeds:
        raise ValueError(f"{taken} feeds were counted, {rest.feeds} are left")
    done = tuple(replace(p, row=row + p.row) for p in rest.placements if p.row < taken)
    left = tuple(replace(p, row=p.row - taken) for p in rest.placements if p.row >= taken)
    return Progress((*before.fed, *done), replace(rest, placements=left, feeds=rest.feeds - taken))
