"""The formula out of a finding's workings, without any figure: what a trainee may see before judging.

Workings are written for whoever asks why, after the answer: formula, inputs, result. Of "cone = |left 1899 mm -
right 1902 mm| = 3 mm" the last part is the answer itself, so only "cone = |left - right|" is help. A clause whose
formula cannot be told from its figures is left out: too little help is better than the answer.
"""

from __future__ import annotations

import re

from preflight.units import UNITS

_UNITS = "|".join(re.escape(one.name) for one in sorted(UNITS, key=lambda one: -len(one.name)))
_NUMBER = r"[+-]?(?:\d+[ -])?\d+(?:[.,/]\d+)*"
_QUANTITY = re.compile(rf"(?<![\w.])(?:{_NUMBER}\s?(?:{_UNITS}|J/mm3|mm2|cm²|kg/m³)|\d+\.\d+)(?![\w/])")
"""A number with its unit, or a bare one with decimals: whole factors, as in "2 x width", belong to a formula."""
_OPERATOR = r"[-+/x·]"
_DANGLING = re.compile(rf"(?:^|[(|]|{_OPERATOR})\s*{_OPERATOR}\s|\s{_OPERATOR}\s*(?:$|[)|])")
_JOINS = re.compile(rf"[√·/|]|\s{_OPERATOR}\s")


def formulas(workings: str) -> list[str]:
    """Every formula in these workings, names only.

    >>> formulas("cone = |left 1899 mm - right 1902 mm| = 3 mm")
    ['cone = |left - right|']
    >>> formulas("c = rate/Q with Q = 895 cfm; change = today / baseline = 10.4 A / 10.5 A = -1%")
    ['c = rate/Q', 'change = today / baseline']
    >>> formulas("spread = 27.72 mm - 27.66 mm = 0.06 mm")
    []
    """
    clauses = re.split(r"; |\. |: ", workings)
    return [formula for clause in clauses if (formula := _formula(clause))]


def _formula(clause: str) -> str:
    """The formula of one clause; empty where there is none, or none that can be told from its figures."""
    name, *sides = clause.split(" with ", maxsplit=1)[0].split(" = ")
    if not sides:
        return ""
    name, right = name.split(", ")[-1], _plain(sides[0].split(", ")[0])
    if _whole(right):
        return f"{name} = {right}" if ")" not in name else ""
    return name if not right and _whole(name) else ""


def _plain(side: str) -> str:
    return " ".join(_QUANTITY.sub("", side).split()).replace("( ", "(").replace(" |", "|")


def _whole(text: str) -> bool:
    """Whether names joined by operators stand here, none of them lost with its figure."""
    joined = _JOINS.search(text) and re.search("[^\\W\\d_]", text) and not _QUANTITY.search(text)
    return bool(joined) and not _DANGLING.search(text) and text.count("(") == text.count(")")
