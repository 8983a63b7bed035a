"""The setup sheet: what the operator intends and reads today, one frozen value.

Everything is optional but the machine and the time: what is not answered yet is `open`, not an error. The
screens build it from the answers typed so far, `preflight assess` from a file, and the record holds it as typed.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import AwareDatetime, Field, model_validator

from preflight.shop.cards import BeltCard, JobCard
from preflight.shop.fields import GritField, Length, Share, Strict
from preflight.shop.head_names import claimed_by_tension
from preflight.shop.instruments import (
    AirFlowRead,
    AirSpeedRead,
    BeadHeight,
    CurrentRead,
    DuctPressureRead,
    FeedSpeedRead,
    GaugeDivision,
    HoursRead,
    MassRead,
    Position,
    PressureRead,
    Resolution,
    SecondsRead,
    TapeLength,
    Thickness,
)

Name = Annotated[str, Field(min_length=1)]
Answer = Annotated[str, Field(min_length=1, max_length=200)]


class Instrument(Strict):
    """What the lengths are read with."""

    name: str = ""
    resolution: Resolution


class StockReadings(Strict):
    """Station 1."""

    thickness: Annotated[tuple[Thickness, ...], Field(max_length=1000, strict=False)] = ()
    """At least the thickest and the thinnest piece."""
    shortest: TapeLength | None = None
    narrowest: TapeLength | None = None
    widest: TapeLength | None = None
    metal_found: Annotated[int, Field(ge=0, le=100_000)] | None = None
    """Pieces of metal found and not yet removed."""
    instrument: Instrument | None = None


class GlueReadings(Strict):
    """Station 2."""

    state: Literal["none", "scraped", "beads standing", "smeared"] | None = None
    by: str = ""
    bead_height: BeadHeight | None = None
    hours_since_clamps: Annotated[float, Field(ge=0, le=100_000, allow_inf_nan=False, strict=False)] | None = None
    glue: Literal["hard", "rubbery", "wet"] | None = None
    """Under the nail."""


class BeltWeighed(Strict):
    """Two weighings of a washed belt; the second is the one at the time of the sheet."""

    first: MassRead
    hours_between: HoursRead
    second: MassRead


class BeltOnHead(Strict):
    """Stations 3 and 4: the belt on one head."""

    head: str
    card: str | BeltCard | None = None
    """Id of its card, or the card's table; absent: not named yet."""
    platen: Literal["down", "lifted"] | None = None
    lifted: bool = False
    """The whole head is lifted for this job and does not cut."""
    arrow: Literal["with", "against"] | None = None
    looked: Annotated[tuple[Literal["edges", "joint", "arrow", "no glue line"], ...], Field(strict=False)] = ()
    weighed: BeltWeighed | None = None
    """For a belt that was washed and whose card does not prove it dry."""


class Dressing(Strict):
    """How the conveyor was dressed when cleaning did not bring its grip back."""

    grit: GritField
    other_heads: Literal["raised", "lowered"] | None = None
    by: str = ""


class ConditionLooks(Strict):
    """Station 5."""

    looks: Mapping[str, Answer] = Field(default_factory=dict)
    done: Annotated[tuple[str, ...], Field(strict=False)] = ()
    """Due items done today."""
    dressing: Dressing | None = None


class TensionReadings(Strict):
    """Station 6; the file writes the heads as keys beside `supply`."""

    gauge: Mapping[str, PressureRead] = Field(default_factory=dict)
    """Gauge per head, at rest."""
    running: Mapping[str, PressureRead] = Field(default_factory=dict)
    """Second reading per head, running."""
    supply: PressureRead | None = None
    leak_fall: PressureRead | None = None
    """Fall in two minutes, isolated."""
    gauge_resolution: GaugeDivision | None = None

    @model_validator(mode="before")
    @classmethod
    def _heads_are_keys(cls, raw: Any) -> Any:
        if not isinstance(raw, dict):
            return raw
        # a misspelt key stays where it is, to be refused with a suggestion; no profile names a head like one
        heads = [key for key in raw if not claimed_by_tension(str(key))]
        gauge = raw.get("gauge", {})
        rest = {key: value for key, value in raw.items() if key not in heads}
        if not heads or not isinstance(gauge, dict):
            return rest  # a gauge that is no table is refused for itself
        return {**rest, "gauge": {**gauge, **{head: raw[head] for head in heads}}}


