"""The filter's drop today against the clean one at the same flow; it changes the duct model too."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import missing
from preflight.checks.slips import impossible
from preflight.quantities import Kind, show
from preflight.shop.defaults import FILTER_DIRTY, FILTER_NONE, PRACTICE
from preflight.shop.duct_network import clean_filter

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preflight.checks.extraction.air_evidence import AirEvidence
    from preflight.quantities import Quantity
    from preflight.shop.extraction import Extraction


def filter_findings(read: Quantity | None, ducts: Extraction, known: AirEvidence, units: str) -> Iterator[Finding]:
    """How many times the clean drop it is; nothing when none was read."""
    if read is None:
        return
    if known.filter_note:
        yield missing(
            "filter",
            f"The filter drop {read} cannot be used: {known.filter_note}.",
            "Read it again with the fan running and the gates as marked.",
            "extraction.filter_drop",
            basis="filter",
        )
        return
    if known.filter_clean:
        yield _below_clean(read, known, units)
        return
    flow, times, change = known.modelled.fan.flow, known.network.filter.scale, None
    if ducts.filter.change_drop and ducts.filter.at_flow and ducts.filter.at_flow.value:
        change = ducts.filter.change_drop.value / clean_filter(ducts.filter).drop(ducts.filter.at_flow.value)
    text = f"Filter drop {read} is {times:.1f} times the clean drop at this flow"
    clean = show(clean_filter(ducts.filter).drop(flow), Kind.DUCT_PRESSURE, units)
    how = f"clean {clean} at {show(flow, Kind.AIR_FLOW, units)}, the flow that the ducts let through with this drop"
    if change is not None and times > change:
        yield Finding(
            "filter",
            Verdict.STOP,
            f"{text}, beyond the change point ({change:.1f} times).",
            "Clean the filter media, or have them changed; then read again.",
            read,
            basis="filter.change_drop",
            source=ducts.name,
            workings=how,
        )
    elif times > FILTER_DIRTY:
        yield Finding(
            "filter",
            Verdict.CAUTION,
            f"{text}; from {FILTER_DIRTY:g} times on it asks for cleaning.",
            "Pulse or shake the filter as its book says, then read again.",
            read,
            basis="filter",
            source=PRACTICE,
            workings=how,
            actions=("filter pulsed", "cleaning planned", "lead told"),
        )
    else:
        yield Finding("filter", Verdict.OK, f"{text}.", "", read, basis="filter", source=ducts.name, workings=how)


def _below_clean(read: Quantity, known: AirEvidence, units: str) -> Finding:
    """A drop below the clean one: asked about, unless the whole system moves less air than the ducts say."""
    clean, share = show(known.filter_clean, Kind.DUCT_PRESSURE, units), abs(read.value) / known.filter_clean
    full_air = bool(known.measured) and not any(known.is_plugged(gate) for gate in known.measured)
    if share < FILTER_NONE or full_air:
        return impossible(
            "filter",
            read,
            f"Filter drop {read} cannot be: the clean filter drops {clean} at the flow that it would let through.",
            "Fan on? Look at the gauge's zero, its hoses and its unit, and type the drop again.",
            "extraction.filter_drop",
            "filter",
        )
    return Finding(
        "filter",
        Verdict.CAUTION,
        f"Filter drop {read} is {share:.1f} times the clean drop ({clean}): less air flows than the ducts say.",
        "Read the air at this machine; look for a plug or a shut gate, and at the gauge's zero.",
        read,
        basis="filter",
        source=PRACTICE,
        workings=f"clean {clean} at the flow that the ducts let through with this drop",
        actions=("gauge looked at", "air read at the hood", "lead told"),
    )
