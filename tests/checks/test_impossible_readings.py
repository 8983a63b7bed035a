"""Readings that cannot be are asked about before they count; one that can, however bad, gets no other one offered."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from builders import AT, history, sheet, view

from preflight.checks.extraction import check as extraction
from preflight.checks.finding import Verdict
from preflight.checks.glue import check as glue
from preflight.checks.running import check as running
from preflight.checks.stock import check as stock
from preflight.checks.tension import check as tension
from preflight.checks.test_board import check as test_board

if TYPE_CHECKING:
    from collections.abc import Callable

    from preflight.checks.finding import Finding


def found(check: Callable[..., list[Finding]], changes: dict[str, Any]) -> dict[str, Finding]:
    return {finding.subject: finding for finding in check(sheet(changes), view(), None)}


@pytest.mark.parametrize("text", ["0 s", "0.2 s", "0.49 s"])
def test_a_drum_that_stops_in_no_time_was_not_timed(text: str) -> None:
    finding = found(running.check, {"running.stop.seconds.1": text})["head 1 stop"]
    assert finding.verdict is Verdict.OPEN
    assert text in finding.statement
    assert "cannot be" in finding.statement
    assert finding.measured is not None
    assert finding.asks == "running.stop.seconds.1"


def test_a_quick_brake_is_still_a_brake() -> None:
    assert found(running.check, {"running.stop.seconds.1": "0.5 s"})["head 1 stop"].verdict is not Verdict.OPEN


@pytest.mark.parametrize("text", ["14 s", "65 s", "100 s"])
def test_a_stop_that_takes_too_long_is_a_stop_and_never_a_slip(text: str) -> None:
    findings = found(running.check, {"running.stop.seconds.1": text})
    assert findings["head 1 stop"].verdict is Verdict.STOP
    assert not any(finding.meant or "meant?" in finding.statement for finding in findings.values())


def test_no_shops_air_has_that() -> None:
    finding = found(tension.check, {"tension.supply": "62 bar"})["supply"]
    assert finding.verdict is Verdict.OPEN
    assert "62 bar cannot be" in finding.statement


def test_a_bin_read_as_less_than_a_hundredth_is_asked_about() -> None:
    finding = found(extraction.check, {"extraction.bin_full": 0.0095})["bin"]
    assert finding.verdict is Verdict.OPEN
    assert "0.95 %" in finding.statement
    assert "95 %" in finding.statement
    assert finding.measured is not None
    for share, verdict in ((0.0, Verdict.OK), (0.01, Verdict.OK), (0.95, Verdict.STOP)):
        assert found(extraction.check, {"extraction.bin_full": share})["bin"].verdict is verdict


@pytest.mark.parametrize("text", ["10 mm", "1 mm", "0 mm", "1 in"])
def test_no_caliper_reads_to_that(text: str) -> None:
    finding = found(stock.check, {"stock.instrument.resolution": text})["instrument"]
    assert finding.verdict is Verdict.OPEN
    assert text in finding.statement
    assert finding.measured is not None


@pytest.mark.parametrize("text", ["0.01 mm", "0.001 mm", "0.1 mm", "0.5 mm", "1/64 in"])
def test_a_calipers_step_is_taken(text: str) -> None:
    assert "instrument" not in found(stock.check, {"stock.instrument.resolution": text})


@pytest.mark.parametrize("text", ["0 Pa", "35 Pa", "120 Pa"])
def test_a_filter_drop_far_below_the_clean_one_is_asked_about_and_changes_no_flow(text: str) -> None:
    """The clean filter drops 210 Pa at 6000 m3/h: 150 Pa from the cloth, 60 from its housing."""
    without = {"extraction.readings": None, "extraction.filter_drop": None}
    clean = found(extraction.check, without)
    findings = found(extraction.check, {**without, "extraction.filter_drop": text})
    finding = findings["filter"]
    assert finding.verdict is Verdict.OPEN
    assert text in finding.statement
    assert "clean" in finding.statement
    assert finding.measured is not None
    assert findings["gate bay-two-1"].measured == clean["gate bay-two-1"].measured


LITTLE = "200 Pa"
"""About 0.7 times what the clean filter drops with both gates open."""


def test_below_the_clean_drop_with_the_air_that_the_ducts_promise_it_is_the_gauge() -> None:
    read = {"extraction.readings": [{"gate": "bay-two-1", "flow": "3700 m3/h"}]}
    finding = found(extraction.check, {**read, "extraction.filter_drop": LITTLE})["filter"]
    assert finding.verdict is Verdict.OPEN
    assert "cannot be" in finding.statement


@pytest.mark.parametrize("read", [None, [{"gate": "bay-two-1", "flow": "1700 m3/h"}]])
def test_below_the_clean_drop_with_less_air_or_none_read_it_can_be(read: list[dict[str, str]] | None) -> None:
    finding = found(extraction.check, {"extraction.readings": read, "extraction.filter_drop": LITTLE})["filter"]
    assert finding.verdict is Verdict.CAUTION
    assert finding.actions
    assert "less air flows than the ducts say" in finding.statement


def test_a_clean_filter_a_little_below_its_figure_is_clean() -> None:
    assert found(extraction.check, {"extraction.filter_drop": "265 Pa"})["filter"].verdict is Verdict.OK


@pytest.mark.parametrize(("texts", "subject"), [(["0 mm", "27.6 mm"], "thinnest"), (["0 mm", "0 mm"], "thinnest")])
def test_a_piece_of_no_thickness_was_not_measured(texts: list[str], subject: str) -> None:
    finding = found(stock.check, {"stock.thickness": texts})[subject]
    assert finding.verdict is Verdict.OPEN
    assert "0 mm" in finding.statement
    assert finding.measured is not None


@pytest.mark.parametrize("key", ["after", "before"])
def test_a_board_of_no_thickness_was_not_measured(key: str) -> None:
    findings = found(test_board.check, {f"test_board.readings.1.{key}": "0 mm"})
    finding = findings["thickness"]
    assert finding.verdict is Verdict.OPEN
    assert "0 mm" in finding.statement
    assert not any("adjuster" in other.remedy for other in findings.values())


# swapped


def test_gauges_that_fit_each_others_band_are_named_as_swapped() -> None:
    """Head 1 has cloth X on, 3.9 to 4.7 bar, head 2 paper, 3.2 to 3.9 bar."""
    findings = found(tension.check, {"tension.1": "3.5 bar", "tension.2": "4.3 bar"})
    for head, other in (("1", "2"), ("2", "1")):
        finding = findings[f"head {head}"]
        assert finding.verdict is Verdict.STOP
        assert f"fits head {other}" in finding.statement
        assert "swapped?" in finding.statement
        assert "each at its own head" in finding.remedy
        assert "regulator" not in finding.remedy


@pytest.mark.parametrize(("one", "two"), [("3.5 bar", "3.5 bar"), ("4.3 bar", "4.3 bar"), ("5.3 bar", "4.3 bar")])
def test_a_gauge_that_is_wrong_alone_is_not_swapped(one: str, two: str) -> None:
    findings = found(tension.check, {"tension.1": one, "tension.2": two})
    assert not any("swapped" in finding.statement for finding in findings.values())


SECOND = {"test_board.readings.1.after": "27.15 mm", "test_board.readings.3.after": "27.45 mm"}


def board(left: str, right: str) -> Finding:
    """Left 27.15 mm and right 27.45 mm after the first pass, and these after the second."""
    seconds = {"test_board.readings.1.second": left, "test_board.readings.3.second": right}
    return found(test_board.check, {**SECOND, **seconds})["second pass"]


def test_a_second_pass_read_left_for_right_is_named_as_swapped() -> None:
    finding = board("27.44 mm", "27.14 mm")
    assert finding.verdict is Verdict.OPEN
    assert "left and right swapped?" in finding.statement


def test_a_second_pass_that_adds_wood_is_asked_about() -> None:
    finding = board("27.35 mm", "27.44 mm")
    assert finding.verdict is Verdict.OPEN
    assert "thicker" in finding.statement
    assert "swapped" not in finding.statement


def test_a_second_pass_as_it_should_be_is_not_asked_about() -> None:
    assert board("27.14 mm", "27.44 mm").verdict is Verdict.OK


def test_the_taper_of_the_last_board_the_other_way_round_is_named() -> None:
    read = sheet(SECOND).test_board.readings
    last = {"test_board": {"readings": [{"x": one.x.text, "after": one.after.text} for one in read]}}
    now = {"test_board.readings.1.after": "27.44 mm", "test_board.readings.3.after": "27.14 mm"}
    past = history(sheets=(last,), times=(AT,))
    taper = next(one for one in test_board.check(sheet(now), view(), past) if one.subject == "taper")
    assert taper.verdict is Verdict.STOP
    assert "left and right swapped?" in taper.statement
    alone = found(test_board.check, now)["taper"]
    assert "swapped" not in alone.statement


# a reading that can be gets no other one offered


@pytest.mark.parametrize(
    ("check", "changes"),
    [
        (glue.check, {"glue.bead_height": "2 mm"}),
        (glue.check, {"glue.bead_height": "5 mm"}),
        (tension.check, {"tension.1": "0.42 bar"}),
        (tension.check, {"tension.supply": "0.6 bar"}),
        (tension.check, {"tension.leak_fall": "2 bar"}),
        (stock.check, {"stock.shortest": "37 mm"}),
        (stock.check, {"stock.narrowest": "6 mm"}),
        (running.check, {"running.idle_current.1": "15 A"}),
    ],
)
def test_a_bad_reading_that_can_be_is_taken_at_its_word(
    check: Callable[..., list[Finding]], changes: dict[str, Any]
) -> None:
    findings = found(check, changes)
    assert any(finding.verdict in (Verdict.STOP, Verdict.CAUTION) for finding in findings.values())
    assert [finding.statement for finding in findings.values() if finding.meant or "meant?" in finding.statement] == []


@pytest.mark.parametrize(
    ("check", "changes", "meant"),
    [
        (tension.check, {"tension.1": "42 bar"}, "4.2 bar"),
        (tension.check, {"tension.1": "60 bar"}, "60 psi"),
        (tension.check, {"tension.leak_fall": "25 bar"}, ""),
        (running.check, {"running.idle_current.1": "95 A"}, "9.5 A"),
    ],
)
def test_a_reading_that_cannot_be_gets_the_likely_one_offered(
    check: Callable[..., list[Finding]], changes: dict[str, Any], meant: str
) -> None:
    assert [finding.meant for finding in found(check, changes).values() if finding.meant] == [meant] * bool(meant)