class AirReading(Strict):
    """One reading at a hood or collar."""

    gate: str
    hood_static: DuctPressureRead | None = None
    velocity_pressure: DuctPressureRead | None = None
    velocity: AirSpeedRead | None = None
    flow: AirFlowRead | None = None
    diameter: TapeLength | None = None
    """Of the pipe it was read in; absent: the run's."""


class ExtractionReadings(Strict):
    """Station 7."""

    open: Annotated[tuple[str, ...], Field(strict=False)] | None = None
    """Gates open now."""
    shut: Annotated[tuple[str, ...], Field(strict=False)] | None = None
    """Gates looked at and found shut; absent: every gate not in `open` is."""
    in_use: Annotated[tuple[str, ...], Field(strict=False)] = ()
    """Gates that neighbours need now: advice never shuts them."""
    fan: Literal["on", "off"] | None = None
    readings: Annotated[tuple[AirReading, ...], Field(max_length=200, strict=False)] = ()
    filter_drop: DuctPressureRead | None = None
    bin_full: Share | None = None
    spark_detection: Literal["healthy", "fault", "none fitted"] | None = None


class HeadTest(Strict):
    """Thickness of one board after the first lowered head alone, then with each further one."""

    before: Thickness
    after: Annotated[tuple[Thickness, ...], Field(min_length=1, max_length=20, strict=False)]


class RemovalChoice(Strict):
    """Station 8."""

    share: Mapping[str, Length] | None = None
    """Removal per head in one pass; absent: the computed plan is accepted."""
    passes: Annotated[int, Field(ge=1, le=50)] | None = None
    feed_speed: FeedSpeedRead | None = None
    test: HeadTest | None = None
    """What each head really takes; weekly and after adjustment."""


class FedBoard(Strict):
    """One board at a place: `part` counts from 1, `place` from 0, or the left edge as a length."""

    part: Annotated[int, Field(ge=1, le=1000)]
    place: Annotated[int, Field(ge=0, le=1000)] | None = None
    """Marked place; on a machine without marks one of ten, evenly from hard left to hard right."""
    left_edge: Position | None = None
    """From the left end of the width that belts and bed share."""
    row: Annotated[int, Field(ge=1, le=100_000)] | None = None
    """Boards of one row go in abreast; absent: alone."""


class Fed(Strict):
    """What was fed, in its order: so many feeds as planned, or boards at a place as in `FedBoard`."""

    feeds: Annotated[int, Field(ge=1, le=100_000)] | None = None
    part: Annotated[int, Field(ge=1, le=1000)] = 1
    place: Annotated[int, Field(ge=0, le=1000)] | None = None
    left_edge: Position | None = None
    count: Annotated[int, Field(ge=1, le=100_000)] = 1


class FeedChoice(Strict):
    """Station 9."""

    boards: Annotated[tuple[FedBoard, ...], Field(max_length=2000, strict=False)] = ()
    """Absent: the computed plan is accepted. Repeated in this order until every part is fed."""
    trade: Literal["rotation", "evenest", "fewest"] | Annotated[int, Field(ge=0, le=1000)] = "rotation"
    """What the computed plan is to be: few different feeds in turn, evenest wear, fewest feeds, or at most so many
    feeds more than the fewest."""
    at: Literal["marks", "any place"] | None = None
    """Absent: at the marks, unless that costs more evenness than care allows."""
    fed: Annotated[tuple[Fed, ...], Field(max_length=2000, strict=False)] = ()
    """Fed so far; after boards at other places than planned the feeds are those of the rest, planned anew."""


class StopTest(Strict):
    """One timed stop of all heads."""

    station: str
    also: Annotated[tuple[str, ...], Field(strict=False)] = ()
    """Other stations tried today, not timed."""
    seconds: Mapping[str, SecondsRead] = Field(default_factory=dict)


