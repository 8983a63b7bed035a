"""Ventilation values from outside sources; each test names its source and how far it was seen.

"Read": seen in the named document. "Secondary": seen in somebody else's reproduction. "Computed": worked out
with general-purpose libraries (fluids 1.3.1, scipy 1.17.1), not published anywhere.
"""

from __future__ import annotations

import math

import pytest

from preflight.engine.air import (
    Air,
    air_at,
    air_density,
    duct_area,
    entry_coefficient,
    hood_loss_from_readings,
    hood_suction,
    velocity_from_hood_suction,
    velocity_from_pressure,
    velocity_pressure,
)
from preflight.engine.airflow import solve
from preflight.engine.ducts import Gate, Run, friction_factor, reynolds, run_loss
from preflight.engine.fan import FanCurve, Filter, fan_power_at_speed
from preflight.engine.fittings import HOOD_ENTRIES, MATERIALS
from preflight.engine.network import Network

FPM = 0.3048 / 60.0
CFM = 0.3048**3 / 60.0
INCH_OF_WATER = 249.0889
INCH = 0.0254
STANDARD_AIR = 0.075 * 0.45359237 / 0.3048**3
"""0.075 lb/ft³ in kg/m³."""

AIR = Air(1.2, 1.82e-5)


@pytest.mark.parametrize(
    ("fpm", "inches_of_water"),
    [
        (2000, 0.2494),
        (2500, 0.3897),
        (3000, 0.5611),
        (3500, 0.7637),
        (4000, 0.9975),
        (4500, 1.2625),
        (5000, 1.5586),
    ],
)
def test_velocity_pressure_in_inches_of_water(fpm: float, inches_of_water: float) -> None:
    """V = 4005·√VP, equations sheet of a board of industrial hygiene, 2017 (read in a secondary copy).

    4005 is a rounded constant: with 0.075 lb/ft³ it is 4008.55, hence the tolerance.
    """
    expected = pytest.approx(inches_of_water * INCH_OF_WATER, rel=2e-3)
    assert velocity_pressure(fpm * FPM, STANDARD_AIR) == expected


@pytest.mark.parametrize(
    ("velocity", "pascals"),
    [(10.160, 61.94), (15.240, 139.35), (17.780, 189.68), (20.320, 247.74), (25.400, 387.10)],
)
def test_velocity_pressure_in_pascals(velocity: float, pascals: float) -> None:
    """ρV²/2 at 1.2 kg/m³ (computed), and V = 1.29·√VP of the same equations sheet (secondary)."""
    assert velocity_pressure(velocity, 1.2) == pytest.approx(pascals, rel=1e-4)
    assert velocity_from_pressure(pascals, STANDARD_AIR) == pytest.approx(1.29 * math.sqrt(pascals), rel=2e-3)


def test_a_velocity_pressure_calculation_sheet() -> None:
    """390 cfm at 4000 fpm: 4.22 in at most; in 4.00 in 4467 fpm, VP 1.24, (0.65 + 1)·VP = 2.046 in of water.

    Sheet in the industrial-ventilation format, secondary source; its own rounding is 0.3 to 0.5 %.
    """
    largest = math.sqrt(4 * 390 * CFM / (4000 * FPM) / math.pi)
    assert largest == pytest.approx(4.22 * INCH, rel=5e-3)
    velocity = 390 * CFM / duct_area(4.0 * INCH)
    assert velocity == pytest.approx(4467 * FPM, rel=5e-3)
    assert velocity_pressure(velocity, STANDARD_AIR) == pytest.approx(1.24 * INCH_OF_WATER, rel=5e-3)
    assert hood_suction(velocity, 0.65, STANDARD_AIR) == pytest.approx(2.046 * INCH_OF_WATER, rel=5e-3)


def test_entry_loss_and_coefficient_from_two_readings() -> None:
    """SPh -2.00, VP 0.80 in of water: loss 1.20, Ce 0.6325. University problem set (read); answer computed."""
    k = hood_loss_from_readings(2.0, 0.8)
    assert k * 0.8 == pytest.approx(1.20)
    assert entry_coefficient(k) == pytest.approx(0.6325, abs=5e-5)


def test_flow_from_hood_suction() -> None:
    """6 in duct, SPh -1.25 in of water, Ce 0.82: 720.9 cfm. University problem set (read); answer computed."""
    k = 1 / 0.82**2 - 1
    velocity = velocity_from_hood_suction(1.25 * INCH_OF_WATER, k, STANDARD_AIR)
    assert velocity * duct_area(6 * INCH) == pytest.approx(720.9 * CFM, rel=2e-3)


