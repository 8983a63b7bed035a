"""The conveyor from above: the next feeds at their places, the exposure after the job, and what is worn by now."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.feed.feed_progress import progress
from preflight.checks.feed.feed_task import FeedTask, chosen_plan, task_for
from preflight.checks.feed.feed_words import named_by, turns
from preflight.engine.boards import loads_of
from preflight.engine.coverage import Exposure, Strip, exposure_over
from preflight.tui.painting import fit, wrap

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.engine.boards import Placement
    from preflight.engine.lanes import FeedPlan
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line, Picture
    from preflight.tui.run import Run

SIDE = 10
"""Cells that name a line."""


def picture(run: Run, width: int, height: int, charset: Charset) -> Picture:
    """At least the next feed, the exposure after the job and the wear by now; with more room further feeds, the
    figures, the drums' wear and the whole pattern."""
    if run.view is None or run.sheet is None or height < 1 or width < SIDE + 12:
        return []
    task = task_for(run.sheet, run.view, run.history)
    if not isinstance(task, FeedTask):
        return []
    try:
        followed = chosen_plan(run.sheet, task)
        now = progress(run.sheet, task, followed)
    except ValueError:
        return []
    room, after = width - SIDE, now.rest.exposure
    by_now = exposure_over([*task.wear, *loads_of(task.parts, now.fed)], task.belt.segments)
    worn = [
        _bars("after job", after, after.peak, room, charset),
        _bars("worn now", by_now, after.peak, room, charset),
    ]
    worn = worn[: height - 1]
    spare = height - len(worn) - 1
    drums = _drums(run, task, room, charset)[: max(0, spare)]
    spare -= len(drums)
    said = _figures(followed, width)[: max(0, spare)]
    spare -= len(said)
    feeds = list(now.rest.rows)
    shown = feeds[: 1 + max(0, min(spare, 4))]
    lines: list[Line] = [
        [(fit("next" if number == 0 else "then", SIDE), "dim"), *_conveyor(row, task, room, charset)]
        for number, row in enumerate(shown)
    ] or [[("all fed", "dim")]]
    lines += [*worn, *drums, *said]
    left = height - len(lines)
    if left > 1:
        taken = turns(followed, task, named_by(run.sheet, task), run.view.machine.units)
        feeds_by_letter = ", ".join(f"{letter} {places}" for letter, places in taken.feeds)
        pattern = wrap(f"in turn: {taken.in_turn}; {feeds_by_letter}", width)
        kept = pattern[:left]
        if len(pattern) > left:
            kept[-1] = fit(kept[-1], width - 1).rstrip() + charset.ellipsis
        lines += [[(line, "text")] for line in kept]
    return lines


def _conveyor(row: Sequence[Placement], task: FeedTask, room: int, charset: Charset) -> Line:
    cells = [(charset.outside, "rule")] * room
    scale = room / task.belt.width
    for start, end in task.belt.keep_off:
        for x in range(
            max(0, round((start - task.belt.left) * scale)), min(room, round((end - task.belt.left) * scale))
        ):
            cells[x] = ("x", "stop")
    for placement in row:
        start = placement.left_edge - task.belt.left
        first = round(start * scale)
        last = max(first + 1, round((start + task.parts[placement.part].width) * scale))
        for x in range(max(0, first), min(room, last)):
            cells[x] = (charset.inside, "wood")
    return cells


def _bars(name: str, profile: Exposure, peak: float, room: int, charset: Charset) -> Line:
    """Height of each bar against `peak`; nothing has passed where the line is dotted."""
    cells = []
    for bar in profile.bars(room):
        share = bar / peak if peak > 0.0 else 0.0
        level = charset.levels[min(len(charset.levels) - 1, round(share * (len(charset.levels) - 1)))]
        cells.append((level, "metal") if bar > 0.0 else (charset.outside, "rule"))
    return [(fit(name, SIDE), "dim"), *cells]


def _drums(run: Run, task: FeedTask, room: int, charset: Charset) -> list[Line]:
    if run.history is None:
        return []
    lines = []
    for head, worn in run.history.drum_wear.items():
        strips = [Strip(s.left - task.on_bed, s.right - task.on_bed, s.metres) for s in worn]
        profile = exposure_over(strips, task.belt.segments)
        lines.append(_bars(f"drum {head}", profile, profile.peak, room, charset))
    return lines


def _figures(followed: FeedPlan, width: int) -> list[Line]:
    centre = followed.centre
    beside = f" (down the middle {centre.share_of_best:.0%})" if centre is not None else ""
    texts = (
        f"share of best {followed.share_of_best:.0%}{beside}",
        f"mean over peak {followed.mean_over_peak:.2f}, lowest over peak {followed.lowest_over_peak:.2f}",
    )
    return [[(text[:width], "text")] for text in texts]