class Swing(Strict):
    """Time of one swing of a belt, the mean over five: out from the frame's middle side, and back."""

    out: SecondsRead
    back: SecondsRead


class FeedTimed(Strict):
    """Feed by stopwatch: chalk mark over a taped length."""

    distance: TapeLength
    seconds: SecondsRead


class FailedReading(Strict):
    """A reading accepted earlier in this start-up that was a stop nobody may override."""

    subject: Name
    reading: Answer


class RunningReadings(Strict):
    """Station 10."""

    stop: StopTest | None = None
    restarts_by_itself: bool | None = None
    limit_bar: Literal["stops the feed", "does not stop the feed"] | None = None
    interlock: Literal["start refused", "starts with a door open"] | None = None
    tracking: Mapping[str, Literal["even", "uneven", "touches the frame", "no oscillation"]] = Field(
        default_factory=dict
    )
    idle_current: Mapping[str, CurrentRead] = Field(default_factory=dict)
    swing: Mapping[str, Swing] = Field(default_factory=dict)
    """Oscillation timed, per head; weekly."""
    feed_timed: FeedTimed | None = None
    """Weekly."""
    failed: Annotated[tuple[FailedReading, ...], Field(strict=False)] = ()
    """Read again since: clears by a repair entry, even when the first reading was only mistyped."""


class BoardReading(Strict):
    """Thickness at one place across the width."""

    x: Position
    before: Thickness | None = None
    after: Thickness
    second: Thickness | None = None
    """After a second pass without any change."""
    ends: Annotated[tuple[Thickness, Thickness], Field(strict=False)] | None = None
    """Leading and trailing end, for snipe."""


class MarkReading(Strict):
    """Marks counted over a measured span: ten spaces beat one."""

    span: TapeLength
    count: Annotated[int, Field(ge=1, le=1000)]
    """Spaces between marks."""


class TestBoardReadings(Strict):
    """Station 11."""

    __test__ = False  # not a test class

    readings: Annotated[tuple[BoardReading, ...], Field(max_length=200, strict=False)] = ()
    raking_light: str = ""
    """"clean", or the symptom seen."""
    marks: MarkReading | None = None
    """Of marks that repeat along the board."""


class Repair(Strict):
    """What clears a stop that takes no override, together with a new reading of the same thing in this sheet."""

    check: Name
    """Station of the stop: "running"."""
    subject: Name
    """Subject of its finding: "head 1 stop"."""
    what: Annotated[str, Field(min_length=3, max_length=200)]
    who: Annotated[str, Field(min_length=2, max_length=80)]


class SetupSheet(Strict):
    """One start-up: answers and readings by station."""

    schema_: Annotated[Literal[1], Field(alias="schema")]
    machine: str
    """Id in the shop, or path to a profile."""
    at: AwareDatetime
    """When; checks read no clock."""
    operator: str = ""
    job: str | JobCard | None = None
    stock: StockReadings = StockReadings()
    glue: GlueReadings = GlueReadings()
    belts: Annotated[tuple[BeltOnHead, ...], Field(max_length=50, strict=False)] = ()
    condition: ConditionLooks = ConditionLooks()
    tension: TensionReadings = TensionReadings()
    extraction: ExtractionReadings = ExtractionReadings()
    removal: RemovalChoice = RemovalChoice()
    feed: FeedChoice = FeedChoice()
    running: RunningReadings = RunningReadings()
    test_board: TestBoardReadings = TestBoardReadings()
    happened: str = ""
    """What voided an earlier check today: "broke down", "belt changed"; empty at a start-up."""
    repairs: Annotated[tuple[Repair, ...], Field(strict=False)] = ()
    actions: Mapping[str, Mapping[str, Answer]] = Field(default_factory=dict)
    """One chosen action per caution, by check and subject."""

    def belt_on(self, head_id: str) -> BeltOnHead | None:
        """What the sheet says of the belt on that head."""
        return next((belt for belt in self.belts if belt.head == head_id), None)
