"""Verification says what is wrong, where, and never more than it can know."""

from __future__ import annotations

import errno
import os
import random
import shutil
import subprocess
import sys
from collections import Counter
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from checklist.record_samples import DAWN, MACHINE, OTHER_MACHINE, Keys, chain_of, head_at, record_body, save, signer
from checklist.tampering import LENGTH, TAMPERINGS, Bench

from preflight import disk
from preflight.checklist.chain import Chain, Head
from preflight.checklist.seal import LARGEST_RECORD, NO_PREVIOUS, read_seal, seal
from preflight.checklist.signing import AdmittedKey
from preflight.checklist.verify import Status, verify_chain, verify_record, verify_shop

if TYPE_CHECKING:
    from pathlib import Path

    from preflight.checklist.verify import ChainResult

LEAD = "R. Onslow"
KEYS = Keys.of(LEAD)


def found(result: ChainResult) -> list[tuple[Status, list[str]]]:
    return [(problem.status, [path.name for path in problem.paths]) for problem in result.problems]


def reseal(chain: Chain, number: int, text: str, person: str | None = None, previous: str | None = None) -> None:
    """Rewrite a record with a seal that fits, as anybody can who knows the layout."""
    old = read_seal(chain.path(number).read_bytes())
    by = signer(person) if person else None
    new = seal(
        record_body("forged-00000001", text),
        machine=MACHINE,
        sequence=number,
        previous=previous or old.previous,
        signer=by,
    )
    chain.path(number).write_bytes(new)


def test_a_signed_chain_is_intact_and_its_tail_is_not_provable_without_a_head(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 4, LEAD)
    result = verify_chain(chain.folder, KEYS)
    assert (result.status, result.intact, result.problems) == (Status.INTACT, 4, ())
    assert (result.tail_proven, result.beyond_head) == (False, 4)
    assert result.head == chain.head()


def test_a_head_kept_elsewhere_proves_the_tail_up_to_its_number(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 4, LEAD)
    for number, beyond in ((4, 0), (2, 2)):
        result = verify_chain(chain.folder, KEYS, head=head_at(chain, number))
        assert (result.status, result.tail_proven, result.beyond_head) == (Status.INTACT, True, beyond)


def test_an_unsigned_chain_is_never_called_intact(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 3)
    for keyring in (None, KEYS):
        result = verify_chain(chain.folder, keyring, head=chain.head())
        assert (result.status, result.intact, result.unsigned) == (Status.UNSIGNED, 0, 3)
        assert verify_record(chain.path(2), keyring).status is Status.UNSIGNED
    save(chain, 4, signer(LEAD))
    result = verify_chain(chain.folder, KEYS)
    assert (result.status, result.intact, result.unsigned) == (Status.UNSIGNED, 1, 3)
    assert result.status.exit_status == 1


def test_an_unsigned_chain_is_verified_without_cryptography_or_a_second_reader_of_toml(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 2)
    program = (
        "import sys, pathlib\n"
        "sys.modules['cryptography'] = None\n"
        "from preflight.checklist.verify import verify_chain\n"
        "import tomllib\n"
        "tomllib.loads = None\n"
        "print(verify_chain(pathlib.Path(sys.argv[1]), None).status.value)\n"
        "print(sorted({'textual'} & set(sys.modules)))\n"
    )
    answer = subprocess.run(
        [sys.executable, "-c", program, str(chain.folder)], capture_output=True, text=True, check=True
    )
    assert answer.stdout == "unsigned\n[]\n"


