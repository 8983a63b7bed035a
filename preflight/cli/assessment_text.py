"""An assessment as plain lines: one a check, under it what is not ok, at the end the counts and what they mean.

Nothing is drawn or aligned by colour, so that the lines read well aloud and in a log.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preflight.checks.route import Assessment
    from preflight.sheet import SetupSheet
    from preflight.shop.view import ShopView

MARKS = {Verdict.OK: "+", Verdict.CAUTION: "!", Verdict.OPEN: "?", Verdict.STOP: "X"}

MEANINGS = {
    Verdict.OK: "everything asked was answered and lies inside its limits",
    Verdict.CAUTION: "inside the limits; choose an action for each caution",
    Verdict.OPEN: "not every item is answered; answer them before the first board",
    Verdict.STOP: "do not start; put right what is stopped, then check again",
}


def lines(
    sheet: SetupSheet, shop: ShopView, found: Assessment, exit_status: int, *, everything: bool = False
) -> Iterator[str]:
    """The lines to print; `everything` shows the findings that are ok too."""
    job = shop.job(sheet)
    head = [f"{found.machine}: {shop.machine.name}", f"{sheet.at:%Y-%m-%d %H:%M}"]
    yield ", ".join([*head, *([f"job {job.name!r}"] if job else []), *([sheet.operator] if sheet.operator else [])])
    for result in found.checks:
        yield f"{MARKS[result.verdict]} {result.check.replace('_', ' ')}: {result.verdict.word}"
        shown = [one for one in result.findings if everything or one.verdict is not Verdict.OK]
        yield from finding_groups(sorted(shown, key=lambda finding: -finding.verdict))
    checks = Counter(result.verdict for result in found.checks)
    counted = ", ".join(f"{checks[verdict]} {verdict.word}" for verdict in Verdict)
    yield f"Stations: {counted}."
    yield f"Verdict: {found.verdict.word} (exit status {exit_status}): {MEANINGS[found.verdict]}."


def finding_groups(findings: Sequence[Finding]) -> Iterator[str]:
    """The findings in their order, those of one verdict with the same remedy together, and the remedy once."""
    groups: dict[tuple[Verdict, str], list[Finding]] = {}
    for number, finding in enumerate(findings):
        groups.setdefault((finding.verdict, finding.remedy or str(number)), []).append(finding)
    for (_, remedy), group in groups.items():
        if len(group) == 1:
            yield from finding_lines(group[0])
            continue
        for finding in group:
            yield from finding_lines(replace(finding, remedy=""))
        yield f"      do, for these {len(group)}: {remedy}"


def finding_lines(finding: Finding) -> Iterator[str]:
    """One finding: the sentence, what to do, and what decided."""
    yield f"    {MARKS[finding.verdict]} {finding.verdict.word}, {finding.subject}: {finding.statement}"
    if finding.remedy:
        yield f"      do: {finding.remedy}"
    if finding.basis:
        yield f"      by: {finding.basis}" + (f" ({finding.source})" if finding.source else "")
