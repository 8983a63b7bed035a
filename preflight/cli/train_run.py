"""`preflight train run` and `read`: practice as questions on standard output and answers on standard input."""

from __future__ import annotations

import secrets
import sys
import time
from typing import TYPE_CHECKING

from preflight.checklist.key_folder import KeyFolder, key_folder
from preflight.checklist.register import read_register
from preflight.checks.finding import Verdict
from preflight.cli.asked import named, now, signing, token
from preflight.cli.folded import show
from preflight.cli.practice_text import PRACTICE, closing, explained, opening, station
from preflight.cli.shop_path import shop_path
from preflight.errors import PreflightError
from preflight.outside_text import joined
from preflight.quantities import QuantityError
from preflight.training.drill_file import written_drill
from preflight.training.gate import gate_of
from preflight.training.generator import LEVELS, generated
from preflight.training.instruments import BY_ID, drawn, lines, number_in, read
from preflight.training.kept_drill import begin_on_record
from preflight.training.leaning import leaning
from preflight.training.question import causes, remedies
from preflight.training.records import PracticeBook, practice
from preflight.training.score import Judgement, Outcome
from preflight.training.sitting import begin
from preflight.training.surprise import is_due, surprise

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence
    from pathlib import Path

    from preflight.training.drill import Drill
    from preflight.training.kept_drill import KeptDrill
    from preflight.training.question import Question
    from preflight.training.sitting import Sitting

SEEDS = 2**31
VERDICTS = tuple(Verdict)
"""Answered by word, first letters or number."""


class NoAnswerError(PreflightError):
    """The answers ended before the questions."""


def run(arguments: argparse.Namespace) -> int:
    """Run a drill, or read an instrument. Status 0 nothing missed, 1 false alarms only, 2 something missed."""
    if arguments.what == "read":
        return _read(arguments)
    where = shop_path(arguments.shop)
    shop = where.needed if arguments.name else where.existing  # only a record needs a folder
    if arguments.name and shop is not None:  # who cannot sign is told before a drill is drawn
        named(read_register(shop), KeyFolder(key_folder(arguments.keys)), arguments.name)
    if arguments.surprise:
        if (due := _surprise(arguments, shop)) is None:
            print(f"{PRACTICE}: no surprise drill is due for {arguments.name}.")
            return 0
        sitting = begin(due, LEVELS[-1], surprise=True)
    else:
        sitting = begin(drill_for(arguments, shop), arguments.level)
    kept = _begun(sitting, shop, arguments) if arguments.name and shop is not None else None
    show(opening(sitting))
    try:
        while not sitting.done:
            check = sitting.left[0]
            sitting = _judged(sitting, check)
            show(explained(sitting, check))
    except (NoAnswerError, KeyboardInterrupt):
        _given_up(sitting, kept)
        raise
    words = _kept(kept, sitting) if kept is not None else "not kept: no name was given (--as NAME)"
    show([*closing(sitting), f"{PRACTICE} {words}."])
    marked = sitting.marked
    if marked.misses:
        return 2
    return 1 if any(one.outcome is Outcome.FALSE_ALARM for one in marked.marks) else 0


def drill_for(arguments: argparse.Namespace, shop: Path | None) -> Drill:
    """The written drill that was named, else one drawn, leaning to what this person misses."""
    if arguments.drill:
        return written_drill(arguments.drill)
    seed = arguments.seed if arguments.seed is not None else secrets.randbelow(SEEDS)
    if arguments.seed is not None or not arguments.name or shop is None:
        return generated(seed, arguments.level)
    return generated(seed, arguments.level, leaning(practice(shop), arguments.name, now()))


def _surprise(arguments: argparse.Namespace, shop: Path | None) -> Drill | None:
    """The surprise drill of the person named, when it is due."""
    if not arguments.name or shop is None or arguments.drill:
        raise PreflightError("A surprise drill is drawn for one person.", "train run --surprise --as NAME")
    records = practice(shop, read_register(shop))
    if not is_due(records, arguments.name, gate_of(shop), now()):
        return None
    seed = arguments.seed if arguments.seed is not None else secrets.randbelow(SEEDS)
    return surprise(seed, leaning(records, arguments.name, now()))


