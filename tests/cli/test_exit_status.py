"""Every ending is one of the documented exit statuses, and a person never sees a traceback."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from preflight.__main__ import main
from preflight.shop.bundled import bundled

SHEETS = bundled() / "sheets"


@pytest.mark.parametrize(
    "argv",
    [
        ["bogus"],
        ["assess"],
        ["assess", "a.toml", "b.toml"],
        ["assess", "--frobnicate", "a.toml"],
        ["profiles"],
        ["profiles", "chekc"],
        ["init", "a", "b"],
    ],
)
def test_a_usage_error_is_3_and_shows_the_usage(argv: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(argv) == 3
    said = capsys.readouterr()
    assert said.out == ""
    assert "usage: preflight" in said.err


@pytest.mark.parametrize("argv", [["--help"], ["assess", "--help"], ["profiles", "new", "--help"], ["--version"]])
def test_help_and_version_are_0(argv: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(argv) == 0
    assert "preflight" in capsys.readouterr().out


def test_without_a_terminal_the_app_says_how_to_go_on(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 3
    assert "preflight assess SHEET" in capsys.readouterr().err


def test_an_unexpected_failure_is_4_with_a_message(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(arguments: object) -> int:
        raise RuntimeError("the ruler broke")

    monkeypatch.setattr("preflight.cli.where.run", broken)
    monkeypatch.delenv("PREFLIGHT_DEBUG", raising=False)
    assert main(["where"]) == 4
    said = capsys.readouterr().err
    assert "own failure: RuntimeError: the ruler broke" in said
    assert "Traceback" not in said


def test_an_unexpected_failure_is_raised_for_who_asks_to_see_it(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(arguments: object) -> int:
        raise RuntimeError("the ruler broke")

    monkeypatch.setattr("preflight.cli.where.run", broken)
    monkeypatch.setenv("PREFLIGHT_DEBUG", "1")
    with pytest.raises(RuntimeError, match="the ruler broke"):
        main(["where"])


def test_ctrl_c_ends_as_a_shell_expects(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(arguments: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr("preflight.cli.where.run", interrupted)
    assert main(["where"]) == 130


@pytest.mark.parametrize("argv", [["where"], ["assess", "ok-two-heads", "--all"], ["assess", "ok-two-heads", "--json"]])
def test_a_reader_that_went_away_leaves_no_traceback(argv: list[str]) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "preflight", *argv], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    said = process.stderr.read()
    process.stderr.close()
    assert process.wait() == 4
    assert said == b""


def test_a_console_without_the_sign_still_prints() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "preflight", "assess", "stop-starved-air", "--all"],
        capture_output=True,
        env={"PYTHONIOENCODING": "ascii", "PATH": "", "PREFLIGHT_SHOP": str(bundled())},
        cwd=Path(__file__).parents[2],
        check=False,
    )
    assert done.returncode == 2
    assert done.stderr == b""
