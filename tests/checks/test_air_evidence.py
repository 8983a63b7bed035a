"""Readings made into flows: by which formula, at which strength, and which readings tell nothing."""

from __future__ import annotations

from math import pi, sqrt
from typing import Any

import pytest
from builders import sheet, view

from preflight.checks.extraction.air_evidence import AirEvidence, evidence

AREA = pi * 0.2**2 / 4
"""m2, the 200 mm drop of gate bay-two-1."""


def known(reading: dict[str, Any] | None, **ducts: Any) -> AirEvidence:
    readings = [] if reading is None else [{"gate": "bay-two-1", **reading}]
    found = evidence(sheet({"extraction.readings": readings}), view(ducts=ducts))
    assert found is not None
    return found


def flow(reading: dict[str, Any], **ducts: Any) -> float:
    return known(reading, **ducts).measured["bay-two-1"].flow


def test_a_velocity_is_times_the_area_of_the_pipe_it_was_read_in() -> None:
    assert flow({"velocity": "20 m/s"}) == pytest.approx(20 * AREA)
    assert flow({"velocity": "20 m/s", "diameter": "100 mm"}) == pytest.approx(20 * AREA / 4)
    # 8 in at 4000 fpm is 1396 cfm: velocity times area, as in any handbook of industrial ventilation
    eight = {"velocity": "4000 fpm", "diameter": "8 in"}
    assert flow(eight) * 2118.880003 == pytest.approx(1396, abs=0.5)


def test_a_velocity_pressure_gives_v_of_4005_times_its_root() -> None:
    # V fpm = 4005·√(VP in wg), standard air: "Useful equations" sheet of industrial ventilation, secondary copy
    ducts = {"air": {"temperature": "70 °F", "altitude": "0 m"}}
    found = flow({"velocity_pressure": "1 in wg"}, **ducts)
    assert found == pytest.approx(4005 * 0.00508 * AREA, rel=2e-3)
    assert flow({"velocity_pressure": "-1 in wg"}, **ducts) == found


def test_a_hood_static_goes_by_the_root_of_its_share_of_the_baseline() -> None:
    # -36 % static is -20 % flow: Q ∝ √SP
    assert flow({"hood_static": "307.2 Pa"}) == pytest.approx(0.8 * 2500 / 3600)
    assert flow({"hood_static": "-307.2 Pa"}) == pytest.approx(0.8 * 2500 / 3600)


def test_without_a_baseline_a_hood_static_goes_by_the_hoods_loss() -> None:
    found = known({"hood_static": "450 Pa"}, **{"gates.1.hood_static": None})
    velocity = sqrt(2 * 450 / (1 + 0.5) / found.network.air.density)
    assert found.measured["bay-two-1"].flow == pytest.approx(velocity * AREA)
    assert "hood K 0.5" in found.measured["bay-two-1"].how


def test_the_strongest_figure_of_a_reading_counts_where_they_agree() -> None:
    every = {"hood_static": "480 Pa", "flow": "2600 m3/h", "velocity": "22 m/s", "velocity_pressure": "300 Pa"}
    assert "VP" in known(every).measured["bay-two-1"].how
    every.pop("velocity_pressure")
    assert "V·A" in known(every).measured["bay-two-1"].how
    every.pop("velocity")
    assert flow(every) == pytest.approx(2600 / 3600)
    assert not known(every).apart


def test_of_figures_that_do_not_agree_the_lower_one_counts() -> None:
    both = {"hood_static": "30 Pa", "velocity": "25 m/s"}
    assert flow(both) == pytest.approx(2500 / 3600 * sqrt(30 / 480))
    assert "bay-two-1" in known(both).apart
    twice = [{"gate": "bay-two-1", "velocity": "10 m/s"}, {"gate": "bay-two-1", "velocity": "25 m/s"}]
    for readings in (twice, twice[::-1]):
        found = evidence(sheet({"extraction.readings": readings}), view())
        assert found is not None
        assert found.measured["bay-two-1"].flow == pytest.approx(10 * AREA)


@pytest.mark.parametrize(
    "reading",
    [{"hood_static": "9300 Pa"}, {"velocity": "930 m/s"}, {"flow": "250000 m3/h"}, {"velocity_pressure": "4 kPa"}],
)
def test_a_figure_beyond_the_fan_cannot_be_and_leaves_the_flow_unknown(reading: dict[str, Any]) -> None:
    found = known(reading)
    assert "bay-two-1" in found.impossible
    assert found.flow("bay-two-1") is None
    # beside it a figure that can be still counts
    assert known(
        {**reading, "flow": "2000 m3/h"} if "flow" not in reading else {**reading, "velocity": "18 m/s"}
    ).measured


def test_a_blocked_hoods_static_counts_for_nothing_but_a_speed_beside_it_does() -> None:
    blocked = known({"hood_static": "2000 Pa"})
    assert blocked.suctions["bay-two-1"].is_blocked
    assert "bay-two-1" not in blocked.measured
    assert "bay-two-1" in known({"hood_static": "2000 Pa", "velocity": "15 m/s"}).measured


@pytest.mark.parametrize("reading", [{}, {"velocity": "20 m/s", "diameter": "0 mm"}])
def test_a_reading_that_tells_no_flow_is_named(reading: dict[str, Any]) -> None:
    assert "bay-two-1" in known(reading).unread


def test_a_gate_of_no_profile_is_named_not_an_error() -> None:
    found = evidence(sheet({"extraction.readings": [{"gate": "lathe", "flow": "10 m3/h"}]}), view())
    assert found is not None
    assert "not in the extraction profile" in found.unread["lathe"]


def test_todays_filter_drop_lowers_every_modelled_flow() -> None:
    clean = evidence(sheet({"extraction.filter_drop": None}), view())
    dirty = evidence(sheet({"extraction.filter_drop": "700 Pa"}), view())
    assert clean is not None
    assert dirty is not None
    assert dirty.modelled.filter_drop == pytest.approx(700, rel=1e-6)
    assert all(dirty.modelled.gates[g].flow < clean.modelled.gates[g].flow for g in clean.modelled.gates)


def test_no_answer_on_gates_is_no_evidence() -> None:
    assert evidence(sheet({"extraction.open": None}), view()) is None


def test_best_known_is_the_reading_then_the_model() -> None:
    found = known({"flow": "2000 m3/h"})
    assert found.flow("bay-two-1") == pytest.approx(2000 / 3600)
    assert found.flow("bay-two-2") == found.modelled.gates["bay-two-2"].flow
