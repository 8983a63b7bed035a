"""The test vectors of the specification in DEVELOPERS.md: three shops, and what has to be found in each."""

from __future__ import annotations

import json
from base64 import b64encode
from datetime import UTC
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from checklist.kinds_as_data import every_kind

from preflight.checklist.head_text import read_heads
from preflight.checklist.shop_check import trust, verify_folder
from preflight.checklist.verify import verify_record

if TYPE_CHECKING:
    from preflight.checklist.verify import Problem, ShopResult

VECTORS = Path(__file__).parent / "vectors"
NAMES = ("intact", "tampered", "forged-role")


def expected(name: str) -> dict[str, Any]:
    table: dict[str, Any] = json.loads((VECTORS / name / "expected.json").read_text(encoding="utf-8"))
    return table


def problems(found: ShopResult, root: Path) -> list[dict[str, Any]]:
    def plain(problem: Problem) -> dict[str, Any]:
        files = [path.relative_to(root).as_posix() for path in problem.paths]
        return {"status": problem.status.value, "files": files}

    every = [*(problem for chain in found.chains for problem in chain.problems), *found.problems]
    return sorted((plain(problem) for problem in every), key=str)


@pytest.mark.parametrize("name", NAMES)
def test_each_record_stands_as_the_vector_says(name: str) -> None:
    root = VECTORS / name / "checklists"
    register = trust(VECTORS / name).register
    files = sorted(path.relative_to(root).as_posix() for path in root.rglob("*.toml"))
    assert {file: verify_record(root / file, register).status.value for file in files} == expected(name)["records"]


@pytest.mark.parametrize("name", NAMES)
def test_the_shop_and_its_chains_stand_as_the_vector_says(name: str) -> None:
    told, found = expected(name), verify_folder(VECTORS / name)
    assert found.status.value == told["status"]
    assert {chain.machine: chain.status.value for chain in found.chains} == told["chains"]
    assert problems(found, VECTORS / name / "checklists") == sorted(told["problems"], key=str)


@pytest.mark.parametrize("name", ["intact", "tampered"])
def test_a_head_kept_elsewhere_shows_what_was_cut_off(name: str) -> None:
    told = expected(name)["with_head"]
    kept = read_heads((VECTORS / name / "head.txt").read_text(encoding="utf-8"))
    found = verify_folder(VECTORS / name, kept)
    assert found.status.value == told["status"]
    assert problems(found, VECTORS / name / "checklists") == sorted(told["problems"], key=str)


@pytest.mark.parametrize("name", NAMES)
def test_the_register_holds_the_keys_that_the_vector_names(name: str) -> None:
    register = trust(VECTORS / name).register
    assert register is not None
    assert [
        {
            "key_id": key_id,
            "public": b64encode(key.public).decode(),
            "person": key.person,
            "from": key.valid_from.astimezone(UTC).isoformat() if key.valid_from else None,
            "until": key.valid_until.astimezone(UTC).isoformat() if key.valid_until else None,
            "roles": [{"from": since.astimezone(UTC).isoformat(), "role": role} for since, role in key.roles],
        }
        for key_id, key in register.keys.items()
    ] == expected(name)["keys"]


def test_the_kinds_are_told_as_they_are_checked() -> None:
    told = json.loads((VECTORS / "kinds.json").read_text(encoding="utf-8"))
    assert told == every_kind(), "write it anew: python -m tests.checklist.kinds_as_data > …/vectors/kinds.json"
