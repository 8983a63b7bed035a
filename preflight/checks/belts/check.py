"""Station 3, belts: the belt's size inside the head's window, its cone, arrow, glue lines and dryness."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from preflight.checks.belts.belt_life import hours_run, kept_and_joined
from preflight.checks.belts.belt_wash import washing
from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import apart, basis, judged, missing, said
from preflight.checks.slips import slip
from preflight.quantities import Kind, Quantity, computed, parse, show, show_beside
from preflight.shop import defaults
from preflight.shop.cards import keep_off_strips

if TYPE_CHECKING:
    from preflight.history import History
    from preflight.sheet import BeltOnHead, SetupSheet
    from preflight.shop.cards import BeltCard
    from preflight.shop.machine import Head
    from preflight.shop.view import ShopView

LOOKS = ("edges", "joint", "arrow", "no glue line")
OTHER_BELT = ("other belt put on", "tracking watched for 10 cycles", "lead told")
ON_THE_STOP = "Take it off and fetch one of this head's size; never wind the take-up to its end: the gauge then lies."


def check(sheet: SetupSheet, shop: ShopView, history: History | None) -> list[Finding]:
    """Findings of the belts station, head by head."""
    found: list[Finding] = []
    for index, head in enumerate(shop.machine.heads, start=1):
        found += _on_head(index, head, sheet, shop, history)
    found += _twice(sheet, shop)
    return found


def _on_head(index: int, head: Head, sheet: SetupSheet, shop: ShopView, history: History | None) -> list[Finding]:
    on = sheet.belt_on(head.id)
    subject, asks = f"head {head.id}", f"belts.{head.id}.card"
    if on is None or on.card is None:
        return [missing(subject, f"No belt is named for head {head.id} yet.", "Pick or make its belt card.", asks)]
    card = shop.belt(on)
    if card is None:
        what = f"Belt card {on.card} of head {head.id} is not found."
        return [missing(subject, what, "Pick another card, or measure the belt once and make its card.", asks)]
    found = [_confirmed(head, on, card)]
    found += _arrow(head, on, card)
    if card.head is not None and card.head != head.id:
        found.append(_other_head(head, card))
    found += _length(index, head, card, shop)
    found += _width(index, head, card, shop)
    found += washing(head.id, card, on)
    found += kept_and_joined(head, card, shop.machine)
    found += hours_run(head, card, sheet, history)
    found += _glue_lines(index, head, card, shop)
    return found


def _confirmed(head: Head, on: BeltOnHead, card: BeltCard) -> Finding:
    """The looks at the belt; a card that names a glue line cannot be confirmed free of one."""
    given = set(on.looked) | ({"arrow"} if on.arrow else set())
    wanted = [look for look in LOOKS if not (look == "no glue line" and card.glue_lines)]
    if card.joint == "butt with tape":
        wanted.remove("arrow")  # runs either way
    lacking = [look for look in wanted if look not in given]
    if lacking:
        return missing(
            f"head {head.id} looks",
            f"Belt {card.id} on head {head.id} is not confirmed: {', '.join(lacking)}.",
            "Look at the belt itself, not at its box, and confirm each.",
            f"belts.{head.id}.looked",
        )
    return Finding(
        f"head {head.id} looks",
        Verdict.OK,
        f"Belt {card.id} on head {head.id} is confirmed: {', '.join(wanted)}.",
        measured=", ".join(wanted),
        basis=f"belt card {card.id}",
        source="belt card",
    )


def _arrow(head: Head, on: BeltOnHead, card: BeltCard) -> list[Finding]:
    if on.arrow != "against":
        return []
    laps = card.joint in ("lap", "skived lap")
    joint = f"the {card.joint} joint" if card.joint else "a joint of unknown kind"
    if laps:
        statement = f"Belt {card.id} on head {head.id} runs against its arrow: {joint} is peeled open."
    else:
        statement = f"Belt {card.id} on head {head.id} runs against its arrow, with {joint}."
    return [
        Finding(
            f"head {head.id} arrow",
            Verdict.CAUTION if card.joint == "butt with tape" else Verdict.STOP,
            statement,
            "Take it off and turn it so that its arrow points the way the drum turns.",
            measured="against",
            allowed=("with",),
            basis=f"belt card {card.id}.joint",
            source=defaults.PRACTICE,
            actions=("turned round", "joint looked at after 10 boards", "lead told")
            if card.joint == "butt with tape"
            else (),
        )
    ]


def _other_head(head: Head, card: BeltCard) -> Finding:
    return Finding(
        f"head {head.id} card",
        Verdict.CAUTION,
        f"Belt {card.id} is on head {head.id}; its card says head {card.head}.",
        f"Put it on head {card.head}, or have its card put right if it belongs here.",
        measured=head.id,
        allowed=(str(card.head),),
        basis=f"belt card {card.id}.head",
        source="belt card",
        actions=("moved to its head", "card put right", "lead told"),
    )


def _length(index: int, head: Head, card: BeltCard, shop: ShopView) -> list[Finding]:
    units, source = shop.machine.units, shop.machine.source
    by = basis(head.belt_length, f"heads.{index}.belt_length", source)
    assert by is not None
    found: list[Finding] = []
    asks = f"belts.{head.id}.card"
    for side, reading in (("left", card.length_left), ("right", card.length_right)):
        subject, what = f"head {head.id} length {side}", f"Head {head.id} belt length, {side} edge"
        if reading is None:
            found.append(
                missing(
                    subject,
                    f"Belt {card.id} has no length of its {side} edge on its card.",
                    "Tape both edges once, off the machine, and put them on its card.",
                    asks,
                )
            )
            continue
        finding = judged(
            subject,
            what,
            reading,
            by,
            units,
            too_low=ON_THE_STOP,
            too_high=ON_THE_STOP,
            near="Tape it again; with the belt tight the tension roller must stay off both ends of its travel.",
            actions=OTHER_BELT,
        )
        if named := _neighbour(reading, head, units):
            finding = replace(finding, statement=f"{finding.statement[:-1]}; {named}.")
        found.append(finding)
        if (asked := slip(subject, what, reading, by.limit, units, asks)) is not None:
            found.append(asked)
    if card.length_left is not None and card.length_right is not None:
        found.append(_cone(index, head, card.length_left, card.length_right, shop))
    return found


def _neighbour(reading: Quantity, head: Head, units: str) -> str:
    """Names the inch or metric size that a reading is nearer to than to the head's own nominal; else empty."""
    limit = head.belt_length
    if limit.floor is None or limit.ceiling is None:
        return ""
    nominal = (limit.floor + limit.ceiling) / 2
    for pair in defaults.SIZE_NEIGHBOURS:
        sizes = [(text, parse(text, Kind.LENGTH).value) for text in pair]
        for (own, own_size), (other, other_size) in (sizes, sizes[::-1]):
            is_own = abs(nominal - own_size) <= defaults.NEAR_SIZE.value
            off, to_other = abs(reading.value - nominal), abs(reading.value - other_size)
            if is_own and to_other < off and to_other <= defaults.NEAR_SIZE.value:
                beside = show(other_size, Kind.LENGTH, units)
                return f"looks like the {other}{'' if beside == other else f' ({beside})'} size, not {own}"
    return ""


