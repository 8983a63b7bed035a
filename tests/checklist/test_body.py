"""The body of a record as bytes, and back."""

from __future__ import annotations

import enum
from datetime import UTC, date, datetime, time, timedelta, timezone
from decimal import Decimal
from typing import Any

import pytest

from preflight.checklist.body import BodyError, read_body, record_id, record_table, record_time, record_word, write_body

RECORD = {"id": "record-0001", "utc": datetime(2026, 11, 25, 5, 52, tzinfo=UTC)}


def test_every_kind_of_value_reads_back_as_it_was() -> None:
    document: dict[str, Any] = {
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
    assert read_body(write_body(document)) == document


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


@pytest.mark.parametrize("body", [b"a = \n", b"\xff", b"a = 1\na = 2\n"])
def test_a_body_that_is_not_toml_is_an_error_with_a_message(body: bytes) -> None:
    with pytest.raises(BodyError, match="not readable TOML"):
        read_body(body)


def test_id_and_time_are_found_without_parsing() -> None:
    for document in (
        {"record": RECORD},
        {"a": 1, "record": RECORD, "z": {"id": "another-0001"}},
        {"z": {"id": "another-0001"}, "record": RECORD | {"entries": {"id": "inner-00001"}}},
        {"record": {"utc": "2026-11-25T05:52:00Z", "id": "record-0001"}},
    ):
        body = write_body(document)
        assert record_id(body) == "record-0001"
        assert record_time(body) == RECORD["utc"]


def test_id_and_time_of_another_table_or_in_a_text_are_not_taken() -> None:
    body = write_body({"a": '\n[record]\nid = "planted-1"\n', "z": RECORD, "record": {"entries": RECORD}})
    assert record_id(body) is None
    assert record_time(body) is None


def test_a_time_without_offset_or_that_is_none_is_no_time() -> None:
    assert record_time(write_body({"record": {"utc": datetime(2026, 11, 25, 5, 52)}})) is None  # noqa: DTZ001
    assert record_time(b'[record]\nutc = "12:-99"\n') is None


def test_a_word_of_the_record_table_is_found_without_parsing_and_only_there() -> None:
    text = '[record]\nname = "somebody else"\n'
    body = write_body({"before": text, "record": {"id": "r-0000001", "name": "Ö. Värga", "role": "lead"}, "z": text})
    assert (record_word(body, "name"), record_word(body, "role"), record_word(body, "kind")) == (
        "Ö. Värga",
        "lead",
        None,
    )


AT = datetime(2026, 11, 25, 5, 52, tzinfo=UTC)


def test_the_record_table_stands_in_for_the_body() -> None:
    body = write_body({"a": 1, "record": {"id": "r-0000001", "name": "Ö. Värga", "utc": AT.isoformat()}, "z": {"b": 2}})
    table = record_table(body)
    assert len(table) < len(body)
    for found in (body, table):
        assert (record_id(found), record_word(found, "name"), record_time(found)) == ("r-0000001", "Ö. Värga", AT)
    assert record_table(b"a = 1\n") == b""
