"""Station 2, glue: squeeze-out is let stand and snapped off hard with a scraper before the stock comes here."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from preflight.checks.backing.grit_sequence import first_to_cut
from preflight.checks.backing.head_cap import head_cap
from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import basis, judged, missing, said
from preflight.quantities import Kind, computed, show_beside
from preflight.shop import defaults

if TYPE_CHECKING:
    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.view import ShopView

MONEY: Final = "seconds a joint with a scraper, against a belt, its change and a stopped machine"
"""What the scraper saves; said wherever glue is still on."""
SNAP_OFF: Final = "Let beads stand and snap them off hard with a scraper"
SMEAR_ACTIONS = ("smear scraped off by hand", "old belt kept for this lot", "lot sent back", "lead told")
YOUNG_ACTIONS = ("lot set aside until the time is up", "lead told, finish allows it", "other lot first")


def check(sheet: SetupSheet, shop: ShopView, history: History | None) -> list[Finding]:
    """Findings of the glue station."""
    found = [_state(sheet, shop)]
    if sheet.glue.bead_height is not None:
        found += _bead(sheet, shop)
    found += _age(sheet, shop)
    if sheet.glue.glue in ("rubbery", "wet"):
        found.append(_soft(sheet, shop))
    return found


def _state(sheet: SetupSheet, shop: ShopView) -> Finding:
    glue = sheet.glue
    allowed = ("none", "scraped")
    if glue.state is None:
        return missing(
            "glue",
            "Squeeze-out is not looked at yet.",
            "Look along every joint on both faces, frame corners too: none, scraped, beads standing or smeared?",
            "glue.state",
        )
    if glue.state == "none":
        return Finding("glue", Verdict.OK, "No squeeze-out on this lot.", measured="none", allowed=allowed)
    if glue.state == "scraped":
        if not glue.by.strip():
            return missing("glue", "Beads are scraped, by whom is not said.", "Name who scraped them.", "glue.by")
        return Finding(
            "glue", Verdict.OK, f"Beads scraped, by {glue.by.strip().rstrip('.')}.", measured="scraped", allowed=allowed
        )
    if glue.state == "beads standing":
        return Finding(
            "glue",
            Verdict.STOP,
            f"Beads are still standing: {MONEY}.",
            f"Send the lot back. {SNAP_OFF}: seconds a joint, best where it was glued, before it reaches the machine.",
            measured=glue.state,
            allowed=allowed,
            basis="glue.state",
            source=defaults.PRACTICE,
        )
    stops = shop.machine.glue.smear == "stop"
    return Finding(
        "glue",
        Verdict.STOP if stops else Verdict.CAUTION,
        "Glue was smeared while wet, worse than a standing bead: a wider strip, and it cannot be snapped off.",
        f"Scrape the smear off by hand, or spend an old belt on it: {MONEY}. "
        "Next time never wipe: let beads stand and snap them off.",
        measured=glue.state,
        allowed=allowed,
        basis="glue.smear",
        source=shop.machine.source if stops else defaults.PRACTICE,
        actions=() if stops else SMEAR_ACTIONS,
    )


def _bead(sheet: SetupSheet, shop: ShopView) -> list[Finding]:
    height = sheet.glue.bead_height
    assert height is not None
    units = shop.machine.units
    by = basis(shop.machine.glue.bead, "glue.bead", shop.machine.source, defaults.BEAD)
    assert by is not None
    found = [
        judged(
            "bead height",
            "Highest bead",
            height,
            by,
            units,
            too_high=f"{SNAP_OFF}: {MONEY}.",
            near=f"{SNAP_OFF}; what is left counts on top of the removal.",
            actions=("to be snapped off before the run", "first pass set higher", "lead told"),
        )
    ]
    if height.value > 0:
        found += _bite(sheet, shop)
    return found


def _bite(sheet: SetupSheet, shop: ShopView) -> list[Finding]:
    """The bead on top of the first cutting head's removal, against what that head takes; hard glue counts double."""
    machine, height = shop.machine, sheet.glue.bead_height
    assert height is not None
    head = first_to_cut(sheet, machine)
    if head is None:
        return []
    on = sheet.belt_on(head.id)
    card = shop.belt(on)
    share = (sheet.removal.share or {}).get(head.id)
    if card is None or share is None:
        return []
    try:
        cap = head_cap(machine, head, on, card.grit)
    except ValueError:
        return []  # the stock and backing stations say so
    units = machine.units
    soft = share.value + height.value
    hard = share.value + defaults.HARD_GLUE * height.value
    bite, most = computed(soft, Kind.LENGTH, units), computed(cap.cap, Kind.LENGTH, units)
    if hard <= cap.cap:
        verdict, remedy = Verdict.OK, ""
        statement = f"Removal and bead together bite {bite}; head {head.id} takes {most}."
    elif soft <= cap.cap:
        verdict = Verdict.CAUTION
        over = show_beside(hard - cap.cap, 0.0, Kind.LENGTH, units)
        statement = (
            f"Removal and bead bite {bite}; hard glue counts twice, and that is {over} over head {head.id}'s {most}."
        )
        remedy = f"{SNAP_OFF}, or take less on head {head.id}."
    else:
        verdict = Verdict.STOP
        over = show_beside(soft - cap.cap, 0.0, Kind.LENGTH, units)
        statement = f"Removal and bead together bite {bite}, {over} over the {most} that head {head.id} takes."
        remedy = f"{SNAP_OFF}: {MONEY}."
    return [
        Finding(
            "bite",
            verdict,
            statement,
            remedy,
            measured=bite,
            high=most,
            basis=cap.basis,
            source=cap.source,
            workings=f"bite = share {share} + bead {height}; hard: share + 2 x bead (default: from memory)",
            actions=("to be snapped off before the run", "lead told") if verdict is Verdict.CAUTION else (),
        )
    ]


