"""Files: every problem names file, key and what was expected, with a suggestion where one is near."""

from __future__ import annotations

import hashlib
import os
import tomllib
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import tomli_w
from builders import BELT_1, EXTRACTION, JOB, MACHINE, SHEET, changed

from preflight.sheet import SetupSheet
from preflight.shop.bundled import bundled
from preflight.shop.cards import BeltCard, JobCard
from preflight.shop.extraction import Extraction
from preflight.shop.files import LARGEST_FILE, load, parse, validate
from preflight.shop.machine import Machine
from preflight.shop.problems import FileProblemsError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from builders import Changes
    from pydantic import BaseModel

BASES: dict[type[BaseModel], Mapping[str, Any]] = {
    Machine: MACHINE,
    Extraction: EXTRACTION,
    JobCard: JOB,
    BeltCard: BELT_1,
    SetupSheet: SHEET,
}


def problems(model: type[BaseModel], changes: Changes) -> dict[str, str]:
    """Message by key of the model's good file, changed."""
    with pytest.raises(FileProblemsError) as refused:
        validate(changed(BASES[model], changes), model, "the.toml")
    found = {problem.key: problem.message for problem in refused.value.problems}
    assert len(found) == len(refused.value.problems), "one key has two problems"
    assert str(refused.value).startswith("the.toml: ")
    assert refused.value.exit_status == 3
    return found


@pytest.mark.parametrize("model", list(BASES), ids=lambda model: model.__name__)
def test_a_good_file_is_read_with_the_digest_of_its_bytes(model: type[BaseModel], tmp_path: Path) -> None:
    path = tmp_path / "good.toml"
    path.write_text(tomli_w.dumps(BASES[model]), "utf-8")
    loaded = load(path, model)
    assert loaded.value == validate(dict(BASES[model]), model, "the.toml")
    assert loaded.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()


def test_a_misspelt_required_key_is_one_problem_with_a_suggestion() -> None:
    head = {"belt_lenght" if key == "belt_length" else key: value for key, value in MACHINE["heads"][0].items()}
    assert problems(Machine, {"heads.1": head}) == {"heads.1.belt_lenght": "unknown key; did you mean 'belt_length'?"}


def test_a_misspelt_optional_key_is_one_problem_with_a_suggestion() -> None:
    found = problems(Machine, {"conveyor.edge_margn": "15 mm"})
    assert found == {"conveyor.edge_margn": "unknown key; did you mean 'edge_margin'?"}


def test_a_key_like_none_known_lists_what_is_known() -> None:
    found = problems(BeltCard, {"colour": "brown"})
    assert found["colour"].startswith("unknown key; known here: schema, id, head, grit")


def test_a_missing_key_is_named() -> None:
    assert problems(JobCard, {"target_thickness": None}) == {"target_thickness": "is missing"}


def test_a_misspelt_bound_of_a_limit_is_one_problem() -> None:
    found = problems(Machine, {"heads.2.belt_width": {"low": "930 mm", "hgih": "950 mm"}})
    assert found == {"heads.2.belt_width.hgih": "unknown key; did you mean 'high'?"}


def test_a_limit_without_bounds_is_refused() -> None:
    found = problems(Machine, {"heads.1.belt_width": {"source": "measured"}})
    assert "at least one of low, high" in found["heads.1.belt_width"]


def test_bounds_out_of_order_are_named_with_their_values() -> None:
    found = problems(Machine, {"heads.1.belt_length": {"low": "1907 mm", "high": "1893 mm"}})
    assert found["heads.1.belt_length"] == "low (1907 mm) is above high (1893 mm)"


def test_a_bare_number_is_refused_with_the_units_that_would_do() -> None:
    found = problems(Machine, {"conveyor.working_width": 940, "heads.1.cylinder.bore": "80"})
    assert "'940 mm' or '940 in'" in found["conveyor.working_width"]
    assert "'80 mm' or '80 in'" in found["heads.1.cylinder.bore"]


def test_a_quantity_of_the_wrong_kind_is_refused() -> None:
    found = problems(Machine, {"air.supply": {"low": "5.5 mm"}})
    assert "'mm' is a length; a pressure is wanted" in found["air.supply.low"]