def test_entry_coefficient_from_flow_and_suction() -> None:
    """6 in duct, 560 cfm, SPh -0.75 in of water: Ce 0.822. University problem set (read); answer computed."""
    vp = velocity_pressure(560 * CFM / duct_area(6 * INCH), STANDARD_AIR)
    k = hood_loss_from_readings(0.75 * INCH_OF_WATER, vp)
    assert entry_coefficient(k) == pytest.approx(0.822, rel=2e-3)


def test_hood_suction_from_velocity_pressure() -> None:
    """VP 4.5 in of water, Ce 0.82: suction 6.69. Problem seen in a secondary source; answer computed."""
    velocity = velocity_from_pressure(4.5 * INCH_OF_WATER, STANDARD_AIR)
    suction = hood_suction(velocity, 1 / 0.82**2 - 1, STANDARD_AIR)
    assert suction == pytest.approx(6.69 * INCH_OF_WATER, rel=1e-3)


def test_affinity_and_fan_laws() -> None:
    """3500 to 1700 rpm: 400 to 194.29 gpm, 126 to 29.73 ft, 17.5 to 2.005 hp (worked problem in the `fluids`
    documentation, secondary); 1000 to 1250 rpm: 5 to 9.77 hp (secondary); 1.1 cubed = 1.331 (arithmetic)."""
    ratio = 1700 / 3500
    curve = FanCurve.from_points([(0.0, 200.0), (200.0, 180.0), (400.0, 126.0), (500.0, 80.0)])
    assert 400 * ratio == pytest.approx(194.29, abs=5e-3)
    assert curve.at_speed(ratio).pressure(400 * ratio) == pytest.approx(29.73, abs=5e-3)
    assert fan_power_at_speed(17.5, ratio) == pytest.approx(2.005, abs=5e-4)
    assert fan_power_at_speed(5.0, 1.25) == pytest.approx(9.77, abs=5e-3)
    assert fan_power_at_speed(1.0, 1.1) == pytest.approx(1.331)


@pytest.mark.parametrize(
    ("kind", "k", "ce"),
    [
        # 29 CFR 1910.94(b)(3)(ii), read
        ("belt hood, straight take-off", 0.65, 0.7785),
        ("belt hood, tapered take-off", 0.45, 0.8305),
        # industrial-ventilation handbook values, secondary source
        ("plain duct end", 0.93, 0.7198),
        ("flanged duct end", 0.49, 0.8192),
        ("round taper 45", 0.15, 0.9325),
        ("rectangular taper 45", 0.25, 0.8944),
        # from memory
        ("bellmouth", 0.04, 0.9806),
        ("slot or orifice", 1.78, 0.5998),
    ],
)
def test_hood_entries(kind: str, k: float, ce: float) -> None:
    """Entry losses as each row's source gives them; Ce = 1/√(1 + K)."""
    assert HOOD_ENTRIES[kind].k == k
    assert entry_coefficient(k) == pytest.approx(ce, abs=6e-5)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        # ranges of the ASHRAE Fundamentals duct chapter, mm, secondary source
        ("galvanised, long seam", 0.049, 0.098),
        ("galvanised spiral", 0.061, 0.122),
        ("spiral corrugated", 0.55, 0.91),
        ("flexible hose, stretched", 0.09, 0.91),
        ("plastic pipe", 0.009, 0.046),
        ("commercial steel", 0.045, 0.047),
    ],
)
def test_roughness_lies_in_the_published_range(name: str, low: float, high: float) -> None:
    assert low <= MATERIALS[name].roughness * 1000 <= high


@pytest.mark.parametrize(
    ("re", "relative_roughness", "factor"),
    [
        (1e4, 0.01, 0.0431266),
        (1e5, 0.0, 0.0179898),
        (1e5, 1e-4, 0.0185139),
        (1e5, 0.001, 0.0221745),
        (2e5, 0.0006, 0.0193138),
        (3e5, 0.001, 0.020603),
        (5e5, 0.0005, 0.017663),
        (1e6, 1e-4, 0.0134414),
        (1e7, 0.05, 0.0715530),
        (1500.0, 0.001, 0.0426667),
    ],
)
def test_friction_factor(re: float, relative_roughness: float, factor: float) -> None:
    """Colebrook's equation and 64/Re; values computed with `fluids` (Colebrook and Clamond agree)."""
    decimals = len(str(factor)) - 2
    assert friction_factor(re, relative_roughness) == pytest.approx(factor, abs=0.51 * 10**-decimals)


