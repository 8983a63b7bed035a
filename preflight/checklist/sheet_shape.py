"""The shape of a setup sheet in a saved record: which keys there are, and of which type each value is.

Taken from the sheet's own model, without what that model asks of a value: ranges, lengths, words to choose from. These
are of the day they were judged; a record of an earlier year stays a record when a later version asks for more.
"""

from __future__ import annotations

import types
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any, Literal, Union, get_args, get_origin

from pydantic import AwareDatetime, BaseModel
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from preflight.engine.abrasives import Grit
from preflight.quantities import Kind, QuantityError, parse
from preflight.sheet import SetupSheet, TensionReadings
from preflight.shop.fields import Written, read_grit

_SCALARS: dict[Any, CoreSchema] = {
    str: core_schema.str_schema(strict=True),
    bool: core_schema.bool_schema(strict=True),
    int: core_schema.int_schema(strict=True),
    float: core_schema.float_schema(strict=True),
    datetime: core_schema.datetime_schema(strict=True, tz_constraint="aware"),
    AwareDatetime: core_schema.datetime_schema(strict=True, tz_constraint="aware"),
    date: core_schema.date_schema(strict=True),
    Any: core_schema.any_schema(),
}


def sheet_fields() -> dict[str, core_schema.TypedDictField]:
    """The fields of a record that are the sheet's, by key."""
    return _fields(SetupSheet)


def quantity(kind: Kind, bare: str | None = None) -> CoreSchema:
    """A quantity of that kind, as typed."""

    def readable(raw: object) -> object:
        if isinstance(raw, bool) or not isinstance(raw, (str, int, float)):
            raise PydanticCustomError("quantity", "this should be a {words} in quotes", {"words": kind.words})
        try:
            parse(str(raw), kind, bare)
        except QuantityError as error:
            raise PydanticCustomError("quantity", "{message}", {"message": str(error)}) from error
        return raw

    return core_schema.no_info_plain_validator_function(readable)


def _fields(model: type[BaseModel]) -> dict[str, core_schema.TypedDictField]:
    return {
        field.alias or name: core_schema.typed_dict_field(
            _shape(field.annotation, field.metadata), required=field.is_required()
        )
        for name, field in model.model_fields.items()
    }


def _shape(annotation: Any, marks: Any = ()) -> CoreSchema:
    for mark in marks:
        if isinstance(mark, Written):
            return quantity(mark.kind, mark.bare)
    if hasattr(annotation, "__metadata__"):
        return _shape(annotation.__origin__, annotation.__metadata__)
    if annotation in _SCALARS:
        return _SCALARS[annotation]
    if annotation is Grit:
        return core_schema.no_info_plain_validator_function(_grit)
    origin, inner = get_origin(annotation), get_args(annotation)
    if origin in (Union, types.UnionType):
        return core_schema.union_schema([_shape(one) for one in inner if one is not types.NoneType])
    if origin is Literal:
        return core_schema.union_schema([_SCALARS[kind] for kind in dict.fromkeys(type(word) for word in inner)])
    if origin is tuple:
        return core_schema.list_schema(_shape(inner[0]), strict=True)
    if origin is Mapping:
        return core_schema.dict_schema(_SCALARS[str], _shape(inner[1]), strict=True)
    if annotation is TensionReadings:
        return _tension()
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return core_schema.typed_dict_schema(_fields(annotation), extra_behavior="forbid", strict=True)
    raise TypeError(f"no shape is known for {annotation!r}")


def _tension() -> CoreSchema:
    """Gauges stand under the heads' names, which are any, beside the keys of the model."""
    return core_schema.typed_dict_schema(
        _fields(TensionReadings),
        extra_behavior="allow",
        extras_schema=quantity(Kind.PRESSURE),
        strict=True,
    )


def _grit(raw: object) -> object:
    read_grit(raw)
    return raw
