"""`preflight train`: practice as plain lines, its records, and where people stand."""

from __future__ import annotations

import csv
import io
import json
from datetime import timedelta
from types import SimpleNamespace
from typing import TYPE_CHECKING

import pytest
from practice_samples import book, by, judged

from preflight.__main__ import main
from preflight.cli.asked import now
from preflight.training.drill_file import written, written_drill
from preflight.training.generator import generated
from preflight.training.instruments import drawn
from preflight.training.leaning import leaning
from preflight.training.question import causes, remedies
from preflight.training.records import practice
from preflight.training.surprise import surprise

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from preflight.training.drill import Drill


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    assert main(["init", str(folder)]) == 0
    return folder


@pytest.fixture
def type_lines(monkeypatch: pytest.MonkeyPatch) -> Callable[[list[str]], None]:
    return lambda lines: monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))


def right_answers(drill: Drill) -> list[str]:
    """What to type to get everything right, as words and as numbers."""
    typed: list[str] = []
    for result in drill.answer().checks:
        if result.check not in drill.asked:
            continue
        typed.append(result.verdict.word)
        for fault in drill.faults_at(result.check)[:1]:
            typed.append(str(causes(drill, result.check).choices.index(fault.cause) + 1))
            typed.append(fault.remedy)
    return typed


def test_every_written_drill_is_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["train", "list"]) == 0
    text = capsys.readouterr().out
    assert all(f"{drill_id}: " in text for drill_id in written())
    assert main(["train", "list", "--json"]) == 0
    assert [one["drill"] for one in json.loads(capsys.readouterr().out)] == list(written())


def test_a_drill_is_run_by_typing_words_or_numbers(
    capsys: pytest.CaptureFixture[str], type_lines: Callable[[list[str]], None]
) -> None:
    drill = written_drill("wandering-belt")
    type_lines(right_answers(drill))
    assert main(["train", "run", "wandering-belt"]) == 0
    text = capsys.readouterr().out
    assert "Score 100 of 100, passed." in text
    assert text.startswith("PRACTICE, no start-up")
    assert text.count("PRACTICE station") == len(drill.asked)


def test_nothing_of_a_station_is_told_before_it_was_judged(
    capsys: pytest.CaptureFixture[str], type_lines: Callable[[list[str]], None]
) -> None:
    type_lines([])
    assert main(["train", "run", "slower-every-week", "--level", "3"]) == 3
    out, err = capsys.readouterr()
    assert "The answers ended before the drill did" in err
    assert "over the limit" not in out
    assert "tag out" not in out
    assert out.rstrip().endswith("4 stop")


@pytest.mark.parametrize(("answers", "status"), [(["ok", "ok"], 2), (["stop", "1", "1", "stop"], 0)])
def test_the_exit_status_tells_misses_from_none(
    answers: list[str], status: int, type_lines: Callable[[list[str]], None], capsys: pytest.CaptureFixture[str]
) -> None:
    drill = written_drill("door-switch")
    right = right_answers(drill)
    type_lines(answers if status else right)
    assert main(["train", "run", "door-switch"]) == status
    assert ("A safety fault was missed" in capsys.readouterr().out) is bool(status)


