"""The desk: drafts, shifts, events, signing and holding, and that nothing typed is lost."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from desk_samples import MORNING, Clock, filled

from preflight.checklist.body_reader import read_body
from preflight.checklist.document import sheet_of
from preflight.checklist.draft import DraftHeldError
from preflight.checklist.seal import read_seal
from preflight.checklist.store import Saved, commit
from preflight.checklist.verify import Status, verify_shop
from preflight.checks.finding import Verdict
from preflight.errors import PreflightError
from preflight.sheet import SetupSheet
from preflight.shop.files import validate
from preflight.tui.demo_shop import YESTERDAY
from preflight.tui.desk import Desk
from preflight.tui.wiring import Finished, Holding, Signing

if TYPE_CHECKING:
    from pathlib import Path

    from desk_samples import OpenDesk

    from preflight.tui.run import Run

Open = Callable[[], Desk]
BY_ME = Signing("D. Marrow", "I made this check at the machine and read these figures myself.")


@pytest.fixture
def opened(shop: Path, desks: OpenDesk) -> Open:
    return lambda: desks(shop)


def records(shop: Path) -> list[Path]:
    return sorted(shop.glob("checklists/*/*/*.toml"))


def test_a_draft_left_open_comes_back_as_it_was(opened: Open) -> None:
    desk = opened()
    run = desk.load().run.typing("tension.1", "4.2", MORNING)
    desk.keep(run.typed, run.entered, {"tension.1": ((MORNING, "4.9"),)})
    desk.close()
    again = opened().load()
    assert again.run.typed == run.typed
    assert again.run.earlier["tension.1"] == ((MORNING, "4.9"),)
    assert "resumed" in again.notice


def test_a_draft_of_an_earlier_shift_keeps_facts_and_drops_readings_and_says_so(opened: Open, clock: Clock) -> None:
    desk = opened()
    run = desk.load().run.typing("tension.1", "4.2", MORNING)
    desk.keep(run.typed, run.entered, {})
    desk.close()
    clock.now += timedelta(hours=15)
    again = opened().load()
    assert "tension.1" not in again.run.typed
    assert again.run.typed["belts.1.card"] == YESTERDAY["belts.1.card"]
    assert "readings dropped" in again.notice


def test_a_second_terminal_is_told_who_has_the_draft(opened: Open) -> None:
    opened().load()
    with pytest.raises(DraftHeldError, match="bench"):
        opened().load()


def test_signing_saves_a_record_that_verifies_as_unsigned_never_as_intact(opened: Open, shop: Path) -> None:
    desk = opened()
    said = desk.sign(filled(desk.load().run), BY_ME)
    assert "record 2" in said
    assert "unsigned" in said
    assert len(records(shop)) == 2
    found = verify_shop(shop, None)
    assert found.status is Status.UNSIGNED


def test_the_record_holds_the_sheet_findings_entries_and_limits_of_the_day(opened: Open, shop: Path) -> None:
    desk = opened()
    run = filled(desk.load().run).typing("tension.1", "4.9").accepting("tension.1").typing("tension.1", "4.2")
    desk.sign(run.accepting("tension.1"), BY_ME)
    record = read_body(read_seal(records(shop)[-1].read_bytes()).body)
    assert record["record"]["name"] == "D. Marrow"
    assert record["record"]["meaning"].startswith("I made this check")
    assert record["limits"]["machine"]["name"]
    assert record["limits"]["extraction"]["runs"]
    assert any(f["check"] == "tension" and f["verdict"] == "ok" for f in record["findings"])
    entry = next(one for one in record["entries"] if one["key"] == "tension.1")
    assert entry["text"] == "4.2"
    assert [was["text"] for was in entry["earlier"]] == ["4.2", "4.9"][-len(entry["earlier"]) :]
    sheet = validate(sheet_of(record), SetupSheet, "record")
    assert sheet.tension.gauge["1"].text == "4.2 bar"


def test_a_run_with_a_stop_is_not_signed_and_stays_as_it_was(opened: Open, shop: Path) -> None:
    desk = opened()
    run = filled(desk.load().run, tension__1="5.9")
    with pytest.raises(PreflightError, match="open or stopped"):
        desk.sign(run, BY_ME)
    assert len(records(shop)) == 1


def test_a_start_up_that_cannot_go_on_is_saved_as_held_with_what_was_told_and_tried(opened: Open, shop: Path) -> None:
    desk = opened()
    said = desk.hold(
        filled(desk.load().run, tension__1="5.9"), Holding("regulator sticks", "A. Brandt", "tapped it", "D. Marrow")
    )
    assert said.startswith("Held")
    record = read_body(read_seal(records(shop)[-1].read_bytes()).body)
    assert record["record"]["kind"] == "held"
    assert record["held"] == {"what": "regulator sticks", "told": "A. Brandt", "tried": "tapped it"}


def test_after_signing_the_draft_is_gone_and_the_days_check_stands_until_something_happens(opened: Open) -> None:
    desk = opened()
    desk.sign(filled(desk.load().run), BY_ME)
    desk.close()
    again = opened().load()
    assert "Released at 06:40: record 2, verdict ok, by D. Marrow, unsigned" in again.notice
    assert "read only" in again.notice
    assert again.run.releasable
    assert again.station == "feed"


def test_a_belt_change_asks_again_only_what_it_voids(opened: Open) -> None:
    desk = opened()
    run = filled(desk.load().run)
    after = desk.happened(run, "belt changed:1").run
    assert "tension.1" not in after.typed
    assert "belts.1.card" not in after.typed
    assert after.typed["extraction.static"] == run.typed["extraction.static"]
    assert after.typed["belts.2.card"] == run.typed["belts.2.card"]
    assert after.typed["tension.2"] == run.typed["tension.2"]


def test_a_belt_measured_at_the_machine_gets_a_card_that_the_next_run_names(opened: Open, shop: Path) -> None:
    desk = opened()
    new = {
        "belts.1.card": "new belt", "belts.1.id": "H-300", "belts.1.grit": "P100", "belts.1.backing": "cloth X",
        "belts.1.joint": "lap", "belts.1.length_left": "1900", "belts.1.length_right": "1900.5", "belts.1.width": "940",
        "tension.running.1": "4.2",
        **{f"test_board.{side}.second": "27.43" for side in ("left", "centre", "right")},
        **{f"test_board.{side}.{end}": "27.44" for side in ("left", "centre", "right") for end in ("lead", "trail")},
    }  # fmt: skip
    run = desk.load().run
    run = run.resumed({**run.typed, **YESTERDAY, **new}, {}, {})
    assert run.releasable, [f.statement for s in run.stations for f in run.findings(s.id) if f.verdict > 1]
    desk.sign(run, BY_ME)
    desk.close()
    assert (shop / "belts" / "H-300.toml").is_file()
    assert opened().load().run.typed["belts.1.card"].startswith("H-300")


def test_a_clock_that_ran_backwards_is_noted_in_the_record(opened: Open, shop: Path, clock: Clock) -> None:
    clock.now -= timedelta(days=3)
    desk = opened()
    desk.sign(filled(desk.load().run), BY_ME)
    record = read_body(read_seal(records(shop)[-1].read_bytes()).body)
    assert any("clock" in note for note in record["record"]["notes"])


def test_a_card_that_cannot_be_read_is_named_and_does_not_stop_the_start_up(opened: Open, shop: Path) -> None:
    (shop / "belts" / "torn.toml").write_text("schema = ", encoding="utf-8")
    loaded = opened().load()
    assert "torn" in loaded.notice
    assert loaded.run.view is not None


def stopped_then_good(run: Run) -> Run:
    """A stop time over its limit, left standing, then another one."""
    return (
        run.typing("running.stop.1", "15", MORNING).accepting("running.stop.1").typing("running.stop.1", "6.4", MORNING)
    )


def test_a_stop_time_over_its_limit_is_not_signed_away_by_typing_another(opened: Open, shop: Path) -> None:
    desk = opened()
    run = stopped_then_good(filled(desk.load().run))
    assert run.accepting("running.stop.1").verdict("running") is Verdict.STOP
    with pytest.raises(PreflightError, match="open or stopped"):
        desk.sign(run.accepting("running.stop.1"), BY_ME)
    assert len(records(shop)) == 1


@pytest.mark.parametrize("event", ["power or air off", "broke down", "shift change", "new job"])
def test_no_event_forgets_a_stop_that_needs_a_repair(opened: Open, event: str) -> None:
    desk = opened()
    run = filled(desk.load().run).typing("running.stop.1", "15", MORNING).accepting("running.stop.1")
    after = desk.happened(run, event).run.typing("running.stop.1", "6.4", MORNING).accepting("running.stop.1")
    assert ("15" in [text for _, text in after.earlier["running.stop.1"]]) or after.typed["running.stop.1"] == "15"
    assert after.verdict("running") >= Verdict.OPEN


def test_a_draft_of_an_earlier_shift_does_not_forget_a_stop_that_needs_a_repair(opened: Open, clock: Clock) -> None:
    desk = opened()
    run = filled(desk.load().run).typing("running.stop.1", "15", MORNING).accepting("running.stop.1")
    desk.keep(run.typed, run.entered, run.earlier)
    desk.close()
    clock.now += timedelta(hours=15)
    again = opened().load().run
    assert "running.stop.1" not in again.typed
    assert "15" in [text for _, text in again.earlier["running.stop.1"]]


@pytest.mark.parametrize(
    "content",
    [
        {"typed": {"tension.1": 4}},
        {"typed": {}, "entered": {"tension.1": "half past six"}},
        {"typed": {}, "entered": {"tension.1": "2026-11-26T06:40:00"}},
        {"typed": {}, "entered": []},
        {"typed": {}, "earlier": {"tension.1": [["2026-11-26T06:40:00+00:00"]]}},
        {"typed": "all of it"},
    ],
)
def test_a_draft_that_makes_no_sense_is_set_aside_and_the_start_up_goes_on(
    opened: Open, shop: Path, content: dict[str, object]
) -> None:
    desk = opened()
    machine = desk.load().run.view
    assert machine is not None
    desk.close()
    file = shop / "drafts" / f"{machine.machine.id}.json"
    file.write_text(
        json.dumps({"layout": 1, "machine": machine.machine.id, "changes": 5, "content": content}), encoding="utf-8"
    )
    loaded = opened().load()
    assert "could not be read" in loaded.notice
    assert list((shop / "drafts").glob("*.unreadable-1"))


def test_an_action_key_without_a_subject_in_a_draft_does_no_harm(opened: Open) -> None:
    desk = opened()
    desk.load()
    desk.keep({"action:x": "told", "tension.1": "4.2"}, {"tension.1": MORNING}, {})
    desk.close()
    assert opened().load().run.typed["tension.1"] == "4.2"


def test_a_released_sheet_says_which_record_it_is_and_is_not_saved_a_second_time(opened: Open, shop: Path) -> None:
    desk = opened()
    desk.sign(filled(desk.load().run), BY_ME)
    run = desk.load().run
    assert run.signed is not None
    assert (run.signed.number, run.signed.name, run.signed.verdict, run.signed.keyed) == (2, "D. Marrow", "ok", False)
    assert [pick.id for pick in desk.subjects(run)] == ["machine"]
    with pytest.raises(PreflightError, match="record 2 and read only"):
        desk.sign(run, BY_ME)
    with pytest.raises(PreflightError, match="record 2 and read only"):
        desk.hold(run, Holding("a", "b", "c", "D. Marrow"))
    assert len(records(shop)) == 2


def test_a_released_sheet_stands_as_it_was_judged_then(opened: Open) -> None:
    desk = opened()
    signed = filled(desk.load().run)
    desk.sign(signed, BY_ME)
    again = desk.load().run
    station = {row.key: row.shown for row in signed.rows("running")}["running.station"]
    assert {row.key: row.shown for row in again.rows("running")}["running.station"] == station
    assert {one.id: again.verdict(one.id) for one in again.stations} == {
        one.id: signed.verdict(one.id) for one in signed.stations
    }


@pytest.mark.parametrize("event", ["new job", "belt changed", "shift change"])
def test_an_event_opens_a_released_sheet_again_for_another_record(opened: Open, event: str) -> None:
    desk = opened()
    desk.sign(filled(desk.load().run), BY_ME)
    after = desk.happened(desk.load().run, event).run
    assert after.signed is None
    assert after.history is not None
    assert len(after.history.sheets) == 2
    assert "record 3" in desk.sign(filled(after), BY_ME)


def test_what_is_counted_while_feeding_stays_with_the_released_sheet(opened: Open) -> None:
    desk = opened()
    desk.sign(filled(desk.load().run), BY_ME)
    run = desk.load().run.typing("feed.fed", "+12", MORNING)
    desk.keep(run.typed, run.entered, run.earlier)
    desk.close()
    again = opened().load().run
    assert again.signed is not None
    assert again.typed["feed.fed"] == "+12"


def test_the_tally_of_a_release_that_is_over_brings_no_reading_back(opened: Open, clock: Clock) -> None:
    clock.now = clock.now.replace(hour=23)
    desk = opened()
    desk.sign(filled(desk.load().run), BY_ME)
    run = desk.load().run.typing("feed.fed", "+12", clock.now)
    desk.keep(run.typed, run.entered, run.earlier)
    desk.close()
    clock.now += timedelta(hours=2)  # past midnight, the same shift
    again = opened().load().run
    assert again.signed is None
    assert again.typed["feed.fed"] == "+12"
    assert "tension.1" not in again.typed


def test_after_the_run_record_the_tally_is_gone_and_the_sheet_says_what_comes_next(opened: Open) -> None:
    desk = opened()
    desk.sign(filled(desk.load().run), BY_ME)
    run = desk.load().run.typing("feed.fed", "+12", MORNING)
    desk.keep(run.typed, run.entered, run.earlier)
    assert "record 3" in desk.done(run, Finished({"fed": "+12", "hours": "1"}, "D. Marrow"))
    again = desk.load()
    assert again.run.signed is not None
    assert "feed.fed" not in again.run.typed
    assert "The run after it is recorded" in again.notice


def test_a_run_record_whose_answer_was_lost_is_not_asked_for_again(
    shop: Path, desks: OpenDesk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = desks(shop)
    desk.sign(filled(desk.load().run), BY_ME)
    run = desk.load().run.typing("feed.fed", "+12", MORNING)
    desk.keep(run.typed, run.entered, run.earlier)

    def cut_off(*given: Any, **named: Any) -> Saved:
        saved = commit(*given, **named)
        shutil.copytree(shop, tmp_path / "left")  # what the disk holds when the program is killed here
        return saved

    monkeypatch.setattr("preflight.tui.run_done.commit", cut_off)
    desk.done(run, Finished({"fed": "+12", "hours": "1"}, "D. Marrow"))
    again = desks(tmp_path / "left").load()
    assert "The run was recorded before the program ended: record 3." in again.notice
    assert "feed.fed" not in again.run.typed
    assert again.run.signed is not None


def test_a_run_record_of_a_start_up_without_a_tally_leaves_no_draft(opened: Open, shop: Path) -> None:
    desk = opened()
    run = filled(desk.load().run)
    desk.sign(run, BY_ME)
    desk.done(run, Finished({"hours": "1"}, "D. Marrow"))
    assert list((shop / "drafts").glob("m-*.json")) == []


def test_a_machine_that_another_terminal_has_leaves_this_one_as_it_was(shop: Path, desks: OpenDesk) -> None:
    here, there = desks(shop), desks(shop, machine="hall-three", host="annex")
    run = here.load().run
    there.load()
    with pytest.raises(DraftHeldError, match="annex"):
        here.picked(run, "machine", "hall-three")
    typed = run.typing("tension.1", "4.2", MORNING)
    here.keep(typed.typed, typed.entered, {})
    here.close()
    assert desks(shop).load().run.typed["tension.1"] == "4.2"


@pytest.mark.parametrize("note", [[], {}, 7, "short", "with blanks in it", "../../../etc/passwd"])
def test_a_draft_whose_note_of_its_record_makes_no_sense_is_signed_as_a_new_one(
    shop: Path, desks: OpenDesk, note: object
) -> None:
    desk = desks(shop)
    run = filled(desk.load().run)
    desk.keep(run.typed, run.entered, {})
    desk.close()
    (file,) = (shop / "drafts").glob("m-*.json")
    draft = json.loads(file.read_bytes())
    draft["content"] |= {"record": note, "since": -5}
    file.write_text(json.dumps(draft), "utf-8")
    again = desks(shop)
    resumed = again.load().run
    assert resumed.typed["tension.1"] == "4.2"
    assert "released" in again.sign(resumed, Signing("D. Marrow", "I made this check.")).casefold()
