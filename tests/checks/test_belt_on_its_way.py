"""A belt before and during its life: kept, joined, washed and weighed, hours run, drift of its tension, the rack."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from builders import AT, SHEET, belt, changed, job, sheet, view
from why_panel import by_subject

from preflight.checks.backing import check as backing
from preflight.checks.belts import check as belts
from preflight.checks.belts.belt_choice import belts_for
from preflight.checks.finding import Finding, Verdict
from preflight.checks.tension import check as tension
from preflight.history import History, RunLog

DAY = timedelta(days=1)
PLAIN = changed(SHEET, {"at": None})
WET = {"washed": [{"hung": AT - 2 * DAY}], "measured": AT.date()}


def found(
    card: dict[str, Any] | None = None, changes: dict[str, Any] | None = None, history: History | None = None
) -> dict[str, Finding]:
    return by_subject(belts.check(sheet(changes), view(belt_1=card), history))


@pytest.mark.parametrize(("step", "verdict"), [("0.19 mm", Verdict.OK), ("0.21 mm", Verdict.CAUTION)])
def test_a_joint_step_on_the_sizing_head_is_never_a_stop(step: str, verdict: Verdict) -> None:
    assert found({"joint_step": step})["head 1 joint step"].verdict is verdict


def test_the_finishing_head_takes_a_smaller_joint_step() -> None:
    findings = by_subject(belts.check(sheet(), view(belt_2={"joint_step": "0.08 mm"}), None))
    assert findings["head 2 joint step"].verdict is Verdict.CAUTION
    assert "0.05 mm" in findings["head 2 joint step"].statement


@pytest.mark.parametrize(
    ("stored", "caution"), [("hung a day or more", False), ("straight from the box", True), ("folded or flat", True)]
)
def test_a_belt_that_was_not_hung_is_a_caution_with_how_to_keep_belts(stored: str, caution: bool) -> None:
    findings = found({"stored": stored})
    assert ("head 1 store" in findings) == caution
    if caution:
        assert "round peg" in findings["head 1 store"].remedy


@pytest.mark.parametrize(
    ("weighed", "verdict"),
    [
        ({"first": "1310 g", "hours_between": "4 h", "second": "1305 g"}, Verdict.OK),
        ({"first": "1310 g", "hours_between": "4 h", "second": "1295 g"}, Verdict.STOP),
        ({"first": "1310 g", "hours_between": "1 h", "second": "1310 g"}, Verdict.OPEN),
        (None, Verdict.OPEN),
    ],
)
def test_two_weighings_of_the_sheet_prove_a_washed_belt_dry(weighed: dict[str, str] | None, verdict: Verdict) -> None:
    """Within 0.5 % over at least 4 h: common practice, no source."""
    findings = found(WET, {"belts.1.weighed": weighed} if weighed else None)
    assert findings["head 1 dryness"].verdict is verdict


def test_hours_and_area_of_a_belt_come_from_the_records_with_it_on() -> None:
    other = changed(PLAIN, {"belts.1.card": "B-0400"})
    history = History(
        sheets=(other, PLAIN, PLAIN),
        times=(AT - 3 * DAY, AT - 2 * DAY, AT - DAY),
        runs=tuple(
            RunLog(AT - days * DAY + timedelta(hours=8), hours * 3600, 100.0)
            for days, hours in ((3, 7), (2, 5), (1, 6))
        ),
    )
    finding = found(history=history)["head 1 hours"]
    assert finding.verdict is Verdict.OK
    assert "about 11 h" in finding.statement
    assert "200 m2" in finding.statement
    assert "14 h on its card" in finding.statement


def test_small_steps_of_tension_over_many_start_ups_are_a_creep() -> None:
    """0.3 bar either way: common practice, no source."""
    gauges = [4.0 + 0.08 * n for n in range(5)]
    history = History(
        sheets=tuple(changed(PLAIN, {"tension.1": f"{gauge:.2f} bar"}) for gauge in gauges),
        times=tuple(AT - (5 - n) * DAY for n in range(5)),
    )
    findings = by_subject(tension.check(sheet({"tension.1": "4.4 bar"}), view(), history))
    assert findings["head 1 drift"].verdict is Verdict.OK
    assert findings["head 1 creep"].verdict is Verdict.CAUTION
    assert "crept up 0.4 bar over 5 start-ups" in findings["head 1 creep"].statement
    steady = by_subject(tension.check(sheet({"tension.1": "4.2 bar"}), view(), history))
    assert "head 1 creep" not in steady


def test_over_tension_disturbs_tracking_first_and_then_tears_paper() -> None:
    why = by_subject(tension.check(sheet({"tension.2": "4.2 bar"}), view(), None))["head 2"].workings
    assert why.index("disturbs tracking") < why.index("tears paper")
    order = [why.rindex(word) for word in ("tension,", "dust on the eye", "feed or cut", "air", "roller", "belt last")]
    assert order == sorted(order)


def test_belts_that_fit_head_and_job_come_first_and_the_others_say_why() -> None:
    shop = view()
    head = shop.machine.heads[0]
    cards = {
        "good": belt("1", {"id": "good"}),
        "coarse": belt("1", {"id": "coarse", "grit": "P36"}),
        "long": belt("1", {"id": "long", "length_left": "1930 mm", "length_right": "1930 mm"}),
        "other": belt("1", {"id": "other", "head": "2"}),
    }
    fits = belts_for(view_with(cards), head, job(), AT)
    assert [fit.ref for fit in fits if fit.fits] == ["good", "other"]
    reasons = {fit.ref: " ".join(fit.reasons) for fit in fits}
    assert reasons["good"] == ""
    assert "P36, 3 grades coarser than P60" in reasons["coarse"]
    assert "1930 mm is 23 mm over the limit" in reasons["long"]
    assert "card says head 2" in reasons["other"]


def test_a_job_that_orders_another_grit_takes_a_belt_off_the_list() -> None:
    shop = view_with({"good": belt("1", {"id": "good"})})
    head = shop.machine.heads[0]
    assert belts_for(shop, head, job({"grits.1": "P80"}), AT)[0].fits
    assert not belts_for(shop, head, job({"grits.1": "P120"}), AT)[0].fits


def view_with(cards: dict[str, Any]) -> Any:
    from dataclasses import replace

    return replace(view(), belts=cards)


def test_rubber_that_gets_harder_towards_the_finish_is_a_caution() -> None:
    """Harder rubber first, softer towards the finish: common practice, no source."""

    def judged(first: float, second: float) -> dict[str, Finding]:
        profile = {"heads.1.hardness_shore_a": first, "heads.2.hardness_shore_a": second}
        return by_subject(backing.check(sheet(), view(profile), None))

    assert "head 2 hardness" not in judged(80, 50)
    assert "head 2 hardness" not in judged(60, 60)
    finding = judged(50, 80)["head 2 hardness"]
    assert finding.verdict is Verdict.CAUTION
    assert "80 Shore A" in finding.statement
    assert "50 Shore A" in finding.statement


def test_a_platen_finishes_with_longer_scratches_and_a_softer_wider_contact() -> None:
    """Common practice, no source."""
    changes = {"belts.2.platen": "down"}
    finding = by_subject(backing.check(sheet(changes), view(belt_2={"grit": "P120"}), None))["head 2 platen grit"]
    assert finding.verdict is Verdict.STOP
    assert "longer scratches and softer, wider contact" in finding.remedy
