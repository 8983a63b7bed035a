"""After the job: what is asked for the run record, and the sheet that the answers make. No Textual here."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import time
from typing import TYPE_CHECKING

from preflight.checklist.run_record import RunDone, RunRecordError, run_table
from preflight.checks.feed.feed_task import FeedTask, chosen_plan, task_for
from preflight.quantities import Kind, QuantityError, parse
from preflight.shop.files import validate
from preflight.tui.stations.feed import tally

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preflight.sheet import SetupSheet
    from preflight.tui.run import Run

HOURS = "Hours under drive, h"
FED = "Fed: +12 feeds as planned, 7 at place 7, 7x3"
BEGAN = "First board in at, as in 7:10 (empty: not known)"
GLUE = "Lost to glue: lots back, belts, minutes, as in 1 0 25 (empty: none)"
OFF = "Belts off: head and why, as in 2 worn out; 1 glue (empty: all stay on)"
DRUMS = "Drums ground or changed since: head numbers (empty: none)"
THICKNESS = "Thickness now and then: left centre right; next board"
CURRENT = "Current now and then, A: head by head; next time"


@dataclass(frozen=True, slots=True)
class Asked:
    """One line of the dialogue."""

    key: str
    question: str
    first: str = ""
    """A tally that was kept while feeding; a reading is never filled in."""


def asked(run: Run) -> list[Asked]:
    """What is asked for this run. RunRecordError while there is no job that could be fed."""
    sheet, task = _task(run)
    try:
        feeds = chosen_plan(sheet, task).feeds
    except ValueError as error:
        raise RunRecordError(
            f"The feed places cannot be followed: {error}.", "Put them right at station feed."
        ) from error
    lots = f", the last of {task.lots} lots" if task.lots > 1 else ""
    return [
        Asked("fed", f"{FED} (empty: all {feeds}{lots})", run.typed.get("feed.fed", "")),
        Asked("hours", HOURS),
        Asked("began", BEGAN),
        Asked("off", OFF),
        Asked("glue", GLUE),
        Asked("drums", DRUMS),
        Asked("thickness", THICKNESS),
        Asked("current", CURRENT),
    ]


def finished(run: Run, answers: Mapping[str, str]) -> tuple[SetupSheet, RunDone]:
    """The sheet with what was counted, and the rest of the answers. PreflightError says which one will not do."""
    sheet, task = _task(run)
    given = {key: text.strip() for key, text in answers.items() if text.strip()}
    if "hours" not in given:
        raise RunRecordError("How long was the machine under drive?", "Half an hour is 0.5.")
    try:
        fed = tally(task)(given["fed"]) if "fed" in given else []
        done = {
            "hours": parse(given["hours"], Kind.HOURS, "h").text,
            **({"began": _time(given["began"])} if "began" in given else {}),
            **({"glue": _glue(given["glue"])} if "glue" in given else {}),
            "off": _off(given.get("off", "")),
            "drums": [{"head": head} for head in re.split(r"[\s,]+", given.get("drums", "")) if head],
            "readings": [
                *({"thickness": texts} for texts in _triples(given.get("thickness", ""), _unit(run))),
                *({"current": _heads(run, amps)} for amps in _currents(given.get("current", ""))),
            ],
        }
    except (QuantityError, ValueError) as error:
        raise RunRecordError(str(error)) from error
    raw = {**run.raw, "feed": {**run.raw.get("feed", {}), "fed": fed}}
    counted = validate(raw, type(sheet), "what was fed")
    made = validate(done, RunDone, "the run")
    assert run.view is not None
    run_table(counted, made, run.view, run.history)  # refused here, before a secret is asked for
    return counted, made


def _time(text: str) -> time:
    found = re.fullmatch(r"([01]?[0-9]|2[0-3])[:.]([0-5][0-9])", text)
    if found is None:
        raise ValueError(f"{text!r} is no time of day; write it as 7:10.")
    return time(int(found[1]), int(found[2]))


def _off(text: str) -> list[dict[str, str]]:
    belts = [one.strip().partition(" ") for one in text.split(";") if one.strip()]
    if any(not why.strip() for _, _, why in belts):
        raise ValueError(f"{text!r}: the head, then why its belt came off, as in 2 worn out.")
    return [{"head": head, "why": why.strip()} for head, _, why in belts]


def _glue(text: str) -> dict[str, int]:
    words = re.split(r"[\s,;]+", text)
    if len(words) != 3 or not all(word.isdecimal() and len(word) < 5 for word in words):
        raise ValueError(f"{text!r}: lots, belts and minutes lost to glue are three whole numbers, as in 1 0 25.")
    return dict(zip(("lots", "belts", "minutes"), map(int, words), strict=True))


def _task(run: Run) -> tuple[SetupSheet, FeedTask]:
    if run.view is None or run.sheet is None:
        raise RunRecordError("Nothing is loaded yet.", "Wait until the profiles are read.")
    task = task_for(run.sheet, run.view, run.history)
    if task is None:
        raise RunRecordError("Without a job card nobody knows what was fed.", "Pick the job: F7.")
    if not isinstance(task, FeedTask):
        raise RunRecordError(task.statement, task.remedy)
    return run.sheet, task


def _unit(run: Run) -> str:
    assert run.view is not None
    return "in" if run.view.machine.units == "inch" else "mm"


def _triples(text: str, unit: str) -> list[list[str]]:
    boards = [re.split(r"\s+", board.strip()) for board in text.split(";") if board.strip()]
    for board in boards:
        if len(board) != 3:
            raise ValueError(f"{' '.join(board)!r}: three thicknesses a board, left centre right.")
    return [[parse(word, Kind.LENGTH, unit).text for word in board] for board in boards]


def _currents(text: str) -> list[list[str]]:
    return [re.split(r"\s+", once.strip()) for once in text.split(";") if once.strip()]


def _heads(run: Run, amps: list[str]) -> dict[str, str]:
    assert run.view is not None
    heads = [head.id for head in run.view.machine.heads]
    if len(amps) > len(heads):
        raise ValueError(f"{' '.join(amps)!r}: the machine has {len(heads)} heads.")
    return {head: parse(amp, Kind.CURRENT).text for head, amp in zip(heads, amps, strict=False)}