def test_signatures_without_the_library_or_without_keys_cannot_be_checked_and_are_not_wrong(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    chain = chain_of(tmp_path, 2, LEAD)
    result = verify_chain(chain.folder, None, head=chain.head())
    assert (result.status, result.unchecked_signatures, result.tail_proven) == (Status.CANNOT_CHECK, 2, True)
    assert result.status.exit_status == 3
    monkeypatch.setitem(sys.modules, "cryptography", None)
    record = verify_record(chain.path(1), KEYS)
    assert record.status is Status.CANNOT_CHECK
    assert "'cryptography' is not installed" in record.statement


def test_links_are_checked_even_where_signatures_cannot_be(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 3, LEAD)
    reseal(chain, 2, "forged", LEAD)
    assert (Status.FORK, ["00000002.toml", "00000003.toml"]) in found(verify_chain(chain.folder, None))


def test_a_changed_byte_names_its_file_alone(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 4)
    data = chain.path(2).read_bytes()
    chain.path(2).write_bytes(data.replace(b"even", b"evem"))
    result = verify_chain(chain.folder, None)
    assert found(result) == [(Status.WRONG, ["00000002.toml"])]
    assert "was changed" in result.problems[0].statement


def test_a_file_that_cannot_be_read_cannot_be_checked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    chain = chain_of(tmp_path, 3)
    real = disk.Folder.read

    def refuse(self: disk.Folder, name: str, most: int) -> bytes:
        if name == "00000002.toml":
            raise OSError(errno.EIO, "Input/output error")
        return real(self, name, most)

    monkeypatch.setattr(disk.Folder, "read", refuse)
    result = verify_chain(chain.folder, None)
    assert found(result) == [(Status.CANNOT_CHECK, ["00000002.toml"])]
    assert result.unsigned == 2


def test_missing_numbers_are_a_gap_named_by_the_first(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 6)
    chain.path(1).unlink()
    chain.path(3).unlink()
    chain.path(4).unlink()
    result = verify_chain(chain.folder, None)
    assert found(result) == [(Status.GAP, ["00000001.toml"]), (Status.GAP, ["00000003.toml"])]
    assert [p.statement for p in result.problems] == ["Number 1 is missing.", "Numbers 3 to 4 are missing."]


def test_a_cut_tail_is_found_against_a_head_and_only_so(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 4, LEAD)
    head = chain.head()
    chain.path(3).unlink()
    chain.path(4).unlink()
    without = verify_chain(chain.folder, KEYS)
    assert (without.status, without.tail_proven) == (Status.INTACT, False)
    result = verify_chain(chain.folder, KEYS, head=head)
    assert found(result) == [(Status.CUT_TAIL, ["00000003.toml"])]
    assert not result.tail_proven


def test_one_machine_signed_in_two_folders_is_a_fork(tmp_path: Path) -> None:
    here, there = tmp_path / "here", tmp_path / "there"
    here.mkdir()
    chain = chain_of(here, 3, LEAD)
    shutil.copytree(here, there)
    other = Chain(there, MACHINE)
    for number in (4, 5, 6):
        save(chain, number, signer(LEAD), "here")
    for number in (4, 5):
        save(other, number, signer(LEAD), "there")
    assert verify_chain(chain.folder, KEYS).status is Status.INTACT
    assert verify_chain(other.folder, KEYS).status is Status.INTACT
    against_here = verify_chain(chain.folder, KEYS, head=other.head())
    assert found(against_here) == [(Status.FORK, ["00000005.toml"])]
    shutil.copytree(there, here, dirs_exist_ok=True)  # merged by copying
    assert found(verify_chain(chain.folder, KEYS)) == [(Status.FORK, ["00000005.toml", "00000006.toml"])]


def test_two_records_with_one_number_side_by_side_are_a_fork(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 3, LEAD)
    rival = chain.path(2).with_name("00000002 (1).toml")
    kept = chain.path(2).read_bytes()
    reseal(chain, 2, "rival", LEAD)
    chain.path(2).rename(rival)
    chain.path(2).write_bytes(kept)
    assert found(verify_chain(chain.folder, KEYS)) == [(Status.FORK, ["00000002.toml", rival.name])]


def test_two_machines_merged_by_copying_are_both_intact(tmp_path: Path) -> None:
    for name, machine in (("here", MACHINE), ("there", OTHER_MACHINE)):
        (tmp_path / name).mkdir()
        chain_of(tmp_path / name, 3, LEAD, machine=machine)
    shutil.copytree(tmp_path / "there", tmp_path / "here", dirs_exist_ok=True)
    result = verify_shop(tmp_path / "here", KEYS)
    assert [(c.machine, c.status, c.intact) for c in result.chains] == [
        (OTHER_MACHINE, Status.INTACT, 3),
        (MACHINE, Status.INTACT, 3),
    ]
    assert (result.status, result.problems) == (Status.INTACT, ())


def test_a_person_nobody_admitted_is_wrong(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 3, LEAD)
    reseal(chain, 2, "even", "a stranger")
    result = verify_chain(chain.folder, KEYS)
    assert found(result) == [(Status.WRONG, ["00000002.toml"])]
    assert "nobody admitted" in result.problems[0].statement


def test_a_signature_of_another_record_is_wrong(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 3, LEAD)
    one, two = (chain.path(n).read_bytes() for n in (1, 2))
    line = b"\nsignature = "
    chain.path(2).write_bytes(two[: two.rindex(line)] + one[one.rindex(line) :])
    result = verify_chain(chain.folder, KEYS)
    assert found(result) == [(Status.WRONG, ["00000002.toml"])]
    assert f"not made by {LEAD}" in result.problems[0].statement


def test_a_key_counts_for_its_time_only(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 3, LEAD)  # signed one minute apart
    held = signer(LEAD)
    second = DAWN + timedelta(minutes=2)

    def status(**limits: Any) -> list[str]:
        keys = Keys({held.key_id: AdmittedKey(held.public, LEAD, **limits)})
        return [path.name for problem in verify_chain(chain.folder, keys).problems for path in problem.paths]

    assert status(valid_from=second - timedelta(minutes=1), valid_until=second + timedelta(minutes=1)) == []
    assert status(valid_from=second) == ["00000001.toml"]
    assert status(valid_until=second) == ["00000003.toml"]


def test_a_rewritten_unsigned_record_is_found_by_the_link_of_the_next(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 4)
    reseal(chain, 2, "rewritten")
    result = verify_chain(chain.folder, None)
    assert found(result) == [(Status.FORK, ["00000002.toml", "00000003.toml"])]
    assert "it carries no signature" in result.problems[0].statement


def test_an_unsigned_record_that_neither_neighbour_knows_is_wrong(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 5)
    reseal(chain, 3, "rewritten", previous="ab" * 32)
    result = verify_chain(chain.folder, None)
    assert (found(result), result.unsigned) == ([(Status.WRONG, ["00000003.toml"])], 4)


def test_a_rewritten_last_record_is_found_against_a_head(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 3)
    head = chain.head()
    reseal(chain, 3, "rewritten")
    assert verify_chain(chain.folder, None).status is Status.UNSIGNED
    assert found(verify_chain(chain.folder, None, head=head)) == [(Status.FORK, ["00000003.toml"])]


def test_a_record_under_a_wrong_name_or_in_a_wrong_place_is_named(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 3)
    for stray in ("00001/00000002.toml", "00000/2.toml", "00000002.toml", "deep/er/x.TOML"):
        path = chain.folder / stray
        path.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(chain.path(2), path)
        result = verify_chain(chain.folder, None)
        assert found(result) == [(Status.WRONG, [path.name])]
        assert "copy of number 2" in result.problems[0].statement
        path.unlink()


def test_what_is_no_file_of_its_own_under_a_record_name_is_wrong_and_is_not_waited_for(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 1)
    os.mkfifo(chain.path(2))
    chain.path(3).symlink_to(chain.path(1))
    result = verify_chain(chain.folder, None)
    assert found(result) == [(Status.WRONG, ["00000002.toml"]), (Status.WRONG, ["00000003.toml"])]
    chain.path(2).unlink()
    chain.path(3).unlink()
    chain.path(2).write_bytes(bytes(LARGEST_RECORD + 1))
    assert found(verify_chain(chain.folder, None)) == [(Status.WRONG, ["00000002.toml"])]


def test_files_that_are_no_records_do_not_disturb(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 2)
    (chain.folder / "00000" / ".x.tmp").write_bytes(b"half")
    (chain.folder / "00000" / "Thumbs.db").write_bytes(b"x")
    (chain.folder / "read me.txt").write_text("x")
    assert verify_chain(chain.folder, None).problems == ()


def test_one_file_is_checked_by_itself_wherever_it_lies(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 2, LEAD)
    stick = tmp_path / "stick.toml"
    shutil.copy(chain.path(2), stick)
    assert verify_record(stick, KEYS).status is Status.INTACT
    assert verify_record(chain.path(2), KEYS).statement == f"Signed by {LEAD}."
    shutil.copy(chain.path(2), chain.path(1))
    assert "name says number 1" in verify_record(chain.path(1), KEYS).statement
    shutil.copytree(chain.folder, chain.folder.with_name(OTHER_MACHINE))
    moved = Chain(tmp_path, OTHER_MACHINE).path(2)
    assert f"lies with {OTHER_MACHINE}" in verify_record(moved, KEYS).statement
    assert verify_record(tmp_path / "none.toml", KEYS).status is Status.CANNOT_CHECK


def test_a_shop_is_verified_with_its_heads_and_says_what_belongs_to_no_chain(tmp_path: Path) -> None:
    chain_of(tmp_path, 2, LEAD)
    other = chain_of(tmp_path, 2, LEAD, machine=OTHER_MACHINE)
    heads = {OTHER_MACHINE: other.head(), "m-never": Head("m-never", 0, NO_PREVIOUS)}
    shutil.rmtree(other.folder)
    (tmp_path / "checklists" / "Old Stuff").mkdir()
    (tmp_path / "checklists" / "x.toml").write_text("")
    for folder in (tmp_path, tmp_path / "checklists"):
        result = verify_shop(folder, KEYS, heads=heads)
        assert [(p.status, p.paths[0].name) for p in result.problems] == [
            (Status.WRONG, "Old Stuff"),
            (Status.WRONG, "x.toml"),
            (Status.CUT_TAIL, OTHER_MACHINE),
        ]
        assert result.status is Status.WRONG
        assert [chain.status for chain in result.chains] == [Status.INTACT]
    assert verify_shop(tmp_path / "none", KEYS).status is Status.CANNOT_CHECK


def test_the_head_of_another_machine_proves_nothing(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 1)
    with pytest.raises(ValueError, match="cannot prove"):
        verify_chain(chain.folder, None, head=Head(OTHER_MACHINE, 1, "ab" * 32))


def test_progress_counts_up_to_all_records_and_can_end_the_work(tmp_path: Path) -> None:
    chain_of(tmp_path, 70)
    chain_of(tmp_path, 3, machine=OTHER_MACHINE)
    calls: list[tuple[int, int]] = []
    verify_shop(tmp_path, None, progress=lambda done, total: calls.append((done, total)))
    assert calls == [(0, 73), (3, 73), (3, 73), (67, 73), (73, 73)]

    def cancel(done: int, total: int) -> None:
        raise InterruptedError

    with pytest.raises(InterruptedError):
        verify_shop(tmp_path, None, progress=cancel)


def test_a_thousand_random_tamperings_are_all_found_with_the_right_file_named(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    rng = random.Random(20261125)
    kinds: Counter[str] = Counter()
    for _ in range(1000):
        kind = rng.choice(TAMPERINGS)
        state = rng.getstate()
        tampering = kind(bench, rng)
        if tampering.files == bench.files:
            continue
        assert bench.missed(tampering) == "", (kind.__name__, state[1][:3])
        kinds[kind.__name__] += 1
    assert len(kinds) == len(TAMPERINGS)
    assert bench.verify(bench.files, with_head=True).intact == LENGTH
