"""The body of a record as bytes, and back."""

from __future__ import annotations

import enum
import tomllib
from datetime import UTC, date, datetime, time, timedelta, timezone
from decimal import Decimal
from typing import Any

import pytest
from checklist.record_samples import start_up_document

from preflight.checklist.body import write_body
from preflight.checklist.body_reader import BodyError, read_body
from preflight.checklist.heading import Signature

EVERY_KIND: dict[str, Any] = {
    "text": 'a "quoted"\r\nline\twith \\ and é and \x00 and \x7f and 木',
    "whole": -(2**63),
    "number": 0.1 + 0.2,
    "tiny": 5e-324,
    "yes": True,
    "at": datetime(2026, 11, 25, 6, 52, 3, 250000, tzinfo=timezone(timedelta(hours=1))),
    "day": date(2026, 11, 25),
    "clock": time(6, 52),
    "list": [1, "two", [3.0], {"four": 4}],
    "findings": [{"subject": "head 1", "verdict": "ok"}, {"subject": "head 2", "verdict": "stop"}],
    "none of these": {},
    "empty": [],
    "a.b": {'"': 1, "": 2},
}


def test_every_kind_of_value_reads_back_as_it_was() -> None:
    assert read_body(write_body(EVERY_KIND)) == EVERY_KIND


def test_a_body_has_line_feeds_only_and_ends_in_exactly_one() -> None:
    values: list[Any] = ["x\r\ny\n\n", {"b": {}}, [{}], ""]
    for value in values:
        body = write_body({"a": value})
        assert b"\r" not in body
        assert body.endswith(b"\n")
        assert not body.endswith(b"\n\n")


def test_text_stays_on_one_line_so_no_line_of_a_body_can_pass_for_a_table() -> None:
    body = write_body({"a": "x\n[seal]\nlayout = 1\n", "b": ["\n[record]\n"]})
    assert b"\n[" not in body


def test_a_list_given_as_a_tuple_is_a_list() -> None:
    assert read_body(write_body({"a": (1, 2)})) == {"a": [1, 2]}


SIGNATURE = Signature("R. Onslow", "operator", "I made this check.", datetime(2026, 11, 25, 5, 52, tzinfo=UTC))


class Word(enum.StrEnum):
    OK = "ok"


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (float("nan"), "'a.b[1]' is nan"),
        (float("inf"), "finite"),
        (float("-inf"), "finite"),
        (None, "is nothing"),
        (2**63, "64 bits"),
        (Decimal("1.5"), "a Decimal"),
        (Word.OK, "a Word"),
        (b"x", "a bytes"),
        ({1: 2}, "keys are text"),
        (time(6, tzinfo=UTC), "time of day with an offset"),
        ("\ud800", "cannot be written"),
        ({"\udc80": 1}, "cannot be written"),
    ],
)
def test_a_value_that_a_record_cannot_hold_is_refused_by_its_key(value: Any, words: str) -> None:
    with pytest.raises(BodyError, match=r"'a\.b|text|written") as caught:
        write_body({"a": {"b": [1, value]}})
    assert words in caught.value.message


def test_a_body_is_never_empty_and_has_no_seal_of_its_own() -> None:
    with pytest.raises(BodyError, match="empty"):
        write_body({})
    with pytest.raises(BodyError, match="'seal'"):
        write_body({"seal": {}})
    with pytest.raises(BodyError, match="second seal"):
        read_body(b"[seal]\nlayout = 1\n")


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"\n",
        b"a = \n",
        b"a = '\xff'\n",
        b"a = 1\na = 2\n",
        b"a = 1",
        b"# a remark\na = 1\n",
        b"a = 1 # a remark\n",
        b" a = 1\n",
        b"a = 1 \n",
        b"a  = 1\n",
        b"a=1\n",
        b"a.b = 1\n",
        b'"a" = 1\n',
        b"'a' = 1\n",
        b"a = 'text'\n",
        b'a = """text"""\n',
        b'a = "\\u0041"\n',
        b'a = "\\u000a"\n',
        b'a = "\\u001F"\n',
        b'a = "\\t"\n',
        b'a = "\x01"\n',
        b'a = "one\ntwo"\n',
        b"a = {}\n",
        b"a = { b = 1 }\n",
        b"a = 01\n",
        b"a = +1\n",
        b"a = -0\n",
        b"a = 0x1\n",
        b"a = 1_000\n",
        b"a = 9223372036854775808\n",
        b"a = 1.50\n",
        b"a = 1.5E3\n",
        b"a = 1e999\n",
        b"a = nan\n",
        b"a = True\n",
        b"a = 2026-11-25T06:52:00Z\n",
        b"a = 2026-11-25 06:52:00Z\n",
        b"a = 2026-11-25 06:52:00-00:00\n",
        b"a = 2026-02-30\n",
        b"a = 06:52\n",
        b"a = [1, 2]\n",
        b"a = [\n]\n",
        b"a = [\n    1\n]\n",
        b"a = [\n  1,\n]\n",
        b"a = [\n    1,\n\n]\n",
        b"a = [\n    1,\n",
        b"a = [\n    [\n        1,\n    ]\n]\n",
        b"a = [\n    { b = 1, b = 2 },\n]\n",
        b"a = [\n    {b = 1},\n]\n",
        b"a = [\n    { b = 1 }, { b = 2 },\n]\n",
        b"[a]\nb = 1\n[c]\nd = 1\n",
        b"\n[a]\nb = 1\n",
        b"[a]\nb = 1\n\n\n[c]\nd = 1\n",
        b"[a]\nb = 1\n\nc = 1\n",
        b"[a]\nb = 1\n\n[a]\nc = 1\n",
        b"[ a ]\nb = 1\n",
        b'["a"]\nb = 1\n',
        b"[a]]\nb = 1\n",
        b"[[a]\nb = 1\n",
        b"[a]\n\n[a.b]\nc = 1\n",
        b"[a]\nb = 1\n\n[a.b]\nc = 1\n",
        b"[a.b]\nc = 1\n\n[a]\nd = 1\n",
        b"[a.b]\nc = 1\n\n[d]\ne = 1\n\n[a.f]\ng = 1\n",
        b"[[a]]\nb = 1\n\n[c]\nd = 1\n\n[[a]]\nb = 1\n",
        b"a = []\n\n[[a]]\nb = 1\n",
        b"a = [\n    { b = 1 },\n]\n\n[a.c]\nd = 1\n",
        b"[[a]]\nb = 1\n\n[a]\nc = 1\n",
    ],
)
def test_a_body_that_the_writer_would_not_write_is_refused(body: bytes) -> None:
    with pytest.raises(BodyError, match="body"):
        read_body(body)


def test_the_line_is_named() -> None:
    with pytest.raises(BodyError, match="line 5: the key stands there twice"):
        read_body(b"a = 1\n\n[b]\nc = 1\nc = 2\n")


@pytest.mark.parametrize(
    "body", [b"[" + b"a." * 100_000 + b"a]\n", b"a = " + b"[\n" * 100_000, b"a = [\n    " + b"{ a = " * 99_999]
)
def test_nothing_is_read_deeper_than_a_record_goes(body: bytes) -> None:
    with pytest.raises(BodyError):
        read_body(body + b"\n")


def test_what_is_read_is_what_any_reader_of_toml_finds_there() -> None:
    for document in (EVERY_KIND, start_up_document("record-0001", SIGNATURE, "even\n[record]\n")):
        body = write_body(document)
        assert read_body(body) == tomllib.loads(body.decode()) == document
