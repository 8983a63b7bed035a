"""What each kind of record holds: its keys and their types, one model a kind, nothing left over.

Whoever can write to the shop folder can seal anything. What passes here has the shape that this program writes, so that
no later reader has to ask of a table whether it is one. It is changed together with what writes a kind: a record that
would not pass is not saved, and those of earlier years have to pass too.
"""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, Annotated, Any, Literal, NotRequired

from pydantic import Discriminator, TypeAdapter
from pydantic_core import SchemaValidator, ValidationError, core_schema
from typing_extensions import TypedDict

from preflight.checklist.body_reader import BodyError
from preflight.checklist.record_tables import (
    CorrectionTable,
    CountersignTable,
    EntryTable,
    FindingTable,
    HeldTable,
    JudgedTable,
    LateTable,
    OverrideTable,
    ProfilesTable,
    RecordTable,
    ReferenceTable,
    ReleasedTable,
    RepairTable,
    RunTable,
    Sha256,
    Verdict,
    strict,
)
from preflight.checklist.sheet_shape import sheet_fields

if TYPE_CHECKING:
    from collections.abc import Mapping


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