@pytest.mark.parametrize(("roughness_mm", "pascals"), [(0.09, 303.58), (0.15, 330.449), (0.9, 510.72), (3.0, 766.30)])
def test_straight_duct(roughness_mm: float, pascals: float) -> None:
    """0.150 m, 0.350 m³/s, 10 m, 1.2 kg/m³, 1.82e-5 Pa·s; computed with `fluids`."""
    run = Run("straight", "collector", 0.15, 10.0, roughness_mm / 1000)
    assert 0.35 / run.area == pytest.approx(19.80595, rel=1e-6)
    assert reynolds(0.35, 0.15, AIR) == pytest.approx(195883, rel=1e-5)
    assert velocity_pressure(0.35 / run.area, 1.2) == pytest.approx(235.365, rel=1e-5)
    assert run_loss(run, 0.35, AIR) == pytest.approx(pascals, rel=2e-5)


def test_density_of_dry_air() -> None:
    """20 °C 1.20415 to 1.20458, 15 °C 1.2250, 25 °C 1.18432, 1500 m and 20 °C 1.00487 kg/m³ (computed with
    PsychroLib 2.5.0 and CoolProp 8.0.0)."""
    assert air_density(293.15) == pytest.approx(1.2044, rel=5e-4)
    assert air_density(288.15) == pytest.approx(1.2250, rel=5e-4)
    assert air_density(298.15) == pytest.approx(1.18432, rel=5e-4)
    assert air_at(293.15, 1500.0).density == pytest.approx(1.00487, rel=1e-3)
    assert air_at(293.15).viscosity == pytest.approx(1.82057e-5, rel=5e-3)


REFERENCE_CASES = [
    # open, Q total, fan, Q A, V A, Q B, V B, total suction at the junction, V main
    ("A", 0.988617, 2120.374, 0.988617, 31.4686, 0.0, 0.0, 1055.237, 20.1399),
    ("B", 0.634629, 2637.521, 0.0, 0.0, 0.634629, 35.9127, 2082.665, 12.9286),
    ("AB", 1.107397, 1896.304, 0.761045, 24.2248, 0.346352, 19.5995, 627.817, 22.5597),
]


def reference_network() -> Network:
    """Fan 3000 − 900·Q² Pa, two branches, main, linear filter; junction at equal total pressure."""
    runs = [
        Run("main", "collector", 0.25, 10.0, 1.5e-4, 0.6),
        Run("a", "main", 0.20, 6.0, 1.5e-4, 1.2),
        Run("b", "main", 0.15, 8.0, 1.5e-4, 1.6),
    ]
    fan = FanCurve.from_points([(i / 100, 3000.0 - 900.0 * (i / 100) ** 2) for i in range(181)])
    return Network.from_parts(runs, [Gate("A", "a"), Gate("B", "b")], AIR, fan, Filter(linear=500.0))


@pytest.mark.parametrize("case", REFERENCE_CASES, ids=lambda case: str(case[0]))
def test_reference_network(case: tuple[str, float, float, float, float, float, float, float, float]) -> None:
    """Computed with scipy root finding and `fluids` friction; the velocity pressure is charged once."""
    gates, total, fan, flow_a, velocity_a, flow_b, velocity_b, junction, velocity_main = case
    result = solve(reference_network(), frozenset(gates))
    assert result.fan.flow == pytest.approx(total, rel=2e-6)
    assert result.fan.pressure == pytest.approx(fan, rel=2e-6)
    assert result.gates["A"].flow == pytest.approx(flow_a, rel=2e-6)
    assert result.gates["B"].flow == pytest.approx(flow_b, rel=2e-6)
    assert result.runs["a"].velocity == pytest.approx(velocity_a, rel=2e-5)
    assert result.runs["b"].velocity == pytest.approx(velocity_b, rel=2e-5)
    assert -result.runs["main"].total_in == pytest.approx(junction, rel=2e-6)
    assert result.runs["main"].velocity == pytest.approx(velocity_main, rel=1e-5)


