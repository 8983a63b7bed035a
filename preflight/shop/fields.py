"""Field types of the files: a quantity in quotes, a limit, a grit, each refused with what was expected."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal, get_args

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler, ValidationInfo
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from preflight.engine.abrasives import Grit, parse_grit
from preflight.quantities import Kind, Quantity, QuantityError, parse, show
from preflight.shop.limits import Limit

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preflight.shop.instruments import Instrument


TODAY: Final = "readings of today"
"""Context of a validation that refuses what no instrument shows. Saved records are read without it, as they were."""


MOST: Final[Mapping[Kind, Quantity]] = {
    kind: parse(text, kind)
    for kind, text in {
        Kind.LENGTH: "10000 m",
        Kind.PRESSURE: "1000 bar",
        Kind.DUCT_PRESSURE: "1000000 Pa",
        Kind.AIR_FLOW: "10000000 m3/h",
        Kind.BELT_SPEED: "1000 m/s",
        Kind.FEED_SPEED: "10000 m/min",
        Kind.AIR_SPEED: "1000 m/s",
        Kind.ROTATION: "1000000 rpm",
        Kind.FORCE: "10000 kN",
        Kind.LINE_TENSION: "10000 kN/m",
        Kind.CURRENT: "100000 A",
        Kind.POWER: "100000 kW",
        Kind.TIME: "100000 h",
        Kind.HOURS: "1000000 h",
        Kind.MASS: "100000 kg",
        Kind.DENSITY: "100000 kg/m3",
        Kind.TEMPERATURE: "5000 °C",
        Kind.HARDNESS: "100 Shore A",
        Kind.AREA: "1000000000 m2",
        Kind.VOLUME: "100000 m3",
    }.items()
}
"""More than anything of its kind in a shop: what a file holds beyond it is a slip, and would overflow in formulas."""


IMPOSSIBLE: Final = "impossible"
"""Type of the problem of a figure that can be read and that nothing shows."""


class Strict(BaseModel):
    """Base of every file model: frozen, unknown keys refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


@dataclass(frozen=True, slots=True)
class Written:
    """Marks a field that holds a quantity of `kind`, written with its unit."""

    kind: Kind
    bare: str | None = None
    """Unit of a bare number, where the key names it."""
    least: float | None = None
    """SI; the quantity is above zero and not below this. None: zero may stand."""
    read_with: Instrument | None = None
    """What a reading was taken with: what that cannot show is refused in a file of today."""

    def read(self, raw: object, info: ValidationInfo | None = None) -> Quantity:
        """Parse the raw TOML value; a number without a unit is refused by `parse`."""
        found = self._parsed(raw)
        if self.least is not None and not found.value > 0:
            raise PydanticCustomError("quantity", "({text}) must be above zero", {"text": found.text})
        if self.least is not None and found.value < self.least:
            least = show(self.least, self.kind)
            raise PydanticCustomError(
                "quantity", "({text}) must be {least} or more", {"text": found.text, "least": least}
            )
        if info is not None and info.context == TODAY and (impossible := self._impossible(found)):
            raise PydanticCustomError(IMPOSSIBLE, "{message}", {"message": impossible})
        return found

    def _impossible(self, found: Quantity) -> str:
        if self.read_with is not None:
            return self.read_with.refusal(found)
        most = MOST[self.kind]
        if abs(found.value) <= most.value:
            return ""
        return f"({found.text}) is more than any {self.kind.words} here: at most {most}"

    def _parsed(self, raw: object) -> Quantity:
        if isinstance(raw, Quantity):
            return raw
        if isinstance(raw, bool) or not isinstance(raw, (str, int, float)):
            raise PydanticCustomError("quantity", "{message}", {"message": f"a {self.kind.words} in quotes is wanted"})
        try:
            return parse(str(raw), self.kind, self.bare)
        except QuantityError as error:
            raise PydanticCustomError("quantity", "{message}", {"message": str(error)}) from error

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(self.read)


