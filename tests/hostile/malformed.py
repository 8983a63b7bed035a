"""Forty-eight ways in which a file is not what it should be, made from a sound one."""

from __future__ import annotations

import copy
import json
import tomllib
from typing import TYPE_CHECKING, Any

import tomli_w

if TYPE_CHECKING:
    from collections.abc import Callable

HUGE = 1_000_000_000
"""Bytes of the sparse file; `ZEROS` marks it, since it is made on the disk and not in memory."""
ZEROS = b"\0 a gigabyte of these"
DOTS = b".".join([b"k"] * 100_000)
NAMES_OF_KIND = ("schema", "id", "name", "machine", "layout")

BYTES: dict[str, Callable[[bytes], bytes]] = {
    "empty": lambda _: b"",
    "blank": lambda _: b" \n\n\t\n",
    "byte-order mark": lambda data: b"\xef\xbb\xbf" + data,
    "NUL bytes": lambda _: bytes(5000),
    "a NUL byte in the middle": lambda data: data[: len(data) // 2] + b"\0" + data[len(data) // 2 :],
    "not UTF-8": lambda data: b"\xff\xfe\xfd" + data,
    "UTF-16": lambda data: data.decode("utf-8", "replace").encode("utf-16"),
    "CR LF": lambda data: data.replace(b"\n", b"\r\n"),
    "CR": lambda data: data.replace(b"\n", b"\r"),
    "half of it": lambda data: data[: len(data) // 2],
    "all but its last byte": lambda data: data[:-1],
    "twice": lambda data: data + data,
    "backwards": lambda data: data[::-1],
    "noise": lambda _: bytes((number * 7919 + 13) % 256 for number in range(20_000)),
    "a gigabyte of zeros": lambda _: ZEROS,
    "two megabytes of blanks": lambda _: b" " * 2_000_000,
    "a dotted key of 100,000 parts": lambda data: data + b"\n" + DOTS + b" = 1\n",
    "a dotted key of 3,000 parts first": lambda data: DOTS[:5999] + b" = 1\n" + data,
    "a table name of 100,000 parts": lambda data: data + b"\n[" + DOTS + b"]\n",
    "lists 100,000 deep": lambda data: b"deep = " + b"[" * 100_000 + b"\n" + data,
    "tables 10,000 deep": lambda data: b"deep = " + b"{a=" * 10_000 + b"\n" + data,
    "100,000 tables": lambda data: data + b"\n[[k]]" * 100_000,
    "60,000 keys": lambda data: b"".join(b"k%d = 1\n" % number for number in range(60_000)) + data,
    "20,000 keys": lambda data: b"".join(b"k%d = 1\n" % number for number in range(20_000)) + data,
    "a word of 500,000 letters": lambda data: b"k" * 500_000 + b" = 1\n" + data,
    "a key of 500,000 letters in quotes": lambda data: b'"' + b"k" * 500_000 + b'" = [1, 2, 3]\n' + data,
    "a text of 900,000 letters": lambda data: b'k = "' + b"x" * 900_000 + b'"\n' + data,
    "a number of 9,000 digits": lambda data: b"k = " + b"9" * 9000 + b"\n" + data,
    "a text that never ends": lambda data: data + b'\nk = """' + b'a"\\' * 100_000,
    "a comment of 900,000 letters": lambda data: b"#" * 900_000 + b"\n" + data,
    "a control character": lambda data: b'k = "\\u001b[2J\\u202e"\n' + data,
}
"""On the bytes, whatever they hold."""


def _each(change: Callable[[Any], Any]) -> Callable[[Any], Any]:
    """The same change on every value that is neither table nor list."""

    def changed(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: changed(item) for key, item in value.items()}
        if isinstance(value, list):
            return [changed(item) for item in value]
        return change(value)

    return changed


def _number(to: str) -> Callable[[Any], Any]:
    """Every quantity and number becomes that number, in its own unit."""

    def changed(value: Any) -> Any:
        if isinstance(value, str) and value[:1].isdigit():
            _, blank, unit = value.partition(" ")
            return f"{to}{blank}{unit}"
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            return type(value)(float(to)) if to not in ("inf", "nan") else float(to)
        return value

    return _each(changed)


def _without(number: int) -> Callable[[Any], Any]:
    def changed(table: dict[str, Any]) -> dict[str, Any]:
        keys = [key for key in table if key not in NAMES_OF_KIND] or list(table)
        gone = keys[number % len(keys)]
        return {key: value for key, value in table.items() if key != gone}

    return changed


def _to(value: Any) -> Callable[[Any], Any]:
    return lambda table: {
        key: copy.deepcopy(value) if key not in NAMES_OF_KIND else item for key, item in table.items()
    }


VALUES: dict[str, Callable[[dict[str, Any]], Any]] = {
    "every number 0": _number("0"),
    "every number -1": _number("-1"),
    "every number of 31 digits": _number("9" * 31),
    "every number tiny": _number("0.0000001"),
    "every text empty": _each(lambda value: "" if isinstance(value, str) else value),
    "every text a number": _each(lambda value: 7 if isinstance(value, str) else value),
    "every value true": _each(lambda _: True),
    "every table a list": _to([1, 2, 3]),
    "every table a text": _to("x"),
    "every list a table": _to({"x": 1}),
    "one key less": _without(0),
    "another key less": _without(1),
    "a third key less": _without(2),
    "a key more": lambda table: {**table, "colour": "blue"},
    "another schema": lambda table: {**table, "schema": 2, "layout": 2},
    "another id": lambda table: {**table, "id": "m-000000000000", "machine": "m-000000000000"},
    "lists a hundred times": lambda table: {
        key: value * 100 if isinstance(value, list) else value for key, value in table.items()
    },
}
"""On what a file holds."""

NAMES = (*BYTES, *VALUES)
"""Of all ways, in order."""


def malformed(name: str, data: bytes, *, as_json: bool = False) -> bytes:
    """The bytes of a sound file, malformed in that way."""
    if name in BYTES:
        return bytes(BYTES[name](data))
    if as_json:
        return json.dumps(VALUES[name](json.loads(data))).encode()
    return tomli_w.dumps(VALUES[name](_plain(data))).encode()


def _plain(data: bytes) -> dict[str, Any]:
    return tomllib.loads(data.decode())
