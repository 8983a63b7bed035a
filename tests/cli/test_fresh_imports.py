"""What each command imports, seen in a fresh interpreter."""

from __future__ import annotations

import subprocess
import sys

import pytest

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


@pytest.mark.parametrize("argv", [["--help"], ["assess", "--help"], ["where"]])
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
