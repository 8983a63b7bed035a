"""Station 1, stock: the thickest piece sets the opening, the sizes fit the machine, no metal."""

from __future__ import annotations

from dataclasses import replace
from operator import attrgetter
from typing import TYPE_CHECKING

from preflight.checks.backing.grit_sequence import first_to_cut
from preflight.checks.backing.head_cap import head_cap
from preflight.checks.carrier import carrier_words
from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import Basis, apart, basis, judged, missing, said, verdict_of
from preflight.checks.slips import asked_first, impossible, slip
from preflight.checks.stock.part_sizes import SIZE_CARE, one_end_of, part_sizes
from preflight.quantities import Kind, Quantity, computed, show_beside
from preflight.shop import defaults
from preflight.shop.limits import Limit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.cards import JobCard
    from preflight.shop.view import ShopView

SORTING = ("sorted into two groups", "thick pieces fed first on their own", "lead told")


def check(sheet: SetupSheet, shop: ShopView, history: History | None) -> list[Finding]:
    """Findings of the stock station."""
    job = shop.job(sheet)
    found: list[Finding] = []
    if job is None:
        found.append(_no_job(sheet))
    found += _instrument(sheet)
    found += _thickness(sheet, shop, job)
    found += part_sizes(sheet, shop, job)
    found.append(_metal(sheet, job))
    return found


def _no_job(sheet: SetupSheet) -> Finding:
    if sheet.job:
        return missing(
            "job", f"No job card {sheet.job} is at hand.", "Pick a job card, or have the lead make one.", "job"
        )
    return missing("job", "No job card is picked yet.", "Pick the job card of this lot.", "job")


def _instrument(sheet: SetupSheet) -> list[Finding]:
    """The question about a resolution that no caliper has."""
    step = sheet.stock.instrument.resolution if sheet.stock.instrument is not None else None
    if step is None or verdict_of(step.value, defaults.CALIPER_STEP)[0] is not Verdict.STOP:
        return []
    return [
        impossible(
            "instrument",
            step,
            f"A caliper that reads to {step} cannot be: most read to 0.01 mm or 0.0005 in.",
            "Look at its last digit: type the smallest step it shows, not what it measures up to.",
            "stock.instrument.resolution",
            "instrument",
        )
    ]


def _not_measured(readings: Sequence[Quantity]) -> list[Finding]:
    """The question about a piece of no thickness."""
    least = min(readings, key=attrgetter("value"))
    return [
        impossible(
            "thinnest",
            least,
            f"A piece of {least} cannot be: it was not measured, or the caliper's zero is off.",
            "Close the caliper: 0? Then measure the thickest and the thinnest piece and type them again.",
            "stock.thickness",
            "thickness",
        )
    ]


def _thickness(sheet: SetupSheet, shop: ShopView, job: JobCard | None) -> list[Finding]:
    readings = sheet.stock.thickness
    if len(readings) < 2:
        so_far = f"only {readings[0]} is read" if readings else "no thickness is read"
        return [
            missing(
                "thickness",
                f"Of the thickest and the thinnest piece {so_far}.",
                "Walk the stack with the caliper: measure the thickest and the thinnest piece, off any glue bead.",
                "stock.thickness",
            )
        ]
    if any(reading.value <= 0 for reading in readings):
        return _not_measured(readings)
    units, limits = shop.machine.units, shop.machine.conveyor
    thickest, thinnest = max(readings, key=attrgetter("value")), min(readings, key=attrgetter("value"))
    resolution = sheet.stock.instrument.resolution.value if sheet.stock.instrument else 0.0
    by = basis(limits.part_thickness, "conveyor.part_thickness", shop.machine.source, defaults.PART_THICKNESS)
    assert by is not None
    found: list[Finding] = []
    slipped: list[Finding] = []
    surely: list[Finding] = []
    ends = (("thickness", "Thickest piece", thickest, "high"), ("thinnest", "Thinnest piece", thinnest, "low"))
    for subject, what, reading, end in ends:
        one_end = one_end_of(by, end)
        sure = _against_target(subject, what, reading, job, units)
        asked = sure or _beyond(subject, what, reading, by, job, units)
        slipped += [asked] if asked is not None else []
        surely += [sure] if sure is not None else []
        if one_end is None:
            continue
        judged_size = judged(
            subject,
            what,
            reading,
            one_end,
            units,
            too_low=carrier_words(shop.machine),
            too_high="It does not pass this machine: plane or saw it down first.",
            near="Go by the machine book for parts of this thickness.",
            resolution=resolution,
            actions=SIZE_CARE,
        )
        found += asked_first([judged_size], sure)[:1]
    both = [_opening(thickest, thinnest, job, units)] if job is not None else []
    both.append(_spread(sheet, shop, job, thickest, thinnest))
    return [*found, *asked_first(both, surely[0] if surely else None)[: len(both)], *slipped]


