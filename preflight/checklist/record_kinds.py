"""What each kind of record holds: its keys and their types, one model a kind, nothing left over.

Whoever can write to the shop folder can seal anything. What passes here has the shape that this program writes, so that
no later reader has to ask of a table whether it is one. It is changed together with what writes a kind: a record that
would not pass is not saved, and those of earlier years have to pass too.
"""

from __future__ import annotations

import functools
import re
from datetime import datetime
from typing import TYPE_CHECKING, Annotated, Any, Literal, NotRequired

from pydantic import AfterValidator, AwareDatetime, ConfigDict, Discriminator, Field, TypeAdapter, with_config
from pydantic_core import CoreSchema, PydanticCustomError, SchemaValidator, ValidationError, core_schema
from typing_extensions import TypedDict

from preflight.checklist.body_reader import BodyError
from preflight.checklist.sheet_shape import quantity, sheet_fields
from preflight.quantities import Kind

if TYPE_CHECKING:
    from collections.abc import Mapping

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


@strict
class StationTable(TypedDict):
    """How one station of a drill was judged."""

    check: str
    truth: Verdict
    said: Verdict
    outcome: Literal[
        "found",
        "found, called worse than it is",
        "seen, called better than it is",
        "missed",
        "in order, left alone",
        "not judged",
        "false alarm",
    ]
    safety: bool
    kinds: list[str]
    cause: NotRequired[bool]
    remedy: NotRequired[bool]
    seconds: float


@strict
class BegunTable(TypedDict):
    """`[practice]` of a drill that is begun."""

    what: Literal["begun"]
    trainee: str
    drill: str
    title: str
    level: int
    random: bool
    surprise: NotRequired[bool]


@strict
class DrillTable(TypedDict):
    """`[practice]` of a drill that ended."""

    what: Literal["drill"]
    trainee: str
    drill: str
    title: str
    level: int
    random: bool
    surprise: NotRequired[bool]
    score: int
    stations: list[StationTable]
    begun: NotRequired[ReferenceTable]


@strict
class StripsTable(TypedDict):
    """`[practice]` of a measuring test."""

    what: Literal["strips"]
    trainee: str
    differences: list[float]
    repeats: list[float]


@strict
class MarkTable(TypedDict):
    """`[practice]` of a trainer's mark."""

    what: Literal["mark"]
    trainee: str
    mark: Literal["observed start", "near miss", "may work alone"]
    note: str


PracticeTable = Annotated[BegunTable | DrillTable | StripsTable | MarkTable, Discriminator("what")]


@strict
class PersonTable(TypedDict):
    """`[person]` of a record of the register."""

    name: str
    role: NotRequired[str]
    public: NotRequired[str]


@strict
class ApprovalTable(TypedDict):
    """`[approval]` of a profile."""

    profile: str
    sha256: Sha256


REGISTER = ("founding", "enrolment", "renewal", "role", "retirement", "approval")
"""Kinds of the register's records, and of no other."""
START_UPS = ("startup", "held", "late")
"""Kinds that hold a setup sheet."""

_OPTIONAL: Mapping[str, Any] = {"refers": ReferenceTable, "released": ReleasedTable}
_JUDGED: Mapping[str, Any] = {
    "record": JudgedTable,
    "profiles": ProfilesTable,
    "entries": list[EntryTable],
    "findings": list[FindingTable],
    "limits": dict[str, dict[str, Any]],
}
_ABOUT: Mapping[str, Any] = {"record": RecordTable, "refers": ReferenceTable}
_PERSON: Mapping[str, Any] = {"record": RecordTable, "person": PersonTable}
_KINDS: Mapping[str, Mapping[str, Any]] = {
    "startup": _JUDGED,
    "held": {**_JUDGED, "held": HeldTable},
    "late": {**_JUDGED, "late": LateTable},
    "run": {"record": RecordTable, "run": RunTable},
    "override": {**_ABOUT, "override": OverrideTable},
    "repair": {**_ABOUT, "repair": RepairTable},
    "countersign": _ABOUT,
    "correction": {**_ABOUT, "correction": CorrectionTable},
    "practice": {"record": RecordTable, "practice": PracticeTable},
    **dict.fromkeys(REGISTER, _PERSON),
    "approval": {"record": RecordTable, "approval": ApprovalTable},
}
"""Tables that a record of that kind has."""
_MAY_HAVE: Mapping[str, Mapping[str, Any]] = {
    **dict.fromkeys(START_UPS, _OPTIONAL),
    **{kind: {"refers": ReferenceTable} for kind in ("run", *REGISTER)},
    "countersign": {"countersign": CountersignTable},
}
"""Tables that it may have besides; a start-up has the sheet's too."""


def check_kind(kind: str, document: Mapping[str, Any]) -> None:
    """BodyError, with the key, when the document is not what a record of that kind holds."""
    if kind not in _KINDS:
        raise BodyError(f"There is no record of the kind {kind[:40]!r}.")
    try:
        _validator(kind).validate_python(document)
    except ValidationError as error:
        first = error.errors(include_url=False, include_context=False, include_input=False)[0]
        where = ".".join(str(part) for part in first["loc"])
        if first["type"] == "extra_forbidden":
            raise BodyError(f"A record of the kind '{kind}' has no key {where!r}.") from error
        raise BodyError(f"It is no record of the kind '{kind}': {where}: {first['msg']}.") from error


def kinds() -> tuple[str, ...]:
    """Every kind that there is."""
    return tuple(_KINDS)


def fields_of(kind: str) -> dict[str, core_schema.TypedDictField]:
    """The tables and keys of a record of that kind, by name."""
    fields = sheet_fields() if kind in START_UPS else {}
    for tables, needed in ((_KINDS[kind], True), (_MAY_HAVE.get(kind, {}), False)):
        for name, table in tables.items():
            fields[name] = core_schema.typed_dict_field(TypeAdapter(table).core_schema, required=needed)
    return fields


@functools.cache
def _validator(kind: str) -> SchemaValidator:
    return SchemaValidator(core_schema.typed_dict_schema(fields_of(kind), extra_behavior="forbid", strict=True))
