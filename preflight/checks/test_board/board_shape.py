"""Shape of a test board: taper, crown, scatter, what gluing up adds, and the drift of the crown over weeks."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING, Final

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import Basis, basis, judged, span_of
from preflight.checks.test_board.board_readings import Board, earlier_crowns, earlier_tapers
from preflight.engine.board_remedy import adjuster_correction, glued_up_bow, largest_joint_step
from preflight.engine.instrument import can_prove, decide, reading_uncertainty
from preflight.engine.thickness import COVERAGE, Estimate
from preflight.quantities import Kind, computed, show, show_beside
from preflight.shop import defaults
from preflight.shop.limits import Limit

if TYPE_CHECKING:
    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.machine import Machine
    from preflight.shop.view import ShopView

SWAP: Final = "Swap the strips left for right first: an error that moves along was in the wood."
FLAT: Final = 5e-7
"""Below this, m, no side is called thicker."""
MIRRORED: Final = 0.25
"""A taper this near to the last board's the other way round may be that one read from the other side."""
FORMULAS: Final = {
    "taper": "taper = curve at the right - curve at the left",
    "crown": "crown = curve in the middle - mean of its ends",
}
ACTIONS: Final = ("kept, next board gauged too", "adjuster to be moved after the lot", "lead told")


@dataclass(frozen=True, slots=True)
class BoardShape:
    """Judges one measured board against this machine's limits."""

    sheet: SetupSheet
    shop: ShopView
    board: Board

    @property
    def machine(self) -> Machine:
        """The machine profile."""
        return self.shop.machine

    @property
    def units(self) -> str:
        """The shop's system."""
        return self.machine.units

    @property
    def glued(self) -> bool:
        """Whether the job's parts will be glued up side by side."""
        job = self.shop.job(self.sheet)
        return job is not None and job.glued_up_side_by_side

    def length(self, value: float) -> str:
        """A length as the shop reads it."""
        return show(value, Kind.LENGTH, self.units)

    def limit(self, name: str, default: Limit, *, tightens: bool = False) -> Basis:
        """The profile's limit or the default, tightened for parts that will be glued up side by side."""
        by = basis(getattr(self.machine.test_board, name), f"test_board.{name}", self.machine.source, default)
        assert by is not None
        if not (tightens and self.glued):
            return by
        factor = self.machine.test_board.glued_up_factor
        _, high = by.limit.edges()
        ceiling = by.limit.ceiling
        tight = Limit(
            high=computed(ceiling * factor, Kind.LENGTH, self.units) if ceiling is not None else None,
            caution_high=computed(high * factor, Kind.LENGTH, self.units) if high is not None else None,
        )
        return Basis(tight, by.field, f"{by.source}; x {factor:g}, parts are glued up side by side")

    def judged(
        self, subject: str, what: str, estimate: Estimate, by: Basis, remedy: str, actions: tuple[str, ...] = ACTIONS
    ) -> Finding:
        """The size of an estimate against a limit; where the readings cannot tell, a caution that says so."""
        size = computed(abs(estimate.value), Kind.LENGTH, self.units)
        margin = f"± {self.length(estimate.expanded)}" if estimate.uncertainty else "uncertainty not known"
        finding = judged(
            subject,
            what,
            size,
            by,
            self.units,
            too_high=remedy,
            near=remedy,
            workings=(
                f"{FORMULAS.get(subject, subject)} = {size.text} {margin} (2 standard); "
                f"curve: least squares over {len(self.board.readings)} readings"
            ),
            actions=actions,
        )
        ceiling = by.limit.ceiling
        if finding.verdict is Verdict.STOP or not ceiling or decide(estimate, ceiling) != "cannot tell":
            return finding
        rough = self.board.fit.reading_uncertainty > self.board.uncertainty
        hopeless = not rough and not can_prove(estimate, ceiling)
        finer = "Read again with a finer instrument" if hopeless else "Read again with care, at more places"
        return replace(
            finding,
            verdict=Verdict.CAUTION,
            statement=(
                f"{what} {size.text}, {margin}: these readings cannot prove the limit "
                f"({span_of(by.limit, Kind.LENGTH, self.units)})."
            ),
            remedy=f"{finer}{self.finer(estimate, ceiling) if hopeless else ''}. Until then it is not proven.",
            actions=("read with a finer instrument", "more places read", "lead told"),
        )

    def finer(self, estimate: Estimate, limit: float) -> str:
        """The resolution with which the same places could prove the limit."""
        reading = limit / COVERAGE * self.board.fit.reading_uncertainty / estimate.uncertainty
        steps = [step for step in (1e-4, 5e-5, 2e-5, 1e-5, 5e-6, 2e-6, 1e-6) if reading_uncertainty(step) <= reading]
        return f", to {self.length(steps[0])}" if steps and steps[0] < self.board.resolution else ""

    def taper(self, history: History | None) -> Finding:
        """Right minus left at the outermost readings; the last board's the other way round is named."""
        estimate = self.board.fit.taper()
        assert estimate is not None
        by = self.limit("taper", defaults.TAPER, tightens=True)
        side = "right" if estimate.value > 0 else "left"
        what = f"Taper, {side} side thicker:" if abs(estimate.value) >= FLAT else "Taper"
        finding = self.judged("taper", what, estimate, by, f"{SWAP} Else {self.correction(estimate.value)}.")
        last = next(reversed(earlier_tapers(history)), None)
        if finding.verdict is Verdict.OK or last is None or abs(estimate.value + last) > MIRRORED * abs(last):
            return finding
        return replace(
            finding, statement=f"{finding.statement} The last board had it the other way: left and right swapped?"
        )

    def correction(self, taper: float) -> str:
        """Which side to move, which way and how far, in the machine's own terms."""
        conveyor, side = self.machine.conveyor, "right" if taper > 0 else "left"
        verb = "raise the bed" if conveyor.adjuster_moves == "bed" else "lower the head"
        if conveyor.adjuster_spacing is None or conveyor.adjuster_spacing.value <= 0:
            return f"{verb} on the {side} as the machine book says; the profile names no adjuster spacing"
        move = adjuster_correction(taper, self.board.span, conveyor.adjuster_spacing.value, conveyor.adjuster_moves)
        return f"{verb} {self.length(move.amount)} at the {move.side} adjuster, then a new board"

    def crown(self) -> Finding:
        """Centre minus mean of the edges at the outermost readings."""
        estimate = self.board.fit.crown()
        assert estimate is not None
        by = self.limit("crown", defaults.CROWN, tightens=True)
        if estimate.value >= 0:
            what = "Crown, thicker in the middle:" if estimate.value >= FLAT else "Crown"
            remedy = (
                "Tension into its band first (a bent roller); then a straight edge on bed and drum: hollow? "
                "See the feed places: parts down the middle wear it."
            )
        else:
            what = "Crown, thinner in the middle:"
            remedy = "Put a straight edge on the bed: high in the middle? Then look at the belt's and conveyor's edges."
        actions = ("straight edge put on", "kept, next board gauged too", "lead told")
        return self.judged("crown", what, estimate, by, remedy, actions)

    def hollow(self, history: History | None) -> list[Finding]:
        """Thicker in the middle board after board, over weeks: a hollow drum, and why."""
        today = self.board.fit.crown()
        mark = self.limit("crown", defaults.CROWN).limit.edges()[1]
        if today is None or mark is None:
            return []
        before = earlier_crowns(history)[-defaults.HOLLOW_BOARDS :]
        if len(before) < defaults.HOLLOW_BOARDS or self.sheet.at - before[0][0] < timedelta(days=defaults.HOLLOW_DAYS):
            return []
        crowns = [crown for _, crown in before] + [today.value]
        if min(crowns) <= mark / 2:
            return []
        return [
            Finding(
                "crown over weeks",
                Verdict.CAUTION,
                f"The last {len(crowns)} test boards: all thicker in the middle, {self.length(min(crowns))} or more.",
                f"Drum worn hollow? Straight edge on it, locked off. {_middle_fed(history)}",
                measured=computed(min(crowns), Kind.LENGTH, self.units),
                basis="test_board.crown",
                source=defaults.PRACTICE,
                workings=f"over half the care mark ({self.length(mark / 2)}) on each since {before[0][0]:%Y-%m-%d}",
                actions=("straight edge on the drum", "feed places looked at", "lead told"),
            )
        ]

    def scatter(self) -> list[Finding]:
        """What the curve leaves over, when there are readings to show it."""
        left_over = self.board.fit.residual_sd
        if left_over is None:
            return []
        expected = COVERAGE * self.board.uncertainty
        rough = 0 < expected < left_over
        return [
            Finding(
                "residual",
                Verdict.CAUTION if rough else Verdict.OK,
                f"The readings scatter by {self.length(left_over)} about their curve"
                + (
                    f"; the instrument explains {show_beside(expected, left_over, Kind.LENGTH, self.units)}."
                    if rough
                    else "."
                ),
                "Wipe board and anvils, keep off ridges and edges, read again; else look for a groove in drum or belt."
                if rough
                else "",
                measured=computed(left_over, Kind.LENGTH, self.units),
                basis="stock.instrument",
                source="least squares, two standard uncertainties of a reading",
                workings="residual sd = sqrt(sum of squared residuals / (readings - 3))",
                actions=("read again", "drum and belt looked at", "lead told") if rough else (),
            )
        ]

    def glued_up(self) -> list[Finding]:
        """What single boards hide and a panel shows; said only when the job's parts will be glued up."""
        job = self.shop.job(self.sheet)
        if job is None or not self.glued:
            return []
        step = largest_joint_step(self.board.fit)
        width = min(max(part.width.value for part in job.parts), self.board.span)
        ends = (self.board.fit.left + width / 2, self.board.fit.right - width / 2)
        own = max((self.board.fit.part_taper(centre, width) for centre in ends), key=abs)
        count = max(1, math.floor(self.board.span / width * (1 + 1e-9)))
        return [
            Finding(
                "glued up",
                Verdict.OK,
                f"A part hides {self.length(abs(own))} of taper; glued up it can show a step of {self.length(step)}.",
                measured=computed(step, Kind.LENGTH, self.units),
                basis="job card.glued_up_side_by_side",
                source="job card",
                workings=(
                    f"step = range of the curve between the outermost readings; {count} such wedges bow by "
                    f"n^2 x taper / 8 = {self.length(glued_up_bow(own, count))}"
                ),
            )
        ]


def _middle_fed(history: History | None) -> str:
    """What the wear maps say of feeding down the middle: metres on the middle third against those on the outer ones."""
    strips = [strip for worn in (history.belt_wear.values() if history is not None else ()) for strip in worn]
    if not strips:
        return "See the feed places: only down the middle?"
    left, right = min(strip.left for strip in strips), max(strip.right for strip in strips)
    third = (right - left) / 3
    middle, outer = 0.0, 0.0
    for strip in strips:
        inside = max(0.0, min(strip.right, right - third) - max(strip.left, left + third))
        middle += strip.metres * inside
        outer += strip.metres * (strip.right - strip.left - inside)
    if middle <= outer / 2 * defaults.MIDDLE_FED:
        return "The wear maps show even feeding: look at bed and tension too."
    times = f"{middle / (outer / 2):.1f} times" if outer > 0 else "all of"
    return f"The wear maps agree: the middle third had {times} the wood of an outer third. Feed at all places."
