"""What is wrong with a file, in words: file, key, what was expected, and a suggestion."""

from __future__ import annotations

import difflib
import re
import typing
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ValidationError

from preflight.errors import PreflightError
from preflight.outside_text import shown

if typing.TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from pydantic_core import ErrorDetails


LONGEST_SHOWN = 60
"""Characters of a wrong value that a message repeats."""

MOST_LISTED = 30
"""Problems of one file that are told; a file with more of them is hardly one of ours."""

MACHINE_ID = r"^m-[0-9a-f]{12}$"
"""Pattern of the id that a machine's records are kept under."""

_BRANCHED = ("job", "card")
_BRANCHES = ("str", "JobCard", "BeltCard")
"""Fields that take an id or the card's own table, and the names under which the branches are reported."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with a file."""

    key: str
    """Dotted path, `heads.2.belt_length.high`; empty for the whole file."""
    message: str

    def __str__(self) -> str:
        return f"{self.key}: {self.message}" if self.key else self.message


class FileProblemsError(PreflightError):
    """A file that cannot be used, with every problem found in it."""

    def __init__(self, file: str, problems: list[Problem]) -> None:
        self.file = file
        self.problems = problems
        told = problems if len(problems) <= MOST_LISTED + 1 else [*problems[:MOST_LISTED], _more(problems)]
        super().__init__("\n".join(shown(f"{file}: {problem}") for problem in told))


def _more(problems: Sequence[object]) -> Problem:
    return Problem("", f"has {len(problems) - MOST_LISTED} more problems")


def of_validation(error: ValidationError, model: type[BaseModel]) -> list[Problem]:
    """The problems of a failed validation; a misspelt required key is one problem, not two."""
    every = _without_branches(error.errors(include_url=False))
    errors = every[:MOST_LISTED]
    missing = {tuple(e["loc"]) for e in errors if e["type"] == "missing"}
    found: list[Problem] = []
    explained: set[tuple[int | str, ...]] = set()
    for item in errors:
        if item["type"] != "extra_forbidden":
            continue
        place, key = tuple(item["loc"][:-1]), str(item["loc"][-1])
        known = _keys_at(model, place)
        near = difflib.get_close_matches(key, known, n=1, cutoff=0.6)
        hint = f"did you mean {near[0]!r}?" if near else f"known here: {', '.join(known)}" if known else ""
        found.append(Problem(_dotted(item["loc"]), f"unknown key; {hint}" if hint else "unknown key"))
        if near:
            explained.add((*place, near[0]))
    for item in errors:
        loc = tuple(item["loc"])
        if item["type"] == "extra_forbidden" or (loc in missing and loc in explained):
            continue
        found.append(Problem(_dotted(item["loc"]), _message(dict(item))))
    listed = sorted(dict.fromkeys(found), key=lambda problem: problem.key)
    return [*listed, _more(every)] if len(every) > MOST_LISTED else listed


def _without_branches(errors: list[ErrorDetails]) -> list[ErrorDetails]:
    """The errors of a field that takes an id or a card, as if it took only what was meant.

    The validation library tries both and reports both, each under the name of its branch.
    """
    kept: list[ErrorDetails] = []
    for item in errors:
        loc = item["loc"]
        branch = next((at for at in range(1, len(loc)) if loc[at - 1] in _BRANCHED and loc[at] in _BRANCHES), None)
        if branch is not None:
            if loc[branch] == "str" and isinstance(item["input"], dict):
                continue  # the table was meant
            if loc[branch] != "str" and item["type"] == "model_type":
                continue  # said once, by the other branch
            if loc[branch] == "str" and item["type"] == "string_type":
                item["type"] = "id_or_table"
            item["loc"] = (*loc[:branch], *loc[branch + 1 :])
        kept.append(item)
    return kept


def _message(item: Mapping[str, Any]) -> str:
    kind, context = item["type"], item.get("ctx", {})
    got = f", not {_shortened(item['input'])}" if isinstance(item.get("input"), (str, int, float, bool)) else ""
    if kind == "missing":
        return "is missing"
    if kind == "literal_error":
        words = {word.casefold(): word for word in re.findall("'([^']*)'", str(context["expected"]))}
        near = difflib.get_close_matches(str(item.get("input")).casefold(), words, n=1)
        guess = f"; did you mean {words[near[0]]!r}?" if near else ""
        return f"{context['expected']} is wanted{got}{guess}"
    if kind == "string_pattern_mismatch" and context.get("pattern") == MACHINE_ID:
        return f'"m-" and 12 of 0-9 a-f are wanted{got}; preflight profiles new makes one'
    if kind == "id_or_table":
        return f"an id in quotes, or the card's own table, is wanted{got}"
    if kind in ("tuple_type", "list_type"):
        return "a list in [ ] is wanted"
    if kind in ("mapping_type", "dict_type", "model_type", "model_attributes_type"):
        return "a table is wanted"
    if kind.startswith("datetime") or kind in ("timezone_aware", "date_type"):
        return (
            "a date and time with its offset is wanted, as in 2026-11-25T06:52:00+01:00"
            if kind != "date_type"
            else "a date is wanted, as in 2026-11-25"
        )
    message = str(item["msg"])
    return message[0].lower() + message[1:] + (got if kind.endswith(("_type", "_parsing")) else "")


def _shortened(value: object) -> str:
    text = repr(value) if not isinstance(value, int) or abs(value) < 10**30 else "so large a number"
    return text if len(text) <= LONGEST_SHOWN else f"{text[:LONGEST_SHOWN]}…"


def _dotted(location: tuple[int | str, ...]) -> str:
    parts = (str(part + 1) if isinstance(part, int) else part for part in location if part != "[key]")
    return ".".join(part if len(part) <= LONGEST_SHOWN else f"{part[:LONGEST_SHOWN]}…" for part in parts)


def _keys_at(model: type[BaseModel], place: tuple[int | str, ...]) -> list[str]:
    """Keys known at a place of the model: walked by annotations; limits have their own."""
    types: list[Any] = [model]
    for part in place:
        types = [step for current in types for step in _step(current, part)]
    keys: dict[str, None] = {}
    for current in types:
        if isinstance(current, type) and issubclass(current, BaseModel):
            keys.update(dict.fromkeys(field.alias or name for name, field in current.model_fields.items()))
        elif getattr(current, "__name__", "") == "Limit":
            keys.update(dict.fromkeys(("low", "high", "caution_low", "caution_high", "source")))
    return list(keys)


def _step(current: Any, part: int | str) -> Iterator[Any]:
    if isinstance(current, type) and issubclass(current, BaseModel):
        for name, field in current.model_fields.items():
            if part in (field.alias or name, name):
                yield from _unwrapped(field.annotation)
                return
    yield current  # an index, a mapping key or a union's branch: the element types were unwrapped already


def _unwrapped(annotation: Any) -> Iterator[Any]:
    arguments = typing.get_args(annotation)
    if not arguments:
        yield annotation
    for argument in arguments:
        yield from _unwrapped(argument)