def test_details_of_the_reference_network() -> None:
    """Both branches open (computed): pressures of branches, main and filter."""
    result = solve(reference_network(), {"A", "B"})
    a, b, main = result.runs["a"], result.runs["b"], result.runs["main"]
    assert (a.velocity_pressure, a.static_out) == pytest.approx((352.105, -979.922), rel=5e-6)
    assert (b.velocity_pressure, b.static_out) == pytest.approx((230.485, -858.302), rel=5e-6)
    assert (main.velocity_pressure, main.loss) == pytest.approx((305.364, 409.424), rel=5e-6)
    assert result.filter_drop == pytest.approx(553.699, rel=5e-6)
    assert result.discharge == pytest.approx(main.velocity_pressure, rel=1e-6)


def test_closed_form_operating_point() -> None:
    """Fan 1500 − 400·Q² against 1100·Q²: Q = 1 exactly (algebra)."""
    run = Run("only", "collector", 0.3, 0.0, 0.0)
    fan = FanCurve.from_points([(i / 100, 1500.0 - 400.0 * (i / 100) ** 2) for i in range(151)])
    discharge = 0.5 * 1.2 / run.area**2
    network = Network.from_parts([run], [Gate("g", "only", hood_k=1100.0 / discharge - 1.0)], AIR, fan, Filter())
    assert solve(network, {"g"}).fan.flow == pytest.approx(1.0, rel=1e-6)


FIVE_GATES = {"head-1": 1826.0, "head-2": 1826.0, "saw": 13881.0, "shaper": 13881.0, "planer": 6703.0}
AREAS = {"head-1": 0.0314, "head-2": 0.0314, "saw": 0.0123, "shaper": 0.0123, "planer": 0.0177}


def five_gate_shop(filter_linear: float) -> Network:
    """Each branch one loss k·Q², main 198·Q² (its discharge included), fan 3600 − 450·Q² Pa."""

    def lossy(name: str, into: str, area: float, k: float) -> Run:
        return Run(name, into, math.sqrt(4 * area / math.pi), 0.0, 0.0, k * 2 * area**2 / 1.2)

    main_area = math.pi * 0.315**2 / 4
    main = lossy("main", "collector", main_area, 198.0 - 0.6 / main_area**2)
    drops = [lossy(f"drop-{name}", "main", AREAS[name], k) for name, k in FIVE_GATES.items()]
    gates = [Gate(name, f"drop-{name}") for name in FIVE_GATES]
    fan = FanCurve.from_points([(q / 50, 3600.0 - 450.0 * (q / 50) ** 2) for q in range(141)])
    return Network.from_parts([main, *drops], gates, AIR, fan, Filter(linear=filter_linear))


@pytest.mark.parametrize(
    ("filter_linear", "open_gates", "main", "head_cfm", "head", "saw"),
    [
        (200, "head-1 head-2", 22.0, 1819, 27.3, None),
        (200, "head-1 head-2 saw", 23.4, 1634, 24.6, 22.7),
        (200, "head-1 head-2 saw shaper planer", 25.35, 1289, 19.4, 17.9),
        (500, "head-1 head-2", 20.4, 1688, 25.4, None),
        (500, "head-1 head-2 saw", 21.6, 1509, 22.7, 21.0),
        (500, "head-1 head-2 saw shaper planer", 23.2, 1182, 17.76, 16.4),
        (800, "head-1 head-2", 19.0, 1567, 23.6, None),
        (800, "head-1 head-2 saw", 19.95, 1394, 20.95, 19.4),
        (200, "saw", 6.3, None, None, 39.9),
        (500, "saw", 6.2, None, None, 39.1),
    ],
)
def test_five_gate_shop(
    filter_linear: float,
    open_gates: str,
    main: float,
    head_cfm: float | None,
    head: float | None,
    saw: float | None,
) -> None:
    """Worked by bisection on an invented shop (computed; the method is common practice, no source).

    The printed figures carry three to four digits.
    """
    result = solve(five_gate_shop(filter_linear), open_gates.split())
    assert result.runs["main"].velocity == pytest.approx(main, abs=0.06)
    if head_cfm is not None and head is not None:
        assert result.gates["head-1"].flow == pytest.approx(head_cfm * CFM, rel=1e-3)
        assert result.gates["head-1"].velocity == pytest.approx(head, abs=0.06)
    if saw is not None:
        assert result.gates["saw"].velocity == pytest.approx(saw, abs=0.06)
