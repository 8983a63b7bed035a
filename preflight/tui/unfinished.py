"""A sheet from answers that are half given: what cannot stand yet is left out and named, so that judging goes on."""

from __future__ import annotations

import copy
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from preflight.sheet import SetupSheet
from preflight.shop.fields import IMPOSSIBLE, TODAY
from preflight.shop.problems import of_validation

if TYPE_CHECKING:
    from preflight.tui.rows import Path

CARD_DEPTH = 3
"""A belt card is a whole: one key of ("belts", n, "card") that is wrong takes the card out."""


def sheet_from(raw: dict[str, Any]) -> tuple[SetupSheet, list[tuple[Path, str]]]:
    """The sheet of what can stand, and per path left out what is still wanted there.

    Raises the first `ValidationError` again when what is wrong is not an answer (schema, machine, time).
    """
    left_out: list[tuple[Path, str]] = []
    kept: dict[str, Any] | None = None
    while True:
        try:
            return SetupSheet.model_validate(raw if kept is None else kept), left_out
        except ValidationError as error:
            kept = copy.deepcopy(raw) if kept is None else kept
            problems = of_validation(error, SetupSheet)
            for item in error.errors(include_url=False):
                path = _written(tuple(item["loc"]), kept)
                if len(path) < 2 or not _take_out(kept, path):
                    raise
                words = "; ".join(f"{p.key.rsplit('.', 1)[-1]} {p.message}" for p in problems)
                left_out.append((path, f"Not complete: {words}."))
                break


def beyond_instruments(raw: dict[str, Any]) -> list[tuple[Path, str]]:
    """Per path of an answer that its instrument cannot show, one sentence why; it is judged all the same."""
    try:
        SetupSheet.model_validate(raw, context=TODAY)
    except ValidationError as error:
        beyond = [item for item in error.errors(include_url=False) if item["type"] == IMPOSSIBLE]
        return [(_written(tuple(item["loc"]), raw), f"{item['msg'].rstrip('.')}.") for item in beyond]
    return []


def _written(location: Path, raw: dict[str, Any]) -> Path:
    """Where an answer refused at a place of the sheet stands in the tables as written."""
    if location[:1] == ("belts",) and len(location) >= CARD_DEPTH and location[2] == "card":
        return location[:CARD_DEPTH]
    if location[:2] == ("tension", "gauge") and "gauge" not in raw["tension"]:
        return ("tension", *location[2:])  # the heads are keys beside `supply`
    return location


def _take_out(table: Any, path: Path) -> bool:
    """Remove what stands at a path, or at the nearest whole above it that does; False when nothing does."""
    here = table
    for part in path[:-1]:
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            return False
    last = path[-1]
    if isinstance(here, dict) and last in here:
        del here[last]
        return True
    if isinstance(here, list) and isinstance(last, int) and last < len(here):
        del here[last]
        return True
    return len(path) > 2 and _take_out(table, path[:-1])  # a key is missing: the table that lacks it goes
