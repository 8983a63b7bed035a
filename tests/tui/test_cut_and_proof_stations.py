"""Belts, tension, removal, running and test board on the screen: rows that come when due, choices, pictures."""

from __future__ import annotations

import secrets
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from preflight.checks.finding import Verdict
from preflight.cli.init import make_shop
from preflight.history import History, OpenStop
from preflight.shop.folder import shop_at
from preflight.tui.charset import ASCII, UNICODE
from preflight.tui.demo_shop import MACHINE, YESTERDAY, add_history
from preflight.tui.desk import Desk, Terminal
from preflight.tui.painting import width_of
from preflight.tui.run import Run
from preflight.tui.wiring import Signing

TODAY = datetime(2026, 11, 26, 6, 40, tzinfo=UTC)
BEFORE = "test_board.before"


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Read only: whoever changes it makes a copy."""
    folder = tmp_path_factory.mktemp("cut-and-proof") / "shop"
    make_shop(folder, empty=False)
    add_history(folder, lambda: TODAY, lambda: secrets.token_hex(16))
    return folder


def opened(shop: Path, days: int = 0) -> Desk:
    def now() -> datetime:
        return TODAY + timedelta(days=days)

    return Desk(shop_at(shop), shop, now, lambda: secrets.token_hex(16), Terminal("test", 1), MACHINE)


def run_of(shop: Path, days: int = 0, **changes: str) -> Run:
    desk = opened(shop, days)
    try:
        run = desk.load().run
    finally:
        desk.close()
    changed = {key.replace("__", "."): text for key, text in changes.items()}
    return run.resumed({**run.typed, **YESTERDAY, **changed}, {}, {})


def keys(run: Run, station: str, *, asked: bool = True) -> list[str]:
    return [row.key for row in run.rows(station) if row.asked and not (asked and row.optional)]


def text_of(run: Run, station: str, width: int = 58, height: int = 12) -> str:
    draw = run.station(station).picture
    assert draw is not None
    return "\n".join("".join(text for text, _ in line) for line in draw(run, width, height, UNICODE))


def test_the_plan_shows_margin_and_reason_and_two_other_ways(shop: Path) -> None:
    rows = {row.key: row for row in run_of(shop).rows("removal")}
    plan = rows["removal.plan.1.1"]
    assert "of 0.382 mm" in plan.shown
    assert "It could take" in plan.hint
    assert "at least" in plan.hint
    assert rows["removal.or.1"].label.startswith("or P")
    assert {"removal.or.1", "removal.or.2"} <= set(rows)
    assert all(len(row.shown) <= 27 for row in rows.values() if row.key.startswith(("removal.plan", "removal.or")))


def test_without_a_plan_the_reason_and_the_nearest_that_works_are_shown(shop: Path) -> None:
    run = run_of(shop, backing__2__platen="down", belts__1__card="H-207  P80 cloth X")
    rows = {row.key: row for row in run.rows("removal")}
    assert "erase the scratches" in rows["removal.plan.none"].hint
    assert rows["removal.or.1"].label.startswith("or P")
    plan = next(f for f in run.findings("removal") if f.subject == "plan")
    assert plan.verdict is Verdict.STOP
    assert plan.remedy.startswith("Nearest that works: P")


def test_another_grit_is_tried_on_paper_and_changes_no_verdict(shop: Path) -> None:
    run = run_of(shop)
    tried = run.typing("removal.whatif.1", "P80")
    shown = {row.key: row.shown for row in tried.rows("removal")}
    hints = {row.key: row.hint for row in tried.rows("removal")}
    assert "head 1" in hints["removal.whatif"]
    assert hints["removal.whatif"].startswith(shown["removal.whatif"])
    assert tried.raw == run.raw


def test_a_typed_feed_plans_anew(shop: Path) -> None:
    slow, fast = (run_of(shop, removal__feed=feed) for feed in ("4", "15"))
    assert [r.shown for r in slow.rows("removal")] != [r.shown for r in fast.rows("removal")]


def test_after_an_adjustment_each_head_is_tested_and_judged_against_its_plan(shop: Path) -> None:
    desk = opened(shop)
    run = desk.load().run
    after = desk.happened(run.resumed({**run.typed, **YESTERDAY}, {}, {}), "broke down").run
    desk.close()
    assert {"removal.test.before", "removal.test.1", "removal.test.2"} <= set(keys(after, "removal"))
    answers = {"removal.test.before": "27.70", "removal.test.1": "27.69", "removal.test.2": "27.45"}
    for key, text in answers.items():
        after = after.typing(key, text)
    findings = {f.subject: f for f in after.findings("removal")}
    assert "planned" in findings["head 1 take"].statement
    assert findings["head 2 take"].verdict is Verdict.STOP
    assert findings["head 2 take"].remedy.startswith("The heads before it take too little")


def test_yesterdays_start_up_makes_no_row_due(shop: Path) -> None:
    run = run_of(shop)
    assert "tension.leak" not in keys(run, "tension")
    assert "running.interlock" not in keys(run, "running", asked=False)
    assert not [key for key in keys(run, "test_board") if "second" in key]


def test_after_a_week_the_rows_due_appear_and_their_answers_release(shop: Path) -> None:
    run = run_of(shop, days=8)
    assert "tension.leak" in keys(run, "tension")
    assert {"running.interlock", "running.also"} <= set(keys(run, "running"))
    assert not run.releasable
    also = next(row for row in run.rows("running") if row.key == "running.also")
    answers = {
        "tension.leak": "0.1",
        "tension.supply": "6.4",
        "running.interlock": "start refused",
        "running.also": also.choices[0].label,
    }
    answers |= {row.key: "done today" for row in run.rows("condition") if row.key.startswith("condition.due.")}
    for key, text in answers.items():
        run = run.typing(key, text)
    assert run.releasable, [f.statement for s in run.stations for f in run.findings(s.id) if f.verdict > 1]


def test_another_belt_brings_the_second_reading_second_pass_and_six_points(shop: Path) -> None:
    run = run_of(shop, belts__1__card="H-198  P100 cloth X")
    assert "tension.running.1" in keys(run, "tension")
    proof = [key for key in keys(run, "test_board") if key.endswith((".second", ".lead", ".trail"))]
    assert len(proof) == 3 + 6
    for key in proof:
        run = run.typing(key, "27.43")
    assert {f.subject for f in run.findings("test_board")} >= {"snipe", "second pass"}
    assert run.sheet is not None
    assert run.sheet.test_board.readings[0].ends is not None


def test_chatter_asks_for_span_and_count_and_names_a_source(shop: Path) -> None:
    run = run_of(shop)
    assert "test_board.marks.span" not in keys(run, "test_board", asked=False)
    run = run.typing("test_board.light", "chatter")
    assert {"test_board.marks.span", "test_board.marks.count"} <= set(keys(run, "test_board", asked=False))
    run = run.typing("test_board.marks.span", "121").typing("test_board.marks.count", "10")
    finding = next(f for f in run.findings("test_board") if f.subject == "marks")
    assert "belt joint of head 1" in finding.statement


def test_a_stop_left_behind_asks_what_was_repaired_and_by_whom(shop: Path) -> None:
    run = run_of(shop)
    stop = OpenStop("running", "head 1 stop", "Stop of head 1 12 s is over the limit.", TODAY)
    assert run.history is not None
    past = History(sheets=run.history.sheets, times=run.history.times, open_stops=(stop,))
    run = Run(run.stations, run.view, past, run.typed, run.base).resumed(run.typed, {}, {})
    assert run.verdict("running") is Verdict.STOP
    run = run.typing("repair.head 1 stop.what", "lining changed").typing("repair.head 1 stop.who", "F. Aldous")
    assert run.verdict("running") <= Verdict.CAUTION


def test_a_stop_time_over_its_limit_that_is_typed_over_asks_for_an_entry(shop: Path) -> None:
    run = run_of(shop).typing("running.stop.1", "12.5").accepting("running.stop.1")
    run = run.typing("running.stop.1", "6.5").accepting("running.stop.1")
    run = run.judged()
    assert run.verdict("running") is Verdict.STOP
    run = run.typing("repair.head 1 stop.what", "mistyped").typing("repair.head 1 stop.who", "D. Marrow")
    assert run.verdict("running") <= Verdict.CAUTION


def test_mistyped_or_repaired_is_chosen_and_only_a_repair_is_described(shop: Path) -> None:
    run = run_of(shop).typing("running.stop.1", "28").accepting("running.stop.1")
    run = run.typing("running.stop.1", "2.8").accepting("running.stop.1").judged()
    assert "repair.head 1 stop.how" in keys(run, "running")
    mistyped = run.typing("repair.head 1 stop.how", "mistyped").typing("repair.head 1 stop.who", "D. Marrow")
    assert "repair.head 1 stop.what" not in keys(mistyped, "running")
    assert mistyped.verdict("running") <= Verdict.CAUTION
    said = next(f.statement for f in mistyped.findings("running") if f.subject == "repair head 1 stop")
    assert said == "Head 1 stop: 28 s was a typing slip, by D. Marrow; 2.8 s read again."
    assert "repair.head 1 stop.what" in keys(run.typing("repair.head 1 stop.how", "repaired"), "running")


def test_a_stop_time_is_judged_as_soon_as_it_is_typed(shop: Path) -> None:
    run = run_of(shop, running__restart="", running__stop__1="", running__stop__2="")
    assert any(f.subject == "stop" for f in run.findings("running"))
    run = run.typing("running.stop.1", "12.5")
    stop = next(f for f in run.findings("running") if f.subject == "head 1 stop")
    assert stop.verdict is Verdict.STOP
    assert not any(f.subject == "stop" for f in run.findings("running"))
    assert run.sheet is not None
    assert run.sheet.running.stop is not None
    assert run.sheet.running.stop.station


def test_a_conveyor_that_pulls_badly_is_cleaned_and_only_then_dressed(shop: Path) -> None:
    run = run_of(shop, condition__conveyor="shiny")
    assert "condition.cleaned" in keys(run, "condition", asked=False)
    run = run.typing("condition.cleaned", "dressed")
    for key, text in (("grit", "P80"), ("heads", "raised"), ("by", "F. Aldous")):
        run = run.typing(f"condition.dressing.{key}", text)
    finding = next(f for f in run.findings("condition") if f.subject == "conveyor dressing")
    assert finding.verdict is Verdict.STOP


def test_belts_that_fit_come_first_in_the_choices_and_one_that_does_not_is_marked(shop: Path) -> None:
    run = run_of(shop)
    row = next(row for row in run.rows("belts") if row.key == "belts.1.card")
    labels = [choice.label for choice in row.choices]
    assert labels.index("H-204  P100 cloth X") < labels.index("A-014  P80 cloth X")
    assert labels[-1] == "new belt"
    assert "fit, these first" in row.hint
    wrong = run_of(shop, belts__1__card="A-014  P80 cloth X")
    assert next(row for row in wrong.rows("belts") if row.key == "belts.1.card").note == "does not fit here"


def test_a_washed_belt_asks_for_two_weighings_until_its_card_proves_it_dry(shop: Path, tmp_path: Path) -> None:
    shop = Path(shutil.copytree(shop, tmp_path / "shop"))
    path = shop / "belts" / "H-198.toml"
    card, _ = path.read_text(encoding="utf-8").split("[[washed]]")
    path.write_text(f"{card}[[washed]]\nhung = 2026-11-20T15:30:00Z\n", encoding="utf-8")
    run = run_of(shop, belts__1__card="H-198  P100 cloth X")
    weighing = [key for key in keys(run, "belts") if ".weighed." in key]
    assert len(weighing) == 3
    for key, text in zip(weighing, ("1310", "5", "1308"), strict=True):
        run = run.typing(key, text)
    assert next(f for f in run.findings("belts") if f.subject == "head 1 dryness").verdict is Verdict.OK


def test_the_cross_section_marks_the_readings_and_says_taper_and_crown(shop: Path) -> None:
    text = text_of(run_of(shop), "test_board")
    assert text.count(UNICODE.reading) == 3
    assert "taper 0.01 mm thick left" in text
    assert "crown 0.015 mm thick middle" in text
    assert "27.44 mm" in text


def test_the_tension_picture_shows_every_head_on_its_band_and_pins_what_is_beyond(shop: Path) -> None:
    text = text_of(run_of(shop, tension__1="5.9"), "tension")
    first, second, *_ = text.splitlines()
    assert first.index(UNICODE.reading) > first.rindex(UNICODE.edge)
    assert second.index(UNICODE.reading) < second.rindex(UNICODE.edge)
    assert "3.1 to 3.8 bar" in second


def test_the_belt_picture_shows_both_edges_and_the_width_in_their_windows(shop: Path) -> None:
    lines = text_of(run_of(shop), "belts").splitlines()
    assert len(lines) == 6
    assert all(UNICODE.reading in line for line in lines)
    wrong = text_of(run_of(shop, belts__1__card="A-014  P80 cloth X"), "belts").splitlines()
    assert wrong[0].index(UNICODE.reading) < wrong[0].index(UNICODE.inside)


def test_the_cut_picture_marks_the_least_and_the_cap_of_each_head(shop: Path) -> None:
    text = text_of(run_of(shop), "removal")
    assert "0.177 of 0.382 mm, 46%" in text
    assert text.count(UNICODE.vertical) == 3  # one a head, one in the legend


@pytest.mark.parametrize("station", ["belts", "tension", "removal", "test_board"])
@pytest.mark.parametrize(("width", "height"), [(58, 8), (36, 5), (30, 5), (20, 4), (5, 2), (100, 30)])
def test_pictures_keep_inside_their_room_at_any_size(shop: Path, station: str, width: int, height: int) -> None:
    run = run_of(shop)
    draw = run.station(station).picture
    assert draw is not None
    for charset in (UNICODE, ASCII):
        lines = draw(run, width, height, charset)
        assert len(lines) <= height
        assert all(width_of(line) <= width for line in lines)


DUE_ANSWERS = {
    "tension.leak": "0.1", "tension.supply": "6.4", "running.interlock": "start refused", "running.feed_timed": "10",
    "removal.test.before": "27.69", "removal.test.1": "27.51", "removal.test.2": "27.44",
}  # fmt: skip


def test_over_two_weeks_of_start_ups_each_day_asks_a_little_more_at_most_and_everything_comes_round(
    shop: Path, tmp_path: Path
) -> None:
    """Signed day by day at the desk; the weekly things and the maintenance spread themselves over the days."""
    own = Path(shutil.copytree(shop, tmp_path / "shop"))
    asked: list[set[str]] = []
    for days in (0, 1, 4, 5, 6, 7, 8, 11, 12):
        desk = opened(own, days)
        run = desk.load().run
        run = run.resumed({**run.typed, **YESTERDAY}, {}, {})
        more = [
            r for s in run.stations for r in run.rows(s.id) if r.asked and not r.optional and not run.typed.get(r.key)
        ]
        for row in more:
            swing, board = row.key.startswith("running.swing"), row.key.startswith("test_board")
            given = "2.0" if swing else "27.43" if board else DUE_ANSWERS.get(row.key)
            run = run.typing(row.key, given or row.choices[0].label)
        asked.append({row.key.split(".")[1] if "condition" not in row.key else row.label for row in more})
        assert run.releasable, [f.statement for s in run.stations for f in run.findings(s.id) if f.verdict > 1]
        desk.sign(run, Signing("D. Marrow", "I made this check at the machine."))
        desk.close()
    assert not any(asked[:4])
    assert set().union(*asked) >= {
        "leak",
        "supply",
        "interlock",
        "swing",
        "feed_timed",
        "test",
        "left",
        "due: drum run-out",
    }
    assert all(sum(label.startswith("due:") for label in day) <= 1 for day in asked)
    weekly = ({"leak", "supply"}, {"swing"}, {"feed_timed"}, {"test"}, {"left", "centre", "right"})
    assert all(sum(bool(day & one) for one in weekly) <= 1 for day in asked)


def test_a_thinnest_piece_typed_thicker_than_the_thickest_is_asked_again(shop: Path) -> None:
    def doubt(thickest: str, thinnest: str) -> str:
        run = run_of(shop, stock__thickest=thickest, stock__thinnest=thinnest)
        assert (run.verdict("stock") is Verdict.OPEN) is ("stock.thinnest" in run.unread)
        return next(row.doubt for row in run.rows("stock") if row.key == "stock.thinnest")

    assert "thicker than the thickest" in doubt("27.8", "28")
    assert doubt("28", "27.8") == ""
    assert doubt("28", "quux") == ""


def test_a_new_belt_is_measured_without_being_told_what_to_find(shop: Path) -> None:
    run = run_of(shop, belts__1__card="new belt")
    hints = {row.key: row.hint for row in run.rows("belts")}
    assert not any(sign.isdigit() for sign in hints["belts.1.length_left"])


def test_the_belts_picture_keeps_the_worst_bars_and_counts_the_others(shop: Path) -> None:
    whole = text_of(run_of(shop), "belts").splitlines()
    few = text_of(run_of(shop), "belts", height=4).splitlines()
    assert len(few) == 4
    assert len(whole) > 4
    assert set(few[:3]) < set(whole)
    assert few[3].startswith(f"{len(whole) - 3} more")


def test_a_hint_at_a_gate_names_what_is_judged_in_words(shop: Path) -> None:
    run = run_of(shop, extraction__static="400")
    assert not [row.hint for row in run.rows("extraction") if " model caution" in row.hint or " k " in row.hint]


def test_a_held_record_is_told_in_whole_sentences(shop: Path) -> None:
    from preflight.tui.carrying import _taken_over

    head = {"local": TODAY.isoformat(), "name": "R. Onslow"}
    why = {"what": "glue smeared", "told": "lead.", "tried": "scraped by hand"}
    _, said = _taken_over(run_of(shop), {"record": head, "held": why, "entries": ()}, TODAY)
    assert "R. Onslow: glue smeared. Told: lead. Tried: scraped by hand. " in said
