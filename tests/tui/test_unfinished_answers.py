"""Whatever is typed into a row, the run goes on: it is read, refused in words, or left out and named."""

from __future__ import annotations

import secrets
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
from desk_samples import MORNING, filled

from preflight.checks.finding import Verdict
from preflight.cli.init import make_shop
from preflight.errors import PreflightError
from preflight.quantities import LONGEST_TEXT
from preflight.shop.folder import shop_at
from preflight.tui.carrying import carried_belts
from preflight.tui.desk import Desk, Terminal
from preflight.tui.unfinished import sheet_from

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from preflight.tui.run import Run

BASE = {"schema": 1, "machine": "hall-two", "at": datetime(2026, 11, 26, 6, 40, tzinfo=UTC)}


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    make_shop(folder, empty=False)
    return folder


def desk_at(shop: Path) -> Desk:
    return Desk(shop_at(shop), shop, lambda: MORNING, lambda: secrets.token_hex(16), Terminal("test", 1), "hall-two")


@pytest.fixture
def run(shop: Path) -> Iterator[Run]:
    desk = desk_at(shop)
    yield desk.load().run
    desk.close()


def test_any_number_of_digits_in_any_row_leaves_the_run_judged(run: Run) -> None:
    bases = [run.typing("belts.1.card", "new belt"), filled(run, glue__state="smeared", test_board__light="chatter")]
    tried = 0
    for base in bases:
        typed = [row for station in base.stations for row in station.rows(base) if row.asked and not row.choices]
        for row in typed:
            for text in ("", "0", "-1", "1/0", *("1" * count for count in range(33, LONGEST_TEXT + 2))):
                after = base.typing(row.key, text)
                assert after.sheet is not None
                tried += 1
    assert tried > 500


def test_a_gauge_of_too_many_digits_is_refused_at_its_own_row(run: Run) -> None:
    after = run.typing("tension.1", "1" * 38)
    assert "too long" in after.unread["tension.1"]
    assert after.verdict("tension") is Verdict.OPEN


def test_a_gauge_that_the_sheet_refuses_is_left_out_under_the_key_it_was_written_at() -> None:
    sheet, left_out = sheet_from(BASE | {"tension": {"1": "4 parrots", "2": "4.2 bar"}})
    assert [path for path, _ in left_out] == [("tension", "1")]
    assert sheet.tension.gauge["2"].text == "4.2 bar"


def test_a_new_belt_of_no_length_is_not_complete(run: Run) -> None:
    for key, text in (("card", "new belt"), ("id", "H-300"), ("grit", "P100"), ("backing", "cloth X"),
                      ("joint", "lap"), ("length_left", "0"), ("length_right", "0"), ("width", "940")):  # fmt: skip
        run = run.typing(f"belts.1.{key}", text)
    assert any("must be above zero" in said for said in run.unread.values())


@pytest.mark.parametrize(
    ("key", "bad", "good", "subject"),
    [
        ("running.restart", "starts by itself", "stays still", "restart"),
        ("running.bar", "does not stop the feed", "stops the feed", "limit bar"),
        ("running.stop.1", "30", "6.4", "head 1 stop"),
    ],
)
def test_a_safety_device_that_failed_needs_a_repair_however_good_the_next_answer(
    run: Run, key: str, bad: str, good: str, subject: str
) -> None:
    run = filled(run)
    was = run.typing(key, bad, MORNING).accepting(key)
    now = was.typing(key, good, MORNING).accepting(key)
    stops = [found for found in now.findings("running") if found.verdict is Verdict.STOP]
    assert [(found.subject, found.takes_override) for found in stops] == [(f"repair {subject}", False)]
    assert not now.releasable
    repaired = now.typing(f"repair.{subject}.what", "switch changed").typing(f"repair.{subject}.who", "D. Marrow")
    assert repaired.verdict("running") is not Verdict.STOP