@pytest.mark.parametrize("wrong", [True, ["15 mm"], {"value": "15 mm"}])
def test_what_is_no_text_is_no_quantity(wrong: object) -> None:
    assert problems(Machine, {"conveyor.edge_margin": wrong}) == {
        "conveyor.edge_margin": "a length in quotes is wanted"
    }


@pytest.mark.parametrize("wrong", ["120", 120])
def test_a_grit_without_its_scale_is_refused_until_the_scale_is_chosen(wrong: object) -> None:
    assert 'write "P120" or "ANSI 120"' in problems(BeltCard, {"grit": wrong})["grit"]


def test_a_grit_that_is_no_text_is_refused() -> None:
    assert problems(BeltCard, {"grit": ["P80"]}) == {"grit": 'a grit in quotes is wanted, as in "P120"'}


def test_a_grit_as_a_key_of_a_table_needs_its_scale_too() -> None:
    assert "names no scale" in problems(Machine, {"removal_caps.150": "0.16 mm"})["removal_caps.150"]


def test_a_wrong_word_lists_the_right_ones_and_suggests_the_nearest() -> None:
    found = problems(BeltCard, {"backing": "cloth x"})["backing"]
    assert "'paper', 'cloth light', 'cloth X' or 'cloth heavier' is wanted" in found
    assert "did you mean 'cloth X'?" in found


def test_every_problem_comes_at_once() -> None:
    found = problems(
        BeltCard, {"grit": "80", "backing": "cotton", "width": "wide", "hours": "14", "measured": "Friday"}
    )
    assert set(found) == {"grit", "backing", "width", "hours", "measured"}


def test_a_wrong_value_is_repeated_in_short() -> None:
    found = problems(SetupSheet, {"stock.metal_found": "x" * 4000})
    assert len(found["stock.metal_found"]) < 150


def test_a_card_inside_a_sheet_is_one_file_with_plain_keys() -> None:
    card = {"gritt" if key == "grit" else key: value for key, value in BELT_1.items()}
    assert problems(SetupSheet, {"belts.1.card": card}) == {
        "belts.1.card.gritt": "unknown key; did you mean 'grit'?",
    }


def test_a_card_that_is_neither_id_nor_table_is_one_problem() -> None:
    found = problems(SetupSheet, {"belts.1.card": 412})
    assert found == {"belts.1.card": "an id in quotes, or the card's own table, is wanted, not 412"}


@pytest.mark.parametrize("key", ["str", "BeltCard"])
def test_a_key_named_like_a_type_is_an_unknown_key_like_any_other(key: str) -> None:
    assert "unknown key" in problems(Machine, {f"conveyor.{key}": {}})[f"conveyor.{key}"]
    card = BELT_1 | {key: 1}
    assert "unknown key" in problems(SetupSheet, {"belts.1.card": card})[f"belts.1.card.{key}"]


def test_a_card_inside_a_sheet_may_be_good() -> None:
    sheet = validate(changed(SHEET, {"belts.1.card": BELT_1, "job": JOB}), SetupSheet, "the.toml")
    assert isinstance(sheet.belts[0].card, BeltCard)
    assert isinstance(sheet.job, JobCard)


def test_heads_are_keys_of_the_tension_table() -> None:
    sheet = validate(dict(SHEET), SetupSheet, "the.toml")
    assert {head: str(gauge) for head, gauge in sheet.tension.gauge.items()} == {"1": "4.3 bar", "2": "3.55 bar"}


def test_a_misspelt_key_of_the_tension_table_is_no_head() -> None:
    found = problems(SetupSheet, {"tension.suply": "6.2 bar"})
    assert found == {"tension.suply": "unknown key; did you mean 'supply'?"}


def test_a_gauge_that_is_no_table_is_refused() -> None:
    assert problems(SetupSheet, {"tension.gauge": 5}) == {"tension.gauge": "a table is wanted"}


@pytest.mark.parametrize("changes", [{"at": "today"}, {"at": datetime(2026, 11, 25, 7)}])  # noqa: DTZ001 (no offset)
def test_a_time_without_its_offset_is_refused(changes: Changes) -> None:
    assert "with its offset" in problems(SetupSheet, changes)["at"]


def test_times_of_a_wash_need_their_offset_too() -> None:
    found = problems(BeltCard, {"washed": [{"hung": datetime(2026, 11, 20, 7)}]})  # noqa: DTZ001 (no offset)
    assert "with its offset" in found["washed.1.hung"]


