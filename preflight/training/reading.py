"""What was read at a station, as plain lines of label and value: what a trainee has before judging. No verdict here."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checks.running.stop_rotation import last_tried, station_of_the_day
from preflight.quantities import Quantity

if TYPE_CHECKING:
    from preflight.training.setup import Scene

NOT_READ = "not given"


@dataclass(frozen=True, slots=True)
class Reading:
    """One line."""

    label: str
    text: str


Lines = Iterator[tuple[str, object]]


def readings(scene: Scene, check: str) -> list[Reading]:
    """The lines of a station; ValueError for a name that is no station."""
    if check not in _OF:
        raise ValueError(f"{check!r} is no station")
    return [Reading(label, _said(value)) for label, value in _OF[check](scene)]


def _said(value: object) -> str:
    if value is None or value in ("", ()):
        return NOT_READ
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Quantity):
        return value.text
    if isinstance(value, tuple | list):
        return ", ".join(_said(one) for one in value)
    return str(value)


def _stock(scene: Scene) -> Lines:
    stock, job = scene.sheet.stock, scene.view.job(scene.sheet)
    if job is not None:
        yield "job", f"{job.name}, {job.material}{', damp' if job.damp else ''}{', reclaimed' if job.reclaimed else ''}"
        yield "target", f"{job.target_thickness.text}, {job.faces} faces"
    yield "pieces measured", stock.thickness
    yield "shortest", stock.shortest
    yield "narrowest, widest", tuple(one for one in (stock.narrowest, stock.widest) if one)
    yield "metal found", stock.metal_found


def _glue(scene: Scene) -> Lines:
    glue = scene.sheet.glue
    yield "squeeze-out", glue.state
    if glue.state == "scraped":
        yield "scraped by", glue.by.strip()
    if glue.bead_height is not None:
        yield "highest bead", glue.bead_height
    yield "clamps off", f"{glue.hours_since_clamps:g} h ago" if glue.hours_since_clamps is not None else None
    yield "under the nail", glue.glue


def _belts(scene: Scene) -> Lines:
    for on in scene.sheet.belts:
        card, head = scene.view.belt(on), f"head {on.head}"
        if card is None:
            yield head, None
            continue
        yield head, f"{card.id}, {card.grit} {card.backing}, printed {card.printed}"
        yield f"{head} edges", (card.length_left, card.length_right)
        yield f"{head} width, joint", (card.width, card.joint)
        yield f"{head} arrow", on.arrow or "none printed"
        yield f"{head} looked at", on.looked
        for line in card.glue_lines:
            yield f"{head} glue line", f"{line.width} wide at {line.centre}"
        for wash in card.washed:
            yield f"{head} washed, hung", f"{wash.hung:%d %b %H:%M}"
        if on.weighed is not None:
            yield f"{head} weighed", f"{on.weighed.first}, {on.weighed.hours_between} later {on.weighed.second}"


def _backing(scene: Scene) -> Lines:
    job = scene.view.job(scene.sheet)
    for head in scene.view.machine.heads:
        on = scene.sheet.belt_on(head.id)
        card = scene.view.belt(on)
        hard = f", {head.hardness_shore_a:g} Shore A" if head.hardness_shore_a else ""
        yield f"head {head.id}", f"{head.kind}{hard}"
        if card is not None:
            yield f"head {head.id} belt", f"{card.grit} {card.backing}, joint {card.joint or NOT_READ}"
        if job is not None and head.id in job.grits:
            yield f"head {head.id}, job asks", job.grits[head.id]
        if on is not None and head.has_platen:
            yield f"head {head.id} platen", on.platen


def _condition(scene: Scene) -> Lines:
    looks = scene.sheet.condition.looks
    for head in scene.view.machine.heads:
        if head.kind != "platen":
            yield f"drum {head.id}", looks.get(f"drum {head.id}")
        if head.has_platen:
            yield f"platen cover {head.id}", looks.get(f"platen cover {head.id}")
    for item in ("conveyor", "tracking eye", "dust inside"):
        yield item, looks.get(item)
    for key, answer in looks.items():
        if key.endswith(("run-out", "hardness", "hours")):
            yield key, answer
    for due in scene.history.due if scene.history else ():
        yield f"due: {due.item}", due.counted or f"{due.used:.0%} of its interval"


def _tension(scene: Scene) -> Lines:
    tension = scene.sheet.tension
    for head in scene.view.machine.heads:
        card = scene.view.belt(scene.sheet.belt_on(head.id))
        yield f"head {head.id}, {card.backing if card else 'no belt named'}", tension.gauge.get(head.id)
        if head.id in tension.running:
            yield f"head {head.id} running", tension.running[head.id]
    if tension.supply is not None:
        yield "air supply", tension.supply
    if tension.leak_fall is not None:
        yield "fall in two minutes", tension.leak_fall


def _extraction(scene: Scene) -> Lines:
    air = scene.sheet.extraction
    yield "fan", air.fan
    yield "gates open", air.open
    for reading in air.readings:
        got = (reading.hood_static, reading.velocity_pressure, reading.velocity, reading.flow)
        yield f"at {reading.gate}", tuple(one for one in got if one is not None)
    if not air.readings:
        yield "air read", None
    yield "filter drop", air.filter_drop
    yield "bin", f"{air.bin_full:.0%} full" if air.bin_full is not None else None
    yield "spark detection", air.spark_detection


def _removal(scene: Scene) -> Lines:
    sheet, job = scene.sheet, scene.view.job(scene.sheet)
    if job is not None and sheet.stock.thickness:
        thickest = max(sheet.stock.thickness, key=lambda one: one.value)
        yield "thickest, target", (thickest, job.target_thickness)
    for head in scene.view.machine.heads:
        card = scene.view.belt(sheet.belt_on(head.id))
        yield f"head {head.id}", f"{head.kind}, {card.grit if card else 'no belt'}"
        if sheet.removal.share is not None:
            yield f"head {head.id} share", sheet.removal.share.get(head.id)
    if sheet.removal.share is None:
        yield "shares", "the computed plan is accepted"
    else:
        yield "passes", sheet.removal.passes
    if sheet.removal.test is not None:
        yield "test board, head by head", (sheet.removal.test.before, *sheet.removal.test.after)
    yield "feed speed", sheet.removal.feed_speed


def _feed(scene: Scene) -> Lines:
    job, machine = scene.view.job(scene.sheet), scene.view.machine
    for part in job.parts if job else ():
        yield "parts", f"{part.count} of {part.width} x {part.length}"
    yield "bed", machine.conveyor.working_width
    boards = scene.sheet.feed.boards
    if not boards:
        yield "places", "the computed places are accepted"
    for board in boards:
        count = machine.conveyor.places.count if machine.conveyor.places else 10
        at = board.left_edge or f"always place {(board.place or 0) + 1} of {count}"
        yield f"part {board.part}", at
    yield "feed speed", scene.sheet.removal.feed_speed


def _running(scene: Scene) -> Lines:
    run, machine = scene.sheet.running, scene.view.machine
    if machine.emergency_stops:
        yield "stops of this machine", machine.emergency_stops
        yield "today's turn", station_of_the_day(machine, scene.sheet.at.date(), scene.history)
        if tried := last_tried(scene.history):
            yield "last tried", tuple(f"{stop} {day:%d %b}" for stop, day in tried.items())
    yield "stop tried at", run.stop.station if run.stop else None
    for head in machine.heads:
        seconds = run.stop.seconds.get(head.id) if run.stop else None
        unbraked = ("no brake",) if head.brake == "none" and seconds is not None else ()
        yield f"head {head.id} still after", (seconds, *unbraked)
    starts = {True: "starts by itself", False: "stays still", None: None}
    yield "stop reset", starts[run.restarts_by_itself]
    yield "limit bar", run.limit_bar
    if run.interlock is not None:
        yield "door open, start tried", run.interlock
    for head in machine.heads:
        yield f"head {head.id} tracking", run.tracking.get(head.id)
        if head.id in run.idle_current:
            yield f"head {head.id} idles at", run.idle_current[head.id]
        if head.id in run.swing:
            yield f"head {head.id} swing", (run.swing[head.id].out, run.swing[head.id].back)
    if run.feed_timed is not None:
        yield "feed timed", f"{run.feed_timed.distance} in {run.feed_timed.seconds}"
        yield "feed set", scene.sheet.removal.feed_speed


def _test_board(scene: Scene) -> Lines:
    board = scene.sheet.test_board
    for reading in board.readings:
        yield f"at {reading.x}", f"{reading.before or NOT_READ}, after {reading.after}"
        if reading.second is not None:
            yield "  second pass", reading.second
        if reading.ends is not None:
            yield "  both ends", reading.ends
    yield "raking light", board.raking_light
    if board.marks is not None:
        yield "marks", f"{board.marks.count} spaces over {board.marks.span}"


_OF: dict[str, Callable[[Scene], Lines]] = {
    "stock": _stock,
    "glue": _glue,
    "belts": _belts,
    "backing": _backing,
    "condition": _condition,
    "tension": _tension,
    "extraction": _extraction,
    "removal": _removal,
    "feed": _feed,
    "running": _running,
    "test_board": _test_board,
}
