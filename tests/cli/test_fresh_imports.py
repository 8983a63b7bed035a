"""What each command imports, seen in a fresh interpreter."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from pathlib import Path

SCRIPT = """
import contextlib, io, sys
from preflight.__main__ import main
with contextlib.redirect_stdout(io.StringIO()):
    main(sys.argv[1:])
print(" ".join(sorted({name.partition(".")[0] for name in sys.modules})))
"""


def imported(*argv: str) -> set[str]:
    done = subprocess.run([sys.executable, "-c", SCRIPT, *argv], capture_output=True, text=True, check=True)
    assert "Traceback" not in done.stderr
    return set(done.stdout.split())


@pytest.mark.parametrize("argv", [["--help"], ["assess", "--help"], ["people", "add", "--help"], ["where"]])
def test_help_and_where_stay_light(argv: list[str]) -> None:
    assert not imported(*argv) & {"textual", "rich", "pydantic", "cryptography", "tomli_w"}


@pytest.mark.parametrize(
    "argv",
    [
        ["assess", "ok-two-heads"],
        ["assess", "stop-starved-air", "--json"],
        ["profiles", "check"],
        ["profiles", "new"],
        ["demo"],
    ],
)
def test_only_the_app_imports_textual(argv: list[str]) -> None:
    assert not imported(*argv) & {"textual", "rich"}


def test_an_assessment_needs_pydantic_so_the_test_can_see_an_import() -> None:
    assert "pydantic" in imported("assess", "ok-two-heads")


@pytest.mark.parametrize("argv", [["assess", "ok-two-heads"], ["profiles", "check"]])
def test_an_assessment_loads_no_signature_library(argv: list[str]) -> None:
    assert not imported(*argv) & {"cryptography"}


def test_an_assessment_in_a_shop_without_people_loads_none_either(tmp_path: Path) -> None:
    shop = str(tmp_path / "shop")
    imported("init", shop)
    assert not imported("assess", "ok-two-heads", "--shop", shop) & {"cryptography", "textual"}


def test_verifying_imports_no_screen(tmp_path: Path) -> None:
    shop = str(tmp_path / "shop")
    imported("init", shop)
    assert not imported("verify", shop) & {"textual", "rich", "pydantic"}
