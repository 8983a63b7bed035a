"""Round ducts: what a run and a gate are, and what air loses in them.

A run is a length of round duct that carries air toward the collector; a gate is a hood with a slide that
opens into the upstream end of a run. The loss of a run is (f·L/D + K)·ρV²/2 with the Darcy friction factor f.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from preflight.engine.air import Air, duct_area

COLLECTOR = "collector"
"""Name of the place the last run leads into."""

LAMINAR_UNTIL = 2000.0
TURBULENT_FROM = 4000.0
_TWO_OVER_LN_10 = 2.0 / math.log(10.0)


@dataclass(frozen=True)
class Run:
    """A length of round duct."""

    id: str
    into: str
    """The run it leads into, or "collector"."""

    diameter: float
    """m"""

    length: float
    """m"""

    roughness: float
    """Height of the wall's roughness, m."""

    k: float = 0.0
    """Sum of the loss coefficients of its fittings, in velocity pressures of this run."""

    @property
    def area(self) -> float:
        """m²"""
        return duct_area(self.diameter)


@dataclass(frozen=True)
class Gate:
    """A hood with a gate, at the upstream end of a run.

    Its loss is hood_k·ρ(Q/A)²/2 with its *own* flow Q through the area A of the run. Where a run has one gate
    and no other inflow that is the run's velocity pressure; several gates in one run are openings side by
    side, each as wide as the run.
    """

    id: str
    run: str
    """The run it opens into."""

    hood_k: float = 0.0
    """Entry loss in velocity pressures."""

    leak: float = 0.0
    """What still passes when closed, as a share of the flow when open under the same suction; 0 is tight."""

    stays_open: bool = False
    """Never to be closed."""

    make_up: bool = False
    """Opened only to keep the main fast."""

    def loss_coefficient(self, is_open: bool) -> float:
        """Loss coefficient open, or closed: (1 + K)/leak² − 1, infinite for a tight gate."""
        if is_open:
            return self.hood_k
        if self.leak == 0.0:
            return math.inf
        return (1.0 + self.hood_k) / (self.leak * self.leak) - 1.0


def reynolds(flow: float, diameter: float, air: Air) -> float:
    """Reynolds number of a round duct: Re = 4ρQ/(π·D·µ). `flow` m³/s, not negative; `diameter` m.

    >>> round(reynolds(0.35, 0.15, Air(1.2, 1.82e-5)))
    195883
    """
    if not (flow >= 0.0 and diameter > 0.0):
        raise ValueError(f"no Reynolds number for a flow of {flow:g} m³/s in a duct of {diameter:g} m")
    return 4.0 * air.density * flow / (math.pi * diameter * air.viscosity)


def friction_factor(reynolds_number: float, relative_roughness: float) -> float:
    """Darcy friction factor of a round duct.

    64/Re up to Re 2000; Colebrook, 1/√f = −2·log₁₀(ε/3.7D + 2.51/(Re·√f)), from Re 4000; between, the two are
    blended with a smooth step in Re, so that neither the loss nor its slope jumps.

    `reynolds_number` more than zero; `relative_roughness` ε/D from 0 up to 0.1; outside, ValueError.
    Source: Colebrook's equation as in any hydraulics handbook; the blend is this project's own.

    >>> round(friction_factor(1e5, 0.001), 7)
    0.0221745
    >>> round(friction_factor(1500.0, 0.001), 7)
    0.0426667
    """
    if not (0.0 < reynolds_number < math.inf):
        raise ValueError(f"Reynolds number must be more than 0, not {reynolds_number:g}")
    if not 0.0 <= relative_roughness <= 0.1:
        raise ValueError(f"relative roughness must be from 0 to 0.1, not {relative_roughness:g}")
    if reynolds_number <= LAMINAR_UNTIL:
        return 64.0 / reynolds_number
    x = first_guess(reynolds_number, relative_roughness)
    for _ in range(3):
        x = colebrook_step(x, reynolds_number, relative_roughness)
    return blended(reynolds_number, x)


def first_guess(reynolds_number: float, relative_roughness: float) -> float:
    """1/√f after Haaland, within about 2 % of Colebrook: −1.8·log₁₀((ε/3.7D)^1.11 + 6.9/Re)."""
    return -1.8 * math.log10((relative_roughness / 3.7) ** 1.11 + 6.9 / reynolds_number)


def colebrook_step(x: float, reynolds_number: float, relative_roughness: float) -> float:
    """One Newton step of Colebrook's equation in x = 1/√f.

    The function is concave and rising in x, so a step never leaves the logarithm's domain and, after the
    first, closes in from below.
    """
    b = 2.51 / reynolds_number
    y = relative_roughness / 3.7 + b * x
    return x - (x + _TWO_OVER_LN_10 * math.log(y)) / (1.0 + _TWO_OVER_LN_10 * b / y)


def blended(reynolds_number: float, x: float) -> float:
    """Friction factor for Re above 2000 from Colebrook's x = 1/√f at that Re (see `friction_factor`)."""
    turbulent = 1.0 / (x * x)
    if reynolds_number >= TURBULENT_FROM:
        return turbulent
    u = (reynolds_number - LAMINAR_UNTIL) / (TURBULENT_FROM - LAMINAR_UNTIL)
    weight = u * u * (3.0 - 2.0 * u)
    return (1.0 - weight) * 64.0 / reynolds_number + weight * turbulent


def run_loss(run: Run, flow: float, air: Air) -> float:
    """Total pressure lost in a run: (f·L/D + K)·ρV²/2, Pa. `flow` m³/s, not negative.

    >>> straight = Run("r", "collector", diameter=0.15, length=10.0, roughness=0.00015)
    >>> round(run_loss(straight, 0.35, Air(1.2, 1.82e-5)), 1)
    330.4
    """
    if flow == 0.0:
        return 0.0
    factor = friction_factor(reynolds(flow, run.diameter, air), run.roughness / run.diameter)
    velocity = flow / run.area
    return (factor * run.length / run.diameter + run.k) * 0.5 * air.density * velocity * velocity
