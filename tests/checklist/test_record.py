"""One reading of a record: what is verified is what is shown, and nobody is more than their key says."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from checklist.people_samples import FOUNDER, PeopledShop
from checklist.record_samples import DAWN, MACHINE, lay, start_up_document, whole

from preflight.__main__ import main
from preflight.checklist.body import write_body
from preflight.checklist.chain import Chain, ChainError
from preflight.checklist.heading import Signature, heading
from preflight.checklist.machine_records import Weight, record, records
from preflight.checklist.override import permits
from preflight.checklist.past import past
from preflight.checklist.record import Status, read_record
from preflight.checklist.record_text import lines
from preflight.checklist.register import Register, read_register
from preflight.checklist.seal import NO_PREVIOUS, seal
from preflight.checklist.store import commit
from preflight.checklist.verify import verify_record

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

OPERATOR = "D. Marrow"
STOP = {
    "check": "running",
    "subject": "head 1 stop",
    "verdict": "stop",
    "statement": "Head 1 stopped in 14 s, allowed 10 s.",
    "takes_override": False,
}
TENSION = {"check": "tension", "subject": "head 1", "verdict": "stop", "statement": "3.1 bar", "takes_override": True}


@pytest.fixture
def peopled(tmp_path: Path) -> PeopledShop:
    made = PeopledShop.founded(tmp_path / "shop", tmp_path / "keys")
    made.admit(OPERATOR, "operator")
    return made


def document(peopled: PeopledShop, kind: str, name: str = OPERATOR, role: str = "operator", **more: Any) -> Any:
    signature = Signature(name, role, "As it says.", peopled.now)
    return whole({"record": heading(kind, peopled.token(), signature), **more})


def save(peopled: PeopledShop, made: Any, name: str = OPERATOR) -> int:
    """Commit it, signed by that person."""
    return commit(
        Chain(peopled.shop, MACHINE),
        lambda _: write_body(made),
        record_id=made["record"]["id"],
        signer=peopled.signer(name),
        token=peopled.token(),
    ).head.sequence


def held(peopled: PeopledShop, *findings: Any) -> int:
    made = document(peopled, "held", findings=list(findings))
    made["record"]["verdict"] = "stop"
    return save(peopled, made)


def override_body(peopled: PeopledShop, number: int) -> bytes:
    """A lead's override of the tension stop of that record."""
    about = record(peopled.shop, MACHINE, number, read_register(peopled.shop)).reference
    until = (peopled.now + timedelta(hours=3)).isoformat()
    given = {"check": "tension", "subject": "head 1", "until": until, "reason": "The regulator is on order."}
    return write_body(document(peopled, "override", FOUNDER, "lead", refers=about.table, override=given))


SPELLINGS = {
    "a quoted header before": lambda body, own: own + b"\n" + body.replace(b"[record]", b'["record"]', 1),
    "a header with blanks before": lambda body, own: own + b"\n" + body.replace(b"[record]", b"[ record ]", 1),
    "an escaped header": lambda body, own: own + b"\n" + body.replace(b"[record]", b'["rec\\u006frd"]', 1),
    "in a text of several lines": lambda body, own: b'x = """\n' + own + b'"""\n\n' + body,
    "in a literal text": lambda body, own: b"x = '''\n" + own + b"'''\n\n" + body,
    "in a remark": lambda body, own: b"# " + own.replace(b"\n", b"\n# ") + b"\n" + body,
    "an inline table": lambda body, own: _inline(body) + b"\n" + own,
    "dotted keys": lambda body, own: _dotted(body) + b"\n" + own,
    "as a table of another": lambda body, own: own.replace(b"[record]", b"[a.record]") + b"\n" + body,
    "a list of tables": lambda body, own: own.replace(b"[record]", b"[[record]]") + b"\n" + body,
    "twice": lambda body, own: own + b"\n" + body,
    "twice, the other way round": lambda body, own: body + b"\n" + own,
}


def _lines(body: bytes) -> tuple[list[bytes], bytes]:
    """The lines of the `[record]` table, and the rest."""
    table, rest = body.split(b"\n\n", 1)
    return table.split(b"\n")[1:], rest


def _inline(body: bytes) -> bytes:
    lines, rest = _lines(body)
    return b"record = { " + b", ".join(lines) + b" }\n\n" + rest


def _dotted(body: bytes) -> bytes:
    lines, rest = _lines(body)
    return b"\n".join(b"record." + line for line in lines) + b"\n\n" + rest


