"""A conveyor that was dressed: never coarser than 120, the other heads raised, by someone competent."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import missing
from preflight.engine.abrasives import Grit
from preflight.shop import defaults

if TYPE_CHECKING:
    from preflight.sheet import SetupSheet


def dressing(sheet: SetupSheet) -> list[Finding]:
    """Judge how it was done; nothing when it was not."""
    done = sheet.condition.dressing
    if done is None:
        return []
    subject, coarsest = "conveyor dressing", Grit(done.grit.scale, defaults.DRESSING_COARSEST)
    if done.other_heads is None or not done.by:
        lacking = "by whom it was dressed" if done.other_heads else "whether the other heads were raised"
        what = f"The conveyor was dressed with {done.grit}; it is not said {lacking}."
        return [missing(subject, what, "Say both: it is work for someone competent.", "condition.dressing")]
    verdict, statement, remedy = Verdict.OK, f"Conveyor dressed with {done.grit} by {done.by}, other heads raised.", ""
    if done.grit.coarser_than(coarsest):
        verdict = Verdict.STOP
        statement = f"The conveyor was dressed with {done.grit}, coarser than {coarsest}: it tears the rubber open."
        remedy = f"Do not feed on it: have its thickness and grip looked at. Dress with {coarsest} or finer only."
    elif done.other_heads == "lowered":
        verdict = Verdict.STOP
        statement = "The conveyor was dressed with other heads lowered: they have cut it too."
        remedy = "Look at the whole conveyor, locked off, before feeding; raise the other heads the next time."
    return [
        Finding(
            subject,
            verdict,
            statement,
            remedy,
            measured=str(done.grit),
            allowed=(f"{coarsest} or finer",),
            basis="conveyor dressing",
            source=defaults.PRACTICE,
        )
    ]
