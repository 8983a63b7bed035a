"""An extraction profile as a network: malformed trees named in one message, materials and fittings, units."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
import tomli_w
from builders import EXTRACTION, MACHINE, changed, extraction, sheet

from preflight.engine.airflow import solve
from preflight.engine.fittings import FITTINGS, MATERIALS
from preflight.shop.consistency import extraction_problems
from preflight.shop.duct_network import network
from preflight.shop.extraction import Extraction
from preflight.shop.files import load
from preflight.shop.folder import shop_at
from preflight.shop.problems import FileProblemsError

if TYPE_CHECKING:
    from pathlib import Path

MALFORMED: list[tuple[dict[str, Any], str]] = [
    ({"runs.5.into": "attic"}, "run 'saw' leads into 'attic', which does not exist"),
    ({"runs.2.into": "b2-drop-1"}, "lead in a circle"),
    ({"runs.5.into": "collector"}, "only one run may lead into the collector, not 2: main, saw"),
    ({"runs.5.diameter": "0 mm"}, "diameter of run 'saw' must be more than zero"),
    ({"fan.3": ["8000 m3/h", "3200 Pa"]}, "the fan curve rises at point 3, from 3150 to 3200 Pa"),
    ({"fan.3": ["4000 m3/h", "2600 Pa"]}, "the fan curve's flows must rise: point 3 does not"),
    ({"gates.3.run": "attic"}, "gate 'saw' opens into run 'attic', which does not exist"),
    ({"gates.3.id": "bay-two-1"}, "gate 'bay-two-1' is given 2 times"),
    ({"runs.1.into": "saw"}, "no run leads into the collector"),
    (
        {"runs.5.fittings": [{"kind": "elbow 90, R/D 1,5"}]},
        "run 'saw': fitting 'elbow 90, R/D 1,5' without its own k is not known, did you mean 'elbow 90, R/D 1.5'?",
    ),
    (
        {"runs.5.roughness": None, "runs.5.material": "galvanized"},
        "run 'saw': material 'galvanized' is not known, did you mean 'galvanised'?",
    ),
]


@pytest.mark.parametrize(("wrong", "message"), MALFORMED)
def test_a_malformed_duct_system_is_named(wrong: dict[str, Any], message: str) -> None:
    problems = [str(problem) for problem in extraction_problems(extraction(wrong))]
    assert any(message in problem for problem in problems), problems


def test_everything_that_is_wrong_stands_in_one_message_of_the_profile_loader(tmp_path: Path) -> None:
    wrong = {
        "runs.5.diameter": "0 mm",
        "runs.4.into": "attic",
        "fan.3": ["8000 m3/h", "3200 Pa"],
        "runs.3.fittings": [{"kind": "elbow 99"}],
        "gates.1.run": "cellar",
    }
    (tmp_path / "extraction").mkdir()
    file = tmp_path / "extraction" / "north-hall.toml"
    file.write_text(tomli_w.dumps(changed(EXTRACTION, wrong)), encoding="utf-8")
    ducts = load(file, Extraction).value
    with pytest.raises(ValueError) as caught:
        network(ducts)
    for part in ("diameter of run 'saw'", "'attic'", "curve rises", "'elbow 99'", "'cellar'"):
        assert part in str(caught.value)
    machine = tmp_path / "machine.toml"
    machine.write_text(tomli_w.dumps(MACHINE), encoding="utf-8")
    with pytest.raises(FileProblemsError) as refused:
        shop_at(tmp_path).view(sheet({"job": None, "belts": []}), machine=str(machine))
    assert refused.value.exit_status == 3
    assert "north-hall.toml" in str(refused.value)
    assert "'attic'" in str(refused.value)


def test_fewer_than_four_fan_points_are_refused(tmp_path: Path) -> None:
    file = tmp_path / "ducts.toml"
    file.write_text(tomli_w.dumps(changed(EXTRACTION, {"fan.4": None})), encoding="utf-8")
    with pytest.raises(FileProblemsError, match="fan"):
        load(file, Extraction)


def test_fittings_count_by_kind_by_number_or_by_their_own_coefficient() -> None:
    fittings = [{"kind": "elbow 90, R/D 1.5", "count": 3}, {"kind": "silencer", "k": 0.7, "source": "its maker"}]
    runs = {run.id: run for run in network(extraction({"runs.5.fittings": fittings, "runs.5.k": 0.1})).runs}
    assert runs["saw"].k == pytest.approx(3 * FITTINGS["elbow 90, R/D 1.5"].k + 0.7 + 0.1)


def test_a_material_stands_for_its_roughness() -> None:
    runs = {
        r.id: r for r in network(extraction({"runs.5.roughness": None, "runs.5.material": "flexible hose, slack"})).runs
    }
    assert runs["saw"].roughness == MATERIALS["flexible hose, slack"].roughness


INCHES: dict[str, Any] = {
    "air": {"temperature": "68 °F", "altitude": "393.700787402 ft"},
    "fan": [
        ["0 cfm", "13.2485 in wg"],
        ["2354.31 cfm", "12.6463 in wg"],
        ["4708.62 cfm", "10.4382 in wg"],
        ["7062.93 cfm", "6.02206 in wg"],
    ],
    "filter.linear": "0.602206 in wg at 3531.47 cfm",
    "filter.quadratic": "0.240882 in wg at 3531.47 cfm",
    "filter.clean_drop": "0.843088 in wg",
    "filter.at_flow": "3531.47 cfm",
    "filter.change_drop": "3.61324 in wg",
    **{
        f"runs.{n}.{key}": f"{float(EXTRACTION['runs'][n - 1][key].split()[0]) * factor:.9f} in"
        for n in range(1, 6)
        for key, factor in (("diameter", 1 / 25.4), ("length", 1000 / 25.4), ("roughness", 1 / 25.4))
    },
}


@pytest.mark.parametrize(
    "opened", [["bay-two-1"], ["bay-two-1", "bay-two-2"], ["bay-two-1", "bay-two-2", "saw"], ["saw"]]
)
def test_the_same_ducts_in_inch_and_metric_give_the_same_flows(opened: list[str]) -> None:
    metric, inch = (solve(network(extraction(changes)), opened) for changes in ({}, INCHES))
    assert inch.fan.flow == pytest.approx(metric.fan.flow, rel=2e-5)
    for gate, at in metric.gates.items():
        assert inch.gates[gate].flow == pytest.approx(at.flow, rel=2e-5)
        assert inch.gates[gate].static_pressure == pytest.approx(at.static_pressure, rel=1e-4)
    for run, at_run in metric.runs.items():
        assert inch.runs[run].velocity == pytest.approx(at_run.velocity, rel=2e-5)
