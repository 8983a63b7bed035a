"""A verifier written from the specification alone says what the vectors say, and what the product says."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from checklist.second_reader import judge, read_head
from checklist.second_trial import Agreement, Bodies, Shops

if TYPE_CHECKING:
    from checklist.second_reader import Folder

VECTORS = Path(__file__).parent / "vectors"
NAMES = ("intact", "tampered", "forged-role")


def told(name: str) -> dict[str, Any]:
    table: dict[str, Any] = json.loads((VECTORS / name / "expected.json").read_text(encoding="utf-8"))
    return table


def problems(found: Folder) -> list[tuple[str, list[str]]]:
    return sorted((how, list(files)) for how, files in found.problems)


def as_told(table: list[dict[str, Any]]) -> list[tuple[str, list[str]]]:
    return sorted((problem["status"], problem["files"]) for problem in table)


@pytest.mark.parametrize("name", NAMES)
def test_it_finds_in_each_vector_what_is_to_be_found(name: str) -> None:
    expected, found = told(name), judge(VECTORS / name / "checklists")
    assert found.records == expected["records"]
    assert found.chains == expected["chains"]
    assert found.status == expected["status"]
    assert problems(found) == as_told(expected["problems"])


@pytest.mark.parametrize("name", NAMES)
def test_it_admits_the_keys_that_the_vector_names(name: str) -> None:
    found = judge(VECTORS / name / "checklists").keys
    assert [
        (
            key_id,
            key.person,
            key.since.isoformat(),
            key.until and key.until.isoformat(),
            [role for _, role in key.roles],
        )
        for key_id, key in found.items()
    ] == [
        (key["key_id"], key["person"], key["from"], key["until"], [role["role"] for role in key["roles"]])
        for key in told(name)["keys"]
    ]


@pytest.mark.parametrize("name", ["intact", "tampered"])
def test_it_finds_with_a_head_what_was_cut_off(name: str) -> None:
    head = read_head((VECTORS / name / "head.txt").read_text(encoding="utf-8"))
    expected, found = told(name)["with_head"], judge(VECTORS / name / "checklists", head)
    assert found.status == expected["status"]
    assert problems(found) == as_told(expected["problems"])


def test_it_agrees_with_the_product_on_tampered_shops_file_by_file(tmp_path: Path) -> None:
    found = Agreement()
    Shops(tmp_path, seed=1).run(40, found)
    assert found.disagreements == []
    assert found.shops == 40
    assert found.wrong > 40


def test_it_agrees_with_the_product_on_forged_bodies(tmp_path: Path) -> None:
    found = Agreement()
    Bodies(tmp_path, seed=1).compare(200, found)
    assert found.disagreements == []
    assert 100 < found.wrong < 200  # some are well made
