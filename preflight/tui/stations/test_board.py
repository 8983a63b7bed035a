"""Station 11: thickness across the width after a test pass, and the surface in raking light."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.running.weekly import asked_today
from preflight.checks.test_board.board_marks import REPEATING
from preflight.checks.test_board.board_readings import board_of
from preflight.checks.test_board.raking_light import CLEAN, SYMPTOMS
from preflight.quantities import Kind, QuantityError, parse, show
from preflight.tui.rows import Choice, Row, whole

if TYPE_CHECKING:
    from preflight.checks.test_board.board_readings import Board
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Picture
    from preflight.tui.run import Run

SURFACES = (CLEAN, *(symptom.words for symptom in SYMPTOMS))

SIDES = ("left", "centre", "right")
SHAPE = ("instrument", "taper", "crown", "crown over weeks", "residual", "glued up")
"""What is judged from the readings after the pass."""


def rows(run: Run) -> list[Row]:
    """Left, centre, right of one wide board or equal strips; one thickness before, three after."""
    view = run.view
    if view is None:
        return []
    units = view.machine.units
    unit = Kind.LENGTH.unit_in(units)
    width = view.machine.conveyor.working_width.value
    margin = 2.5 * 0.0254 if units == "inch" else 0.06
    before = run.typed.get("test_board.before", "").strip()
    try:
        equal = parse(before, Kind.LENGTH, unit).text if before else ""
    except QuantityError:
        equal = ""
    asked = [
        Row(
            "test_board.before",
            f"before the pass, {unit}",
            ("test_board", "readings", 0, "before"),
            Kind.LENGTH,
            unit,
            hint="One wide board, or strips of one thickness at left, centre, right.",
            subjects=("thickness", "removal"),
        )
    ]
    for index, (side, x) in enumerate(zip(SIDES, (margin, width / 2, width - margin), strict=True)):
        at = ("test_board", "readings", index)
        extra = [((*at, "x"), show(x, Kind.LENGTH, units))]
        if equal:
            extra.append(((*at, "before"), equal))
        asked.append(
            Row(
                f"test_board.{side}",
                f"after, {side}, {unit}",
                (*at, "after"),
                Kind.LENGTH,
                unit,
                hint=f"{show(x, Kind.LENGTH, units)} from the left edge of the bed, to the caliper's last digit.",
                subjects=("thickness", *SHAPE, "removal", f"board at {show(x, Kind.LENGTH, units)} unit"),
                also=tuple(extra),
            )
        )
    if run.sheet is not None and "second pass" in asked_today(run.sheet, view.machine, run.history):
        asked += _second_pass(unit)
    asked.append(
        Row(
            "test_board.light",
            "in raking light",
            choices=tuple(Choice(word, ((("test_board", "raking_light"), word),)) for word in SURFACES),
            hint="Lamp low along the grain, then across.",
            subjects=("raking light",),
        )
    )
    if run.typed.get("test_board.light", "") in REPEATING:
        asked += _marks(unit)
    return asked


def _second_pass(unit: str) -> list[Row]:
    """The same places after a second pass, and both ends of each strip: weekly, and with another belt."""
    asked = []
    for index, side in enumerate(SIDES):
        at = ("test_board", "readings", index)
        asked.append(
            Row(
                f"test_board.{side}.second",
                f"after two, {side}, {unit}",
                (*at, "second"),
                Kind.LENGTH,
                unit,
                hint="Fed once more with nothing changed: the same place.",
                subjects=("second pass",),
            )
        )
    for index, side in enumerate(SIDES):
        asked += [
            Row(
                f"test_board.{side}.{end}",
                f"{end} end, {side}, {unit}",
                ("test_board", "readings", index, "ends", number),
                Kind.LENGTH,
                unit,
                hint="After the first pass, 20 mm in from that end.",
                subjects=("snipe",),
            )
            for number, end in enumerate(("lead", "trail"))
        ]
    return asked


def _marks(unit: str) -> list[Row]:
    return [
        Row(
            "test_board.marks.span",
            f"span over marks, {unit}",
            ("test_board", "marks", "span"),
            Kind.LENGTH,
            unit,
            hint="Rule along the board: from the first to the last of ten or more marks.",
            subjects=("marks",),
            optional=True,
        ),
        Row(
            "test_board.marks.count",
            "spaces in that span",
            ("test_board", "marks", "count"),
            reads=whole,
            hint="Spaces, not marks: eleven marks have ten.",
            subjects=("marks",),
            optional=True,
        ),
    ]


def picture(run: Run, width: int, height: int, charset: Charset) -> Picture:
    """The board's cross-section from left to right, its thickness differences exaggerated; readings are marked.

    The curve is the one that taper and crown are read from; a reading off the curve stands above or below it.
    """
    board = board_of(run.sheet) if run.sheet is not None else None
    if board is None or run.view is None or height < 5 or width < 30:
        return []
    units, fit = run.view.machine.units, board.fit
    across = [fit.at(fit.left + (fit.right - fit.left) * x / (width - 1)) for x in range(width)]
    read = [(r.x.value, r.after.value) for r in board.readings]
    values = [*across, *(after for _, after in read)]
    low, high = min(values), max(values)
    span = max(high - low, 1e-6)
    rows = min(5, height - 3)
    scale = (rows * 8 - 4) / span
    steps = [round((value - low) * scale) + 4 for value in across]
    grid = [[(_block(step - row * 8, charset), "wood") for step in steps] for row in range(rows - 1, -1, -1)]
    for x, after in read:
        column = round((x - fit.left) / (fit.right - fit.left) * (width - 1))
        line = rows - 1 - min(rows - 1, (round((after - low) * scale) + 3) // 8)
        grid[line][column] = (charset.reading, "mark strong")
    ends = [(r.x.value, r.after.text) for r in board.readings]
    left, right = min(ends)[1], max(ends)[1]
    middle = f"{show(high - low, Kind.LENGTH, units)} thin to thick"
    names = f"{left}{middle:^{max(0, width - len(left) - len(right))}}{right}"
    return [
        *grid,
        [(charset.horizontal * width, "rule")],
        [(names[:width], "dim")],
        [(_shape(board, units)[:width], "text")],
    ]


def _shape(board: Board, units: str) -> str:
    taper, crown = board.fit.taper(), board.fit.crown()
    parts = []
    if taper is not None:
        side = "right" if taper.value > 0 else "left"
        parts.append(f"taper {show(abs(taper.value), Kind.LENGTH, units)} thick {side}")
    if crown is not None:
        way = "thick" if crown.value > 0 else "thin"
        parts.append(f"crown {show(abs(crown.value), Kind.LENGTH, units)} {way} middle")
    return "; ".join(parts)


def _block(eighths: int, charset: Charset) -> str:
    if eighths <= 0:
        return " "
    return charset.levels[min(eighths, 8) - 1]
