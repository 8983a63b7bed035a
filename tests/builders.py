"""Invented shop for tests: a two-head metric machine, its ducts, a job, two belts and a sheet that is all in order.

Every builder takes changes by dotted key, lists counted from 1, as the problems of a file are named:
`machine({"heads.1.kind": "steel drum"})`, `sheet({"tension.1": "5.1 bar", "glue.by": None})`. `None` takes a key
away, a table given for a table replaces it. Builders go through the models, so a misspelt key fails the test.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from preflight.history import DueItem, History
from preflight.sheet import SetupSheet
from preflight.shop.cards import BeltCard, JobCard
from preflight.shop.extraction import Extraction
from preflight.shop.machine import Machine
from preflight.shop.view import ShopView

Changes = Mapping[str, Any]

AT = datetime(2026, 11, 25, 6, 52, tzinfo=UTC)

MACHINE: dict[str, Any] = {
    "schema": 1,
    "id": "m-7f3a91c2d04e",
    "name": "Bay two, two heads",
    "units": "metric",
    "book": "machine book, rev. C",
    "extraction": "north-hall",
    "conveyor": {
        "working_width": "940 mm",
        "edge_margin": "15 mm",
        "hold_down_spacing": "320 mm",
        "part_length": {"low": "370 mm"},
        "part_width": {"low": "50 mm"},
        "part_thickness": {"low": "3 mm", "high": "160 mm"},
        "feed_speed": {"low": "3 m/min", "high": "15 m/min"},
        "places": {"count": 10},
        "adjuster_spacing": "1050 mm",
        "adjuster_moves": "bed",
    },
    "air": {"supply": {"low": "5.5 bar"}, "leak_fall": {"high": "0.3 bar"}},
    "heads": [
        {
            "id": "1",
            "kind": "rubber drum",
            "hardness_shore_a": 80,
            "drum_diameter": "200 mm",
            "drum_width": "960 mm",
            "drum_speed": "1480 rpm",
            "oscillation_stroke": "15 mm",
            "belt_length": {"low": "1893 mm", "high": "1907 mm"},
            "belt_width": {"low": "930 mm", "high": "950 mm"},
            "belt_cone": {"high": "2 mm", "caution_high": "1 mm"},
            "coarsest_grit": "P60",
            "finest_grit": "P150",
            "paper_from": "P120",
            "removal": {"high": "0.8 mm"},
            "cylinder": {"bore": "80 mm", "count": 1, "ratio": 1.0, "efficiency": 1.0, "roller_force": "-400 N"},
            "motor": {"power": "15 kW", "plate_current": "22 A", "idle_current": "9 A"},
            "run_down": {"high": "10 s", "caution_high": "8 s"},
            "tension": {
                "paper": {"low": "3.2 bar", "high": "3.9 bar"},
                "cloth X": {"low": "3.9 bar", "high": "4.7 bar"},
                "cloth heavier": {"low": "4.6 bar", "high": "5.6 bar"},
            },
        },
        {
            "id": "2",
            "kind": "drum and platen",
            "hardness_shore_a": 50,
            "drum_diameter": "200 mm",
            "drum_width": "960 mm",
            "drum_speed": "1480 rpm",
            "oscillation_stroke": "15 mm",
            "belt_length": {"low": "1893 mm", "high": "1907 mm"},
            "belt_width": {"low": "930 mm", "high": "950 mm"},
            "belt_cone": {"high": "2 mm", "caution_high": "1 mm"},
            "coarsest_grit": "P80",
            "finest_grit": "P240",
            "paper_from": "P120",
            "removal": {"high": "0.5 mm"},
            "cylinder": {"bore": "80 mm", "count": 1, "ratio": 1.0, "efficiency": 1.0, "roller_force": "-400 N"},
            "motor": {"power": "9 kW", "plate_current": "18 A", "idle_current": "8 A"},
            "run_down": {"high": "10 s", "caution_high": "8 s"},
            "tension": {
                "paper": {"low": "3.2 bar", "high": "3.9 bar"},
                "cloth X": {"low": "3.9 bar", "high": "4.7 bar"},
            },
            "platen": {
                "cover": "graphite cloth over felt",
                "coarsest_grit": "P150",
                "removal": {"high": "0.05 mm"},
                "cover_hours": {"high": "40 h"},
            },
        },
    ],
    "removal_caps": {"P60": "0.70 mm", "P100": "0.40 mm", "P150": "0.16 mm", "P180": "0.11 mm"},
    "sander_gates": {
        "bay-two-1": {"flow": {"low": "2300 m3/h"}},
        "bay-two-2": {"flow": {"low": "2300 m3/h"}},
    },
    "test_board": {
        "taper": {"high": "0.20 mm", "caution_high": "0.10 mm"},
        "crown": {"high": "0.20 mm", "caution_high": "0.10 mm"},
        "snipe": {"high": "0.15 mm", "caution_high": "0.05 mm"},
        "glued_up_factor": 0.5,
    },
    "emergency_stops": ["infeed", "outfeed", "panel"],
    "due": [{"item": "platen cover", "every": "40 h", "safety": False}],
}

EXTRACTION: dict[str, Any] = {
    "schema": 1,
    "name": "North hall",
    "air": {"temperature": "20 °C", "altitude": "120 m"},
    "velocity": {"low": "17.8 m/s", "caution_low": "20 m/s"},
    "fan": [
        ["0 m3/h", "3300 Pa"],
        ["4000 m3/h", "3150 Pa"],
        ["8000 m3/h", "2600 Pa"],
        ["12000 m3/h", "1500 Pa"],
    ],
    "filter": {
        "linear": "150 Pa at 6000 m3/h",
        "quadratic": "60 Pa at 6000 m3/h",
        "clean_drop": "210 Pa",
        "at_flow": "6000 m3/h",
        "change_drop": "900 Pa",
    },
    "bin": {"volume": "400 L", "low_density": "200 kg/m3"},
    "runs": [
        {"id": "main", "into": "collector", "diameter": "315 mm", "length": "14 m", "roughness": "0.15 mm", "k": 0.9},
        {"id": "bay-two", "into": "main", "diameter": "280 mm", "length": "6 m", "roughness": "0.15 mm", "k": 0.3},
        {"id": "b2-drop-1", "into": "bay-two", "diameter": "200 mm", "length": "3 m", "roughness": "0.15 mm", "k": 0.3},
        {"id": "b2-drop-2", "into": "bay-two", "diameter": "200 mm", "length": "3 m", "roughness": "0.15 mm", "k": 0.3},
        {"id": "saw", "into": "main", "diameter": "125 mm", "length": "8 m", "roughness": "0.15 mm", "k": 0.6},
    ],
    "gates": [
        {
            "id": "bay-two-1",
            "run": "b2-drop-1",
            "hood_k": 0.5,
            "leak": 0.03,
            "machine": "bay-two",
            "design_flow": "2500 m3/h",
            "hood_static": {"baseline": "480 Pa", "flow": "2500 m3/h", "taken": AT.date(), "by": "R. Onslow"},
        },
        {
            "id": "bay-two-2",
            "run": "b2-drop-2",
            "hood_k": 0.5,
            "leak": 0.03,
            "machine": "bay-two",
            "design_flow": "2500 m3/h",
        },
        {"id": "saw", "run": "saw", "hood_k": 1.0, "leak": 0.03, "machine": "panel saw", "design_flow": "900 m3/h"},
    ],
}

JOB: dict[str, Any] = {
    "schema": 1,
    "name": "Ash treads",
    "material": "ash",
    "faces": 2,
    "target_thickness": "27.0 mm",
    "parts": [{"width": "180 mm", "length": "900 mm", "count": 120}],
    "grits": {"1": "P80", "2": "P150"},
    "finish": "clear",
}

BELT_1: dict[str, Any] = {
    "schema": 1,
    "id": "B-0412",
    "head": "1",
    "grit": "P80",
    "backing": "cloth X",
    "printed": "X-wt, 2417",
    "joint": "lap",
    "length_left": "1899.5 mm",
    "length_right": "1900 mm",
    "width": "940 mm",
    "measured": AT.date(),
    "hours": "14 h",
}

BELT_2: dict[str, Any] = {
    "schema": 1,
    "id": "B-0418",
    "head": "2",
    "grit": "P150",
    "backing": "paper",
    "printed": "F paper, 3108",
    "joint": "butt with tape",
    "length_left": "1900 mm",
    "length_right": "1900.5 mm",
    "width": "940 mm",
    "measured": AT.date(),
    "hours": "3 h",
}

SHEET: dict[str, Any] = {
    "schema": 1,
    "machine": "bay-two",
    "at": AT,
    "operator": "R. Onslow",
    "job": "ash-treads",
    "stock": {
        "thickness": ["27.8 mm", "27.9 mm", "27.85 mm", "27.8 mm", "27.85 mm"],
        "shortest": "900 mm",
        "metal_found": 0,
        "instrument": {"name": "digital caliper", "resolution": "0.01 mm"},
    },
    "glue": {"state": "scraped", "by": "assembly", "bead_height": "0 mm", "hours_since_clamps": 26, "glue": "hard"},
    "belts": [
        {"head": "1", "card": "B-0412", "arrow": "with", "looked": ["edges", "joint", "arrow", "no glue line"]},
        {"head": "2", "card": "B-0418", "platen": "lifted", "looked": ["edges", "joint", "arrow", "no glue line"]},
    ],
    "condition": {
        "looks": {
            "drum 1": "sound",
            "drum 2": "sound",
            "platen cover 2": "sound",
            "conveyor": "sound",
            "tracking eye": "clean",
            "dust inside": "clean",
        }
    },
    "tension": {"1": "4.3 bar", "2": "3.55 bar", "supply": "6.4 bar"},
    "extraction": {
        "open": ["bay-two-1", "bay-two-2"],
        "fan": "on",
        "readings": [{"gate": "bay-two-1", "hood_static": "475 Pa"}],
        "filter_drop": "310 Pa",
        "bin_full": 0.4,
        "spark_detection": "healthy",
    },
    "removal": {"share": {"1": "0.38 mm", "2": "0.07 mm"}, "passes": 1, "feed_speed": "6 m/min"},
    "feed": {},
    "running": {
        "stop": {"station": "outfeed", "seconds": {"1": 6.4, "2": 6.9}},
        "restarts_by_itself": False,
        "limit_bar": "stops the feed",
        "tracking": {"1": "even", "2": "even"},
        "idle_current": {"1": "9.2 A", "2": "8.1 A"},
    },
    "test_board": {
        "readings": [
            {"x": "60 mm", "before": "27.90 mm", "after": "27.45 mm"},
            {"x": "470 mm", "before": "27.90 mm", "after": "27.46 mm"},
            {"x": "880 mm", "before": "27.90 mm", "after": "27.45 mm"},
        ],
        "raking_light": "clean",
    },
    "actions": {},
}


def changed(base: Mapping[str, Any], changes: Changes) -> dict[str, Any]:
    """A deep copy of `base` with the dotted keys set; `None` takes a key away."""
    result: dict[str, Any] = copy.deepcopy(dict(base))
    for key, value in changes.items():
        *way, last = key.split(".")
        at: Any = result
        for part in way:
            at = at[int(part) - 1] if isinstance(at, list) else at.setdefault(part, {})
        if isinstance(at, list):
            index = int(last) - 1
            if value is None:
                del at[index]
            elif index == len(at):
                at.append(value)
            else:
                at[index] = value
        elif value is None:
            at.pop(last, None)
        else:
            at[last] = copy.deepcopy(value)
    return result


def machine(changes: Changes | None = None) -> Machine:
    """The two-head machine, changed."""
    return Machine.model_validate(changed(MACHINE, changes or {}))


def extraction(changes: Changes | None = None) -> Extraction:
    """Its duct system, changed."""
    return Extraction.model_validate(changed(EXTRACTION, changes or {}))


def job(changes: Changes | None = None) -> JobCard:
    """The job card, changed."""
    return JobCard.model_validate(changed(JOB, changes or {}))


def belt(head: str = "1", changes: Changes | None = None) -> BeltCard:
    """The belt card of head 1 or 2, changed."""
    return BeltCard.model_validate(changed({"1": BELT_1, "2": BELT_2}[head], changes or {}))


def sheet(changes: Changes | None = None) -> SetupSheet:
    """The sheet on which everything is in order, changed."""
    return SetupSheet.model_validate(changed(SHEET, changes or {}))


def view(
    machine_changes: Changes | None = None,
    *,
    job_changes: Changes | None = None,
    belt_1: Changes | None = None,
    belt_2: Changes | None = None,
    ducts: Changes | None = None,
) -> ShopView:
    """What the checks see of the shop: machine, ducts, the job "ash-treads", the belts "B-0412" and "B-0418"."""
    return ShopView(
        machine=machine(machine_changes),
        machine_sha256="0" * 64,
        machine_id="bay-two",
        extraction=extraction(ducts),
        extraction_sha256="1" * 64,
        jobs={"ash-treads": job(job_changes)},
        belts={"B-0412": belt("1", belt_1), "B-0418": belt("2", belt_2)},
    )


def history(*due: tuple[str, float] | tuple[str, float, bool], **more: Any) -> History:
    """Earlier records: due items as (item, share of the interval used up, safety)."""
    return History(due=tuple(DueItem(*item) for item in due), **more)