def test_the_failed_answer_outlives_draft_and_desk(shop: Path) -> None:
    desk = desk_at(shop)
    run = filled(desk.load().run).typing("running.bar", "does not stop the feed", MORNING).accepting("running.bar")
    run = run.typing("running.bar", "stops the feed", MORNING).accepting("running.bar")
    desk.keep(run.typed, run.entered, run.earlier)
    desk.close()
    again = desk_at(shop)
    assert any(found.subject == "repair limit bar" for found in again.load().run.findings("running"))
    again.close()


def test_a_choice_that_was_only_passed_over_is_no_failed_answer(run: Run) -> None:
    run = filled(run)
    passed = run.typing("running.bar", "does not stop the feed", MORNING).typing("running.bar", "stops the feed")
    now = passed.accepting("running.bar")
    assert not any(found.subject.startswith("repair ") for found in now.findings("running"))


def test_two_job_cards_of_one_name_are_told_apart_by_their_files(shop: Path) -> None:
    first = shop / "jobs" / "ash-stair-treads.toml"
    (shop / "jobs").mkdir(exist_ok=True)
    text = (shop_at(None).roots[-1] / "jobs" / first.name).read_text("utf-8")
    (shop / "jobs" / "ash-again.toml").write_text(text.replace('width = "290 mm"', 'width = "250 mm"'), "utf-8")
    desk = desk_at(shop)
    run = desk.load().run
    row = next(row for row in run.rows("stock") if row.key == "stock.job")
    labels = [choice.label for choice in row.choices]
    assert len(set(labels)) == len(labels)
    for ref in ("ash-again", "ash-stair-treads"):
        label = next(label for label in labels if label.startswith(f"{ref}  "))
        sheet = run.typing("stock.job", label).sheet
        assert sheet is not None
        assert sheet.job == ref
    desk.close()


def test_a_new_belt_is_carried_to_the_card_of_its_whole_number(shop: Path) -> None:
    card = (shop_at(None).roots[-1] / "belts" / "H-204.toml").read_text("utf-8")
    (shop / "belts").mkdir(exist_ok=True)
    (shop / "belts" / "H-20 old.toml").write_text(card.replace('id = "H-204"', 'id = "H-20 old"'), "utf-8")
    desk = desk_at(shop)
    run = desk.load().run
    for mark, belt in (("H-20 old", "H-20 old  "), ("H-20", ""), ("", "")):
        carried = carried_belts(run, {"belts.1.card": "new belt", "belts.1.id": mark})["belts.1.card"]
        assert carried.startswith(belt)
        assert bool(carried) == bool(belt)
    desk.close()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('id = "2"\nkind', 'id = "1"\nkind', "head '1' is given 2 times"),
        ('id = "2"\nkind', 'id = "supply"\nkind', "heads.2.id: 'supply' is taken"),
        ('id = "2"\nkind', 'id = "leak"\nkind', "heads.2.id: 'leak' is taken"),
    ],
)
def test_the_desk_refuses_a_machine_that_contradicts_itself(shop: Path, old: str, new: str, said: str) -> None:
    machine = shop / "machines" / "hall-two.toml"
    machine.parent.mkdir(exist_ok=True)
    text = (shop_at(None).roots[-1] / "machines" / machine.name).read_text("utf-8")
    assert old in text
    machine.write_text(text.replace(old, new, 1), "utf-8")
    with pytest.raises(PreflightError, match=said):
        desk_at(shop).load()


@pytest.mark.parametrize(("old", "key"), [("volume = ", "bin.volume"), ("low_density = ", "bin.low_density")])
def test_the_desk_refuses_a_bin_of_no_size(shop: Path, old: str, key: str) -> None:
    duct = shop / "extraction" / "hall-duct.toml"
    duct.parent.mkdir(exist_ok=True)
    lines = (shop_at(None).roots[-1] / "extraction" / duct.name).read_text("utf-8").splitlines()
    unit = "m3" if "volume" in key else "kg/m3"
    assert sum(line.startswith(old) for line in lines) == 1
    duct.write_text("\n".join(f'{old}"0 {unit}"' if line.startswith(old) else line for line in lines), "utf-8")
    with pytest.raises(PreflightError, match=f"{key}: .0 {unit}. must be above zero"):
        desk_at(shop).load()
