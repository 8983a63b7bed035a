"""Records of practice: drills begun and ended, strips measured, a trainer's marks; in chains of their own.

Saved by the same commit as any record, sealed and, in a shop that has people, signed. The store refuses practice in a
machine's chain and anything else in a chain of practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from preflight.checklist.body import write_body
from preflight.checklist.chain import Chain
from preflight.checklist.heading import Signature, heading
from preflight.checklist.machine_records import records
from preflight.checklist.practice_chain import KIND, PREFIX, is_practice
from preflight.checklist.record import Status
from preflight.checklist.reference import reference_in
from preflight.checklist.register import Register, chain_names
from preflight.checklist.store import Saved, commit, prepare_shop
from preflight.checks.finding import Verdict
from preflight.training.score import DrillMark, Outcome, StationMark

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from preflight.checklist.machine_records import Kept
    from preflight.checklist.reference import Reference
    from preflight.checklist.signing import Signer
    from preflight.training.drill import Drill

ID_DIGITS = 12
"""Random digits in the name of a chain of practice."""
MEANING = "I practise; nothing is started. What I begin counts, also when I leave it."
OBSERVED, NEAR_MISS, MAY_WORK = "observed start", "near miss", "may work alone"
MARKS = (OBSERVED, NEAR_MISS, MAY_WORK)
"""What a trainer can put down."""


@dataclass(frozen=True, slots=True)
class PracticeRecord:
    """One record of practice, read back."""

    at: datetime
    by: str
    """Who signed."""
    role: str
    trainee: str
    what: str
    """ "begun", "drill", "strips" or "mark"."""
    table: Mapping[str, Any]
    """Its `[practice]`."""
    reference: Reference
    """This record."""
    marks: tuple[StationMark, ...] = ()
    """Of a drill that ended."""
    counts: bool = True
    """False for a drill under another name than its signer's, and in a shop that has people for what is not signed."""

    @property
    def drill(self) -> DrillMark:
        """The marks of a drill together."""
        return DrillMark(self.marks)

    @property
    def begun(self) -> Reference | None:
        """Of a drill that ended, the record of its beginning; None for one kept before beginnings were."""
        return reference_in(self.table, "begun")


@dataclass(frozen=True, slots=True)
class PracticeBook:
    """The practice of one shop folder; clock and random words come in."""

    shop: Path
    token: Callable[[], str]

    def chain(self) -> Chain:
        """The chain to go on with: the first that is there, else a new one under a random name."""
        known = chains(self.shop)
        return known[0] if known else Chain(self.shop, f"{PREFIX}{self.token()[:ID_DIGITS]}")

    def save_begun(
        self,
        drill: Drill,
        level: int,
        signature: Signature,
        signer: Signer | None = None,
        *,
        random: bool = False,
        surprise: bool = False,
    ) -> Saved:
        """Save that a drill is begun, before anything of it is shown. StoreError when it was not saved."""
        return self._save(_drill("begun", drill, level, signature, random, surprise), signature, signer)

    def save_drill(
        self,
        drill: Drill,
        marked: DrillMark,
        level: int,
        signature: Signature,
        signer: Signer | None = None,
        *,
        random: bool = False,
        surprise: bool = False,
        begun: Reference | None = None,
        record_id: str = "",
    ) -> Saved:
        """Save a drill that ended: judged to the end, or given up. StoreError when it was not saved.

        random: it was drawn for the trainee, not picked; surprise: it was offered after a start-up; begun: the record
        of its beginning, in whose chain it goes; record_id: the same at every try, so that none is saved twice.
        """
        table = {
            **_drill("drill", drill, level, signature, random, surprise),
            "score": marked.score,
            "stations": [_station(mark) for mark in marked.marks],
            **({"begun": begun.table} if begun is not None else {}),
        }
        return self._save(table, signature, signer, begun, record_id)

    def save_strips(
        self, differences: Sequence[float], repeats: Sequence[float], signature: Signature, signer: Signer | None = None
    ) -> Saved:
        """Save a measuring test: reading minus reference of each strip, and second minus first reading, all in m.

        ValueError for none of either.
        """
        if not differences or not repeats:
            raise ValueError("a measuring test has at least one strip, read twice")
        table = {
            "what": "strips",
            "trainee": signature.name,
            "differences": [float(one) for one in differences],
            "repeats": [float(one) for one in repeats],
        }
        return self._save(table, signature, signer)

    def save_mark(
        self, trainee: str, mark: str, note: str, signature: Signature, signer: Signer | None = None
    ) -> Saved:
        """Save a trainer's mark on somebody. ValueError for a mark that is not one of `MARKS`."""
        if mark not in MARKS:
            raise ValueError(f"a mark is one of {', '.join(MARKS)}")
        return self._save({"what": "mark", "trainee": trainee, "mark": mark, "note": note}, signature, signer)

    def _save(
        self,
        table: Mapping[str, Any],
        signature: Signature,
        signer: Signer | None,
        after: Reference | None = None,
        record_id: str = "",
    ) -> Saved:
        if after is None:
            prepare_shop(self.shop)
        record_id = record_id or self.token()
        body = write_body({"record": heading(KIND, record_id, signature), "practice": dict(table)})
        chain = Chain(self.shop, after.machine) if after is not None else self.chain()
        since = after.sequence if after is not None else None
        return commit(chain, lambda _: body, record_id=record_id, signer=signer, token=self.token(), since=since)


