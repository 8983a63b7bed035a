"""TOML with limits: what no file of ours holds is refused before it is parsed, and whatever is TOML reads as it did."""

from __future__ import annotations

import tomllib
import tracemalloc

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.toml_text import DEEPEST, LONGEST_WORD, MOST_PARTS, MOST_VALUES, TomlError, read_toml

DOTS = ".".join("k" * 100_000)

EXCESSIVE = {
    "dotted key": f"{DOTS} = 1",
    "dotted key in quotes": ".".join(['"k"'] * 100_000) + " = 1",
    "dotted key with blanks": " . ".join("k" * 3000) + " = 1",
    "dotted table name": f"[{DOTS}]",
    "dotted key in an inline table": f"a = {{ {DOTS} = 1 }}",
    "lists in lists": "a = " + "[" * 3000,
    "tables in tables": "a = " + "{b=" * 3000,
    "tables": "[[a]]\n" * 200_000,
    "keys": "".join(f"k{number} = 1\n" for number in range(60_000)),
    "items": "a = [" + "1," * 400_000 + "]",
    "digits": "a = " + "9" * 500_000,
    "hexadecimal digits": "a = 0x" + "f" * 500_000,
    "a long word": "k" * 500_000 + " = 1",
    "a long key in quotes": '"' + "k" * 500_000 + '" = 1',
    "a long key in quotes, deep": 'a = [{ b = [{ "' + "k" * 500_000 + '" = 1 }] }]',
}


@pytest.mark.parametrize("text", EXCESSIVE.values(), ids=EXCESSIVE)
@pytest.mark.parametrize("before", ["", 'a1 = "\\""\n', "b1 = '''\n\"'''\n", 'c1 = """"""\n# "\n'], ids=range(4))
def test_excess_is_refused_before_it_is_parsed(before: str, text: str) -> None:
    tracemalloc.start()
    with pytest.raises(TomlError, match="so it is no file of this kind"):
        read_toml((before + text).encode())
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 60_000_000


SLOW_IF_SQUARE = {
    "a string that never ends": '"' + "\\x" * 300_000,
    "a text that never ends": '"""' + 'a"\\' * 300_000,
    "strings that never end": '"a\n' * 200_000,
    "blanks": ("k" * LONGEST_WORD + " " * 500) * 800,
    "dots": "." * 500_000,
    "words": ("k." * (MOST_PARTS - 1) + "k ") * 15_000,
    "lines": "\n" * 900_000,
    "comments": "#\n" * 400_000,
}


@pytest.mark.parametrize("text", SLOW_IF_SQUARE.values(), ids=SLOW_IF_SQUARE)
def test_a_long_text_takes_no_longer_than_its_length(text: str) -> None:
    """By the square of its length any of these would take hours."""
    try:
        read = read_toml(text.encode())
    except TomlError:
        read = {}
    assert read == {}


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"\xff", "is not UTF-8 text"),
        (b"a = ", "is not valid TOML"),
        (b'"' + b"k" * 100_000 + b'" = 1\n"' + b"k" * 100_000 + b'" = 1', "is not valid TOML"),
        (b"a = " + b"9" * 300 + b":", "is not valid TOML"),
        (b"a = 2026-02-30", "is not valid TOML"),
    ],
)
def test_what_is_no_toml_is_refused_in_one_short_sentence(data: bytes, words: str) -> None:
    with pytest.raises(TomlError, match=words) as caught:
        read_toml(data)
    assert len(str(caught.value)) < 300


def test_what_is_at_the_limits_is_read() -> None:
    key = ".".join("k" * MOST_PARTS)
    deep = DEEPEST - 1
    text = (
        f"{key} = 1\nlist = {'[' * deep}{']' * deep}\nitems = [{'1,' * (MOST_VALUES - 100)}]\n{'k' * LONGEST_WORD} = 2"
    )
    assert read_toml(text.encode()) == tomllib.loads(text)


PIECES = st.sampled_from(
    (
        '"',
        "'",
        '"""',
        "'''",
        "\\",
        "\\\\",
        '\\"',
        "#",
        "\n",
        "\r\n",
        " ",
        "[",
        "]",
        "[[",
        "]]",
        "{",
        "}",
        "=",
        ",",
        ".",
        "a",
        "b",
    )
)


@given(st.lists(PIECES, max_size=40).map("".join))
def test_whatever_is_toml_reads_as_it_did(text: str) -> None:
    try:
        plain = tomllib.loads(text)
    except ValueError:
        with pytest.raises(TomlError):
            read_toml(text.encode())
    else:
        assert read_toml(text.encode()) == plain


STRINGS = st.text(st.sampled_from("\"'\\#[]{}=.,\nx "), max_size=12)


@given(st.lists(STRINGS, max_size=6), st.sampled_from(("basic", "literal", "text", "literal text")))
def test_no_string_hides_what_stands_after_it(strings: list[str], how: str) -> None:
    """However its quotation marks and backslashes stand: the scanner takes a string's end for where the parser does."""
    lines = []
    for number, inside in enumerate(strings):
        quote = {"basic": '"', "literal": "'", "text": '"""', "literal text": "'''"}[how]
        lines.append(f"k{number} = {quote}{inside}{quote}\n")
    valid = ""
    for line in lines:  # as many of them as are TOML
        try:
            tomllib.loads(valid + line)
        except ValueError:
            continue
        valid += line
    with pytest.raises(TomlError, match=f"more than {MOST_PARTS} parts"):
        read_toml(f"{valid}{'.'.join('k' * (MOST_PARTS + 1))} = 1".encode())
