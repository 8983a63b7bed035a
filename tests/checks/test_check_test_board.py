"""Test board: taper, crown, what the caliper proves, removal reached, snipe, second pass, raking light."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from builders import AT, history, sheet, view
from why_panel import by_subject

from preflight.checks.finding import Finding, Verdict
from preflight.checks.test_board import check as board
from preflight.checks.test_board.board_readings import board_of
from preflight.checks.test_board.raking_light import SYMPTOMS, symptom_of

PLACES = ("60 mm", "470 mm", "880 mm")


def readings(*after: float, before: float = 27.90, **more: Any) -> list[dict[str, Any]]:
    step = 820 / (len(after) - 1)
    return [
        {"x": f"{60 + n * step:.0f} mm", "before": f"{before} mm", "after": f"{t} mm", **more}
        for n, t in enumerate(after)
    ]


def found(
    *after: float,
    changes: dict[str, Any] | None = None,
    machine: dict[str, Any] | None = None,
    job: dict[str, Any] | None = None,
    earlier: Any = None,
    **more: Any,
) -> dict[str, Finding]:
    taken = {"test_board.readings": readings(*after, **more)} if after else {}
    return by_subject(board.check(sheet({**taken, **(changes or {})}), view(machine, job_changes=job), earlier))


def test_a_sheet_in_order_has_only_ok_findings() -> None:
    findings = found()
    assert {f.verdict for f in findings.values()} == {Verdict.OK}
    assert {"taper", "crown", "removal", "raking light"} <= set(findings)


# Common practice, no source: up to 0.10 mm good, to 0.20 mm look, beyond stop.
@pytest.mark.parametrize(("right", "verdict"), [(27.53, Verdict.OK), (27.60, Verdict.CAUTION), (27.70, Verdict.STOP)])
def test_taper_is_good_to_a_tenth_and_stops_beyond_two(right: float, verdict: Verdict) -> None:
    assert found(27.45, (27.45 + right) / 2, right)["taper"].verdict is verdict


def test_a_taper_names_the_thick_side_the_swap_test_and_the_adjusters_way() -> None:
    """Worked by hand: 0.25 mm over 820 mm between readings, adjusters 1050 mm apart: 0.32 mm."""
    finding = found(27.45, 27.575, 27.70)["taper"]
    assert "right side thicker: 0.25 mm is 0.05 mm over the limit (at most 0.2 mm)" in finding.statement
    assert finding.remedy.startswith("Swap the strips left for right first")
    assert "raise the bed 0.32 mm at the right adjuster" in finding.remedy
    lowered = found(27.70, 27.575, 27.45, machine={"conveyor.adjuster_moves": "head"})["taper"]
    assert "lower the head 0.32 mm at the left adjuster" in lowered.remedy


def test_without_adjuster_spacing_the_machine_book_says_how_far() -> None:
    finding = found(27.45, 27.575, 27.70, machine={"conveyor.adjuster_spacing": None})["taper"]
    assert "as the machine book says" in finding.remedy


def test_a_crown_thick_in_the_middle_points_at_tension_drum_and_feed_places() -> None:
    finding = found(27.45, 27.70, 27.45)["crown"]
    assert finding.verdict is Verdict.STOP
    assert "thicker in the middle: 0.25 mm is 0.05 mm over" in finding.statement
    assert "Tension into its band first" in finding.remedy
    assert "down the middle" in finding.remedy


def test_a_crown_thin_in_the_middle_points_at_the_bed() -> None:
    finding = found(27.55, 27.40, 27.55)["crown"]
    assert finding.verdict is Verdict.CAUTION
    assert "straight edge on the bed" in finding.remedy


def test_taper_and_crown_agree_with_numpy_least_squares() -> None:
    """Reference: numpy.polynomial least squares of degree 2."""
    after = [27.412, 27.455, 27.431, 27.478, 27.462, 27.509, 27.448]
    x = np.array([60 + n * 820 / 6 for n in range(7)]).round()
    fit = np.polynomial.Polynomial.fit(x, np.array(after), 2)
    ends, middle = fit(np.array([60.0, 880.0])), fit(470.0)
    made = board_of(sheet({"test_board.readings": readings(*after)}))
    assert made is not None
    taper, crown = made.fit.taper(), made.fit.crown()
    assert taper is not None
    assert crown is not None
    assert taper.value * 1e3 == pytest.approx(ends[1] - ends[0], abs=1e-9)
    assert crown.value * 1e3 == pytest.approx(middle - ends.mean(), abs=1e-9)


def test_a_coarse_caliper_cannot_prove_a_fine_limit_and_the_finding_says_so() -> None:
    findings = found(
        27.4,
        27.4,
        27.4,
        changes={"stock.instrument": {"name": "vernier", "resolution": "0.1 mm"}},
        machine={"test_board.taper": {"high": "0.10 mm"}},
    )
    finding = findings["taper"]
    assert finding.verdict is Verdict.CAUTION
    assert "these readings cannot prove the limit (at most 0.1 mm)" in finding.statement
    assert "finer instrument, to 0.05 mm" in finding.remedy


def test_the_same_readings_with_a_fine_caliper_prove_it() -> None:
    assert found(27.4, 27.4, 27.4, machine={"test_board.taper": {"high": "0.10 mm"}})["taper"].verdict is Verdict.OK


def test_a_taper_over_its_limit_stays_a_stop_whatever_the_caliper() -> None:
    coarse = {"stock.instrument": {"resolution": "0.1 mm"}}
    assert found(27.4, 27.5, 27.7, changes=coarse)["taper"].verdict is Verdict.STOP


def test_an_instrument_that_is_not_named_is_open() -> None:
    finding = found(changes={"stock.instrument": None})["instrument"]
    assert finding.verdict is Verdict.OPEN
    assert finding.asks == "stock.instrument"


def test_parts_glued_up_side_by_side_halve_the_limits() -> None:
    alone, glued = (found(27.45, 27.51, 27.57, job={"glued_up_side_by_side": g})["taper"] for g in (False, True))
    assert alone.verdict is Verdict.CAUTION
    assert glued.verdict is Verdict.STOP
    assert "at most 0.1 mm" in glued.statement
    assert "glued up side by side" in glued.source


def test_glued_up_parts_show_a_hollow_that_single_boards_hide() -> None:
    """Narrow parts over a hollow of 0.08 mm: each hides less than half of what a joint can show."""
    job = {"glued_up_side_by_side": True, "parts.1.width": "60 mm"}
    findings = found(27.45, 27.53, 27.45, job=job)
    assert "glued up" not in found()
    assert findings["glued up"].verdict is Verdict.OK
    assert "step of 0.08 mm" in findings["glued up"].statement
    assert findings["crown"].verdict is Verdict.CAUTION


@pytest.mark.parametrize("count", [0, 1, 2])
def test_fewer_than_three_places_are_open(count: int) -> None:
    finding = found(changes={"test_board.readings": readings(27.4, 27.4, 27.4)[:count]})["thickness"]
    assert finding.verdict is Verdict.OPEN
    assert "left, centre and right" in finding.remedy


def test_three_readings_at_two_places_are_open() -> None:
    same = [*readings(27.4, 27.5), readings(27.4, 27.5)[0]]
    assert "measured at 2 places" in found(changes={"test_board.readings": same})["thickness"].statement


def test_removal_short_of_the_plan_says_by_how_much_and_which_way() -> None:
    finding = found(27.70, 27.70, 27.70)["removal"]
    assert finding.verdict is Verdict.STOP
    assert "Removal 0.2 mm, planned 0.45 mm: the difference of 0.25 mm is 0.05 mm over" in finding.statement
    assert "close the opening by 0.25 mm" in finding.remedy
    assert "open the opening by 0.15 mm" in found(27.30, 27.30, 27.30)["removal"].remedy


def test_the_longest_sentence_on_removal_fits_the_why_panel_in_inches() -> None:
    inches = {"units": "inch"}
    finding = found(27.60, 27.60, 27.60, machine=inches)["removal"]
    assert finding.verdict is Verdict.CAUTION
    assert "0.0059 in" in finding.statement


def test_several_passes_are_compared_with_the_first_one() -> None:
    plan = {"removal.share": None, "removal.passes": None, "stock.thickness": ["29.0 mm"]}
    finding = found(28.5, 28.5, 28.5, before=29.0, changes=plan)["removal"]
    assert finding.verdict is Verdict.OK
    assert "of the first pass 0.5 mm" in finding.statement


def test_a_board_not_measured_before_or_without_a_plan_is_open() -> None:
    bare = [{"x": x, "after": "27.45 mm"} for x in PLACES]
    assert found(changes={"test_board.readings": bare})["removal"].asks == "test_board.readings.before"
    assert found(changes={"removal.share": None, "job": None})["removal"].verdict is Verdict.OPEN


def test_scatter_that_the_instrument_does_not_explain_is_a_caution() -> None:
    assert "residual" not in found()
    smooth = found(27.45, 27.45, 27.45, 27.45, 27.46)["residual"]
    assert smooth.verdict is Verdict.OK
    rough = found(27.45, 27.53, 27.42, 27.55, 27.44)["residual"]
    assert rough.verdict is Verdict.CAUTION
    assert "groove" in rough.remedy


def test_snipe_names_the_worst_end() -> None:
    assert "snipe" not in found()
    finding = found(27.45, 27.45, 27.45, ends=["27.44 mm", "27.25 mm"])["snipe"]
    assert finding.verdict is Verdict.STOP
    assert "trailing end thinner at 60 mm: 0.2 mm is 0.05 mm over" in finding.statement
    assert "on its way out" in finding.remedy


# Common practice, no source: at most 0.05 mm, look from 0.03 mm.
@pytest.mark.parametrize(("second", "verdict"), [(27.44, Verdict.OK), (27.41, Verdict.CAUTION), (27.38, Verdict.STOP)])
def test_a_second_pass_that_still_takes_wood_means_something_gives(second: float, verdict: Verdict) -> None:
    finding = found(27.45, 27.45, 27.45, second=f"{second} mm")["second pass"]
    assert finding.verdict is verdict
    assert finding.source.startswith("default")
    assert verdict is Verdict.OK or "Something gives" in finding.remedy or "cannot prove" in finding.statement


def test_raking_light_not_used_is_open_and_clean_is_ok() -> None:
    assert found(changes={"test_board.raking_light": ""})["raking light"].verdict is Verdict.OPEN
    assert found(changes={"test_board.raking_light": "Clean"})["raking light"].verdict is Verdict.OK


@pytest.mark.parametrize(
    ("seen", "verdict", "test"),
    [
        ("burn line at 300 mm", Verdict.STOP, "raised to the finger"),
        ("faint dull streak", Verdict.CAUTION, "Turn the platen pad"),
        ("chatter", Verdict.STOP, "feed by 25 %"),
        ("something odd", Verdict.CAUTION, "which head leaves it"),
    ],
)
def test_a_symptom_comes_with_its_first_test(seen: str, verdict: Verdict, test: str) -> None:
    finding = found(changes={"test_board.raking_light": seen})["raking light"]
    assert finding.verdict is verdict
    assert seen in finding.statement
    assert test in finding.remedy


def test_every_symptom_is_found_by_its_own_words() -> None:
    assert all(symptom_of(symptom.words) is symptom for symptom in SYMPTOMS)


def weeks(*middles: float, apart: int = 7) -> Any:
    tables = [
        {
            "test_board": {
                "readings": [{"x": x, "after": f"{t} mm"} for x, t in zip(PLACES, (27.45, middle, 27.45), strict=True)]
            }
        }
        for middle in middles
    ]
    times = tuple(AT - timedelta(days=apart * (len(middles) - n)) for n in range(len(middles)))
    return history(sheets=tuple(tables), times=times)


def test_a_crown_week_after_week_hints_at_a_hollow_drum_and_the_feed_places() -> None:
    finding = found(27.45, 27.53, 27.45, earlier=weeks(27.52, 27.52, 27.53))["crown over weeks"]
    assert finding.verdict is Verdict.CAUTION
    assert "0.07 mm or more" in finding.statement
    assert "hollow" in finding.remedy
    assert "feed places" in finding.remedy


@pytest.mark.parametrize(
    ("today", "earlier"),
    [(27.45, weeks(27.53, 27.53, 27.53)), (27.53, weeks(27.53, 27.53)), (27.53, weeks(27.53, 27.53, 27.53, apart=1))],
)
def test_a_crown_gone_or_young_hints_at_nothing(today: float, earlier: Any) -> None:
    assert "crown over weeks" not in found(27.45, today, 27.45, earlier=earlier)
