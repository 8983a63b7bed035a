"""Station 9: where the boards go, as a pattern a person can follow, over the exposure of the width."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.feed import FeedTask, chosen_plan, task_for
from preflight.quantities import Kind, show
from preflight.tui.rows import Choice, Row

if TYPE_CHECKING:
    from preflight.engine.lanes import FeedPlan
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line, Picture
    from preflight.tui.run import Run

AS_PLANNED = "computed places"
MIDDLE = "all down the middle"


def rows(run: Run) -> list[Row]:
    """The computed places stand unless another way is chosen; the first feeds are shown as left edges."""
    if run.view is None or run.sheet is None:
        return []
    task = task_for(run.sheet, run.view, run.history)
    if not isinstance(task, FeedTask):
        return []
    job = run.view.job(run.sheet)
    assert job is not None
    middle = [
        {"part": index + 1, "left_edge": f"{(task.belt.left + (task.belt.width - part.width) / 2) * 1000:.1f} mm"}
        for index, part in enumerate(task.parts)
    ]
    asked = [
        Row(
            "feed.way",
            "fed at",
            choices=(Choice(AS_PLANNED), Choice(MIDDLE, ((("feed", "boards"), middle),))),
            hint="Gloves off near the infeed; stand beside it, not in line.",
            subjects=("evenness", "places"),
            optional=True,
        )
    ]
    plan = chosen_plan(run.sheet, run.view, task)
    if plan is None:
        return asked
    units = run.view.machine.units
    for number, line in enumerate(first_feeds(plan, units)):
        asked.append(Row(f"feed.shown.{number}", "left edges, feed 1 on" if number == 0 else "", shown=line))
    return asked


def first_feeds(plan: FeedPlan, units: str, most: int = 4) -> list[str]:
    """The first feeds, one a line: the left edge of each board from the bed's left side."""
    lines = []
    for row in plan.rows[:most]:
        edges = " + ".join(show(place.left_edge, Kind.LENGTH, units).split()[0] for place in row)
        lines.append(f"{edges} {Kind.LENGTH.unit_in(units)}")
    return lines


def picture(run: Run, width: int, height: int, charset: Charset) -> Picture:
    """The conveyor from above: the first feeds at their places, and under them how often each strip is passed."""
    if run.view is None or run.sheet is None:
        return []
    task = task_for(run.sheet, run.view, run.history)
    plan = chosen_plan(run.sheet, run.view, task) if isinstance(task, FeedTask) else None
    if not isinstance(task, FeedTask) or plan is None or height < 4:
        return []
    scale = width / task.belt.width
    lines: list[Line] = []
    for row in plan.rows[: max(1, height - 3)]:
        cells = [(charset.outside, "rule")] * width
        for placement in row:
            start = round((placement.left_edge - task.belt.left) * scale)
            end = round((placement.left_edge - task.belt.left + task.parts[placement.part].width) * scale)
            for x in range(max(0, start), min(width, max(end, start + 1))):
                cells[x] = (charset.inside, "wood")
        lines.append(cells)
    lines.append([("passed over each strip of the width", "dim")])
    lines.append([(charset.levels[min(7, round(bar * 7))], "metal") for bar in plan.exposure.bars(width)])
    return lines
