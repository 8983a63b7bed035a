"""A reading against the model: how far apart they are, and the loss of a branch that would bring them together."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from preflight.engine.airflow import solve

if TYPE_CHECKING:
    from collections.abc import Collection

    from preflight.engine.network import Network

_ROUNDS = 60


def relative_difference(measured: float, modelled: float) -> float:
    """How far a reading lies from the model: measured/modelled − 1. `modelled` more than zero, else ValueError.

    >>> round(relative_difference(0.85, 1.0), 9)
    -0.15
    """
    if not (modelled > 0.0 and measured >= 0.0):
        raise ValueError(f"cannot compare a measured {measured:g} with a modelled {modelled:g}")
    return measured / modelled - 1.0


def refit_k(network: Network, open_gates: Collection[str], gate: str, measured_flow: float) -> float:
    """Loss coefficient of the run behind a gate with which the modelled flow there is the measured one.

    `measured_flow` m³/s, at the open gate, with `open_gates` open at that moment. Only K of that one run
    changes; put it in with `Network.with_run_k`. ValueError if the gate is not among the open ones, the flow is
    not above zero, or it is more than the branch would carry without any fitting loss: then the reading, the
    gates at that moment, or another part of the profile is wrong.

    Flow falls as K rises and 1/Q² is nearly straight in K, so a secant in that scale, kept inside a bracket,
    needs a few solves.
    """
    if gate not in open_gates:
        raise ValueError(f"gate {gate!r} was not open, so there is no flow to fit")
    if not 0.0 < measured_flow < math.inf:
        raise ValueError(f"a measured flow must be more than 0, not {measured_flow:g} m³/s")
    run = next((g.run for g in network.gates if g.id == gate), "")

    def excess(k: float) -> float:
        """Rises with K; zero where the model meets the reading."""
        flow = solve(network.with_run_k(run, k), open_gates).gates[gate].flow
        return (measured_flow / flow) ** 2 - 1.0

    low, low_excess = 0.0, excess(0.0)
    if low_excess > 0.0:
        raise ValueError(
            f"{measured_flow:g} m³/s is more than the branch of gate {gate!r} could carry without any fitting: "
            "check the reading and which gates were open"
        )
    high, high_excess = 1.0, excess(1.0)
    while high_excess < 0.0:
        low, low_excess = high, high_excess
        high *= 4.0
        high_excess = excess(high)
    for _ in range(_ROUNDS):
        if high_excess - low_excess == 0.0:
            break
        k = low - low_excess * (high - low) / (high_excess - low_excess)
        value = excess(k)
        if abs(value) < 1e-8:
            return k
        # Halving the value at the end that stays (the Illinois rule) keeps the bracket closing from both sides.
        if value < 0.0:
            low, low_excess, high_excess = k, value, 0.5 * high_excess
        else:
            high, high_excess, low_excess = k, value, 0.5 * low_excess
    return 0.5 * (low + high)
