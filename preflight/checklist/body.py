"""The body of a record: plain values -> the TOML bytes that are sealed. `body_reader` is the way back.

The spelling is ours, since it is what a record is: no library's next version changes it. It is the part of TOML that
`body_reader` describes. A list of tables is written as `[[…]]` tables, unless each fits on one line.
"""

from __future__ import annotations

import math
import re
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Any

from preflight.checklist.body_reader import DEEPEST, INTEGERS, BodyError, read_body
from preflight.errors import OWN_FAILURE

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

LINE = 100
"""Characters of a line that a table in a list fits on."""

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_ESCAPED = re.compile(r'["\\\x00-\x08\x0a-\x1f\x7f]')
_ESCAPES = {'"': '\\"', "\\": "\\\\", "\b": "\\b", "\n": "\\n", "\f": "\\f", "\r": "\\r"}


def write_body(document: Mapping[str, Any]) -> bytes:
    """The body bytes of a record: UTF-8, LF only, no byte-order mark, exactly one LF at the end, no `seal` key.

    `document` holds str, int, finite float, bool, datetime, date, time, and lists and dicts of these.
    The bytes are read back and compared before they are handed out: a record has to be readable for years.
    BodyError names the key of a value that does not fit.
    """
    plain = _plain_table(document, "")
    if "seal" in plain:
        raise BodyError("A record's body has no key 'seal': that table belongs to the seal.", exit_status=OWN_FAILURE)
    if not plain:
        raise BodyError("A record's body cannot be empty.", exit_status=OWN_FAILURE)
    body = ("\n\n".join(_blocks(plain, "")) + "\n").encode()
    if read_body(body) != plain:
        raise BodyError("The record would read back as something else.", exit_status=OWN_FAILURE)
    return body


def _blocks(table: Mapping[str, Any], header: str, *, listed: bool = False) -> Iterator[str]:
    """The lines of a table under its header, and then of the tables in it; `listed`: it is one of a list of tables."""
    values = {key: value for key, value in table.items() if not _is_table(value)}
    lines = [f"{_key(key)} = {_value(value)}" for key, value in values.items()]
    if listed:
        lines.insert(0, f"[[{header}]]")
    elif header and (lines or not table):  # one that holds only tables needs no header
        lines.insert(0, f"[{header}]")
    if lines:
        yield "\n".join(lines)
    for key, value in table.items():
        if key not in values:
            name = f"{header}.{_key(key)}" if header else _key(key)
            for inner in value if isinstance(value, list) else [value]:
                yield from _blocks(inner, name, listed=isinstance(value, list))


def _is_table(value: Any) -> bool:
    """Whether it is written as a table of its own, or as several."""
    if not isinstance(value, list):
        return isinstance(value, dict)
    tables = bool(value) and all(isinstance(item, dict) for item in value)
    return tables and not all(_fits_a_line(item) for item in value)


def _fits_a_line(table: Mapping[str, Any]) -> bool:
    return not _holds_a_list(table) and len(f"    {_on_one_line(table)},") <= LINE


def _holds_a_list(table: Mapping[str, Any]) -> bool:
    return any(
        _holds_a_list(value) if isinstance(value, dict) else bool(value) and isinstance(value, list)
        for value in table.values()
    )


def _value(value: Any, depth: int = 0) -> str:
    if not isinstance(value, list) or not value:
        return _on_one_line(value)
    indent = "    " * depth
    lines = "".join(f"{indent}    {_value(item, depth + 1)},\n" for item in value)
    return f"[\n{lines}{indent}]"


def _on_one_line(value: Any) -> str:
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return f"[{', '.join(map(_on_one_line, value))}]"
    if isinstance(value, dict):
        pairs = ", ".join(f"{_key(key)} = {_on_one_line(item)}" for key, item in value.items())
        return f"{{ {pairs} }}" if pairs else "{}"
    return str(value)


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _text(key)


def _text(text: str) -> str:
    return f'"{_ESCAPED.sub(_escape, text)}"'


def _escape(match: re.Match[str]) -> str:
    return _ESCAPES.get(match[0]) or f"\\u{ord(match[0]):04x}"


def _plain_table(table: Mapping[Any, Any], path: str, depth: int = 0) -> dict[str, Any]:
    for key in table:
        if type(key) is not str:
            raise BodyError(f"A record's keys are text; '{path}' has the key {key!r}.", exit_status=OWN_FAILURE)
        _require_encodable(key, path or key)
    return {key: _plain(value, f"{path}.{key}" if path else key, depth) for key, value in table.items()}


def _plain(value: Any, path: str, depth: int) -> Any:
    if depth >= DEEPEST:
        raise BodyError(f"'{path}' lies deeper than a record goes.", exit_status=OWN_FAILURE)
    if isinstance(value, dict):
        return _plain_table(value, path, depth + 1)
    if isinstance(value, list | tuple):
        return [_plain(item, f"{path}[{index}]", depth + 1) for index, item in enumerate(value)]
    kind = type(value)  # exact types: an enum or a number type of a library would read back as another value
    if kind is str:
        _require_encodable(value, path)
    elif kind is int:
        if value not in INTEGERS:
            raise BodyError(f"'{path}' is a whole number of more than 64 bits.", exit_status=OWN_FAILURE)
    elif kind is float:
        if not math.isfinite(value):
            raise BodyError(f"'{path}' is {value}: a record holds finite numbers only.", exit_status=OWN_FAILURE)
    elif kind is time:
        if value.tzinfo is not None:
            raise BodyError(
                f"'{path}' is a time of day with an offset, which TOML cannot hold.", exit_status=OWN_FAILURE
            )
    elif kind not in (bool, datetime, date):
        name = "nothing" if value is None else f"a {kind.__name__}"
        raise BodyError(f"'{path}' is {name}, which a record cannot hold.", exit_status=OWN_FAILURE)
    return value


def _require_encodable(text: str, path: str) -> None:
    try:
        text.encode()
    except UnicodeEncodeError as error:
        shown = path.encode("ascii", "backslashreplace").decode()
        raise BodyError(f"'{shown}' holds a character that cannot be written.", exit_status=OWN_FAILURE) from error
