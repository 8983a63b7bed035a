"""Names that an eye takes for one another: compared by skeleton when a person is admitted.

A skeleton is what is left of a name without case, accents, blanks, points and hyphens, with letters and digits of other
alphabets that look like a Latin one taken for it. Saved records keep the name as typed: two people are told apart by
their keys, this only keeps a reader of a print from mistaking one for the other.
"""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

_LOOK_LIKE = {
    "a": "АаΑαɑᴀᎪꓮⲀⲁ",
    "b": "ВвЬьΒβ8ʙƅᏴꓐⲂⲃ",
    "c": "СсϹϲᴄᏟꓚⲤⲥ",
    "d": "ԁᴅđðᎠꓓ",
    "e": "ЕеЄєΕεᴇᎬꓰⲈⲉ",
    "f": "Ϝϝꓝ",
    "g": "ԌԍɡցᏀɢꓖ",
    "h": "НнһΗʜħհᎻꓧⲎⲏ",
    "i": "іıɪ",
    "j": "ЈјϳᴊᎫꓙ",
    "k": "КкΚκᴋᏦꓗⲔⲕ",
    "l": "I1|ІӀӏΙιǀʟłՀԼᏞꓲꓡⲒⲓ",
    "m": "МмΜᴍᎷꓟⲘⲙ",
    "n": "пΝηɴոռꓠⲚⲛ",
    "o": "ОоΟοσ0ᴏøօՕꓳⲞⲟ",
    "p": "РрΡρᴘᏢꓑⲢⲣ",
    "q": "ԛզ",
    "r": "гᴦʀᏒꓣ",
    "s": "Ѕѕ5ꜱՏᏚꓢ",
    "t": "ТтΤτᴛŧᎢꓔⲦⲧ",
    "u": "υμᴜսՍꓴ",
    "v": "νѵᴠᏙꓦ",
    "w": "ωԝᴡᎳꓪ",
    "x": "ХхΧχ×ꓫⲬⲭ",
    "y": "УуҮүΥγʏᎽꓬⲨⲩ",
    "z": "ΖᴢᏃꓜ",
    "3": "ЗзӠӡƷʒ",
}
"""Each Latin letter, and what looks like it, large or small."""

_TABLE = {ord(twin): letter for letter, twins in _LOOK_LIKE.items() for twin in twins}
_PAIRS = (("rn", "m"), ("vv", "w"))
"""Two letters that look like one."""
_ACCENTS = ((0x300, 0x36F), (0x1AB0, 0x1AFF), (0x1DC0, 0x1DFF), (0x20D0, 0x20FF), (0xFE20, 0xFE2F))
"""Marks put on letters of any alphabet; the vowel signs of an alphabet are letters of it and stay."""


def look_alike(name: str, others: Iterable[str]) -> str | None:
    """The first of `others` that an eye takes for `name`, itself included; None when none is.

    >>> look_alike("D. Marrow", ["T. Varga", "d marr0w"])
    'd marr0w'
    """
    own = skeletons(name)
    return next((other for other in others if own & skeletons(other)), None)


def skeletons(name: str) -> frozenset[str]:
    """What two names that look alike share: from the name as typed, and from it in small letters.

    Twice, since a large letter can look like another than the small one does: I like l, and i not.
    """
    plain = unicodedata.normalize("NFKC", name)
    return frozenset(_bones(form) or plain for form in (plain, plain.casefold()))


def _bones(text: str) -> str:
    letters = (one for one in unicodedata.normalize("NFD", text.translate(_TABLE)) if not _is_accent(one))
    bare = "".join(letters).translate(_TABLE).casefold()
    kept = "".join(one for one in bare if unicodedata.category(one)[0] in "LNM")
    for pair, letter in _PAIRS:
        kept = kept.replace(pair, letter)
    return kept


def _is_accent(character: str) -> bool:
    return any(first <= ord(character) <= last for first, last in _ACCENTS)
