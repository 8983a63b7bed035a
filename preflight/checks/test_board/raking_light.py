"""What raking light shows on the test board, how bad it is, and the first test that tells causes apart.

Words and order: common practice, no source. The screens offer the words; a typed answer finds its row by them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import missing
from preflight.shop import defaults

if TYPE_CHECKING:
    from preflight.sheet import SetupSheet

CLEAN: Final = "clean"


@dataclass(frozen=True, slots=True)
class Symptom:
    """One thing seen on the board."""

    words: str
    stops: bool
    """It spoils every board, or the next one spoils the machine."""
    first_test: str
    remedy: str


SYMPTOMS: Final = (
    Symptom("raised straight line", True, "Does the belt oscillate?", "Get it to oscillate; dress the drum."),
    Symptom("raised wavy line", True, "Mark the belt, stop, look for glue or bare spots.", "Change or wash the belt."),
    Symptom("sunken straight scratch", True, "Second pass moved 100 mm: same place?", "Clean platen and rollers."),
    Symptom("dashes in a row", True, "Measure ten dashes: pitch of the joint?", "Knock the grain down or change belt."),
    Symptom("faint dull streak", False, "Turn the platen pad: does it change side?", "New graphite cloth, clean felt."),
    Symptom("burn line", True, "Is the streak raised to the finger? Glue on the belt?", "Change belt, scrape the lot."),
    Symptom("burn in patches", True, "Half the removal: is the burn gone?", "Coarser or new belt; feed no slower."),
    Symptom("cross band", False, "All boards abreast marked at the same time?", "Better grip of the conveyor."),
    Symptom("chatter", True, "Pitch against drum and joint: change the feed by 25 %.", "Joint, drum or bearing."),
    Symptom("waves far apart", False, "Change the feed by 25 %: does the pitch stay?", "See feed rollers and chain."),
    Symptom("ripple", False, "Hand on the frame, neighbour machine off.", "Tighten bed lock and anchors."),
    Symptom("snipe", False, "Lift the platen: is it gone?", "Set the hold-down rollers by the machine book."),
    Symptom("rounded edges", False, "Compare with the platen lifted.", "Harder drum; feed close side by side."),
    Symptom("fuzzy grain", False, "Read the moisture; try a new belt.", "Dry the lot; a sharp belt, a light pass."),
    Symptom("cross scratches", False, "Pass with the last head only.", "Finer last grit, or another pass."),
    Symptom("deep stray scratches", True, "Blow and vacuum, then repeat: still there?", "Clean; see the air."),
    Symptom("dust streak", False, "Hold a light thread at the slot, heads off.", "Clear the suction slot."),
    Symptom("sand-through", True, "Map the spots: ends, edges or scattered?", "Less removal; clean bed; sort panels."),
    Symptom("shiny and dull stripes", False, "Second board at another place.", "New belt; spread the places."),
)  # fmt: skip
"""Rows of the symptom list that a lamp held low can show; all common practice, no source."""


def symptom_of(text: str) -> Symptom | None:
    """The row that a typed answer names, or None.

    >>> symptom_of("burn line, 300 mm from the left").words
    'burn line'
    """
    said = text.casefold()
    return next((symptom for symptom in SYMPTOMS if symptom.words in said), None)


def look(sheet: SetupSheet) -> Finding:
    """Judge the look in raking light: clean, a known symptom, or something else that was seen."""
    answer = sheet.test_board.raking_light.strip()
    if not answer:
        return missing(
            "raking light",
            "The surface is not looked at in raking light.",
            "Hold a lamp low along the board: clean, or what is seen?",
            "test_board.raking_light",
        )
    if answer.casefold() == CLEAN:
        return Finding("raking light", Verdict.OK, "Clean in raking light.", measured=answer, allowed=(CLEAN,))
    symptom = symptom_of(answer)
    if symptom is None:
        verdict, remedy = Verdict.CAUTION, "Lift one head at a time and repeat: which head leaves it? Show the lead."
    else:
        verdict = Verdict.STOP if symptom.stops else Verdict.CAUTION
        remedy = f"First test: {symptom.first_test} Then: {symptom.remedy}"
    return Finding(
        "raking light",
        verdict,
        f"Raking light shows: {answer if len(answer) <= 100 else answer[:99] + '…'}.",
        remedy,
        measured=answer,
        allowed=(CLEAN,),
        basis="raking light",
        source=defaults.PRACTICE,
        actions=("first test done", "second board run", "shown to the lead") if verdict is Verdict.CAUTION else (),
    )
