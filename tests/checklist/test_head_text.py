"""Heads as a text that survives print and mail, and that a slip of the pen does not pass."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.checklist.chain import Head
from preflight.checklist.head_text import HeadText, HeadTextError, read_heads
from preflight.checklist.seal import NO_PREVIOUS

AT = datetime(2026, 11, 25, 9, 58, tzinfo=UTC)
KEY = "k-" + "0123456789abcdef" * 2
HEADS = (Head("m-0b5e66a1f392", 0, NO_PREVIOUS), Head("m-7f3a91c2d04e", 340, "3f9a01bc" * 8))
KEPT = HeadText(AT, HEADS, KEY, "T. Varga")


def test_heads_read_back_as_they_were_printed() -> None:
    assert read_heads(KEPT.text) == KEPT
    assert read_heads(HeadText(AT, HEADS).text) == HeadText(AT, HEADS)
    assert max(map(len, KEPT.text.splitlines())) <= 78
    assert KEPT.register == "shop-" + KEY.removeprefix("k-")


def test_mail_may_quote_indent_and_break_it() -> None:
    quoted = "\r\n".join(f"> {line}" for line in KEPT.text.splitlines())
    broken = KEPT.text.replace("3f9a01bc 3f9a01bc 3f9a01bc", "3f9a01bc\n 3f9a01bc\n3f9a01bc", 1)
    assert read_heads(quoted) == read_heads(f"\n\n   {broken}\n\n") == KEPT


@given(st.integers(0, len(KEPT.text) - 2), st.sampled_from("0123456789abcdef"))
def test_a_slip_in_any_character_is_found(at: int, digit: str) -> None:
    text = KEPT.text[:at] + digit + KEPT.text[at + 1 :]
    if KEPT.text[at] in f"{digit}\n ":
        return
    with pytest.raises(HeadTextError):
        read_heads(text)


@pytest.mark.parametrize("text", ["", "preflight heads 2\n", KEPT.text.rsplit("check", 1)[0], "hello"])
def test_what_is_no_text_of_heads_is_refused(text: str) -> None:
    with pytest.raises(HeadTextError):
        read_heads(text)
