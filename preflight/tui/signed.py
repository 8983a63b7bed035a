"""A start-up that was released today: its record, by whom, what one does next. Its sheet is read only."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from preflight.checklist.record_text import released_until

if TYPE_CHECKING:
    from preflight.checklist.past import Past

SIGNED = "signed"
"""Key of a draft: the number of the record that its answers became."""
NEXT = "Next: feed as station feed says; when the job is done, Ctrl+O. New job, belt change, air off: F2."
AFTER_RUN = "The run after it is recorded. Next: F2 for a new job, a belt change, or what else has happened."


@dataclass(frozen=True, slots=True)
class SignedOff:
    """The record that a sheet on the screen became."""

    number: int
    at: datetime
    name: str
    verdict: str
    keyed: bool
    """Whether it carries a signature; without people in the shop it does not."""
    until: str = ""
    """Of a release under an override: "Released until ... under override"."""
    run_recorded: bool = False

    @property
    def banner(self) -> str:
        """One line for every station, the name last: it may be long."""
        return f"Read only: record {self.number}, released {self.at:%H:%M}, {self.verdict}, by {self.name}"

    @property
    def sentence(self) -> str:
        """What is so, and what one does next."""
        how = f"signed by {self.name}" if self.keyed else f"by {self.name}, unsigned (no key yet)"
        following = AFTER_RUN if self.run_recorded else NEXT
        released = self.until or f"Released at {self.at:%H:%M}"
        return (
            f"{released}: record {self.number}, verdict {self.verdict}, {how}. This sheet is read only now. {following}"
        )


def released_today(earlier: Past, now: datetime) -> SignedOff | None:
    """The newest start-up record, when it was released and is of today; None when nothing released stands."""
    record = next(iter(earlier.records), None)
    if record is None or record["record"].get("kind") != "startup":
        return None
    head, number = record["record"], earlier.references[0].sequence
    at = datetime.fromisoformat(head["local"])
    if at.date() != now.date():
        return None
    released = record.get("released")
    if released and now > datetime.fromisoformat(str(released["until"])):
        return None
    utc = datetime.fromisoformat(str(head["utc"]))
    ran = any(datetime.fromisoformat(str(run["record"]["utc"])) >= utc for run in earlier.runs)
    until = released_until(released) if released else ""
    return SignedOff(number, at, str(head.get("name", "")), str(head["verdict"]), number in earlier.signed, until, ran)
