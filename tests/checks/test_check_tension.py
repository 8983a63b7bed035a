"""Tension: bands by backing, supply, leak, drift, and the pull that is shown."""

from __future__ import annotations

import math
from typing import Any

import pytest
from builders import belt, history, sheet, view
from why_panel import by_subject

from preflight.checks.finding import Finding, Verdict
from preflight.checks.tension import check as tension

OWN_BANDS_GONE: dict[str, Any] = {"heads.1.tension": {}}


def found(changes: dict[str, Any] | None = None, **shop: Any) -> dict[str, Finding]:
    earlier = shop.pop("earlier", None)
    return by_subject(tension.check(sheet(changes), view(shop.pop("machine", None), **shop), earlier))


def test_a_gauge_inside_its_own_band_is_ok_and_names_the_field_and_its_source() -> None:
    finding = found()["head 1"]
    assert finding.verdict is Verdict.OK
    assert finding.basis == "heads.1.tension.cloth X"
    assert finding.source == "machine book, rev. C"


def test_over_tension_on_paper_says_by_how_much_and_that_tracking_suffers_first() -> None:
    finding = found({"tension.2": "5.0 bar"})["head 2"]
    assert finding.verdict is Verdict.STOP
    assert "5.0 bar is 1.1 bar over the limit (3.2 to 3.9 bar)" in finding.statement
    assert "Let it down to 3.55 bar" in finding.remedy
    assert finding.workings.index("disturbs tracking") < finding.workings.index("tears paper")
    order = ["tension,", "dust on the eye", "feed or cut", "air,", "roller", "belt last"]
    assert [finding.workings.index(word) for word in order] == sorted(finding.workings.index(word) for word in order)


def test_low_tension_says_how_far_to_turn_it_up() -> None:
    finding = found({"tension.1": "3.0 bar"})["head 1"]
    assert finding.verdict is Verdict.STOP
    assert "0.9 bar below" in finding.statement
    assert "up slowly to 4.3 bar" in finding.remedy


def test_a_gauge_near_an_end_of_its_band_is_a_caution_with_actions() -> None:
    finding = found({"tension.1": "4.69 bar"})["head 1"]
    assert finding.verdict is Verdict.CAUTION
    assert 2 <= len(finding.actions) <= 4


# Common practice, no source: paper 45-55 psi, X cloth 55-65 psi, heavier cloth from 65 psi.
@pytest.mark.parametrize(
    ("backing", "reading", "verdict"),
    [
        ("paper", "50 psi", Verdict.OK),
        ("paper", "45 psi", Verdict.CAUTION),
        ("paper", "55 psi", Verdict.CAUTION),
        ("paper", "44 psi", Verdict.STOP),
        ("paper", "56 psi", Verdict.STOP),
        ("cloth X", "60 psi", Verdict.OK),
        ("cloth X", "54 psi", Verdict.STOP),
        ("cloth X", "66 psi", Verdict.STOP),
        ("cloth heavier", "64 psi", Verdict.STOP),
        ("cloth heavier", "70 psi", Verdict.OPEN),
        ("cloth light", "60 psi", Verdict.OPEN),
    ],
)
def test_common_practice_stands_in_where_the_profile_has_no_band(backing: str, reading: str, verdict: Verdict) -> None:
    finding = found(
        {"tension.1": reading},
        machine={**OWN_BANDS_GONE, "units": "inch"},
        belt_1={"backing": backing},
    )["head 1"]
    assert finding.verdict is verdict
    if backing != "cloth light":
        assert finding.source.startswith("default")
    if verdict is Verdict.STOP:
        assert "is 1 psi" in finding.statement


def test_heavier_cloth_without_an_upper_end_is_open_and_the_profile_must_name_it() -> None:
    finding = found({"tension.1": "70 psi"}, machine=OWN_BANDS_GONE, belt_1={"backing": "cloth heavier"})["head 1"]
    assert "no upper end" in finding.statement
    assert "profile must name the upper end (heads.1.tension.cloth heavier)" in finding.remedy


def test_heavier_cloth_with_the_profiles_own_band_is_judged() -> None:
    heavier = {"backing": "cloth heavier"}
    assert found({"tension.1": "5.1 bar"}, belt_1=heavier)["head 1"].verdict is Verdict.OK
    assert "0.2 bar over" in found({"tension.1": "5.8 bar"}, belt_1=heavier)["head 1"].statement


def test_light_cloth_with_a_band_of_its_own_is_judged_by_it() -> None:
    own = {"heads.1.tension.cloth light": {"low": "3.0 bar", "high": "3.6 bar"}}
    assert (
        found({"tension.1": "3.3 bar"}, machine=own, belt_1={"backing": "cloth light"})["head 1"].verdict is Verdict.OK
    )


def test_a_head_not_read_is_open_without_giving_the_band_away() -> None:
    finding = found({"tension.1": None})["head 1"]
    assert finding.verdict is Verdict.OPEN
    assert finding.asks == "tension.1"
    assert "bar" not in finding.statement + finding.remedy
    assert finding.low is None


def test_a_lifted_head_is_not_asked() -> None:
    assert found({"tension.1": None, "belts.1.lifted": True})["head 1"].verdict is Verdict.OK


def test_a_reading_without_a_named_belt_is_open() -> None:
    finding = found({"belts": []})["head 1"]
    assert finding.verdict is Verdict.OPEN
    assert "backing sets the band" in finding.remedy


