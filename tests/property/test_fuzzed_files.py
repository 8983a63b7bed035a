"""Law: whatever stands in the files, a sheet is judged or refused in words; nothing else ever comes out."""

from __future__ import annotations

import copy
import tomllib
from typing import TYPE_CHECKING, Any

import tomli_w
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from preflight.cli.assess import judge_file
from preflight.cli.profiles import check_file
from preflight.errors import PreflightError
from preflight.shop.bundled import bundled
from preflight.shop.folder import shop_at

if TYPE_CHECKING:
    from pathlib import Path

FILES = {
    f"{folder}/{stem}.toml": tomllib.loads((bundled() / folder / f"{stem}.toml").read_text("utf-8"))
    for folder, stem in (
        ("sheets", "ok-two-heads"),
        ("machines", "hall-two"),
        ("extraction", "hall-duct"),
        ("jobs", "ash-stair-treads"),
        ("belts", "H-204"),
        ("belts", "H-211"),
    )
}

UNITS = ("mm", "in", "bar", "psi", "Pa", "m3/h", "m/min", "rpm", "kW", "A", "s", "h", "°C", "kg/m3", "N", "%", "")
NUMBERS = ("0", "-1", "0.0001", "1", "7", "400", "1e5", "99999", "1,5", "1_0", "nan", "3/0", "")
WORDS = (
    "P80",
    "ANSI 120",
    "120",
    "paper",
    "cloth heavier",
    "down",
    "damaged",
    "steel drum",
    "platen",
    "collector",
    "x",
)
VALUES = st.one_of(
    st.builds(lambda number, unit: f"{number} {unit}".strip(), st.sampled_from(NUMBERS), st.sampled_from(UNITS)),
    st.sampled_from(WORDS),
    st.text(max_size=8),
    st.integers(-2, 10**6),
    st.floats(),
    st.booleans(),
    st.sampled_from(([], {}, [[]], [""])).map(copy.deepcopy),
)


def places(value: Any, so_far: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every key path of a table, lists by index."""
    if isinstance(value, dict):
        steps = list(value.items())
    elif isinstance(value, list):
        steps = list(enumerate(value))
    else:
        return []
    return [path for key, item in steps for path in ((*so_far, key), *places(item, (*so_far, key)))]


@st.composite
def damaged(draw: st.DrawFn) -> dict[str, dict[str, Any]]:
    """The files with one to three values replaced, taken away or given twice."""
    files = copy.deepcopy(FILES)
    for _ in range(draw(st.integers(1, 3))):
        table: Any = files[draw(st.sampled_from(sorted(files)))]
        *way, last = draw(st.sampled_from(places(table)))
        for key in way:
            table = table[key]
        action = draw(st.sampled_from(("replace", "replace", "replace", "take away", "twice")))
        if action == "replace":
            table[last] = draw(VALUES)
        elif action == "take away":
            del table[last]
        elif isinstance(table, list):
            table.append(copy.deepcopy(table[last]))
    return files


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(files=damaged())
def test_a_sheet_is_judged_or_refused_in_words(tmp_path: Path, files: dict[str, dict[str, Any]]) -> None:
    for name, table in files.items():
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(tomli_w.dumps(table), "utf-8")
    refusals: list[PreflightError] = []
    for name in files:
        try:
            if name.startswith("sheets/"):
                judge_file(tmp_path / name, shop_at(tmp_path))
            else:
                check_file(tmp_path / name, shop_at(tmp_path))
        except PreflightError as error:
            refusals.append(error)
    assert [error for error in refusals if not error.message or error.exit_status != 3] == []