@pytest.mark.parametrize("spelling", SPELLINGS)
def test_an_operators_key_never_signs_a_leads_override(peopled: PeopledShop, spelling: str) -> None:
    number = held(peopled, TENSION)
    leads = override_body(peopled, number)
    own = b"\n".join(_lines(leads)[0]).replace(FOUNDER.encode(), OPERATOR.encode()).replace(b'"lead"', b'"operator"')
    lay(Chain(peopled.shop, MACHINE), SPELLINGS[spelling](leads, b"[record]\n" + own + b"\n"), peopled.signer(OPERATOR))
    register = read_register(peopled.shop)
    assert verify_record(Chain(peopled.shop, MACHINE).path(number + 1), register).status is Status.WRONG
    assert permits(peopled.shop, MACHINE, register, peopled.now) == ()


def test_the_same_override_signed_by_the_lead_permits(peopled: PeopledShop) -> None:
    number = held(peopled, TENSION)
    lay(Chain(peopled.shop, MACHINE), override_body(peopled, number), peopled.signer(FOUNDER))
    (permit,) = permits(peopled.shop, MACHINE, read_register(peopled.shop), peopled.now)
    assert (permit.by, permit.record) == (FOUNDER, number + 1)


def open_stops(peopled: PeopledShop) -> list[tuple[str, str]]:
    known = past(peopled.shop, MACHINE, read_register(peopled.shop)).history()
    return [(stop.subject, stop.by) for stop in known.open_stops]


def repair(peopled: PeopledShop, number: int) -> bytes:
    about = {"machine": MACHINE, "sequence": number, "sha256": "0" * 64}
    return write_body(document(peopled, "repair", refers=about))


def test_an_unsigned_repair_takes_no_stop_away_in_a_shop_with_people(peopled: PeopledShop) -> None:
    number = held(peopled, STOP)
    lay(Chain(peopled.shop, MACHINE), repair(peopled, number))
    assert open_stops(peopled) == [("head 1 stop", "")]
    lay(Chain(peopled.shop, MACHINE), repair(peopled, number), peopled.signer("a stranger"))
    assert open_stops(peopled) == [("head 1 stop", "")]
    lay(Chain(peopled.shop, MACHINE), repair(peopled, number), peopled.signer(OPERATOR))
    assert open_stops(peopled) == [("head 1 stop", "S. Ollery")]


def test_an_unsigned_start_up_clears_no_stop_and_gives_no_facts_in_a_shop_with_people(peopled: PeopledShop) -> None:
    held(peopled, STOP)
    cleared = {**STOP, "subject": "cleared: head 1 stop", "verdict": "ok"}
    entries = [{"key": "belts.1.card", "text": "H-999", "at": peopled.now}]
    lay(Chain(peopled.shop, MACHINE), write_body(document(peopled, "startup", findings=[cleared], entries=entries)))
    known = past(peopled.shop, MACHINE, read_register(peopled.shop))
    assert open_stops(peopled) == [("head 1 stop", "")]
    assert known.facts() == {}
    assert known.last is None
    assert [number for number, _ in known.strangers] == [2]


def unsigned(peopled: PeopledShop, at: datetime, **more: Any) -> int:
    signature = Signature(OPERATOR, "operator", "As it says.", at)
    made = whole({"record": heading("startup", peopled.token(), signature), **more})
    return lay(Chain(peopled.shop, MACHINE), write_body(made))


def weights(peopled: PeopledShop) -> list[Weight]:
    return [kept.weight for kept in records(peopled.shop, MACHINE, read_register(peopled.shop))][::-1]


def test_what_was_unsigned_before_the_founding_keeps_its_place_and_later_ones_are_strangers(
    peopled: PeopledShop,
) -> None:
    before, after = peopled.now - timedelta(days=3), peopled.now + timedelta(hours=1)
    unsigned(peopled, before)
    unsigned(peopled, before)
    assert weights(peopled) == [Weight.HISTORY, Weight.HISTORY]
    unsigned(peopled, after)
    assert weights(peopled) == [Weight.HISTORY, Weight.HISTORY, Weight.STRANGER]
    held(peopled, STOP)
    unsigned(peopled, before)  # dated back, behind a signed one
    assert weights(peopled) == [Weight.HISTORY, Weight.HISTORY, Weight.STRANGER, Weight.COUNTS, Weight.STRANGER]


