"""Help before the answer, fading with the level, and the full reason after it. Pure: findings in, lines out."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict
from preflight.glossary import WORDS
from preflight.quantities import show
from preflight.training.drill import worst_first
from preflight.training.formula import formulas

if TYPE_CHECKING:
    from preflight.checks.finding import CheckResult
    from preflight.checks.route import Assessment
    from preflight.quantities import Quantity
    from preflight.training.drill import Drill

HELP = {
    1: "limits and formulas shown",
    2: "only the worst verdict is told",
    3: "no help",
}
"""What is shown before the answer at each level."""
SHORTEST_WORD = 4


def help_lines(answer: Assessment, check: str, level: int, units: str) -> list[str]:
    """What a trainee of that level sees beside the readings of a station, before judging it.

    Level 1: each limit and formula of the station, without its verdict and without any figure worked out from the
    readings. Level 2: the worst verdict of the whole drill, not where. Level 3: nothing.
    units: the machine's, "metric" or "inch".
    """
    if level == 2:
        return [f"The worst verdict of this drill is: {answer.verdict.word}."]
    if level != 1:
        return []
    result = next(one for one in answer.checks if one.check == check)
    limits = [f"{one.subject}: {limit}" for one in result.findings if (limit := limit_words(one, units))]
    return list(dict.fromkeys([*limits, *(line for one in result.findings for line in formulas(one.workings))]))


def limit_words(finding: Finding, units: str) -> str:
    """The limit of a finding: "3.1 bar to 3.8 bar", "at most 10 s"; empty where the answer is a word.

    The words that would have been right are no help but the answer, so they are left out.
    """
    low, high = (limit and _in_units(limit, units) for limit in (finding.low, finding.high))
    if low and high:
        return f"{low} to {high}"
    return f"at least {low}" if low else f"at most {high}" if high else ""


def _in_units(limit: Quantity, units: str) -> str:
    """A limit as this machine's people read it, with as many decimals as its size needs."""
    if limit.unit == limit.kind.unit_in(units):
        return limit.text
    shown = (show(limit.value, limit.kind, units, more=more) for more in range(4))
    return next((text for text in shown if len(text.split()[0].replace(".", "").lstrip("0")) > 1), limit.text)


def reasons(result: CheckResult) -> list[Finding]:
    """The findings to explain after the answer: what is not ok, else two that say why it is in order."""
    wrong = [finding for finding in worst_first(result.findings) if finding.verdict is not Verdict.OK]
    return wrong or list(result.findings[:2])


def words_for(drill: Drill, findings: list[Finding]) -> list[tuple[str, str]]:
    """Words of the glossary in these findings, and those that the drill names."""
    text = " ".join(f"{finding.statement} {finding.remedy}" for finding in findings).casefold()
    return [(word, meaning) for word, meaning in WORDS if word in drill.words or _in(word, text)]


def _in(word: str, text: str) -> bool:
    """Whether a word of the glossary, or one of its spellings, stands in the text; very short ones stand everywhere."""
    plain = word.casefold().split(" (")[0]
    spellings = [one for one in re.split(r" / |, ", plain) if len(one) >= SHORTEST_WORD]
    return any(re.search(rf"\b{re.escape(one)}s?\b", text) for one in spellings)