def test_a_false_alarm_alone_is_a_caution(
    type_lines: Callable[[list[str]], None], capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(["stop", "1", "1", *["ok"] * 5])
    assert main(["train", "run", "nothing-wrong-inches"]) == 1
    assert "1 false alarm" in capsys.readouterr().out


def test_an_answer_that_is_none_of_the_lines_is_asked_again(
    type_lines: Callable[[list[str]], None], capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(["maybe", "o", "9", *["ok"] * 6])  # "o" could be ok or open
    assert main(["train", "run", "nothing-wrong-inches"]) == 0
    assert capsys.readouterr().out.count("Type a number of 1 to 4") == 3


def test_a_seed_gives_the_same_drill_again(
    type_lines: Callable[[list[str]], None], capsys: pytest.CaptureFixture[str]
) -> None:
    drill = generated(11, 2)
    type_lines(right_answers(drill))
    assert main(["train", "run", "--seed", "11", "--level", "2"]) == 0
    assert drill.title in capsys.readouterr().out


def test_a_surprise_drill_comes_when_it_is_due_and_is_one_station(
    tmp_path: Path, shop: Path, type_lines: Callable[[list[str]], None], capsys: pytest.CaptureFixture[str]
) -> None:
    surprised = ["train", "run", "--surprise", "--seed", "3", "--as", "K. Nilsen", "--shop", str(shop)]
    assert main(surprised) == 0
    assert "no surprise drill is due for K. Nilsen" in capsys.readouterr().out
    drill = judged("fan-last")
    long_ago = now() - timedelta(days=15)
    book(shop, "f00d").save_drill(drill.drill, drill.marked, 1, by("K. Nilsen", long_ago))
    type_lines(right_answers(surprise(3, leaning(practice(shop), "K. Nilsen", now()))))
    assert main(surprised) == 0
    said = capsys.readouterr().out
    assert "PRACTICE station 1 of 1" in said
    assert "Score 100 of 100" in said
    assert practice(shop)[-1].table["surprise"]
    assert main(surprised) == 0
    assert "no surprise drill is due" in capsys.readouterr().out
    for words in (["--surprise"], ["fan-last", "--surprise", "--as", "K. Nilsen"]):
        assert main(["train", "run", *words, "--shop", str(shop)]) == 3


def test_practice_is_kept_shown_exported_and_verified_as_practice(
    tmp_path: Path, shop: Path, type_lines: Callable[[list[str]], None], capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(right_answers(written_drill("fan-last")))
    assert main(["train", "run", "fan-last", "--as", "K. Nilsen", "--shop", str(shop)]) == 0
    assert "unsigned (this shop has no people yet)" in capsys.readouterr().out
    assert main(["train", "mark", "K. Nilsen", "observed-start", "--by", "T. Brandt", "--shop", str(shop)]) == 0
    strips = ["--reference", "18.00 mm, 18.40 mm", "--first", "18.01 mm, 18.40 mm", "--second", "18.00 mm, 18.41 mm"]
    assert main(["train", "strips", "K. Nilsen", *strips, "--shop", str(shop)]) == 0
    assert "furthest 0.010 mm" in capsys.readouterr().out
    assert main(["train", "standing", "--shop", str(shop)]) == 0
    text = capsys.readouterr().out
    assert "K. Nilsen: 1 drill," in text
    assert "1 observed start, 5 are asked" in text
    assert main(["train", "standing", "K. Nilsen", "--json", "--shop", str(shop)]) == 0
    assert json.loads(capsys.readouterr().out)[0]["kinds"] == {"air": 100}
    assert main(["train", "export", "--shop", str(shop)]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert [row["station"] for row in rows] == list(written_drill("fan-last").asked)
    assert main(["verify", str(shop)]) == 1  # unsigned: this shop has no people
    assert "(practice, no start-ups)" in capsys.readouterr().out
    (record,) = shop.glob("checklists/practice-*/00000/00000002.toml")
    assert main(["verify", str(record)]) == 1
    assert "Practice, no start-up." in capsys.readouterr().out
    assert main(["audit", "show", f"{record.parents[1].name}/2", "--shop", str(shop), "--cache", str(tmp_path)]) == 0
    assert "Practice, no start-up." in capsys.readouterr().out
    assert main(["audit", "list", "--shop", str(shop), "--cache", str(tmp_path)]) == 0
    assert "No record is saved yet" in capsys.readouterr().out  # the audit counts start-ups, and practice is none


@pytest.mark.parametrize("left", ["end of input", "Ctrl+C"])
def test_a_drill_that_is_left_is_kept_as_given_up(
    left: str,
    shop: Path,
    type_lines: Callable[[list[str]], None],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    typed = iter(["ok\n"])

    def readline() -> str:
        if (line := next(typed, "")) or left == "end of input":
            return line
        raise KeyboardInterrupt

    monkeypatch.setattr("sys.stdin", SimpleNamespace(readline=readline))
    words = ["train", "run", "wandering-belt", "--as", "K. Nilsen", "--shop", str(shop)]
    assert main(words) == (130 if left == "Ctrl+C" else 3)
    said = capsys.readouterr()
    assert "begun as K. Nilsen: it counts from here" in said.out
    assert "PRACTICE left, 1 of 4 stations judged; kept as given up: record 2 of practice-" in said.err
    begun, drill = practice(shop)
    assert (begun.what, drill.what, drill.begun) == ("begun", "drill", begun.reference)
    assert drill.drill.given_up
    type_lines([])
    assert main(["train", "standing", "--shop", str(shop)]) == 0
    assert "K. Nilsen: 1 drill, 1 of them given up, the last on" in capsys.readouterr().out


def test_a_drill_that_is_left_without_a_name_keeps_nothing(
    shop: Path, type_lines: Callable[[list[str]], None], capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(["ok"])
    assert main(["train", "run", "wandering-belt", "--shop", str(shop)]) == 3
    assert "PRACTICE left, 1 of 4 stations judged; nothing was kept." in capsys.readouterr().err
    assert practice(shop) == []


@pytest.mark.parametrize("drill", written())
def test_no_line_of_a_drill_breaks_in_the_middle_of_a_word_at_80_columns(
    drill: str,
    type_lines: Callable[[list[str]], None],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    printed = {}
    for at_terminal in (False, True):
        monkeypatch.setattr("sys.stdout.isatty", lambda at_terminal=at_terminal: at_terminal)
        type_lines(right_answers(written_drill(drill)))
        assert main(["train", "run", drill]) == 0
        printed[at_terminal] = capsys.readouterr().out
    assert max(map(len, printed[True].splitlines())) < 80
    assert printed[True].split() == printed[False].split()  # every word whole, and none lost


def test_nobody_of_that_name_is_said(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["train", "standing", "N. Obody", "--shop", str(shop)]) == 3
    assert "no practice of N. Obody" in capsys.readouterr().err


def test_strips_of_different_number_are_refused(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    strips = ["--reference", "18 mm, 19 mm", "--first", "18 mm", "--second", "18 mm"]
    assert main(["train", "strips", "K. Nilsen", *strips, "--shop", str(shop)]) == 3
    assert "2 references, 1 first and 1 second" in capsys.readouterr().err


@pytest.mark.parametrize(("off", "status"), [(0.0, 0), (0.5, 2)])
def test_an_instrument_is_read(
    off: float, status: int, type_lines: Callable[[list[str]], None], capsys: pytest.CaptureFixture[str]
) -> None:
    _, value, _ = drawn("gauge", 4)
    type_lines([f"{value + off:g} bar"])
    assert main(["train", "read", "gauge", "--seed", "4"]) == status
    assert "PRACTICE pressure gauge" in capsys.readouterr().out


@pytest.mark.parametrize(
    "words",
    [["train", "run", "tea-break"], ["train", "read", "sundial"], ["train", "run", "fan-last", "--as", "K. Nilsen"]],
)
def test_what_is_not_there_is_refused_in_words(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 3
    assert "preflight:" in capsys.readouterr().err


def test_remedies_are_asked_after_causes() -> None:
    drill = written_drill("fan-last")
    assert (causes(drill, "extraction").ask, remedies(drill, "extraction").ask) == (
        "What is wrong?",
        "What do you do first?",
    )
