"""Dust from the planned cut: how thick in this machine's air, and when the bin is full. Never a safety assessment."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import missing
from preflight.checks.removal.planned_removal import plan_for
from preflight.checks.slips import impossible
from preflight.engine.dust import bin_fill_time, dust_per_air, dust_rate
from preflight.quantities import Kind, computed, show
from preflight.shop.defaults import BIN_FULL, BIN_LEAST, BULK_DENSITY, DUST_NOTED, EXPLOSIVE_LIMIT, MEMORY, PRACTICE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preflight.checks.extraction.air_evidence import AirEvidence
    from preflight.sheet import SetupSheet
    from preflight.shop.extraction import Extraction
    from preflight.shop.view import ShopView


def dust_findings(sheet: SetupSheet, shop: ShopView, known: AirEvidence | None) -> Iterator[Finding]:
    """The bin, and the dust in this machine's air when a plan and a flow are known."""
    ducts = shop.extraction
    if ducts is None:
        return
    rate, how = _rate(sheet, shop)
    yield from _bin(sheet, shop, ducts, rate, how)
    own = [gate for gate in shop.machine.sander_gates if known is not None and gate in known.opened]
    flows = [flow for gate in own if known is not None and (flow := known.flow(gate)) is not None]
    if rate > 0 and flows and len(flows) == len(own) and sum(flows) > 0:
        yield _per_air(ducts, shop, rate, math.fsum(flows), how)


def _rate(sheet: SetupSheet, shop: ShopView) -> tuple[float, str]:
    """Dust in kg/s of the heaviest pass at full cover, and how it was worked out; 0 without a plan."""
    plan = plan_for(sheet, shop)
    if plan is None or not plan.passes:
        return 0.0, ""
    heaviest = max(math.fsum(one.values()) for one in plan.passes)
    density, source = shop.density(shop.job(sheet))
    rate = dust_rate(density, plan.cut_width, heaviest, plan.feed_speed)
    units = shop.machine.units
    how = (
        f"ρ·W·a·v = {density:.0f} kg/m³ ({source}) · {show(plan.cut_width, Kind.LENGTH, units)} · "
        f"{show(heaviest, Kind.LENGTH, units)} · {show(plan.feed_speed, Kind.FEED_SPEED, units)} "
        f"= {rate * 60:.2f} kg/min"
    )
    return rate, how


def _bin(sheet: SetupSheet, shop: ShopView, ducts: Extraction, rate: float, how: str) -> Iterator[Finding]:
    share = sheet.extraction.bin_full
    if ducts.bin is None:
        return
    if share is None:
        yield missing(
            "bin",
            "Nobody has said how full the bin is.",
            "Look at its window or level mark, never open it.",
            "extraction.bin_full",
        )
        return
    if 0 < share < BIN_LEAST:
        read = f"{share * 100:.2g} %"
        yield impossible(
            "bin",
            read,
            f"The bin is read as {read} full: no window shows that. Was {share * 10_000:.2g} % meant?",
            "Look at its window or level mark again and type full per cent: 40 for four tenths.",
            "extraction.bin_full",
            "bin",
        )
        return
    loose = ducts.bin.low_density or BULK_DENSITY
    left = bin_fill_time(ducts.bin.volume.value, share, loose.value, rate)
    when = f", full after about {_minutes(left)} of full cover" if math.isfinite(left) else ""
    workings = f"{ducts.bin.volume} bin, loose dust {loose}; {how}" if how else f"{ducts.bin.volume} bin"
    full = f"The bin is {round(share * 100, 2):g}% full"
    text = f"{full}{when}."
    if share >= BIN_FULL:
        yield Finding(
            "bin",
            Verdict.STOP,
            text,
            "Smell, smoke or warmth: raise the alarm first. Else stop and empty it by the site's rules.",
            f"{share:.2f}",
            basis="bin",
            source=PRACTICE,
            workings=workings,
        )
        return
    need = _run_time(sheet, shop)
    if need and left < need:
        yield Finding(
            "bin",
            Verdict.CAUTION,
            f"{full}: full after about {_minutes(left)}, the job takes {_minutes(need)}.",
            "Empty it before the job, or stop for it half-way.",
            f"{share:.2f}",
            basis="bin",
            source=ducts.name,
            workings=workings,
            actions=("to be emptied before the run", "stop for it planned"),
        )
        return
    yield Finding("bin", Verdict.OK, text, "", f"{share:.2f}", basis="bin", source=ducts.name, workings=workings)


def _per_air(ducts: Extraction, shop: ShopView, rate: float, flow: float, how: str) -> Finding:
    limit = ducts.explosive_limit or EXPLOSIVE_LIMIT
    source = ducts.name if ducts.explosive_limit else MEMORY
    thick = dust_per_air(rate, flow)
    reading = computed(thick, Kind.DENSITY)
    grams = f"{thick * 1000:.0f} g/m³"
    workings = f"c = rate/Q with Q = {show(flow, Kind.AIR_FLOW, shop.machine.units)}; {how}"
    text = f"At full cover this cut puts {grams} of dust in the air"
    if thick > limit.value and ducts.protection is None:
        return Finding(
            "dust per air",
            Verdict.STOP,
            f"{text}, over the assumed explosive limit of {limit}.",
            "Take less a pass, feed slower, cover less width, or ask: no approved protection is stated. "
            "This is no safety assessment.",
            reading,
            high=limit,
            basis="explosive_limit",
            source=source,
            workings=workings,
        )
    if thick > limit.value * DUST_NOTED:
        over = "over" if thick > limit.value else f"more than {DUST_NOTED:.0%} of"
        guard = f" Stated: {ducts.protection.what}, {ducts.protection.by}." if ducts.protection else ""
        return Finding(
            "dust per air",
            Verdict.OK,
            f"{text}, {over} the assumed explosive limit of {limit}.",
            f"Keep sparks and metal out; less cut or feed makes less dust.{guard} This is no safety assessment.",
            reading,
            high=limit,
            basis="explosive_limit",
            source=source,
            workings=workings,
        )
    return Finding(
        "dust per air",
        Verdict.OK,
        f"{text}, under {DUST_NOTED:.0%} of the assumed limit of {limit}.",
        "",
        reading,
        high=limit,
        basis="explosive_limit",
        source=source,
        workings=workings,
    )


def _run_time(sheet: SetupSheet, shop: ShopView) -> float:
    """Seconds of full cover that the whole job needs; 0 when not known."""
    job, plan = shop.job(sheet), plan_for(sheet, shop)
    if job is None or plan is None or not plan.passes or plan.feed_speed <= 0:
        return 0.0
    area = math.fsum(p.width.value * p.length.value * p.count for p in job.parts)
    return area * len(plan.passes) * job.faces / (plan.cut_width * plan.feed_speed)


def _minutes(seconds: float) -> str:
    return f"{seconds / 60:.0f} min" if seconds < 5400 else f"{seconds / 3600:.1f} h"
