"""An override: a lead's signed, reasoned, dated permission to go on past one stop of a held record."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from preflight.checklist.body import write_body
from preflight.checklist.heading import Signature, heading
from preflight.checklist.machine_records import MachineRecords, record
from preflight.checks.permit import Permit
from preflight.errors import PreflightError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from preflight.checklist.body_memory import BodyMemory
    from preflight.checklist.machine_records import Kept
    from preflight.checklist.register import Register

KIND = "override"
MEANING = "I permit going on past this stop until the time given, for the reason given."
LONGEST = timedelta(days=31)
"""An override lasts no longer (own choice): a limit that is wrong for good is put right in the profile."""
EVERY = 16
"""Of so many records one is read for its time alone."""
SHORTEST_REASON = 10
"""Letters of a reason; common practice, no source."""


class OverrideError(PreflightError):
    """An override that nobody, or not this person, or not so, may give."""


def stop_of(held: Kept, check: str, subject: str) -> Mapping[str, Any]:
    """The stop of that record. OverrideError when it has none such, or when it takes no override from anybody."""
    number = held.reference.sequence
    stops = [one for one in held.document.get("findings", ()) if one.get("verdict") == "stop"]
    stop = next((one for one in stops if (one.get("check"), one.get("subject")) == (check, subject)), None)
    if stop is None:
        known = "; ".join(f"{one.get('check')}, {one.get('subject')}" for one in stops) or "none"
        raise OverrideError(f"Record {number} has no stop {check}, {subject}.", f"Its stops: {known}.")
    if stop.get("takes_override") is not True:
        raise OverrideError(
            f"Nobody may go on past this stop: {stop.get('statement')}",
            "It clears by a repair, with a repair entry and a new reading.",
        )
    assert isinstance(stop, dict)
    return stop


def override(
    held: Kept, check: str, subject: str, reason: str, until: datetime, record_id: str, signature: Signature
) -> bytes:
    """The body of the override. OverrideError says what may not be."""
    stop = stop_of(held, check, subject)
    if signature.role != "lead":
        raise OverrideError(f"Only a lead gives an override; {signature.name} is {signature.role}.")
    if sum(letter.isalpha() for letter in reason) < SHORTEST_REASON:
        raise OverrideError(f"The reason has fewer than {SHORTEST_REASON} letters.", "Say why, in a sentence.")
    if not signature.at < until <= signature.at + LONGEST:
        raise OverrideError(
            f"An override ends after now and within {LONGEST.days} days, not {until:%Y-%m-%d %H:%M}.",
            "A limit that is wrong for good is changed in the profile.",
        )
    kept = {key: stop[key] for key in ("statement", "measured", "low", "high") if key in stop}
    return write_body(
        {
            "record": heading(KIND, record_id, signature),
            "refers": held.reference.table,
            "override": {
                "check": check,
                "subject": subject,
                "reason": reason,
                "until": until.isoformat(timespec="seconds"),
                "stop": kept,
            },
        }
    )


def permits(
    shop: Path, machine: str, register: Register, now: datetime, memory: BodyMemory | None = None
) -> tuple[Permit, ...]:
    """The overrides in force now: signed by a lead of their time, not over, of a stop that takes one."""
    found: list[Permit] = []
    if not register.founded:
        return ()
    with MachineRecords(shop, machine, register, memory) as chain:
        for number in range(chain.newest, 0, -1):
            looked_at = (
                number % EVERY == 0
            )  # of whatever kind, for its time: overrides are rare, and older ones are over
            kept = chain.read(number, None if looked_at else frozenset({KIND}))
            if kept is None or not kept.signed:
                continue
            if kept.heading.utc < now - LONGEST:
                break
            if kept.heading.kind != KIND or kept.heading.role != "lead":
                continue
            permit = _permit(kept)
            if permit.since <= now <= permit.until and _refers_to_a_stop(shop, machine, register, kept):
                found.append(permit)
    return tuple(found)


def _refers_to_a_stop(shop: Path, machine: str, register: Register, kept: Kept) -> bool:
    """Looked up again: an override of what takes none is a sign of tampering and permits nothing."""
    asked, meant = kept.document["override"], kept.refers
    if meant is None:
        return False
    try:
        held = record(shop, machine, meant.sequence, register)
        stop_of(held, asked["check"], asked["subject"])
    except PreflightError:
        return False
    return held.reference == meant and held.counts


def _permit(kept: Kept) -> Permit:
    asked = kept.document["override"]
    stop, since = asked["stop"], kept.heading.utc
    measured = stop.get("measured", {}).get("value")
    limits = {name: stop[name]["value"] for name in ("low", "high") if name in stop}
    return Permit(
        check=asked["check"],
        subject=asked["subject"],
        statement=stop["statement"],
        measured=measured,
        beyond=_beyond(measured, limits),
        since=since,
        until=min(datetime.fromisoformat(asked["until"]), since + LONGEST),
        by=kept.heading.name,
        reason=asked["reason"],
        record=kept.reference.sequence,
    )


def _beyond(measured: object, limits: Mapping[str, float]) -> float | None:
    if not isinstance(measured, (int, float)):
        return None
    if "high" in limits and measured > limits["high"]:
        return measured - limits["high"]
    if "low" in limits and measured < limits["low"]:
        return limits["low"] - measured
    return None