def test_history_that_was_rewritten_since_is_a_stranger(peopled: PeopledShop) -> None:
    before = peopled.now - timedelta(days=3)
    for _ in range(3):
        unsigned(peopled, before)
    held(peopled, STOP)
    chain = Chain(peopled.shop, MACHINE)
    sealed = read_record(chain.path(2).read_bytes(), None).sealed
    assert sealed is not None
    document = start_up_document("rewritten-1", Signature(OPERATOR, "operator", "As it says.", before))
    chain.path(2).write_bytes(
        seal(write_body(document), machine=MACHINE, sequence=2, previous=sealed.previous, signer=None)
    )
    assert weights(peopled) == [Weight.STRANGER, Weight.STRANGER, Weight.HISTORY, Weight.COUNTS]


def test_without_people_unsigned_records_count(tmp_path: Path) -> None:
    chain = Chain(tmp_path, MACHINE)
    at = Signature(OPERATOR, "operator", "As it says.", DAWN)
    for number in range(3):
        lay(chain, write_body(start_up_document(f"record-{number:04d}", at)))
    assert {kept.weight for kept in records(tmp_path, MACHINE, Register())} == {Weight.COUNTS}


def test_a_stranger_with_the_id_of_a_draft_is_not_taken_for_its_record(peopled: PeopledShop) -> None:
    number = held(peopled, STOP)
    made = document(peopled, "startup")
    lay(Chain(peopled.shop, MACHINE), write_body(made))
    lay(Chain(peopled.shop, MACHINE), write_body(made), peopled.signer("a stranger"))
    saved = commit(
        Chain(peopled.shop, MACHINE),
        lambda _: write_body(made),
        record_id=made["record"]["id"],
        signer=peopled.signer(OPERATOR),
        token=peopled.token(),
        since=number,
    )
    assert (saved.was_there, saved.head.sequence) == (False, number + 3)


def test_strangers_are_named_and_nothing_is_added_to_them(
    peopled: PeopledShop, capsys: pytest.CaptureFixture[str]
) -> None:
    save(peopled, document(peopled, "startup"))
    number = lay(Chain(peopled.shop, MACHINE), write_body(document(peopled, "held", findings=[STOP])))
    register = read_register(peopled.shop)
    assert past(peopled.shop, MACHINE, register).notice.startswith(f"Record {number} counts for nothing, unsigned or")
    about = record(peopled.shop, MACHINE, number, register)
    assert "  note: it counts for nothing" in list(lines(about))
    with pytest.raises(ChainError, match=f"Record {number} of {MACHINE} counts for nothing: Unsigned"):
        about.require_counting()
    base = ["record", "repair", MACHINE, str(number), "--shop", str(peopled.shop), "--check", "running"]
    assert main([*base, "--subject", "head 1 stop", "--done", "x", "--who", "S. O.", "--measured", "6 s"]) == 3
    assert "counts for nothing" in capsys.readouterr().err


def test_what_a_stranger_says_of_a_record_is_marked_beside_it(peopled: PeopledShop) -> None:
    number = held(peopled, STOP)
    lay(Chain(peopled.shop, MACHINE), repair(peopled, number))
    register = read_register(peopled.shop)
    later = list(records(peopled.shop, MACHINE, register, frozenset({"repair"})))
    shown = list(lines(record(peopled.shop, MACHINE, number, register), later))
    assert any(line.startswith("  later: Repair, record 2") and line.endswith("(counts for nothing)") for line in shown)


def test_not_many_strangers_at_once_fill_the_screen(peopled: PeopledShop) -> None:
    save(peopled, document(peopled, "startup"))
    for _ in range(9):
        lay(Chain(peopled.shop, MACHINE), write_body(document(peopled, "startup")))
    known = past(peopled.shop, MACHINE, read_register(peopled.shop))
    assert known.notice.startswith("Records 8, 9, 10 and 6 more count for nothing")


def test_a_strangers_signature_in_front_makes_no_history_a_stranger(peopled: PeopledShop) -> None:
    before = peopled.now - timedelta(days=3)
    for _ in range(3):
        unsigned(peopled, before)
    held(peopled, STOP)
    chain = Chain(peopled.shop, MACHINE)
    document = start_up_document("planted-01", Signature("A. Nobody", "lead", "As it says.", before))
    planted = seal(
        write_body(document), machine=MACHINE, sequence=1, previous=NO_PREVIOUS, signer=peopled.signer("A. Nobody")
    )
    chain.path(1).write_bytes(planted)
    assert weights(peopled) == [Weight.STRANGER, Weight.HISTORY, Weight.HISTORY, Weight.COUNTS]
