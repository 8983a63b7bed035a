"""`preflight marks` and `preflight belts` on the bundled shop: lines, JSON, and what they refuse."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

from preflight.__main__ import main

MARKS = ["marks", "--machine", "hall-two", "--span", "121 mm", "--count", "10"]


def test_marks_ranks_the_belt_joints_before_the_drums_and_names_the_test(capsys: pytest.CaptureFixture[str]) -> None:
    """p = v_f L / v_b: 6 m/min, 1900 mm, 200 mm at 1480/min give 12.26 mm; the drum v_f / n 4.05 mm."""
    assert main(MARKS) == 0
    lines = capsys.readouterr().out.splitlines()
    assert "12.1 mm" in lines[0]
    # 2 * hypot(0.05 mm, 2 % of 12.26 mm) = 0.50 mm
    assert lines[1] == "1. belt joint of head 1: 12.26 mm, fits, 0.159 mm off (rule and speeds explain up to 0.5 mm)"
    assert lines[2].startswith("2. belt joint of head 2: 12.51 mm, fits, 0.41")
    assert "reading errors" not in "".join(lines)
    assert "2 of them fit: this pitch alone does not tell them apart." in lines
    assert "does not fit" in lines[3]
    assert "drum" in lines[3]
    assert lines[-1].startswith("Test: Feed 25% faster")


def test_marks_as_json_holds_si_values_and_text(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*MARKS, "--json", "--feed", "7.5 m/min"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["pitch"]["value"] == pytest.approx(0.0121)
    first = next(one for one in found["sources"] if one["source"] == "belt joint of head 1")
    assert first["pitch"]["value"] == pytest.approx(0.125 * 1.9 / (3.14159265 * 0.2 * 1480 / 60), rel=1e-6)
    assert found["test"]["feed_ratio"] == 1.25


@pytest.mark.parametrize(
    ("change", "word"),
    [(["--span", "121"], "--span"), (["--count", "0"], "above zero"), (["--feed", "6 bar"], "--feed")],
)
def test_marks_refuses_what_it_cannot_read(change: list[str], word: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*MARKS, *change]) == 3
    assert word in capsys.readouterr().err


def test_belts_lists_those_that_fit_first_and_why_not(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["belts", "--machine", "hall-two", "--head", "1", "--job", "ash-stair-treads", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    fits = [row["fits"] for row in found["belts"]]
    assert fits == sorted(fits, reverse=True)
    assert any(fits)
    assert not all(fits)
    assert all(row["reasons"] for row in found["belts"] if not row["fits"])
    assert "H-204" in [row["belt"] for row in found["belts"] if row["fits"]]


def test_belts_as_lines_marks_each_and_gives_two_reasons_at_most(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["belts", "--machine", "hall-two", "--head", "1"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert "fit" in lines[0]
    assert {line[0] for line in lines[1:]} <= {"+", "!", "?", "X", " "}
    assert any(line.strip().startswith("and ") for line in lines)


def test_belts_names_the_heads_there_are(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["belts", "--machine", "hall-two", "--head", "7"]) == 3
    assert "Its heads: 1, 2" in capsys.readouterr().err


def test_neither_command_imports_the_screens() -> None:
    for arguments in (MARKS, ["belts", "--machine", "hall-two", "--head", "1"]):
        code = (
            f"import sys; from preflight.__main__ import main; main({arguments!r}); sys.exit('textual' in sys.modules)"
        )
        assert (
            subprocess.run([sys.executable, "-c", code], capture_output=True, env=os.environ, check=False).returncode
            == 0
        )
