"""After the job: what is asked for the run record, and the sheet that the answers make. No Textual here."""

from __future__ import annotations

import re
from datetime import time
from functools import partial
from typing import TYPE_CHECKING, Any

from preflight.checklist.run_record import RunDone, RunRecordError, run_table
from preflight.checks.feed.feed_task import FeedTask, chosen_plan, task_for
from preflight.errors import PreflightError
from preflight.quantities import Kind, parse
from preflight.shop.files import validate
from preflight.tui.form import Filled, FormField, Refusal
from preflight.tui.stations.feed import tally

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from preflight.sheet import SetupSheet
    from preflight.tui.run import Run

QUESTIONS = (
    ("fed", "Fed", "+12 feeds as planned, 7 at place 7, 7x3"),
    ("hours", "Hours under drive, h", ""),
    ("began", "First board in at", "as in 7:10 (empty: not known)"),
    ("off", "Belts off: head and why", "as in 2 worn out; 1 glue (empty: all stay on)"),
    ("glue", "Lost to glue: lots back, belts, minutes", "as in 1 0 25 (empty: none)"),
    ("drums", "Drums ground or changed since: head numbers", "(empty: none)"),
    ("thickness", "Thickness now and then: left centre right; next board", ""),
    ("current", "Current now and then, A: head by head; next time", ""),
)
"""Key, what is asked, how it is written."""


def asked(run: Run) -> list[FormField]:
    """What is asked for this run. RunRecordError while there is no job that could be fed."""
    sheet, task = _task(run)
    try:
        feeds = chosen_plan(sheet, task).feeds
    except ValueError as error:
        raise RunRecordError(
            f"The feed places cannot be followed: {error}.", "Put them right at station feed."
        ) from error
    lots = f", the last of {task.lots} lots" if task.lots > 1 else ""
    readers = _readers(run, task)
    return [
        FormField(
            key,
            label,
            hint=f"{hint} (empty: all {feeds}{lots})" if key == "fed" else hint,
            # a tally that was kept while feeding; a reading is never filled in
            first=run.typed.get("feed.fed", "") if key == "fed" else "",
            required=key == "hours",
            reader=partial(_wrong, readers[key]),
        )
        for key, label, hint in QUESTIONS
    ]


def check(run: Run, filled: Filled) -> Refusal | None:
    """What is wrong with the answers together, before a key is opened."""
    try:
        finished(run, filled.texts)
    except PreflightError as error:
        return Refusal("fed", str(error))
    return None


def _wrong(reader: Callable[[str], Any], text: str) -> str:
    try:
        reader(text)
    except ValueError as error:
        return str(error)
    return ""


def _readers(run: Run, task: FeedTask) -> dict[str, Callable[[str], Any]]:
    """What reads each answer; a ValueError says what is wrong with it."""
    return {
        "fed": tally(task),
        "hours": lambda text: parse(text, Kind.HOURS, "h").text,
        "began": _time,
        "off": _off,
        "glue": _glue,
        "drums": lambda text: [{"head": head} for head in re.split(r"[\s,]+", text) if head],
        "thickness": lambda text: [{"thickness": texts} for texts in _triples(text, _unit(run))],
        "current": lambda text: [{"current": _heads(run, amps)} for amps in _currents(text)],
    }


def finished(run: Run, answers: Mapping[str, str]) -> tuple[SetupSheet, RunDone]:
    """The sheet with what was counted, and the rest of the answers. PreflightError says which one will not do."""
    sheet, task = _task(run)
    readers = _readers(run, task)
    given = {key: text.strip() for key, text in answers.items() if key in readers and text.strip()}
    if "hours" not in given:
        raise RunRecordError("How long was the machine under drive?", "Half an hour is 0.5.")
    try:
        read = {key: readers[key](text) for key, text in given.items()}
    except ValueError as error:
        raise RunRecordError(str(error)) from error
    done: dict[str, Any] = {
        **{key: read[key] for key in ("hours", "began", "glue", "off", "drums") if key in read},
        "readings": [*read.get("thickness", ()), *read.get("current", ())],
    }
    raw = {**run.raw, "feed": {**run.raw.get("feed", {}), "fed": read.get("fed", [])}}
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
