"""Names that an eye takes for one another are never both admitted."""

from __future__ import annotations

import doctest
import unicodedata
from typing import TYPE_CHECKING

import pytest
from checklist.people_samples import PeopledShop
from hypothesis import given
from hypothesis import strategies as st

from preflight.checklist import look_alikes
from preflight.checklist.look_alikes import look_alike, skeletons
from preflight.checklist.people import PersonError
from preflight.checklist.register import RegisterError, read_register
from preflight.checklist.signatory import admitted

if TYPE_CHECKING:
    from pathlib import Path

NAMES = st.text(st.characters(categories=["Lu", "Ll", "Nd", "Zs", "Pd"], codec="utf-8"), min_size=1, max_size=20)
TWINS = [
    ("T. Varga", "t. varga"),
    ("T. Varga", "T.Varga"),
    ("T. Varga", "T  Varga"),
    ("T. Varga", "T-Varga"),
    ("T. Varga", "T. V\u0430rg\u0430"),
    ("T. Varga", "\u0422. Varga"),
    ("T. Varga", "T. Varg\u03b1"),
    ("T. Varga", "\ua4d4. Varga"),
    ("T. Varga", "\uff34. \uff36arga"),
    ("T. Varga", "T. V\u00e1rga"),
    ("T. Varga", "T. Va\u0323rga"),
    ("T. Varga", "T.\u00a0Varga"),
    ("D. Marrow", "D. Marr0w"),
    ("D. Marrow", "D. Marrovv"),
    ("D. Marrow", "D. rnarrow"),
    ("E. Lill", "E. LiIl"),
    ("E. Lill", "E. Li1l"),
    ("E. Lill", "E. Li|l"),
    ("B. Sorn", "8. 50rn"),
    ("НИНА", "HИHA"),
    ("\u039d\u0399\u039a\u039f\u03a3", "\u03bd\u03b9\u03ba\u03bf\u03c3"),
]


@pytest.mark.parametrize(("name", "twin"), TWINS)
def test_a_name_that_looks_like_one_that_is_there_is_found(name: str, twin: str) -> None:
    assert look_alike(twin, ["R. Onslow", name]) == name
    assert look_alike(name, ["R. Onslow", twin]) == twin


@pytest.mark.parametrize(
    ("name", "other"),
    [("T. Varga", "T. Vargo"), ("D. Marrow", "D. Morrow"), ("A. Ali", "A. All"), ("राम", "रम"), ("Ш", "Щ"), ("★", "☆")],
)
def test_different_names_are_different(name: str, other: str) -> None:
    assert look_alike(name, [other]) is None


@given(NAMES)
def test_a_name_looks_like_itself_in_any_case_form_and_spacing(name: str) -> None:
    for same in (name, name.casefold(), unicodedata.normalize("NFD", name), unicodedata.normalize("NFKC", name)):
        assert skeletons(name) & skeletons(same)
    if any(letter.isalnum() for letter in name):
        assert skeletons(name) == skeletons(" ".join(name))


def test_no_letter_is_taken_for_two() -> None:
    twins = [twin for group in look_alikes._LOOK_LIKE.values() for twin in group]
    assert len(twins) == len(set(twins))


def test_the_worked_examples_hold() -> None:
    assert doctest.testmod(look_alikes).failed == 0


@pytest.mark.parametrize("name", ["t. varga", "T. V\u0430rga", "T Varga", "T. Varga"])
def test_nobody_is_admitted_under_a_name_that_looks_like_one_of_the_register(tmp_path: Path, name: str) -> None:
    peopled = PeopledShop.founded(tmp_path / "shop", tmp_path / "keys")
    with pytest.raises(RegisterError, match="two people never share a name"):
        peopled.admit(name, "operator")
    assert len(read_register(peopled.shop).members) == 1
    if name != "T. Varga":
        with pytest.raises(PersonError, match=r"Did you mean T\. Varga\?"):
            admitted(read_register(peopled.shop), name)


@pytest.mark.parametrize(
    "name", ["T.\u200bVarga", "T. \u202eVarga", "T.\x1b[1mVarga", "T. Varga\ufe0f", "T.\u3164Varga"]
)
def test_nobody_is_admitted_under_a_name_with_what_cannot_be_seen(tmp_path: Path, name: str) -> None:
    peopled = PeopledShop.founded(tmp_path / "shop", tmp_path / "keys")
    with pytest.raises(PersonError):
        peopled.person(name, "operator")
    with pytest.raises(PersonError, match="cannot be seen"):
        peopled.admit(name, "operator")
    assert len(read_register(peopled.shop).members) == 1
