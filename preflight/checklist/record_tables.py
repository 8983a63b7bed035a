"""The tables of saved records, key by key: of start-ups, runs, and what is added to them.

Each is what its writer makes of it (`document`, `run_record`, `override`, `addition`). `record_kinds` says which kind
holds which.
"""

from __future__ import annotations

import re
from datetime import datetime
from typing import Annotated, Literal, NotRequired

from pydantic import AfterValidator, AwareDatetime, ConfigDict, Field, with_config
from pydantic_core import CoreSchema, PydanticCustomError, core_schema
from typing_extensions import TypedDict

from preflight.checklist.sheet_shape import quantity
from preflight.quantities import Kind

strict = with_config(ConfigDict(extra="forbid", strict=True))
"""No key that is not named, no value taken for another type."""


def _moment(text: str) -> str:
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        at = None
    if at is None or at.tzinfo is None or at.isoformat(timespec="seconds") != text:
        raise PydanticCustomError("moment", "this should be a time with its offset, as in 2026-11-25T06:52:00+01:00")
    return text


Moment = Annotated[str, AfterValidator(_moment)]
Verdict = Literal["ok", "caution", "open", "stop"]
Sha256 = Annotated[str, Field(pattern=re.compile(r"^[0-9a-f]{64}\Z"))]
Count = Annotated[int, Field(ge=0)]


class _Quantity:
    """Marks a text that is a quantity of a kind."""

    def __init__(self, kind: Kind) -> None:
        self._kind = kind

    def __get_pydantic_core_schema__(self, _source: object, _handler: object) -> CoreSchema:
        return core_schema.chain_schema([core_schema.str_schema(strict=True), quantity(self._kind)])


Length = Annotated[str, _Quantity(Kind.LENGTH)]
Hours = Annotated[str, _Quantity(Kind.HOURS)]
Area = Annotated[str, _Quantity(Kind.AREA)]
Current = Annotated[str, _Quantity(Kind.CURRENT)]


@strict
class RecordTable(TypedDict):
    """`[record]`: who signed what, when, and what the signature means."""

    kind: str
    id: Annotated[str, Field(pattern=re.compile(r"^[A-Za-z0-9-]{8,64}\Z"))]
    name: str
    role: str
    meaning: str
    utc: Moment
    local: Moment


@strict
class JudgedTable(RecordTable):
    """The same of a record that holds a verdict."""

    verdict: Verdict
    notes: NotRequired[list[str]]


@strict
class ReferenceTable(TypedDict):
    """`[refers]`: another record."""

    machine: str
    sequence: Annotated[int, Field(ge=1)]
    sha256: Sha256


@strict
class HeldTable(TypedDict):
    """Why a start-up does not go on."""

    what: str
    told: str
    tried: str


@strict
class LateTable(TypedDict):
    """A start-up from paper."""

    why: str
    happened: Moment


@strict
class UsedOverride(TypedDict):
    """An override that a release rests on."""

    record: Annotated[int, Field(ge=1)]
    check: str
    subject: str
    by: str
    until: Moment


@strict
class ReleasedTable(TypedDict):
    """A release under overrides."""

    until: Moment
    overrides: list[UsedOverride]


@strict
class ProfilesTable(TypedDict):
    """The profiles of that day; empty for one that the machine has not."""

    machine_sha256: str
    extraction_sha256: str


@strict
class EarlierText(TypedDict):
    """What stood in an answer's place before."""

    at: AwareDatetime
    text: str


@strict
class EntryTable(TypedDict):
    """One answer."""

    key: str
    text: str
    at: AwareDatetime
    earlier: NotRequired[list[EarlierText]]


@strict
class Measured(TypedDict):
    """A quantity by its SI value, or a word."""

    value: float | str
    unit: NotRequired[str]
    text: NotRequired[str]


@strict
class Bound(TypedDict):
    """A limit that was judged against."""

    value: float
    unit: str
    text: str


@strict
class FindingTable(TypedDict):
    """One judged fact."""

    check: str
    subject: str
    verdict: Verdict
    statement: str
    measured: NotRequired[Measured]
    low: NotRequired[Bound]
    high: NotRequired[Bound]
    allowed: NotRequired[list[str]]
    basis: NotRequired[str]
    source: NotRequired[str]
    remedy: NotRequired[str]
    workings: NotRequired[str]
    takes_override: bool


@strict
class BoardTable(TypedDict):
    """Boards of one part at one place."""

    part: Annotated[int, Field(ge=1)]
    width: Length
    length: Length
    left_edge: Length
    place: str
    count: Count
    fill: NotRequired[float]


@strict
class GlueTable(TypedDict):
    """What squeeze-out cost."""

    lots: Count
    belts: Count
    minutes: Count


@strict
class BeltOffTable(TypedDict):
    """A belt that came off."""

    head: str
    belt: NotRequired[str]
    why: str


@strict
class DrumTable(TypedDict):
    """A drum with a new surface."""

    head: str
    what: str


@strict
class RunReadingTable(TypedDict):
    """Read while boards went through."""

    thickness: NotRequired[list[Length]]
    current: NotRequired[dict[str, Current]]


@strict
class WearTable(TypedDict):
    """The wear map of a belt or of a drum."""

    belt: NotRequired[str]
    drum: NotRequired[str]
    left: Length
    strip: Length
    metres: list[Annotated[float, Field(ge=0)]]


@strict
class RunTable(TypedDict):
    """`[run]`: what was fed."""

    job: str
    times: Annotated[int, Field(ge=1)]
    began: NotRequired[Moment]
    hours: Hours
    area: Area
    boards: list[BoardTable]
    glue: NotRequired[GlueTable]
    off: NotRequired[list[BeltOffTable]]
    drums: NotRequired[list[DrumTable]]
    readings: NotRequired[list[RunReadingTable]]
    wear: NotRequired[list[WearTable]]


@strict
class OverriddenStop(TypedDict):
    """The stop as it was."""

    statement: str
    measured: NotRequired[Measured]
    low: NotRequired[Bound]
    high: NotRequired[Bound]


@strict
class OverrideTable(TypedDict):
    """`[override]`."""

    check: str
    subject: str
    reason: str
    until: Moment
    stop: OverriddenStop


@strict
class RepairTable(TypedDict):
    """`[repair]`."""

    check: str
    subject: str
    what: str
    who: str
    measured: str


@strict
class CountersignTable(TypedDict):
    """`[countersign]`, left out where nothing is remarked."""

    remark: str


@strict
class CorrectionTable(TypedDict):
    """`[correction]`; one that hides what stood there does not repeat it."""

    key: str
    was: NotRequired[str]
    hides: NotRequired[bool]
    text: str
    reason: str
