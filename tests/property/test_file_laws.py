"""Laws of the loaders: whatever a file holds, it is a value or `FileProblemsError`, never another exception."""

from __future__ import annotations

import copy
from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING, Any

import pytest
import tomli_w
from builders import BELT_1, EXTRACTION, JOB, MACHINE, SHEET
from hypothesis import given, settings
from hypothesis import strategies as st

from preflight.sheet import SetupSheet
from preflight.shop.cards import BeltCard, JobCard
from preflight.shop.consistency import belt_problems, extraction_problems, machine_problems
from preflight.shop.extraction import Extraction
from preflight.shop.files import parse, validate
from preflight.shop.machine import Machine
from preflight.shop.problems import FileProblemsError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pydantic import BaseModel

FILES: dict[type[BaseModel], dict[str, Any]] = {
    Machine: MACHINE,
    Extraction: EXTRACTION,
    JobCard: JOB,
    BeltCard: BELT_1 | {"washed": [{"hung": datetime(2026, 11, 20, 7, tzinfo=UTC), "weights": []}]},
    SetupSheet: SHEET | {"belts": [{"head": "1", "card": BELT_1}, {"head": "2", "card": "B-0418"}], "job": JOB},
}

SCALARS = st.one_of(
    st.booleans(),
    st.integers(-(2**70), 2**70),
    st.floats(),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=45),
    st.sampled_from(
        ["0 mm", "-1 mm", "1900 mm", "75 in", "4.3 bar", "P80", "ANSI 400", "120", "150 Pa at 0 m3/h", "40 h"]
    ),
    st.dates(date(1, 1, 2)),
    st.times(),
    st.datetimes(datetime(1, 1, 2)),  # noqa: DTZ001 (a TOML time without offset is what is wanted)
    st.datetimes(datetime(1, 1, 3), datetime(9999, 12, 29), timezones=st.just(UTC)),  # noqa: DTZ001
)
KEYS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12) | st.sampled_from(
    ["str", "gauge", "low", "high", "hgih", "head", "card", "grit", "P80", "suply", "BeltCard", "schema", "source"]
)
VALUES = st.recursive(
    SCALARS, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3), max_leaves=6
)


def places(value: Any) -> Iterator[tuple[Any, Any]]:
    """Every (container, key) of a nested table."""
    for key in list(value) if isinstance(value, dict) else range(len(value)):
        yield value, key
        if isinstance(value[key], dict | list):
            yield from places(value[key])


@st.composite
def damaged(draw: st.DrawFn, model: type[BaseModel]) -> dict[str, Any]:
    """The good file with up to four keys replaced, dropped, misspelt or added."""
    table = copy.deepcopy(FILES[model])
    for _ in range(draw(st.integers(1, 4))):
        holders = list(places(table))
        if not holders:
            break
        holder, key = draw(st.sampled_from(range(len(holders))).map(holders.__getitem__))
        match draw(st.sampled_from(["replace", "drop", "misspell", "add"])):
            case "replace":
                holder[key] = draw(VALUES)
            case "drop":
                del holder[key]
            case "misspell" if isinstance(holder, dict):
                holder[f"{key}x"[1:]] = holder.pop(key)
            case _ if isinstance(holder, dict):
                holder[draw(KEYS)] = draw(VALUES)
    return table


def loaded(data: bytes, model: type[BaseModel]) -> BaseModel | None:
    """The value, or None where the loader refused in words."""
    try:
        return validate(parse(data, "the.toml"), model, "the.toml")
    except FileProblemsError as error:
        refused = error
    assert refused.problems
    for problem in refused.problems:
        assert problem.message
        assert len(problem.message) < 1000
    return None


def second_pass(value: BaseModel) -> None:
    """The rules between fields take whatever the first pass let through."""
    if isinstance(value, Machine):
        machine_problems(value, None)
    elif isinstance(value, Extraction):
        extraction_problems(value)
    elif isinstance(value, BeltCard):
        belt_problems(value, "B-0412")


@pytest.mark.parametrize("model", list(FILES), ids=lambda model: model.__name__)
def test_the_undamaged_file_is_a_value(model: type[BaseModel]) -> None:
    assert loaded(tomli_w.dumps(FILES[model]).encode(), model) is not None


@pytest.mark.parametrize("model", list(FILES), ids=lambda model: model.__name__)
@settings(max_examples=150, deadline=None)
@given(st.data())
def test_a_damaged_file_is_a_value_or_an_error_in_words(model: type[BaseModel], data: st.DataObject) -> None:
    table = data.draw(damaged(model))
    value = loaded(tomli_w.dumps(table).encode("utf-8", "replace"), model)
    if value is not None:
        second_pass(value)


@pytest.mark.parametrize("model", list(FILES), ids=lambda model: model.__name__)
@settings(max_examples=100, deadline=None)
@given(st.data())
def test_a_file_with_flipped_bytes_is_a_value_or_an_error_in_words(model: type[BaseModel], data: st.DataObject) -> None:
    raw = bytearray(tomli_w.dumps(FILES[model]).encode())
    for _ in range(data.draw(st.integers(1, 5))):
        at = data.draw(st.integers(0, len(raw) - 1))
        raw[at : at + data.draw(st.integers(0, 3))] = data.draw(st.binary(max_size=4))
    loaded(bytes(raw), model)


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=200), st.sampled_from(list(FILES)))
def test_any_bytes_are_a_value_or_an_error_in_words(data: bytes, model: type[BaseModel]) -> None:
    loaded(data, model)


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(KEYS, VALUES, max_size=6), st.sampled_from(list(FILES)))
def test_any_table_is_a_value_or_an_error_in_words(table: dict[str, Any], model: type[BaseModel]) -> None:
    loaded(tomli_w.dumps(table).encode("utf-8", "replace"), model)


def test_a_time_of_day_is_no_date() -> None:
    with pytest.raises(FileProblemsError):
        validate(FILES[BeltCard] | {"measured": time(7)}, BeltCard, "the.toml")