def _age(sheet: SetupSheet, shop: ShopView) -> list[Finding]:
    hours, state = sheet.glue.hours_since_clamps, sheet.glue.state
    if hours is None:
        if state not in ("beads standing", "smeared"):
            return []
        return [
            missing(
                "glue age",
                "Hours since the clamps came off are not known.",
                "Ask whoever glued the lot, and type the hours.",
                "glue.hours_since_clamps",
            )
        ]
    wait = shop.machine.glue.wait or defaults.GLUE_WAIT
    stated = shop.machine.glue.wait is not None
    source = shop.machine.source if stated else defaults.PRACTICE
    reading = computed(hours * 3600.0, Kind.HOURS)
    left = wait.value - reading.value
    if left <= 0:
        statement, verdict, remedy = f"Clamps off {reading} ago; {said(wait, 'metric')} is asked.", Verdict.OK, ""
    else:
        verdict = Verdict.CAUTION
        short = show_beside(left, 0.0, Kind.HOURS)
        statement = (
            f"Clamps came off {reading} ago, {short} short of {wait}: the joint is still swollen and sinks later."
        )
        remedy = f"Wait {short} more before sanding, for a clear finish above all."
    return [
        Finding(
            "glue age",
            verdict,
            statement,
            remedy,
            measured=reading,
            low=wait,
            basis="glue.wait",
            source=source,
            actions=YOUNG_ACTIONS if left > 0 else (),
        )
    ]


def _soft(sheet: SetupSheet, shop: ShopView) -> Finding:
    wait = shop.machine.glue.wait or defaults.GLUE_WAIT
    state = sheet.glue.glue
    assert state is not None
    return Finding(
        "glue under the nail",
        Verdict.CAUTION,
        f"Glue is {state} under the nail: it melts into the belt and loads it.",
        f"Wait until it is hard, {wait} from clamps off, then snap the beads off with a scraper.",
        measured=state,
        allowed=("hard",),
        basis="glue.wait",
        source=defaults.PRACTICE,
        actions=YOUNG_ACTIONS,
    )