def test_a_drop_without_its_flow_is_refused() -> None:
    assert "a drop at a flow is wanted" in problems(Extraction, {"filter.linear": "150 Pa"})["filter.linear"]


def test_a_later_schema_is_refused() -> None:
    assert problems(Machine, {"schema": 2})["schema"].startswith("1 is wanted, not 2")


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"\xff\xfe", "is not UTF-8 text (byte 0)"),
        (b"a = ", "is not valid TOML"),
        (b"a = 1\na = 2", "is not valid TOML"),
        (b"a = 2026-13-45", "is not"),
        (b"a = " + b"[" * 5000, "nests deeper than 24 levels"),
        (b"a = " + b"9" * 5000, "holds a key or number of more than 400 characters"),
    ],
)
def test_bytes_that_are_no_toml_are_refused(data: bytes, says: str) -> None:
    with pytest.raises(FileProblemsError) as refused:
        parse(data, "the.toml")
    assert str(refused.value).startswith(f"the.toml: {says}")


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileProblemsError, match="cannot be read"):
        load(tmp_path / "nothing.toml", Machine)


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(FileProblemsError, match="is not a file"):
        load(tmp_path, Machine)


def test_a_device_is_refused_rather_than_read_for_ever() -> None:
    with pytest.raises(FileProblemsError, match=r"is not a file|cannot be read"):
        load(Path(os.devnull), Machine)


def test_a_file_far_too_large_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "large.toml"
    with path.open("wb") as file:
        file.truncate(LARGEST_FILE + 1)
    with pytest.raises(FileProblemsError, match="larger than 1 MB"):
        load(path, Machine)


def test_a_name_that_no_file_can_have_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileProblemsError, match="cannot be read"):
        load(tmp_path / "a\x00b.toml", Machine)


def test_a_failed_answer_and_a_repair_name_what_they_are_about() -> None:
    failed = {"running.failed": [{"subject": "", "reading": "30 s"}]}
    repair = {"repairs": [{"check": "running", "subject": "", "what": "new switch", "who": "D. Marrow"}]}
    for changes, key in ((failed, "running.failed.1.subject"), (repair, "repairs.1.subject")):
        assert set(problems(SetupSheet, changed(SHEET, changes))) == {key}


def test_boards_belts_and_bins_have_a_size() -> None:
    assert problems(JobCard, {"parts.1.width": "0.5 mm"})["parts.1.width"] == "(0.5 mm) must be 1 mm or more"
    assert problems(BeltCard, {"length_left": "0 mm"})["length_left"] == "(0 mm) must be above zero"


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("conveyor.working_width", f"{'9' * 31} mm", "is more than any length here: at most 10000 m"),
        ("heads.1.drum_speed", "9999999999 rpm", "is more than any rotation here: at most 1000000 rpm"),
        ("heads.1.run_down.high", f"{'9' * 30} s", "is more than any time here: at most 100000 h"),
    ],
)
def test_a_figure_beyond_anything_in_a_shop_is_refused(key: str, value: str, says: str) -> None:
    raw = tomllib.loads((bundled() / "machines" / "hall-two.toml").read_text("utf-8"))
    *way, last = key.split(".")
    table: Any = raw
    for part in way:
        table = table[int(part) - 1] if part.isdigit() else table[part]
    table[last] = value
    with pytest.raises(FileProblemsError) as refused:
        validate(raw, Machine, "the.toml")
    assert str(refused.value) == f"the.toml: {key}: ({value}) {says}"


def test_a_list_longer_than_any_of_ours_is_refused() -> None:
    raw = tomllib.loads((bundled() / "jobs" / "ash-stair-treads.toml").read_text("utf-8"))
    raw["parts"] *= 3000  # one hung the feed planner
    with pytest.raises(FileProblemsError, match="parts: tuple should have at most 60 items"):
        validate(raw, JobCard, "the.toml")


def test_of_very_many_problems_the_first_are_told_and_the_others_counted() -> None:
    strange = {f"{number}{'k' * 300}": 1 for number in range(20_000)}
    with pytest.raises(FileProblemsError) as refused:
        validate(strange, Machine, "the.toml")
    lines = str(refused.value).splitlines()
    assert len(lines) == 31
    assert lines[-1].startswith("the.toml: has 199")
    assert lines[-1].endswith(" more problems")
    assert max(map(len, lines)) < 400
