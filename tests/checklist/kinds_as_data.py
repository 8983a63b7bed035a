"""The keys and types of every kind of record as plain data, for readers of other languages: `vectors/kinds.json`.

Read off the models by which records are checked. A table is an object; `?` behind a key says that it may be missing,
`*` stands for any other key; a list is a list of the one type that its values have; every other type is a word.
"""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING, Any

from preflight.checklist.record_kinds import fields_of, kinds

if TYPE_CHECKING:
    import re

WORDS = {
    "str": "text",
    "int": "whole",
    "float": "number",
    "bool": "flag",
    "datetime": "time",
    "date": "date",
    "any": "anything",
}


def shape(schema: Any, named: dict[str, Any]) -> Any:
    """One type of a schema as data. `named`: schemas that are referred to."""
    kind = schema["type"]
    if kind == "definitions":
        return shape(schema["schema"], named | {one["ref"]: one for one in schema["definitions"]})
    if kind == "definition-ref":
        return shape(named[schema["schema_ref"]], named)
    if kind in WORDS:
        limits = [f">= {schema['ge']}"] if "ge" in schema else []
        limits += [f"like {_whole(pattern)}"] if (pattern := schema.get("pattern")) is not None else []
        return " ".join([WORDS[kind], *limits])
    if kind == "typed-dict":
        return table(schema["fields"], named, schema.get("extras_schema"))
    if kind == "list":
        return [shape(schema["items_schema"], named)]
    if kind == "dict":
        return {"*": shape(schema["values_schema"], named)}
    if kind == "literal":
        return {"one of": list(schema["expected"])}
    if kind == "union":
        return either([shape(choice, named) for choice in schema["choices"]])
    if kind == "tagged-union":
        return either([shape(choice, named) for choice in schema["choices"].values()])
    if kind == "chain":
        return shape(schema["steps"][0], named)
    if kind == "function-after":
        return schema["function"]["function"].__name__.strip("_")
    if kind == "function-plain":
        return "quantity"
    raise TypeError(f"no word for {kind}")


def _whole(pattern: re.Pattern[str]) -> str:
    """What has to fit all of the text."""
    return pattern.pattern.removeprefix("^").removesuffix(r"\Z")


def either(choices: list[Any]) -> Any:
    plain = [choice for place, choice in enumerate(choices) if choice not in choices[:place]]
    return plain[0] if len(plain) == 1 else {"either": plain}


def table(fields: dict[str, Any], named: dict[str, Any], others: Any = None) -> dict[str, Any]:
    keys = {
        name if field.get("required") else f"{name}?": shape(field["schema"], named)
        for name, field in sorted(fields.items())
    }
    return keys | ({"*": shape(others, named)} if others else {})


def every_kind() -> dict[str, Any]:
    """All kinds, by name."""
    return {kind: table(fields_of(kind), {}) for kind in kinds()}


if __name__ == "__main__":
    json.dump(every_kind(), sys.stdout, indent=1, ensure_ascii=False)
    print()
