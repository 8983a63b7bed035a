"""Findings by subject, each checked on the way: it fits the why-panel and says what its verdict needs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict

if TYPE_CHECKING:
    from collections.abc import Iterable


def by_subject(findings: Iterable[Finding]) -> dict[str, Finding]:
    """The findings by subject; fails when a text is too long, a remedy is missing or a subject comes twice."""
    result: dict[str, Finding] = {}
    for finding in findings:
        assert finding.subject not in result, f"two findings on {finding.subject}"
        assert len(finding.statement) <= 150, finding.statement
        assert len(finding.remedy) <= 200, finding.remedy
        assert finding.verdict is Verdict.OK or finding.remedy, finding
        assert finding.verdict is not Verdict.OPEN or finding.asks or finding.basis or "Lead" in finding.remedy, finding
        wanted = range(2, 5) if finding.verdict is Verdict.CAUTION else range(1)
        assert len(finding.actions) in wanted, finding
        assert all(len(action) <= 40 for action in finding.actions), finding.actions
        result[finding.subject] = finding
    return result