def _judged(sitting: Sitting, check: str) -> Sitting:
    """Ask one station: verdict, and where it is not ok the cause and the remedy."""
    show(station(sitting, check))
    began = time.monotonic()
    verdict = VERDICTS[_choice("Your verdict?", [one.word for one in VERDICTS])]
    cause = remedy = ""
    if verdict is not Verdict.OK:
        cause, remedy = _chosen(causes(sitting.drill, check)), _chosen(remedies(sitting.drill, check))
    return sitting.judging(Judgement(check, verdict, cause, remedy, time.monotonic() - began))


def _chosen(question: Question) -> str:
    return question.choices[_choice(question.ask, question.choices)]


def _choice(ask: str, choices: Sequence[str]) -> int:
    """Number of the line that was chosen: typed as its number or its beginning."""
    show([f"{PRACTICE} {ask}", *(f"  {number} {line}" for number, line in enumerate(choices, 1))])
    while True:
        answer = _line().casefold()
        if answer.isdigit() and 1 <= int(answer) <= len(choices):
            return int(answer) - 1
        found = [at for at, line in enumerate(choices) if answer and line.casefold().startswith(answer)]
        if len(found) == 1:
            return found[0]
        print(f"Type a number of 1 to {len(choices)}, or the beginning of a line.", flush=True)


def _line() -> str:
    sys.stdout.flush()
    typed = sys.stdin.readline()
    if not typed:
        raise NoAnswerError("The answers ended before the drill did.")
    return typed.strip()


def _begun(sitting: Sitting, shop: Path, arguments: argparse.Namespace) -> KeptDrill:
    """The drill put on record before anything of it is shown, signed where the shop has people."""
    by = signing(read_register(shop), KeyFolder(key_folder(arguments.keys)), arguments.name)
    drawn = not arguments.drill and arguments.seed is None and not sitting.surprise
    kept = begin_on_record(PracticeBook(shop, token), sitting, by, now(), drawn=drawn)
    show([f"{PRACTICE} begun as {by.name}: it counts from here, also when it is left (Ctrl+C)."])
    return kept


def _kept(kept: KeptDrill, sitting: Sitting) -> str:
    """Save how the drill ended; the words that say where."""
    head = kept.end(sitting, now()).head
    unsigned = "" if kept.by.signer is not None else ", unsigned (this shop has no people yet)"
    return f"kept{'' if sitting.done else ' as given up'}: record {head.sequence} of {head.machine}{unsigned}"


def _given_up(sitting: Sitting, kept: KeptDrill | None) -> None:
    """Say what becomes of a drill that is left, once it is on record."""
    judged = f"{len(sitting.judged)} of {len(sitting.drill.asked)} stations judged"
    becomes = _kept(kept, sitting) if kept is not None else "nothing was kept"
    show([f"{PRACTICE} left, {judged}; {becomes}."], sys.stderr)


def _read(arguments: argparse.Namespace) -> int:
    """Draw an instrument, ask for its reading, judge it. Status 0 right, 2 wrong."""
    name = arguments.instrument or secrets.choice(list(BY_ID))
    if name not in BY_ID:
        raise PreflightError(f"There is no instrument {name!r}.", f"There are: {', '.join(BY_ID)}.")
    seed = arguments.seed if arguments.seed is not None else secrets.randbelow(SEEDS)
    instrument, value, grid = drawn(name, seed)
    show([f"{PRACTICE} {instrument.name}: read it in {instrument.unit}, as finely as its scale allows."])
    print(joined(lines(grid)))
    said = number_in(instrument, _line())
    if said is None:
        raise QuantityError(f"A number in {instrument.unit} is wanted.")
    found = read(instrument, value, said)
    show([found.statement])
    return 0 if found.right else 2
