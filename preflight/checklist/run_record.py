"""The record after a job, kind "run": what was fed where, hours, belts off and why, readings now and then.

Its table, all of it plain:

    [run]
    job, times                   name of the job; how often each board went through
    began = "2026-11-25T07:10:00+01:00"   when the first board went in, where somebody said it
    hours = "2.5 h"  area = "31.1 m2"     under drive; wood fed, every pass counted
    boards = [ { part, width, length, left_edge, place, count, fill } ]   left edge from the bed's left edge; fill:
                                          the share of width by length that is wood, of boards that lie askew
    glue = { lots, belts, minutes }       sent back to assembly, lost to squeeze-out, stopped by it
    off = [ { head, belt, why } ]         drums = [ { head, what } ]    ground or changed afterwards
    readings = [ { thickness = [ … ], current = { "1" = "14 A" } } ]
    wear = [ { belt or drum, left, strip, metres = [ … ] } ]        the maps after this run, metres a strip
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Field, PlainValidator
from pydantic_core import PydanticCustomError

from preflight.checklist.body import write_body
from preflight.checklist.heading import heading
from preflight.checklist.wear_maps import thrown_away
from preflight.checks.feed.feed_progress import progress
from preflight.checks.feed.feed_task import FeedTask, chosen_plan, task_for
from preflight.checks.feed.wear import STRIP, worn_map
from preflight.engine.coverage import Strip
from preflight.engine.places import place_name
from preflight.errors import PreflightError
from preflight.sheet import SetupSheet
from preflight.shop.fields import Strict
from preflight.shop.instruments import CurrentRead, RunHours, Thickness

if TYPE_CHECKING:
    from preflight.checklist.heading import Signature
    from preflight.checklist.reference import Reference
    from preflight.engine.boards import Placement
    from preflight.history import History
    from preflight.shop.view import ShopView

Whole = Annotated[int, Field(ge=0, le=10_000)]

KIND = "run"
SLACK = timedelta(minutes=6)
"""Hours are told to a tenth: so much longer than the clock allows may a run be."""
MEANING = "This was fed, as counted at the machine."


class RunRecordError(PreflightError):
    """A run that cannot be recorded as it was told."""


class BeltOff(Strict):
    """A belt that came off."""

    head: str
    why: Annotated[str, Field(min_length=3, max_length=200)]
    """"worn out", "torn", "burnt", "glue", "other grit"."""


class DrumRenewed(Strict):
    """A drum that was ground or changed after this run: its map begins anew."""

    head: str
    what: Annotated[str, Field(min_length=3, max_length=200)] = "ground or changed"


class RunReading(Strict):
    """Read now and then while boards went through."""

    thickness: Annotated[tuple[Thickness, ...], Field(strict=False, max_length=9)] = ()
    """Left, centre, right of one board."""
    current: Mapping[str, CurrentRead] = Field(default_factory=dict)
    """Per head, under load."""


def _moment(raw: object) -> datetime | time:
    if isinstance(raw, (datetime, time)):
        return raw
    raise PydanticCustomError("moment", "a local time without quotes is wanted, as in 07:10:00 or 2026-11-25T07:10:00")


class GlueLost(Strict):
    """What squeeze-out cost this run. All zero: nothing, and somebody said so."""

    lots: Whole = 0
    """Sent back to where they were glued."""
    belts: Whole = 0
    """Loaded or torn by it."""
    minutes: Whole = 0
    """The machine stood still."""


class RunDone(Strict):
    """What the run was, beside the sheet that says where boards go."""

    hours: RunHours
    """Under drive."""
    began: Annotated[datetime | time, PlainValidator(_moment)] | None = None
    """When the first board went in, local time; a time alone is the last such one before the signature."""
    glue: GlueLost | None = None
    times: Annotated[int, Field(ge=1, le=100)] | None = None
    """How often each board went through; absent: as planned."""
    lots: Annotated[int, Field(ge=0)] = 0
    """Whole lots fed before the one that is counted, where the plan has several."""
    off: Annotated[tuple[BeltOff, ...], Field(strict=False)] = ()
    drums: Annotated[tuple[DrumRenewed, ...], Field(strict=False)] = ()
    readings: Annotated[tuple[RunReading, ...], Field(strict=False)] = ()


class RunSheet(SetupSheet):
    """A setup sheet and what became of it; `feed.fed` counts, without it all was fed as planned."""

    run: RunDone


def run_body(
    sheet: SetupSheet,
    done: RunDone,
    shop: ShopView,
    history: History | None,
    record_id: str,
    signature: Signature,
    refers: Reference | None = None,
) -> bytes:
    """The body of the record. RunRecordError when what was fed does not fit the job or the belt."""
    made: dict[str, Any] = {"record": heading(KIND, record_id, signature)}
    if refers is not None:
        made["refers"] = refers.table
    return write_body(made | {KIND: run_table(sheet, done, shop, history, signature.at)})


def run_table(
    sheet: SetupSheet, done: RunDone, shop: ShopView, history: History | None, at: datetime | None = None
) -> dict[str, Any]:
    """The `[run]` table as signed `at`, local with offset. Without it the beginning is left out.

    RunRecordError when what was fed does not fit the job or the belt, or the hours do not fit the clock.
    """
    job = shop.job(sheet)
    task = task_for(sheet, shop, history)
    if job is None or task is None:
        raise RunRecordError("Without a job card nobody knows what was fed.", "Name the job.")
    if not isinstance(task, FeedTask):
        raise RunRecordError(task.statement, task.remedy)
    for name in [*(off.head for off in done.off), *(drum.head for drum in done.drums)]:
        if shop.machine.head(name) is None:
            known = ", ".join(head.id for head in shop.machine.heads)
            raise RunRecordError(f"The machine has no head {name!r}.", f"Heads: {known}.")
    fed = _fed(sheet, task, done)
    times = done.times or task.times
    table: dict[str, Any] = {
        "job": job.name,
        "times": times,
        "began": _began(done, at).isoformat(timespec="seconds") if done.began is not None and at is not None else None,
        "hours": done.hours.text,
        "area": f"{sum(_area(job.parts[part]) * n for (part, _), n in fed.items()) * times:.2f} m2",
        "boards": [_board(part, left, n, task) for (part, left), n in sorted(fed.items())],
        "glue": done.glue.model_dump() if done.glue is not None else None,
        "off": [{"head": off.head, **_belt(off.head, sheet, shop), "why": off.why} for off in done.off],
        "drums": [{"head": drum.head, "what": drum.what} for drum in done.drums],
        "readings": [_reading(one) for one in done.readings],
        "wear": _wear(fed, times / task.times, sheet, task, shop, history, done),
    }
    return {key: value for key, value in table.items() if value or key in ("boards", "area")}


def _fed(sheet: SetupSheet, task: FeedTask, done: RunDone) -> Counter[tuple[int, float]]:
    """Boards by part and left edge, whole lots included."""
    try:
        followed = chosen_plan(sheet, task)
        now: tuple[Placement, ...] = progress(sheet, task, followed).fed
    except ValueError as error:
        text = str(error)
        raise RunRecordError(f"{text[0].upper()}{text[1:]}.", "Count again what was fed.") from error
    if done.lots > task.lots:
        raise RunRecordError(f"The job has {task.lots} lots, {done.lots} were counted.")
    counted = bool(sheet.feed.fed or done.lots)
    fed: Counter[tuple[int, float]] = Counter()
    for placements, lots in ((now if counted else (), 1), (followed.placements, done.lots if counted else task.lots)):
        for p in placements:
            fed[p.part, round(p.left_edge, 6)] += lots
    return +fed


def _began(done: RunDone, at: datetime) -> datetime:
    """When the first board went in, with the offset of the signature's time."""
    said = done.began
    if isinstance(said, datetime):
        began = said if said.tzinfo else said.replace(tzinfo=at.tzinfo)
    else:
        assert said is not None
        began = datetime.combine(at.date(), said.replace(tzinfo=None), at.tzinfo)
        began -= timedelta(days=1) if began > at else timedelta()
    if began > at:
        raise RunRecordError(
            f"The first board went in at {began:%Y-%m-%d %H:%M}, after this is signed, {at:%Y-%m-%d %H:%M}.",
            "Say when it really went in.",
        )
    if timedelta(seconds=done.hours.value) > at - began + SLACK:
        raise RunRecordError(
            f"{done.hours.text} under drive do not fit between {began:%H:%M} and {at:%H:%M}.",
            "Correct the hours or when the first board went in.",
        )
    return began


