"""The body of a record: plain values <-> the TOML bytes that are sealed.

Written once at signing, read only to show or to index a record. Verification works on the bytes and never comes here,
apart from `record_id`, `record_time` and `record_word`, which find one line without parsing.
"""

from __future__ import annotations

import functools
import math
import re
import tomllib
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Any

import tomli_w

from preflight.errors import OWN_FAILURE, PreflightError

if TYPE_CHECKING:
    from collections.abc import Mapping

_INTEGERS = range(-(2**63), 2**63)
"""Whole numbers that TOML promises to keep."""

_ID = re.compile(rb'\nid = "([^"\\\n]*)"\n')
_UTC = re.compile(rb'\nutc = "?([0-9T :+.Z-]+)"?\n')


class BodyError(PreflightError):
    """A value that a record cannot hold, or a body that cannot be read."""


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
    body = (tomli_w.dumps(plain, multiline_strings=False).rstrip("\n") + "\n").encode()
    if read_body(body) != plain:
        raise BodyError("The record would read back as something else.", exit_status=OWN_FAILURE)
    return body


def read_body(body: bytes) -> dict[str, Any]:
    """The values of a body, as `write_body` took them. BodyError when it is not TOML or has a `seal` key."""
    try:
        document = tomllib.loads(body.decode())
    except ValueError as error:  # TOMLDecodeError and UnicodeDecodeError both are
        raise BodyError(f"The body of the record is not readable TOML: {error}.") from error
    if "seal" in document:
        raise BodyError("The body of the record holds a second seal.")
    return document


def record_id(body: bytes) -> str | None:
    """The `id` of the `[record]` table, found without parsing; None when there is none."""
    found = _ID.search(_record_lines(body))
    return found[1].decode("utf-8", "replace") if found else None


def record_time(body: bytes) -> datetime | None:
    """The `utc` of the `[record]` table, found without parsing; None when there is none or it has no offset."""
    found = _UTC.search(_record_lines(body))
    if found is None:
        return None
    try:
        moment = datetime.fromisoformat(found[1].decode())
    except ValueError:
        return None
    return moment if moment.tzinfo else None


def record_table(body: bytes) -> bytes:
    """The `[record]` table alone, as bytes that `record_id`, `record_time` and `record_word` take in a body's place."""
    lines = _record_lines(body)
    return b"[record]" + lines if lines else b""


def record_word(body: bytes, key: str) -> str | None:
    """A text of the `[record]` table ("name", "role", "kind"), found without parsing.

    None when there is none, or when it holds a quotation mark or a backslash, which names and roles never do.
    """
    found = _word(key).search(_record_lines(body))
    return found[1].decode("utf-8", "replace") if found else None


@functools.cache
def _word(key: str) -> re.Pattern[bytes]:
    return re.compile(rb"\n" + re.escape(key.encode()) + rb' = "([^"\\\n]*)"\n')


def _record_lines(body: bytes) -> bytes:
    """The lines of the `[record]` table, with an LF before the first.

    Safe without parsing: strings are written on one line, so a line that reads `[record]` is that table's header.
    """
    start = 0 if body.startswith(b"[record]\n") else body.find(b"\n[record]\n") + 1
    if start == 0 and not body.startswith(b"[record]\n"):
        return b""
    end = body.find(b"\n[", start + 1)
    return body[start + len(b"[record]") : None if end < 0 else end + 1]


def _plain_table(table: Mapping[Any, Any], path: str) -> dict[str, Any]:
    for key in table:
        if type(key) is not str:
            raise BodyError(f"A record's keys are text; '{path}' has the key {key!r}.", exit_status=OWN_FAILURE)
        _require_encodable(key, path or key)
    return {key: _plain(value, f"{path}.{key}" if path else key) for key, value in table.items()}


def _plain(value: Any, path: str) -> Any:
    if isinstance(value, dict):
        return _plain_table(value, path)
    if isinstance(value, list | tuple):
        return [_plain(item, f"{path}[{index}]") for index, item in enumerate(value)]
    kind = type(value)  # exact types: an enum or a number type of a library would read back as another value
    if kind is str:
        _require_encodable(value, path)
    elif kind is int:
        if value not in _INTEGERS:
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
