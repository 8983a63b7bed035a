"""How even a feed plan is against the best these parts allow; wear is never a stop."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preflight.checks.feed.feed_task import EVENEST, ROTATION, FeedTask, planned
from preflight.checks.feed.feed_words import named_by, next_name, turns
from preflight.checks.finding import Finding, Verdict
from preflight.engine.boards import loads_of
from preflight.engine.coverage import Exposure, exposure_over
from preflight.quantities import Kind, show
from preflight.shop import defaults

if TYPE_CHECKING:
    from preflight.engine.lanes import FeedPlan
    from preflight.sheet import SetupSheet
    from preflight.shop.view import ShopView

ACTIONS = ("computed places followed from here", "too few boards to matter", "lead told")
MOST_TOLD = 4
"""Feeds and blocks of turns told in the workings."""
LEFT_BARE = 0.01
"""Share of the width by which a given pattern may leave more bare than the computed places."""
MIDDLE = 0.05
"""A board whose middle is this near to the belt's, as a share of the width, goes down the middle."""
ROUGHER = 0.25
"""On a worn belt, spread over the width that a given pattern may have more than the computed places, as a share of
what the job adds; the old peak would hide it."""


def worn_before(task: FeedTask) -> Exposure:
    """The wear map that the plan starts from."""
    return exposure_over(task.wear, task.belt.segments)


def evenness(followed: FeedPlan, rest: FeedPlan, task: FeedTask, sheet: SetupSheet, shop: ShopView) -> Finding:
    """Three figures, three names; below what these parts allow it says why, by how much, and where to feed next."""
    units, share, given = shop.machine.units, followed.share_of_best, bool(sheet.feed.boards)
    poor = share < defaults.EVENNESS - 1e-9
    taken = turns(followed, task, named_by(sheet, task), units)
    different = "; ".join(f"{letter} {places}" for letter, places in taken.feeds[:MOST_TOLD])
    in_turn = "; then ".join(taken.order[:MOST_TOLD])
    figures = (
        f"share_of_best = bound {followed.bound:.2f} m / peak {followed.peak:.2f} m = {share:.3f}; "
        f"mean_over_peak {followed.mean_over_peak:.2f}; lowest_over_peak {followed.lowest_over_peak:.2f}; "
        f"{different}; in turn {in_turn}"
    )
    verdict, remedy = Verdict.CAUTION, ""
    if given and (poor or _leaves_much(followed, task)):
        statement, remedy = _given(followed, rest, task, sheet, shop)
    elif poor:
        statement, remedy = _computed(followed, task, sheet)
    else:
        verdict = Verdict.OK
        middle = f"; all down the middle {followed.centre.share_of_best:.0%}" if followed.centre else ""
        statement = f"These places use the belt {share:.0%} as evenly as these parts allow{middle}."
        if all(part.width > task.belt.width / 2 for part in task.parts):
            statement = (
                "Parts wider than half the belt: hard left and hard right in turn is all there is, "
                f"{share:.0%} of the best."
            )
    return Finding(
        "evenness",
        verdict,
        statement,
        remedy,
        f"{share:.3f}",
        basis="share of best, good from 90 %",
        source=defaults.PRACTICE,
        workings=figures,
        actions=ACTIONS if verdict is Verdict.CAUTION else (),
    )


def _leaves_much(followed: FeedPlan, task: FeedTask) -> bool:
    """Whether the computed places would use clearly more of the width, whatever the peak says."""
    best = planned(replace(task, places=None, trade=EVENEST))
    if followed.unused_width > best.unused_width + LEFT_BARE * task.belt.width:
        return True
    added = sum(part.count * part.load * part.width for part in task.parts) / task.belt.width
    return bool(task.wear) and followed.exposure.variation > best.exposure.variation + ROUGHER * added


def _given(followed: FeedPlan, rest: FeedPlan, task: FeedTask, sheet: SetupSheet, shop: ShopView) -> tuple[str, str]:
    """Statement and remedy of a pattern that is not the computed one."""
    units, better = shop.machine.units, planned(task)
    own = exposure_over(loads_of(task.parts, followed.placements), task.belt.segments)
    bare = f"{show(own.unused_width, Kind.LENGTH, units)} of the width gets no board."
    even = ""
    if followed.share_of_best < defaults.EVENNESS:
        even = f"{followed.share_of_best:.0%} of the best evenness, "
    what = "These places wear the belt unevenly: "
    if _down_the_middle(followed, task):
        what = "Parts sent down the middle only wear a hollow in drum and belt: "
    first = next_name(rest if rest.feeds and sheet.feed.fed else better, task, task.places, units)
    reached = f"{better.share_of_best:.0%} in {better.feeds} feeds"
    return f"{what}{even}{bare}", f"Next: {first}. The computed places reach {reached}."


def _computed(followed: FeedPlan, task: FeedTask, sheet: SetupSheet) -> tuple[str, str]:
    """Statement and remedy of a computed plan in which evenness gave way to something."""
    best, share = planned(replace(task, places=None, trade=EVENEST)), f"{followed.share_of_best:.0%}"
    if sheet.feed.trade not in (EVENEST, ROTATION):
        what = f"Few feeds were chosen over evenness: {followed.feeds} wear the belt {share} as evenly as possible."
        more = best.feeds - followed.feeds
        return what, f"The evenest plan takes {more} feeds more and reaches {best.share_of_best:.0%}."
    if task.places is not None:
        what = f"The {task.places} marks do not suit these widths: {share} as even as these parts allow."
        reached = f"{best.share_of_best:.0%} in {best.feeds} feeds"
        return what, f"Feed by distance from the left edge, not by the marks: {reached}."
    what = f"No places were found that use the belt more than {share} as evenly as may be possible."
    return what, "Nothing better is known: follow the computed places."


def _down_the_middle(followed: FeedPlan, task: FeedTask) -> bool:
    middle = task.belt.left + task.belt.width / 2
    centres = (p.left_edge + task.parts[p.part].width / 2 for p in followed.placements)
    return all(abs(centre - middle) <= MIDDLE * task.belt.width + 1e-9 for centre in centres)