def chains(shop: Path) -> list[Chain]:
    """Every chain of practice in a shop folder, by name."""
    return [Chain(shop, name) for name in chain_names(shop) if is_practice(name)]


def practice(shop: Path, register: Register | None = None) -> list[PracticeRecord]:
    """All records of practice, oldest first; those that cannot be read are passed, verification names them.

    register: the shop's people. In a shop that has any, only records that are signed and intact count.
    """
    people = register or Register()
    found = [
        _record(kept, kept.signed if people.keyring else kept.counts)
        for chain in chains(shop)
        for kept in records(shop, chain.machine, people, frozenset({KIND}))
        if kept.status is not Status.WRONG
    ]
    return sorted(found, key=lambda one: (one.at, one.reference.sequence))


def _record(kept: Kept, counts: bool) -> PracticeRecord:
    head, table = kept.document["record"], kept.document["practice"]
    own = table["what"] == "mark" or table["trainee"] == head["name"]
    return PracticeRecord(
        at=datetime.fromisoformat(head["local"]),
        by=head["name"],
        role=head["role"],
        trainee=table["trainee"],
        what=table["what"],
        table=table,
        reference=kept.reference,
        marks=tuple(_mark(one) for one in table.get("stations", ())),
        counts=counts and own,
    )


def _drill(what: str, drill: Drill, level: int, signature: Signature, random: bool, surprise: bool) -> dict[str, Any]:
    return {
        "what": what,
        "trainee": signature.name,
        "drill": drill.id,
        "title": drill.title,
        "level": level,
        "random": random,
        **({"surprise": True} if surprise else {}),
    }


def _station(mark: StationMark) -> dict[str, Any]:
    table = {
        "check": mark.check,
        "truth": mark.truth.word,
        "said": mark.said.word,
        "outcome": mark.outcome.value,
        "safety": mark.safety,
        "kinds": list(mark.kinds),
        "cause": mark.cause,
        "remedy": mark.remedy,
        "seconds": round(mark.seconds, 1),
    }
    return {key: value for key, value in table.items() if value is not None}


def _mark(table: Mapping[str, Any]) -> StationMark:
    return StationMark(
        check=table["check"],
        truth=Verdict[table["truth"].upper()],
        said=Verdict[table["said"].upper()],
        outcome=Outcome(table["outcome"]),
        safety=table["safety"],
        kinds=tuple(table["kinds"]),
        cause=table.get("cause"),
        remedy=table.get("remedy"),
        seconds=float(table["seconds"]),
    )