def test_a_reading_nearer_to_the_limit_than_the_gauge_can_tell_cannot_decide() -> None:
    finding = found({"tension.1": "4.65 bar", "tension.gauge_resolution": "0.1 bar"})["head 1"]
    assert finding.verdict is Verdict.CAUTION
    assert "cannot decide" in finding.statement


def test_a_slip_of_the_unit_is_asked_beside_the_stop() -> None:
    findings = found({"tension.1": "60 bar"})
    assert findings["head 1"].verdict is Verdict.STOP
    assert findings["head 1 unit"].verdict is Verdict.OPEN
    assert "60 psi" in findings["head 1 unit"].statement


def test_the_running_reading_is_judged_by_the_same_band_and_only_when_read() -> None:
    assert "head 1 running" not in found()
    finding = found({"tension.running": {"1": "5.0 bar"}})["head 1 running"]
    assert finding.verdict is Verdict.STOP
    assert "0.3 bar over" in finding.statement


def test_supply_below_its_limit_is_a_stop_and_is_asked_only_when_read() -> None:
    assert "supply" not in found({"tension.supply": None})
    assert found()["supply"].verdict is Verdict.OK
    finding = found({"tension.supply": "5.0 bar"})["supply"]
    assert finding.verdict is Verdict.STOP
    assert "0.5 bar below" in finding.statement
    assert "drain the filter" in finding.remedy


def test_supply_that_no_limit_judges_is_a_caution_for_the_lead() -> None:
    finding = found(machine={"air": {}})["supply"]
    assert finding.verdict is Verdict.CAUTION
    assert "air.supply" in finding.remedy


@pytest.mark.parametrize(("fall", "verdict"), [("0.1 bar", Verdict.OK), ("0.3 bar", Verdict.CAUTION)])
def test_a_small_fall_in_two_minutes_holds(fall: str, verdict: Verdict) -> None:
    assert found({"tension.leak_fall": fall})["leak"].verdict is verdict


# Common practice, no source: 0.3 bar in two minutes.
def test_a_leak_beyond_the_default_is_a_stop_that_says_default() -> None:
    finding = found({"tension.leak_fall": "0.5 bar"}, machine={"air": {}})["leak"]
    assert finding.verdict is Verdict.STOP
    assert "0.2 bar over" in finding.statement
    assert "Find the leak" in finding.remedy
    assert finding.source.startswith("default")


def test_line_tension_is_shown_with_its_workings_and_never_judged() -> None:
    """Computed reference: two 63 mm cylinders, 3.0 bar, 1300 mm give 0.719364 N/mm."""
    finding = found(
        {"tension.1": "3.0 bar"},
        machine={"heads.1.cylinder": {"bore": "63 mm", "count": 2}},
        belt_1={"width": "1300 mm"},
    )["head 1 line tension"]
    assert finding.verdict is Verdict.OK
    assert finding.measured is not None
    assert not isinstance(finding.measured, str)
    assert finding.measured.to("N/mm") == pytest.approx(0.719364, abs=1e-6)
    assert "0.72 N/mm" in finding.statement
    assert "roller force" in finding.workings


def test_the_reference_in_inches_comes_out_too() -> None:
    """Computed reference: two 2.5 in cylinders, 45 psi, 52 in give 4.247947 lbf/in."""
    finding = found(
        {"tension.1": "45 psi"},
        machine={"heads.1.cylinder": {"bore": "2.5 in", "count": 2}, "units": "inch"},
        belt_1={"width": "52 in"},
    )["head 1 line tension"]
    assert finding.measured is not None
    assert not isinstance(finding.measured, str)
    assert finding.measured.to("lbf/in") == pytest.approx(4.247947, abs=1e-6)


def test_slip_power_follows_the_capstan_relation() -> None:
    """Belt friction (Euler-Eytelwein): F (e^mu.pi - 1) / (e^mu.pi + 1), here worked independently."""
    force = 4.3e5 * math.pi / 4 * 0.08**2 - 400
    speed = math.pi * 0.2 * 1480 / 60
    expected = force * math.tanh(0.3 * math.pi / 2) * speed / 1000
    assert f"{expected:.1f}".rstrip("0").rstrip(".") + " kW" in found()["head 1 line tension"].statement


def test_a_roller_that_eats_all_the_pull_is_slack() -> None:
    finding = found(machine={"heads.1.cylinder.roller_force": "-4000 N"})["head 1 line tension"]
    assert finding.verdict is Verdict.STOP
    assert "slack" in finding.statement
    assert "Do not start" in finding.remedy


def test_no_cylinder_in_the_profile_shows_no_line_tension() -> None:
    assert "head 1 line tension" not in found(machine={"heads.1.cylinder": None})


def test_a_gauge_that_moved_since_the_last_start_up_with_this_belt_asks_why() -> None:
    earlier = history(sheets=({"belts": [{"head": "1", "card": "B-0412"}], "tension": {"1": "3.95 bar"}},))
    finding = found(earlier=earlier)["head 1 drift"]
    assert finding.verdict is Verdict.CAUTION
    assert "up 0.35 bar" in finding.statement
    assert "3.95 bar" in finding.statement


def test_drift_is_not_judged_against_another_belt_or_an_unreadable_record() -> None:
    for card, text in (("B-0001", "3.9 bar"), ("B-0412", "much")):
        earlier = history(sheets=({"belts": [{"head": "1", "card": card}], "tension": {"1": text}},))
        assert "head 1 drift" not in found(earlier=earlier)


def test_a_belt_card_without_its_width_takes_the_middle_of_the_window() -> None:
    assert belt("1", {"width": None}).width is None
    assert "middle of the window" in found(belt_1={"width": None})["head 1 line tension"].workings