@dataclass(frozen=True, slots=True)
class LimitOf:
    """Marks a field that holds a `Limit` of quantities of `kind`."""

    kind: Kind

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        bound = core_schema.typed_dict_field(
            core_schema.with_info_plain_validator_function(Written(self.kind).read), required=False
        )
        fields = dict.fromkeys(("low", "high", "caution_low", "caution_high"), bound)
        fields["source"] = core_schema.typed_dict_field(core_schema.str_schema(strict=True), required=False)
        table = core_schema.typed_dict_schema(fields, extra_behavior="forbid")
        return core_schema.no_info_after_validator_function(_limit, table)


def _limit(raw: dict[str, Any]) -> Limit:
    limit = Limit(**raw)
    given = [(name, getattr(limit, name)) for name in ("low", "caution_low", "caution_high", "high")]
    present = [(name, bound) for name, bound in given if bound is not None]
    if not present:
        raise PydanticCustomError("limit", "a limit needs at least one of low, high, caution_low, caution_high")
    for (name, bound), (next_name, next_bound) in itertools.pairwise(present):
        if bound.value > next_bound.value:
            message = f"{name} ({bound}) is above {next_name} ({next_bound})"
            raise PydanticCustomError("limit", "{message}", {"message": message})
    return limit


def read_grit(raw: object) -> Grit:
    """A grit with its scale, "P120" or "ANSI 120"."""
    if isinstance(raw, Grit):
        return raw
    if isinstance(raw, bool) or not isinstance(raw, (str, int)):
        raise PydanticCustomError("grit", 'a grit in quotes is wanted, as in "P120"')
    try:
        return parse_grit(str(raw)[:40])
    except ValueError as error:
        raise PydanticCustomError("grit", "{message}", {"message": str(error)}) from error


class _GritMark:
    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(read_grit)


GritField = Annotated[Grit, _GritMark()]

Length = Annotated[Quantity, Written(Kind.LENGTH)]
Size = Annotated[Quantity, Written(Kind.LENGTH, least=0.001)]
"""Of a board or a belt, which nothing divides by zero: 1 mm or more."""
Pressure = Annotated[Quantity, Written(Kind.PRESSURE)]
DuctPressure = Annotated[Quantity, Written(Kind.DUCT_PRESSURE)]
AirFlow = Annotated[Quantity, Written(Kind.AIR_FLOW)]
AirSpeed = Annotated[Quantity, Written(Kind.AIR_SPEED)]
FeedSpeed = Annotated[Quantity, Written(Kind.FEED_SPEED)]
Rotation = Annotated[Quantity, Written(Kind.ROTATION)]
Force = Annotated[Quantity, Written(Kind.FORCE)]
Current = Annotated[Quantity, Written(Kind.CURRENT)]
Power = Annotated[Quantity, Written(Kind.POWER)]
Hours = Annotated[Quantity, Written(Kind.HOURS)]
Seconds = Annotated[Quantity, Written(Kind.TIME, "s")]
Mass = Annotated[Quantity, Written(Kind.MASS)]
Density = Annotated[Quantity, Written(Kind.DENSITY)]
BulkDensity = Annotated[Quantity, Written(Kind.DENSITY, least=0.0)]
Temperature = Annotated[Quantity, Written(Kind.TEMPERATURE)]
Volume = Annotated[Quantity, Written(Kind.VOLUME, least=0.0)]

LengthLimit = Annotated[Limit, LimitOf(Kind.LENGTH)]
PressureLimit = Annotated[Limit, LimitOf(Kind.PRESSURE)]
AirFlowLimit = Annotated[Limit, LimitOf(Kind.AIR_FLOW)]
AirSpeedLimit = Annotated[Limit, LimitOf(Kind.AIR_SPEED)]
FeedSpeedLimit = Annotated[Limit, LimitOf(Kind.FEED_SPEED)]
TimeLimit = Annotated[Limit, LimitOf(Kind.TIME)]
HoursLimit = Annotated[Limit, LimitOf(Kind.HOURS)]

Backing = Literal["paper", "cloth light", "cloth X", "cloth heavier"]
BACKINGS: tuple[Backing, ...] = get_args(Backing)
CLOTH: tuple[Backing, ...] = BACKINGS[1:]
Joint = Literal["lap", "skived lap", "butt with tape"]
JOINTS: tuple[Joint, ...] = get_args(Joint)
HeadKind = Literal["steel drum", "rubber drum", "platen", "drum and platen"]
Share = Annotated[float, Field(ge=0, le=1)]
