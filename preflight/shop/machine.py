"""The machine profile: one machine's heads, windows, bands, caps, limits and baselines."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field, StringConstraints, model_validator
from pydantic_core import PydanticCustomError

from preflight.shop.fields import (
    AirFlowLimit,
    Backing,
    Current,
    FeedSpeedLimit,
    Force,
    GritField,
    HeadKind,
    Hours,
    HoursLimit,
    Length,
    LengthLimit,
    Power,
    PressureLimit,
    Rotation,
    Strict,
    TimeLimit,
)
from preflight.shop.problems import MACHINE_ID

if TYPE_CHECKING:
    from preflight.engine.abrasives import Grit

Name = Annotated[str, StringConstraints(min_length=1, max_length=60, strip_whitespace=True)]


class Places(Strict):
    """Marked places across the usable width."""

    count: Annotated[int, Field(ge=2, le=60)]
    """Left edges spread evenly from hard left to hard right."""


class Conveyor(Strict):
    """The bed and what it carries."""

    working_width: Length
    edge_margin: Length
    """Kept free at each side."""
    roller_diameter: Length | None = None
    """Of the feed or hold-down rollers, to read their marks."""
    hold_down_spacing: Length | None = None
    """Largest gap between two hold-down rollers around a head."""
    part_length: LengthLimit | None = None
    part_width: LengthLimit | None = None
    part_thickness: LengthLimit | None = None
    feed_speed: FeedSpeedLimit | None = None
    places: Places | None = None
    adjuster_spacing: Length | None = None
    adjuster_moves: Literal["bed", "head"] = "bed"
    """Which side of the gap the thickness adjusters move."""


class Air(Strict):
    """Compressed air at the machine."""

    supply: PressureLimit | None = None
    leak_fall: PressureLimit | None = None
    """Fall of the gauge in two minutes, isolated at the machine."""


class Cylinder(Strict):
    """What turns gauge pressure into belt pull."""

    bore: Length
    count: Annotated[int, Field(ge=1, le=8)] = 1
    ratio: Annotated[float, Field(gt=0, le=1000, strict=False)] = 1.0
    efficiency: Annotated[float, Field(gt=0, le=1, strict=False)] = 1.0
    roller_force: Force | None = None
    """Above zero when the roller's weight tightens the belt."""


class ShareLimit(Strict):
    """Upper bounds of a share, 0 to 1."""

    high: Annotated[float, Field(gt=0, le=1, strict=False)]
    caution_high: Annotated[float, Field(gt=0, le=1, strict=False)]
    source: str = ""

    @model_validator(mode="after")
    def _in_order(self) -> ShareLimit:
        if self.caution_high > self.high:
            raise PydanticCustomError("limit", "caution_high is above high")
        return self


class Motor(Strict):
    """The head's drive motor."""

    load: ShareLimit | None = None
    """Share of its power that a cut may take."""
    power: Power
    plate_current: Current | None = None
    idle_current: Current | None = None
    """Baseline without stock."""


class Platen(Strict):
    """The shoe behind the belt; its rules hold only while it is down."""

    cover: str = ""
    coarsest_grit: GritField | None = None
    removal: LengthLimit | None = None
    cover_hours: HoursLimit | None = None


class Head(Strict):
    """One belt with its rollers, in feed order."""

    id: Name
    kind: HeadKind
    hardness_shore_a: Annotated[float, Field(gt=0, le=100, strict=False)] | None = None
    drum_diameter: Length | None = None
    drum_width: Length | None = None
    drum_speed: Rotation | None = None
    oscillation_stroke: Length | None = None
    belt_length: LengthLimit
    belt_width: LengthLimit
    belt_cone: LengthLimit | None = None
    coarsest_grit: GritField | None = None
    finest_grit: GritField | None = None
    paper_from: GritField | None = None
    """Coarsest grit that may run on paper; absent: no paper on this head."""
    removal: LengthLimit | None = None
    scratch_factor: Annotated[float, Field(gt=0, le=2, strict=False)] | None = None
    """Scratch depth left, as a share of the grain size."""
    cylinder: Cylinder | None = None
    motor: Motor | None = None
    run_down: TimeLimit | None = None
    """Seconds from stop to still."""
    brake: Literal["braked", "none"] = "braked"
    tension: Mapping[Backing, PressureLimit] = Field(default_factory=dict)
    """Gauge pressure by backing class."""
    platen: Platen | None = None

    @property
    def has_platen(self) -> bool:
        """Whether a platen can press here."""
        return self.kind in ("platen", "drum and platen")

    @property
    def has_steel_drum(self) -> bool:
        """Whether the belt runs over a steel contact drum."""
        return self.kind == "steel drum"


class GateNeed(Strict):
    """What one gate of the extraction profile must bring to this machine."""

    flow: AirFlowLimit | None = None


class TestBoardLimits(Strict):
    """Limits of the test board."""

    __test__ = False  # not a test class

    taper: LengthLimit | None = None
    crown: LengthLimit | None = None
    snipe: LengthLimit | None = None
    removal_error: LengthLimit | None = None
    """Distance of the removal reached from the removal planned, either way."""
    repeat: LengthLimit | None = None
    """What a second pass at the same setting may still take."""
    glued_up_factor: Annotated[float, Field(gt=0, le=1, strict=False)] = 0.5
    """Tightens taper and crown when parts are glued up side by side."""


class GlueRules(Strict):
    """This machine's rules for squeeze-out."""

    smear: Literal["caution", "stop"] = "caution"
    bead: LengthLimit | None = None
    wait: Hours | None = None
    """From clamps off to sanding."""


class Due(Strict):
    """One item that comes due by hours, area or calendar."""

    item: Name
    every: Annotated[str, StringConstraints(pattern=r"^[0-9]+(\.[0-9]+)? (h|m2|ft2|d)$")]
    safety: bool = False


class Machine(Strict):
    """One machine profile file."""

    schema_: Annotated[Literal[1], Field(alias="schema")]
    id: Annotated[str, StringConstraints(pattern=MACHINE_ID)]
    """Random, given when the machine is added; names the chain of its records."""
    name: Name
    units: Literal["metric", "inch"]
    book: str = ""
    """Source of every limit that names no other."""
    extraction: Name | None = None
    conveyor: Conveyor
    air: Air = Air()
    heads: Annotated[tuple[Head, ...], Field(min_length=1, max_length=12, strict=False)]
    removal_caps: Mapping[GritField, Length] = Field(default_factory=dict)
    sander_gates: Mapping[str, GateNeed] = Field(default_factory=dict)
    test_board: TestBoardLimits = TestBoardLimits()
    glue: GlueRules = GlueRules()
    emergency_stops: Annotated[tuple[Name, ...], Field(strict=False)] = ()
    """Stop stations in walking order; the one to try today rotates through them."""
    due: Annotated[tuple[Due, ...], Field(strict=False)] = ()

    @property
    def source(self) -> str:
        """Source of every limit that names no other, as findings say it."""
        return self.book or "profile, source not named"

    def head(self, head_id: str) -> Head | None:
        """The head of that id, or None."""
        return next((head for head in self.heads if head.id == head_id), None)

    def head_key(self, head_id: str) -> str:
        """The key of a head in the file, counted from 1: "heads.1"."""
        return f"heads.{[head.id for head in self.heads].index(head_id) + 1}"

    def caps(self) -> list[tuple[Grit, float]]:
        """Cap per grit as (grit, metres), coarse to fine."""
        return sorted(
            ((grit, cap.value) for grit, cap in self.removal_caps.items()), key=lambda row: -row[0].grain_size
        )