def _cone(index: int, head: Head, left: Quantity, right: Quantity, shop: ShopView) -> Finding:
    machine = shop.machine
    wide = machine.conveyor.working_width.value >= defaults.WIDE_MACHINE.value
    default = defaults.BELT_CONE_WIDE if wide else defaults.BELT_CONE
    by = basis(head.belt_cone, f"heads.{index}.belt_cone", machine.source, default)
    assert by is not None
    cone = apart(left, right, machine.units)
    return judged(
        f"head {head.id} cone",
        f"Head {head.id} belt cone, one edge longer by",
        cone,
        by,
        machine.units,
        too_high="Take it off: a conical belt walks whatever the knob does. Put it aside for its seller.",
        near="Tape both edges again; if it stays, watch the tracking swing before feeding.",
        workings=f"cone = |left {left} - right {right}| = {cone}",
        actions=OTHER_BELT,
    )


def _width(index: int, head: Head, card: BeltCard, shop: ShopView) -> list[Finding]:
    units, source = shop.machine.units, shop.machine.source
    asks = f"belts.{head.id}.card"
    if card.width is None:
        what = f"Belt {card.id} has no width on its card."
        return [missing(f"head {head.id} width", what, "Tape its width once and put it on its card.", asks)]
    by = basis(head.belt_width, f"heads.{index}.belt_width", source)
    assert by is not None
    what = f"Head {head.id} belt width"
    found = [
        judged(
            f"head {head.id} width",
            what,
            card.width,
            by,
            units,
            too_low="Take it off and fetch one of this head's width: drum ends would run bare.",
            too_high="Take it off and fetch one of this head's width: it would rub on the frame.",
            near="Centre it on the drum within 5 mm, and watch its edges over 10 swings.",
            actions=OTHER_BELT,
        )
    ]
    if (asked := slip(f"head {head.id} width", what, card.width, by.limit, units, asks)) is not None:
        found.append(asked)
    if head.drum_width is not None and head.oscillation_stroke is not None:
        found.append(_swing(index, head, card.width, shop))
    return found


