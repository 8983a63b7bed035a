"""Laws of every finding of the bench stations (stock, glue, belts, backing, condition), over odd shops and sheets."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from builders import AT, history, sheet, view
from hypothesis import given, settings
from hypothesis import strategies as st

from preflight.checks.backing import check as backing
from preflight.checks.belts import check as belts
from preflight.checks.condition import check as condition
from preflight.checks.condition.condition_items import ITEM_KINDS
from preflight.checks.finding import Finding, Verdict
from preflight.checks.glue import check as glue
from preflight.checks.stock import check as stock
from preflight.engine.abrasives import GRAIN_SIZES

LONGEST_STATEMENT = 150
LONGEST_REMEDY = 200
LONGEST_ACTION = 40

GRITS = st.sampled_from([f"P{n}" for n in GRAIN_SIZES["P"]] + [f"ANSI {n}" for n in GRAIN_SIZES["ANSI"]])
BACKINGS = st.sampled_from(["paper", "cloth light", "cloth X", "cloth heavier"])
JOINTS = st.sampled_from([None, "lap", "skived lap", "butt with tape"])
LENGTHS = st.sampled_from(["1900 mm", "1905 mm", "75 1/8 in", "74 3/8 in", "1893 mm", "190.05 cm", "75 mm", "1900 in"])
SMALL = st.sampled_from(["0 mm", "0.05 mm", "0.29 mm", "3 mm", "0.012 in", "25 thou"])
THICKNESS = st.sampled_from(["27.9 mm", "27.85 mm", "26.95 mm", "1 3/32 in", "162.5 mm", "2.35 mm", "279 mm", "27 mm"])
WORDS = st.sampled_from(
    [
        *sorted({word for kind in ITEM_KINDS.values() for word in (*kind.good, *kind.fair, *kind.bad)}),
        "fine I think it will last a good while yet, ask the next shift about it",
        "86 Shore A",
        "0.08 mm",
        "52 h",
        "7 bar",
    ]
)


def optional(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | strategy


WASHES = st.lists(
    st.builds(
        lambda hours, masses: {
            "hung": AT - timedelta(hours=hours),
            "weights": [{"at": AT - timedelta(hours=i * 5), "mass": m} for i, m in enumerate(masses)],
        },
        st.integers(1, 99),
        st.lists(st.sampled_from(["1310 g", "1305 g", "1250 g", "2.9 lb"]), max_size=3),
    ),
    max_size=4,
)


@st.composite
def cards(draw: st.DrawFn) -> dict[str, Any]:
    return {
        "grit": draw(GRITS),
        "backing": draw(BACKINGS),
        "joint": draw(JOINTS),
        "head": draw(optional(st.sampled_from(["1", "2"]))),
        "length_left": draw(optional(LENGTHS)),
        "length_right": draw(optional(LENGTHS)),
        "width": draw(optional(st.sampled_from(["940 mm", "953 mm", "37 in", "925 mm"]))),
        "washed": draw(WASHES),
        "heat_fused": draw(st.booleans()),
        "glue_lines": draw(st.lists(st.just({"centre": "16 1/8 in", "width": "6.5 mm"}), max_size=1)),
    }


@st.composite
def machines(draw: st.DrawFn) -> dict[str, Any]:
    kinds = st.sampled_from(["steel drum", "rubber drum", "platen", "drum and platen"])
    changes: dict[str, Any] = {"units": draw(st.sampled_from(["metric", "inch"]))}
    changes["glue.smear"] = draw(st.sampled_from(["caution", "stop"]))
    for head in (1, 2):
        changes[f"heads.{head}.kind"] = draw(kinds)
        changes[f"heads.{head}.paper_from"] = draw(optional(st.just("P120")))
        changes[f"heads.{head}.hardness_shore_a"] = draw(optional(st.sampled_from([30, 50, 80])))
        changes[f"heads.{head}.belt_cone"] = draw(optional(st.just({"high": "2 mm"})))
    changes["conveyor.part_length"] = draw(optional(st.just({"low": "14 1/2 in", "high": "2500 mm"})))
    changes["removal_caps"] = draw(st.sampled_from([{}, {"P80": "0.5 mm"}, {"P80": "0.1 mm", "P150": "0.2 mm"}]))
    return changes


@st.composite
def sheets(draw: st.DrawFn) -> dict[str, Any]:
    looks = ["edges", "joint", "arrow", "no glue line"]
    heads = [
        {
            "head": head,
            "card": draw(st.sampled_from(["B-0412", "B-0418", "B-9999"])),
            "platen": draw(optional(st.sampled_from(["down", "lifted"]))),
            "lifted": draw(st.booleans()),
            "arrow": draw(optional(st.sampled_from(["with", "against"]))),
            "looked": draw(st.lists(st.sampled_from(looks), unique=True)),
        }
        for head in draw(st.lists(st.sampled_from(["1", "2"]), unique=True))
    ]
    keys = [
        "drum 1",
        "drum 2",
        "platen cover 2",
        "conveyor",
        "tracking eye",
        "dust inside",
        "drums",
        "all",
        "drum 1 run-out",
    ]
    return {
        "job": draw(optional(st.sampled_from(["ash-treads", "oak-doors"]))),
        "stock": {
            "thickness": draw(st.lists(THICKNESS, max_size=3)),
            "metal_found": draw(optional(st.integers(0, 3))),
            "shortest": draw(optional(st.sampled_from(["900 mm", "350 mm", "14 in", "90 mm"]))),
            "narrowest": draw(optional(st.sampled_from(["44 mm", "2 1/8 in"]))),
            "widest": draw(optional(st.sampled_from(["925 mm", "945 mm", "37 in"]))),
            "instrument": draw(optional(st.just({"resolution": "0.01 mm"}))),
        },
        "glue": {
            "state": draw(optional(st.sampled_from(["none", "scraped", "beads standing", "smeared"]))),
            "by": draw(st.sampled_from(["", "assembly"])),
            "bead_height": draw(optional(SMALL)),
            "hours_since_clamps": draw(optional(st.sampled_from([0, 6.35, 24, 400]))),
            "glue": draw(optional(st.sampled_from(["hard", "rubbery", "wet"]))),
        },
        "belts": heads,
        "condition": {"looks": draw(st.dictionaries(st.sampled_from(keys), WORDS)), "done": []},
    }


def law_abiding(finding: Finding) -> None:
    assert len(finding.statement) <= LONGEST_STATEMENT, (len(finding.statement), finding.statement)
    assert len(finding.remedy) <= LONGEST_REMEDY, (len(finding.remedy), finding.remedy)
    assert finding.statement.endswith((".", "?"))
    assert bool(finding.remedy) is (finding.verdict is not Verdict.OK)
    assert bool(finding.actions) is (finding.verdict is Verdict.CAUTION), finding
    if finding.actions:
        assert 2 <= len(finding.actions) <= 4
        assert all(len(action) <= LONGEST_ACTION for action in finding.actions)
    if finding.verdict is Verdict.STOP:
        assert finding.basis
        assert finding.source
    if not finding.takes_override:
        assert finding.verdict is Verdict.STOP


@settings(max_examples=150, deadline=None)
@given(machines(), sheets(), cards(), cards(), st.booleans(), st.floats(0.5, 3))
def test_every_finding_is_short_says_what_to_do_and_names_its_basis(
    machine: dict[str, Any],
    answers: dict[str, Any],
    one: dict[str, Any],
    two: dict[str, Any],
    safety: bool,
    used: float,
) -> None:
    shop = view(machine, belt_1=one, belt_2=two, job_changes={"skew_degrees": 17.5, "reclaimed": safety})
    today, past = sheet(answers), history(("platen cover", 0.93), ("emergency stop chain", used, safety))
    for check in (stock.check, glue.check, belts.check, backing.check, condition.check):
        found = check(today, shop, past)
        subjects = [finding.subject for finding in found]
        assert len(set(subjects)) == len(subjects), subjects
        for finding in found:
            law_abiding(finding)
