"""Station 11: taper, crown, scatter, removal reached, snipe, second pass and surface of the test board."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preflight.checks.judge import missing
from preflight.checks.removal.planned_removal import plan_for
from preflight.checks.running.weekly import asked_today
from preflight.checks.test_board import raking_light
from preflight.checks.test_board.board_marks import marks
from preflight.checks.test_board.board_readings import LEAST_PLACES, Board, board_of, places
from preflight.checks.test_board.board_shape import BoardShape
from preflight.checks.test_board.board_slips import not_measured, read_first, second_swapped, slipped
from preflight.engine.board_remedy import repeatability, snipe
from preflight.engine.thickness import Estimate
from preflight.shop import defaults

if TYPE_CHECKING:
    from preflight.checks.finding import Finding
    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.view import ShopView


def check(sheet: SetupSheet, shop: ShopView, history: History | None) -> list[Finding]:
    """Judge the thickness readings, then the look in raking light."""
    found: list[Finding] = []
    board = board_of(sheet)
    if sheet.stock.instrument is None and sheet.test_board.readings:
        found.append(
            missing(
                "instrument",
                "The instrument is not named: what the readings prove is not known.",
                "Name the caliper and its resolution at the stock station.",
                "stock.instrument",
            )
        )
    if empty := not_measured(sheet):
        found += empty
    elif board is None:
        found.append(_too_few(sheet))
    else:
        shape = BoardShape(sheet, shop, board)
        cut = _Pass(sheet, shop, shape)
        found += [shape.taper(history), shape.crown(), *shape.hollow(history), *shape.scatter(), *shape.glued_up()]
        asked = "second pass" in asked_today(sheet, shop.machine, history)
        found += [cut.removal(), *cut.snipe(asked), *cut.second_pass(asked)]
        if odd := slipped(sheet, shop.machine.units):
            found = [*read_first(found), *odd]
    return [*found, raking_light.look(sheet), *marks(sheet, shop)]


def _too_few(sheet: SetupSheet) -> Finding:
    count = places(sheet)
    places_read = "one place" if count == 1 else f"{count} places"
    return missing(
        "thickness",
        f"The board is measured at {places_read}; fewer than three show no crown."
        if count
        else "The test board is not measured.",
        f"Read it at left, centre and right, not nearer than 20 mm to an edge ({LEAST_PLACES} readings at least).",
        "test_board.readings",
    )


@dataclass(frozen=True, slots=True)
class _Pass:
    sheet: SetupSheet
    shop: ShopView
    shape: BoardShape

    @property
    def board(self) -> Board:
        return self.shape.board

    def removal(self) -> Finding:
        """Removal reached against the plan's first pass, over the places that have a reading before."""
        taken = [r.before.value - r.after.value for r in self.board.readings if r.before is not None]
        if not taken:
            return missing(
                "removal",
                "The board was not measured before the pass: what came off is not known.",
                "Measure the next board at the same places before and after.",
                "test_board.readings.before",
            )
        mean = math.fsum(taken) / len(taken)
        planned = plan_for(self.sheet, self.shop)
        if planned is None or not planned.passes:
            return missing(
                "removal",
                f"{self.shape.length(mean)} came off, but no removal is planned to compare with.",
                "Answer the removal station first.",
                "removal.share",
            )
        goal = planned.first_pass
        error = Estimate(mean - goal, math.sqrt(2 / len(taken)) * self.board.uncertainty)
        which = "planned" if len(planned.passes) == 1 else "of the first pass"
        what = f"Removal {self.shape.length(mean)}, {which} {self.shape.length(goal)}: the difference of"
        move = "Close" if error.value < 0 else "Open"
        remedy = (
            f"Set the dial to the board: {move.lower()} the opening by {self.shape.length(abs(error.value))}. "
            "Lift heads one by one: does each take its share?"
        )
        by = self.shape.limit("removal_error", defaults.REMOVAL_ERROR)
        actions = ("kept, next board gauged too", "heads tried one by one", "lead told")
        finding = self.shape.judged("removal", what, error, by, remedy, actions)
        reached, wanted = self.shape.length(mean), self.shape.length(goal)
        workings = f"mean of before - after over {len(taken)} places = {reached}; plan {wanted}"
        return replace(finding, workings=workings)

    def snipe(self, asked: bool) -> list[Finding]:
        """The worst end of any strip whose ends were read; open when they are due."""
        found = [
            (end, where, reading.x.text)
            for reading in self.board.readings
            if reading.ends is not None
            for end, where in zip(
                snipe(reading.ends[0].value, reading.after.value, reading.ends[1].value),
                ("leading", "trailing"),
                strict=True,
            )
        ]
        if not found and asked:
            return [
                missing(
                    "snipe",
                    "The ends of the test board are due to be measured (weekly, and with another belt).",
                    "Read each strip at its leading and its trailing end too: six points.",
                    "test_board.readings.ends",
                )
            ]
        if not found:
            return []
        end, where, x = max(found, key=lambda one: abs(one[0]))
        way = "thinner" if end < 0 else "thicker"
        remedy = "Lift the platen: gone? Else set the hold-down rollers and the table height by the machine book."
        if where == "trailing":
            remedy = (
                "Hold the board up on its way out: gone? Else see outfeed roller and table height, then the platen."
            )
        by = self.shape.limit("snipe", defaults.SNIPE)
        estimate = Estimate(end, math.sqrt(2) * self.board.uncertainty)
        actions = ("platen lifted and tried", "rollers set by the book", "lead told")
        finding = self.shape.judged("snipe", f"Snipe, {where} end {way} at {x}:", estimate, by, remedy, actions)
        workings = f"snipe = end - middle of the same strip = {self.shape.length(end)}, the worst of {len(found)} ends"
        return [replace(finding, workings=workings)]

    def second_pass(self, asked: bool) -> list[Finding]:
        """What a second pass at the same setting still takes: spring of heads, bed and rollers."""
        pairs = [(r.after.value, r.second.value) for r in self.board.readings if r.second is not None]
        if not pairs and asked:
            return [
                missing(
                    "second pass",
                    "A second pass at the same setting is due (weekly, and with another belt).",
                    "Feed the board again, nothing changed, and read the same places.",
                    "test_board.readings.second",
                )
            ]
        if not pairs:
            return []
        by = self.shape.limit("repeat", defaults.REPEAT)
        if (odd := second_swapped(self.board, by.limit, self.shape.units)) is not None:
            return [odd]
        repeat = repeatability([a for a, _ in pairs], [b for _, b in pairs])
        remedy = (
            "Something gives. Lock the bed, see belt tension and air, warm up, read again; a dull belt springs too."
        )
        estimate = Estimate(repeat.mean, math.sqrt(2 / len(pairs)) * self.board.uncertainty)
        actions = ("bed locked, read again", "warmed up, read again", "lead told")
        finding = self.shape.judged("second pass", "Taken by a second pass unchanged:", estimate, by, remedy, actions)
        workings = (
            f"further removal = mean of first - second reading over {len(pairs)} places = "
            f"{self.shape.length(repeat.mean)}; largest {self.shape.length(abs(repeat.largest))}"
        )
        return [replace(finding, workings=workings)]