def _swing(index: int, head: Head, width: Quantity, shop: ShopView) -> Finding:
    """Whether the swinging belt stays on its drum; no limit of the profile, so at most a caution."""
    assert head.drum_width is not None
    assert head.oscillation_stroke is not None
    units = shop.machine.units
    room = computed(head.drum_width.value - head.oscillation_stroke.value, Kind.LENGTH, units)
    over = width.value - room.value
    past = over > 1e-12  # the difference of two typed lengths, exact to rounding
    if past:
        by_how_much = show_beside(over, 0.0, Kind.LENGTH, units)
        statement = (
            f"Head {head.id} belt width {said(width, units)} is {by_how_much} over the drum less its swing ({room}): "
            "an edge runs off the drum."
        )
    else:
        statement = f"Head {head.id} belt of {said(width, units)} stays on its drum through the swing ({room})."
    return Finding(
        f"head {head.id} swing",
        Verdict.CAUTION if past else Verdict.OK,
        statement,
        "Use a narrower belt, or set the swing smaller as the machine book says." if past else "",
        measured=width,
        high=room,
        basis=f"heads.{index}.drum_width",
        source=shop.machine.source,
        workings=f"room = drum width {head.drum_width} - oscillation stroke {head.oscillation_stroke} = {room}",
        actions=("swing set smaller", "lead told") if past else (),
    )


def _glue_lines(index: int, head: Head, card: BeltCard, shop: ShopView) -> list[Finding]:
    units = shop.machine.units
    stroke = head.oscillation_stroke.value if head.oscillation_stroke is not None else 0.0
    strips = keep_off_strips(card, stroke, defaults.GLUE_MARGIN.value)
    found = []
    for line, (left, right) in zip(card.glue_lines, strips, strict=True):
        width = computed(right - left, Kind.LENGTH, units)
        margin = show(defaults.GLUE_MARGIN.value, Kind.LENGTH, units)
        ends = f"{show(left, Kind.LENGTH, units)} to {show(right, Kind.LENGTH, units)}"
        found.append(
            Finding(
                f"head {head.id} glue line at {line.centre}",
                Verdict.CAUTION,
                f"Belt {card.id} has a glue line at {said(line.centre, units)}: keep {width} of it free, {ends}.",
                "Keep that strip out of the feed plan until the belt is changed or washed: it marks what passes it.",
                measured=line.width,
                basis=f"belt card {card.id}.glue_lines",
                source=defaults.PRACTICE,
                workings=f"strip = line {line.width} + stroke {show(stroke, Kind.LENGTH, units)} + margin {margin}",
                actions=("strip kept free", "other belt put on", "belt put aside for washing"),
            )
        )
    return found


def _twice(sheet: SetupSheet, shop: ShopView) -> list[Finding]:
    """One belt named on two heads."""
    named = sorted((card.id, head.id) for head in shop.machine.heads if (card := shop.belt(sheet.belt_on(head.id))))
    return [
        Finding(
            f"head {later} card twice",
            Verdict.STOP,
            f"Belt {card} is named on head {head} and on head {later}: one belt cannot be on both.",
            "Read the numbers on the backs of both belts and pick the right cards.",
            measured=card,
            basis=f"belt card {card}",
            source="belt card",
        )
        for (card, head), (other, later) in pairwise(named)
        if card == other
    ]