def _beyond(subject: str, what: str, reading: Quantity, by: Basis, job: JobCard | None, units: str) -> Finding | None:
    """Without a job: the question about a slip where the reading is beyond the machine; a thin piece can be."""
    if job is not None:
        return None
    return slip(subject, what, reading, by.limit, units, "stock.thickness", possible=Limit(high=by.limit.low))


def _against_target(subject: str, what: str, reading: Quantity, job: JobCard | None, units: str) -> Finding | None:
    """The question about a slip where the reading is far from what the job sands down to."""
    if job is None or job.target_thickness.value <= 0:
        return None
    far = computed(job.target_thickness.value * defaults.STOCK_NEAR, Kind.LENGTH, units)
    return slip(subject, what, reading, Limit(low=job.target_thickness, high=far), units, "stock.thickness")


def _opening(thickest: Quantity, thinnest: Quantity, job: JobCard, units: str) -> Finding:
    target = job.target_thickness
    spare = thinnest.value - target.value
    if spare <= 0:
        short = show_beside(-spare, 0.0, Kind.LENGTH, units)
        under = f"is {short} under" if spare else "is already at"
        return Finding(
            "opening",
            Verdict.STOP,
            f"Thinnest piece {said(thinnest, units)} {under} the target of {said(target, units)}: nothing to sand off.",
            "Take the thin pieces out of the lot, or ask the lead for another target.",
            measured=thinnest,
            low=target,
            basis="job.target_thickness",
            source="job card",
        )
    total = apart(thickest, target, units)
    return Finding(
        "opening",
        Verdict.OK,
        f"The thickest piece, {said(thickest, units)}, sets the opening: {total} over the target.",
        measured=thickest,
        basis="job.target_thickness",
        source="job card",
        workings=f"total removal = thickest {thickest} - target {target} = {total}; {job.faces} face(s)",
    )


def _spread(sheet: SetupSheet, shop: ShopView, job: JobCard | None, thickest: Quantity, thinnest: Quantity) -> Finding:
    machine = shop.machine
    spread = apart(thickest, thinnest, machine.units)
    first = first_to_cut(sheet, machine) or machine.heads[0]
    on = sheet.belt_on(first.id)
    card = shop.belt(on)
    grit = card.grit if card is not None else job.grits.get(first.id) if job is not None else None
    if grit is None:
        return missing(
            "spread",
            f"Spread {spread} cannot be judged: the grit on head {first.id} is not known yet.",
            "Pick the job card, or the belt card of that head.",
            f"belts.{first.id}.card",
        )
    try:
        cap = head_cap(machine, first, on, grit)
    except ValueError as error:
        return missing("spread", f"Spread {spread} cannot be judged: {error}.", "Have the lead mend the profile.")
    allowed = computed(cap.cap * defaults.SPREAD_SHARE, Kind.LENGTH, machine.units)
    part = f"{defaults.SPREAD_SHARE:.0%}"
    inside = Finding(
        "spread",
        Verdict.OK,
        f"Spread {spread} is within {part} of what head {first.id} takes in a pass ({allowed}).",
        measured=spread,
        high=allowed,
        basis=cap.basis,
        source=cap.source,
        workings=(
            f"spread = {thickest} - {thinnest} = {spread}; {part} of the cap of {grit}, head {first.id} = {allowed}"
        ),
    )
    if spread.value <= allowed.value:
        return inside
    over = show_beside(spread.value - allowed.value, 0.0, Kind.LENGTH, machine.units)
    return replace(
        inside,
        verdict=Verdict.CAUTION,
        statement=f"Spread {spread} is {over} over {part} of what head {first.id} takes in a pass ({allowed}).",
        remedy="Sort into two thickness groups; run the thick group first, each opening set from its thickest piece.",
        actions=SORTING,
    )


def _metal(sheet: SetupSheet, job: JobCard | None) -> Finding:
    count = sheet.stock.metal_found
    if count is None:
        reclaimed = "Reclaimed stock is not scanned" if job is not None and job.reclaimed else "Stock is not scanned"
        return missing(
            "metal",
            f"{reclaimed} for metal yet.",
            "Run the wand over every face: a staple makes sparks that reach the filter in a second or two.",
            "stock.metal_found",
        )
    if count:
        pieces = "1 piece" if count == 1 else f"{count} pieces"
        return Finding(
            "metal",
            Verdict.STOP,
            f"{pieces} of metal found and not removed: sparks would be carried to the filter in a second or two.",
            "Pull it, do not punch it below; scan the piece again and enter 0. Nobody may go on past this.",
            measured=str(count),
            allowed=("0",),
            basis="metal in stock",
            source=defaults.PRACTICE,
            takes_override=False,
        )
    return Finding(
        "metal",
        Verdict.OK,
        "No metal found.",
        measured="0",
        allowed=("0",),
        basis="metal in stock",
        source=defaults.PRACTICE,
    )
