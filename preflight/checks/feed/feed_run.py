"""What the feeding takes: speed, run time, one more pass, belt area; and parts that are thinner or thicker."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from preflight.checks.carrier import carrier_words
from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import basis, judged
from preflight.checks.removal.removal_facts import feed_speed_of
from preflight.engine.throughput import (
    belt_area_used,
    extra_pass_time,
    feed_time,
    row_lengths,
    sanded_area,
    throughput,
)
from preflight.quantities import Kind, show
from preflight.shop import defaults

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preflight.checks.feed.feed_task import FeedTask
    from preflight.engine.lanes import FeedPlan
    from preflight.sheet import SetupSheet
    from preflight.shop.cards import JobCard
    from preflight.shop.view import ShopView


def feeding_seconds(followed: FeedPlan, task: FeedTask, speed: float) -> float:
    """Time for all lots, every pass of every face, s; `speed` in m/s."""
    along = row_lengths(task.parts, followed.rows)
    return feed_time(along, defaults.FEED_SPACING.value, speed, task.times) * task.lots


def time_finding(followed: FeedPlan, task: FeedTask, sheet: SetupSheet, shop: ShopView) -> Iterator[Finding]:
    """Run time, what one more pass costs, and the belt area that works."""
    machine, units = shop.machine, shop.machine.units
    speed = feed_speed_of(sheet, machine)
    along = row_lengths(task.parts, followed.rows)
    seconds = feeding_seconds(followed, task, speed)
    if seconds <= 0.0:
        return
    more = extra_pass_time(along, defaults.FEED_SPACING.value, speed) * task.lots
    boards = len(followed.placements) * task.lots
    usual = "" if sheet.removal.feed_speed is not None else ", the usual speed"
    cards = [(on.head, card) for on in sheet.belts if not on.lifted and (card := shop.belt(on))]
    used = ""
    if cards and cards[0][1].length_left is not None:
        head, length = cards[0][0], cards[0][1].length_left.value
        free = math.fsum(b - a for a, b in task.belt.segments)
        area = belt_area_used(min(followed.unused_width, free), free, length)
        used = f" Head {head} uses {show(area, Kind.AREA, units, more=2)} of its belt."
    yield Finding(
        "run time",
        Verdict.OK,
        f"About {minutes(seconds)} at {show(speed, Kind.FEED_SPEED, units)}{usual}, "
        f"{throughput(boards, seconds):.0f} boards an hour; one more pass costs {minutes(more)}.{used}",
        workings=f"sum of (length + {defaults.FEED_SPACING}) over {followed.feeds} feeds / feed speed x {task.times} "
        f"times through; {show(sanded_area(task.parts) * task.lots, Kind.AREA, units)} a face, as the parts lie",
    )


def minutes(seconds: float) -> str:
    """A stretch of time as a person says it.

    >>> minutes(50), minutes(960), minutes(9000)
    ('1 min', '16 min', '2 h 30 min')
    """
    whole = max(1, round(seconds / 60.0))
    return f"{whole} min" if whole < 120 else f"{whole // 60} h {whole % 60} min"


def speed_findings(sheet: SetupSheet, shop: ShopView) -> Iterator[Finding]:
    """The feed speed chosen, against the machine's range. Judged here and nowhere else."""
    by = basis(shop.machine.conveyor.feed_speed, "conveyor.feed_speed", shop.machine.source)
    speed = sheet.removal.feed_speed
    if speed is None or by is None:
        return
    yield judged(
        "feed speed",
        "Feed speed",
        speed,
        by,
        shop.machine.units,
        too_low="Set it faster.",
        too_high="Set it slower.",
        actions=("tried on scrap", "lead told"),
    )


def carried_parts(job: JobCard, shop: ShopView) -> Iterator[Finding]:
    """Parts of a thickness of their own against the machine's window; those of the lot are measured at the stock."""
    machine = shop.machine
    by = basis(machine.conveyor.part_thickness, "conveyor.part_thickness", machine.source, defaults.PART_THICKNESS)
    for number, part in enumerate(job.parts, 1):
        if part.thickness is not None and by is not None:
            yield judged(
                f"part {number} thickness",
                f"Thickness of part {number}",
                part.thickness,
                by,
                machine.units,
                too_low=f"Not by itself. {carrier_words(machine)}",
                too_high="It does not pass this machine.",
                near=f"Go by the machine book for parts of this size. {carrier_words(machine)}",
                actions=("carrier board used", "fed one at a time, watched", "lead told"),
            )
