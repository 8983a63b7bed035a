"""Station 11: thickness across the width after a test pass, and the surface in raking light."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.board_readings import board_of
from preflight.quantities import Kind, QuantityError, parse, show
from preflight.tui.rows import Choice, Row

if TYPE_CHECKING:
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line, Picture
    from preflight.tui.run import Run

SURFACES = ("clean", "chatter", "streak", "burn line", "scratches", "snipe", "dull stripes")


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
        )
    ]
    for index, (side, x) in enumerate((("left", margin), ("centre", width / 2), ("right", width - margin))):
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
                subjects=("taper", "crown", "removal reached"),
                also=tuple(extra),
            )
        )
    asked.append(
        Row(
            "test_board.light",
            "in raking light",
            choices=tuple(Choice(word, ((("test_board", "raking_light"), word),)) for word in SURFACES),
            hint="Lamp low along the grain, then across.",
            subjects=("raking light", "surface"),
        )
    )
    return asked


def picture(run: Run, width: int, height: int, charset: Charset) -> Picture:
    """The board's cross-section from left to right, its thickness differences exaggerated; thin is low."""
    board = board_of(run.sheet) if run.sheet is not None else None
    if board is None or run.view is None or height < 4 or width < 20:
        return []
    units, fit = run.view.machine.units, board.fit
    across = [fit.at(fit.left + (fit.right - fit.left) * x / (width - 1)) for x in range(width)]
    low, high = min(across), max(across)
    span = max(high - low, 1e-6)
    rows = min(6, height - 2)
    steps = [round((value - low) / span * (rows * 8 - 4)) + 4 for value in across]
    lines: list[Line] = [
        [(_block(step - row * 8, charset), "wood") for step in steps] for row in range(rows - 1, -1, -1)
    ]
    lines.append([(charset.horizontal * width, "rule")])
    text = f"{show(high - low, Kind.LENGTH, units)} between thinnest and thickest"
    return [*lines, [(text[:width], "dim")]]


def _block(eighths: int, charset: Charset) -> str:
    if eighths <= 0:
        return " "
    return charset.levels[min(eighths, 8) - 1]
