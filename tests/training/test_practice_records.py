"""Practice is kept in chains of its own, never in a machine's, and is named as practice wherever it is shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from checklist.record_samples import start_up_document
from practice_samples import AT, book, by, judged, tokens

from preflight.checklist.body import write_body
from preflight.checklist.chain import Chain
from preflight.checklist.heading import heading
from preflight.checklist.past import past
from preflight.checklist.practice_chain import KIND
from preflight.checklist.register import Register
from preflight.checklist.seal import NO_PREVIOUS, seal
from preflight.checklist.signing import AdmittedKey, Ed25519Signer
from preflight.checklist.store import commit, prepare_shop
from preflight.checklist.verify import Status, verify_chain, verify_record
from preflight.training.records import OBSERVED, chains, practice

if TYPE_CHECKING:
    from pathlib import Path

MACHINE = "m-8de350431919"


def body(kind: str) -> bytes:
    document = start_up_document("record-0001", by("K. Nilsen"))
    if kind == KIND:
        mark = {"what": "mark", "trainee": "K. Nilsen", "mark": OBSERVED, "note": ""}
        document = {"record": heading(kind, "record-0001", by("K. Nilsen")), "practice": mark}
    elif kind == "held":
        document["record"]["kind"] = kind
        document["held"] = {"what": "brake", "told": "S. Ollery", "tried": "nothing yet"}
    return write_body(document)


def put(shop: Path, chain: str, kind: str) -> Path:
    """A whole record laid into a chain by hand, past the store."""
    path = Chain(shop, chain).path(1)
    path.parent.mkdir(parents=True)
    path.write_bytes(seal(body(kind), machine=chain, sequence=1, previous=NO_PREVIOUS, signer=None))
    return path


def test_a_drill_is_read_back_as_it_was_kept(tmp_path: Path) -> None:
    sitting = judged("wandering-belt")
    book(tmp_path).save_drill(sitting.drill, sitting.marked, 2, by("K. Nilsen"), random=True)
    (kept,) = practice(tmp_path)
    assert (kept.trainee, kept.what, kept.at, kept.table["drill"]) == ("K. Nilsen", "drill", AT, "wandering-belt")
    assert kept.drill == sitting.marked
    assert kept.table["random"] is True


def test_practice_goes_on_in_the_one_chain_of_the_shop(tmp_path: Path) -> None:
    for name in ("one", "two"):
        sitting = judged("fan-last")
        book(tmp_path, name).save_drill(sitting.drill, sitting.marked, 1, by("K. Nilsen"))
    (chain,) = chains(tmp_path)
    assert chain.machine.startswith("practice-")
    assert chain.head().sequence == 2
    assert verify_chain(chain.folder, None).status is Status.UNSIGNED


@pytest.mark.parametrize(
    ("chain", "kind"), [(MACHINE, KIND), ("practice-1a2b3c", "startup"), ("practice-1a2b3c", "held")]
)
def test_the_store_refuses_practice_in_a_machines_chain_and_the_other_way_round(
    tmp_path: Path, chain: str, kind: str
) -> None:
    prepare_shop(tmp_path)
    with pytest.raises(ValueError, match="does not belong into a"):
        commit(Chain(tmp_path, chain), lambda _: body(kind), record_id="record-0001", signer=None, token=tokens("t")())
    assert not list(tmp_path.rglob("*.toml"))


@pytest.mark.parametrize(("chain", "kind"), [(MACHINE, KIND), ("practice-1a2b3c", "startup")])
def test_a_misplaced_record_that_was_smuggled_in_is_wrong(tmp_path: Path, chain: str, kind: str) -> None:
    path = put(tmp_path, chain, kind)
    assert verify_record(path, None).status is Status.WRONG
    assert verify_chain(path.parents[1], None).status is Status.WRONG


def test_a_practice_record_is_named_as_practice(tmp_path: Path) -> None:
    sitting = judged("fan-last")
    saved = book(tmp_path).save_drill(sitting.drill, sitting.marked, 1, by("K. Nilsen"))
    found = verify_record(saved.path, None)
    assert found.statement.startswith("Practice, no start-up.")
    assert found.status is Status.UNSIGNED


def test_practice_is_no_part_of_a_machines_history(tmp_path: Path) -> None:
    sitting = judged("fan-last")
    book(tmp_path).save_drill(sitting.drill, sitting.marked, 1, by("K. Nilsen"))
    assert not past(tmp_path, MACHINE, Register()).records


def test_a_mark_that_there_is_not_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="a mark is one of"):
        book(tmp_path).save_mark("K. Nilsen", "promoted", "", by("T. Brandt", role="trainer"))
    book(tmp_path).save_mark("K. Nilsen", OBSERVED, "", by("T. Brandt", role="trainer"))
    assert [(one.trainee, one.by, one.role) for one in practice(tmp_path)] == [("K. Nilsen", "T. Brandt", "trainer")]


def test_a_record_that_was_altered_counts_for_nothing(tmp_path: Path) -> None:
    sitting = judged("fan-last", right=False)
    saved = book(tmp_path).save_drill(sitting.drill, sitting.marked, 1, by("K. Nilsen"))
    data = saved.path.read_bytes()
    saved.path.write_bytes(data.replace(b'said = "ok"', b'said = "no"', 1))
    assert practice(tmp_path) == []


def test_in_a_shop_with_people_only_what_its_trainee_signed_counts(tmp_path: Path) -> None:
    signer = Ed25519Signer(bytes(range(32)))
    key = AdmittedKey(signer.public, "K. Nilsen", AT, roles=((AT, "operator"),))
    register = Register("shop-" + "0" * 32, keys={signer.key_id: key})
    sitting = judged("fan-last")
    kept = book(tmp_path)
    kept.save_drill(sitting.drill, sitting.marked, 1, by("K. Nilsen"), signer)
    kept.save_drill(sitting.drill, sitting.marked, 1, by("K. Nilsen"))
    kept.save_drill(sitting.drill, sitting.marked, 1, by("Somebody Else"), signer)
    assert [(one.trainee, one.counts) for one in practice(tmp_path, register)] == [
        ("K. Nilsen", True),
        ("K. Nilsen", False),
    ]
