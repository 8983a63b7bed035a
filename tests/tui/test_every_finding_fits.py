"""The longest text of every finding stands whole in the why-panel at 80x24, with its remedy and its caution."""

from __future__ import annotations

import copy
import random
import tomllib
from typing import TYPE_CHECKING, Any

import pytest

from preflight.checks.route import assess
from preflight.errors import PreflightError
from preflight.sheet import SetupSheet
from preflight.shop.bundled import bundled
from preflight.shop.files import validate
from preflight.shop.folder import shop_at
from preflight.tui.charset import UNICODE
from preflight.tui.stations.all_stations import STATIONS
from preflight.tui.widgets.why_panel import why_lines

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from preflight.checks.finding import Finding

WIDTH, HEIGHT = 80, 6
SHEETS = sorted((bundled() / "sheets").glob("*.toml"))
CAUTIONS = {station.id: station.caution for station in STATIONS}
WORDS = (
    "smeared", "beads standing", "down", "lifted", "against", "damaged", "worn", "shiny", "cracked", "uneven",
    "touches the frame", "chatter", "burn line", "does not stop the feed", "off", "fault", "rubbery", "wet",
)  # fmt: skip


def leaves(value: Any, at: tuple[Any, ...] = ()) -> Iterator[tuple[tuple[Any, ...], Any]]:
    rows = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in rows:
        if isinstance(inner, dict | list):
            yield from leaves(inner, (*at, key))
        else:
            yield (*at, key), inner


def changed(raw: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    """The sheet with up to three answers made wrong, or taken away."""
    made = copy.deepcopy(raw)
    for _ in range(chance.randint(0, 3)):
        places = [(at, value) for at, value in leaves(made) if at[0] not in ("schema", "machine", "at")]
        at, value = chance.choice(places)
        here: Any = made
        for part in at[:-1]:
            here = here[part]
        if chance.random() < 0.1 and isinstance(here, dict):
            del here[at[-1]]
        elif isinstance(value, bool):
            here[at[-1]] = not value
        elif isinstance(value, str) and value[:1].isdigit() and " " in value:
            number, unit = value.split(" ", 1)
            here[at[-1]] = f"{float(number) * chance.choice([0.5, 0.9, 0.99, 1.01, 1.1, 2]):.6g} {unit}"
        elif isinstance(value, int | float):
            here[at[-1]] = type(value)(value * chance.choice([0, 0.5, 2]))
        elif isinstance(value, str):
            here[at[-1]] = chance.choice(WORDS)
    return made


def findings_of(file: Path, count: int, seed: int) -> Iterator[tuple[str, Finding]]:
    raw, chance = tomllib.loads(file.read_text(encoding="utf-8")), random.Random(seed)
    for _ in range(count):
        try:
            sheet = validate(changed(raw, chance), SetupSheet, file.name)
            view = shop_at(None).view(sheet, file=file)
        except PreflightError:
            continue  # a word where none of that kind can stand
        for result in assess(sheet, view).checks:
            for finding in result.findings:
                yield result.check, finding


def packed(text: str) -> str:
    return "".join(text.split())


@pytest.mark.parametrize("file", SHEETS, ids=lambda file: file.stem)
def test_sentence_remedy_and_caution_stand_whole_at_80_columns(file: Path) -> None:
    seen: set[tuple[str, str]] = set()
    cut: list[str] = []
    for check, finding in findings_of(file, 150, seed=len(file.stem)):
        if (finding.statement, finding.remedy) in seen:
            continue
        seen.add((finding.statement, finding.remedy))
        lines = why_lines(finding, CAUTIONS[check], WIDTH, HEIGHT, UNICODE)
        text = packed(" ".join("".join(part for part, _ in line) for line in lines))
        caution = CAUTIONS[check]
        wanted = [finding.statement, finding.remedy, caution[1] if caution else ""]
        if len(lines) > HEIGHT or not all(packed(part) in text for part in wanted):
            cut.append(f"{check} {finding.subject}: {finding.statement} | {finding.remedy}")
    assert len(seen) > 40
    assert cut == []