def _board(part: int, left: float, count: int, task: FeedTask) -> dict[str, Any]:
    lies = task.parts[part]
    fill = round(lies.weight / task.times, 6)
    return {
        "part": part + 1,
        "width": f"{lies.width * 1000:.1f} mm",
        "length": f"{lies.length * 1000:.1f} mm",
        "left_edge": f"{(left + task.on_bed) * 1000:.1f} mm",
        "place": place_name(left, lies.width, task.belt, task.places),
        "count": count,
        **({"fill": fill} if fill < 1 else {}),
    }


def _wear(
    fed: Counter[tuple[int, float]],
    share: float,
    sheet: SetupSheet,
    task: FeedTask,
    shop: ShopView,
    history: History | None,
    done: RunDone,
) -> list[dict[str, Any]]:
    """The maps after this run: of every belt that cut and stays a belt, and of every drum behind one."""
    bed = shop.machine.conveyor
    left, width = bed.edge_margin.value, bed.working_width.value - 2 * bed.edge_margin.value
    loads = [
        Strip(at + task.on_bed, at + task.on_bed + task.parts[part].width, task.parts[part].load * share * n)
        for (part, at), n in fed.items()
    ]
    gone = {off.head for off in done.off if thrown_away(off.why)}
    made = []
    for on in sheet.belts:
        head, card = shop.machine.head(on.head), shop.belt(on)
        if on.lifted or head is None:
            continue
        surfaces = [("belt", card.id, history.belt_wear if history else {})] if card and on.head not in gone else []
        if head.kind != "platen" and head.id not in {drum.head for drum in done.drums}:
            surfaces.append(("drum", head.id, history.drum_wear if history else {}))
        for kind, name, before in surfaces:
            after = worn_map(left, width, before.get(name, ()), loads)
            made.append(
                {
                    kind: name,
                    "left": f"{left * 1000:g} mm",
                    "strip": f"{STRIP * 1000:g} mm",
                    "metres": list(after.metres),
                }
            )
    return made


def _belt(head: str, sheet: SetupSheet, shop: ShopView) -> dict[str, str]:
    card = shop.belt(sheet.belt_on(head))
    return {"belt": card.id} if card is not None else {}


def _reading(one: RunReading) -> dict[str, Any]:
    read: dict[str, Any] = {"thickness": [t.text for t in one.thickness]} if one.thickness else {}
    return read | ({"current": {head: c.text for head, c in one.current.items()}} if one.current else {})


def _area(part: Any) -> float:
    return float(part.width.value * part.length.value)
