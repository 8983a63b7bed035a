"""`preflight verify --explain`: the steps for one record, and that a shell and OpenSSL come to the same with them."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from checklist.make_vectors import resealed

from preflight.__main__ import main

VECTORS = Path(__file__).parents[1] / "checklist" / "vectors"
MACHINE, PRACTICE, REGISTER = "m-7f3a91c2d04e", "practice-5a0c7e19b3d2", "shop-4b3102abbb86d54e51d7113da0020f49"
HOLDS, OPENSSL = "DOES NOT HOLD", shutil.which("openssl") is not None


def explained(capsys: pytest.CaptureFixture[str], shop: Path, number: int, chain: str) -> tuple[int, dict[str, Any]]:
    words = ["verify", str(shop), "--explain", str(number), "--machine", chain]
    status = main([*words, "--json"])
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert main(words) == status
    assert capsys.readouterr().out.count(HOLDS) == sum(not step["holds"] for step in document["steps"])
    return status, document


def outputs(document: dict[str, Any]) -> list[tuple[dict[str, str], str]]:
    """Each command with what a shell prints for it; without OpenSSL those that do not need it."""
    commands = [one for step in document["steps"] for one in step["commands"]]
    commands = [one for one in commands if OPENSSL or not re.search(r"openssl|\$work", one["command"])]
    lines = [f"cd '{document['folder']}'", "work=$(mktemp -d)"]
    for command in commands:
        lines += [command["command"], r"printf '\036'"]
    done = subprocess.run(
        ["sh", "-c", "\n".join([*lines, 'rm -r "$work"'])], capture_output=True, text=True, check=True
    )
    return list(zip(commands, done.stdout.split("\036")[:-1], strict=True))


@pytest.mark.parametrize(("chain", "count"), [(MACHINE, 10), (PRACTICE, 1), (REGISTER, 7)])
def test_every_command_prints_what_is_said_of_it_for_every_intact_record(
    chain: str, count: int, capsys: pytest.CaptureFixture[str]
) -> None:
    for number in range(1, count + 1):
        status, document = explained(capsys, VECTORS / "intact", number, chain)
        unsigned = (chain, number) == (MACHINE, 1)
        assert status == unsigned
        assert [step["holds"] for step in document["steps"]].count(False) == unsigned
        for command, printed in outputs(document):
            assert printed.startswith(command["prints"]), command


@pytest.mark.parametrize(
    ("shop", "number", "said"),
    [
        ("tampered", 2, "it was changed"),
        ("tampered", 3, "Ed25519"),
        ("tampered", 6, "the whole record 5 stands"),
        ("tampered", 8, "Record 9 gives"),
        ("forged-role", 11, "It calls D. Marrow lead, who was operator then."),
        ("forged-role", 12, "It prints the name T. Varga"),
        ("forged-role", 13, "nobody was admitted with it"),
        ("forged-role", 14, "after the key of A. Brandt ended"),
        ("forged-role", 17, "not written as a record is"),
    ],
)
def test_the_step_that_does_not_hold_is_named(
    shop: str, number: int, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    status, document = explained(capsys, VECTORS / shop, number, MACHINE)
    assert status == 2
    assert any(said in step["statement"] for step in document["steps"] if not step["holds"])


def test_a_broken_record_behind_it_does_not_make_a_record_worse(capsys: pytest.CaptureFixture[str]) -> None:
    status, document = explained(capsys, VECTORS / "tampered", 1, MACHINE)
    assert (status, document["status"]) == (1, "unsigned")
    assert any("Record 2 cannot be asked" in step["statement"] for step in document["steps"] if step["holds"])


def test_a_record_of_the_register_that_changes_nothing_is_not_called_intact(capsys: pytest.CaptureFixture[str]) -> None:
    status, document = explained(capsys, VECTORS / "forged-role", 8, REGISTER)
    assert (status, document["status"]) == (2, "wrong")
    assert [step["statement"] for step in document["steps"] if not step["holds"]] == [
        "It changes nothing in the register: D. Marrow was no lead: only a lead changes the register."
    ]


def test_a_key_is_looked_up_in_the_record_that_admitted_it(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Not in an earlier one that holds the key too and changes nothing."""
    shop = tmp_path / "shop"
    chain = shop / "checklists" / REGISTER
    shutil.copytree(VECTORS / "intact", shop)
    second, third = chain / "00000" / "00000002.toml", chain / "00000" / "00000003.toml"
    old, new = (file.read_bytes().partition(b'public = "')[2].partition(b'"')[0] for file in (second, third))
    second.write_bytes(resealed(second.read_bytes(), old, new))
    _, document = explained(capsys, shop, 4, MACHINE)
    assert any("record 3 of the register" in step["statement"] for step in document["steps"])


def test_what_is_found_about_the_register_is_said(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    shutil.copytree(VECTORS / "intact", shop)
    shutil.copytree(shop / "checklists" / REGISTER, shop / "checklists" / REGISTER.replace("4b", "5c"))
    status, document = explained(capsys, shop, 7, MACHINE)
    assert (status, document["status"]) == (3, "cannot check")
    assert "two" in document["register"]


def test_the_shell_finds_the_exchanged_record_and_the_false_signature_too(capsys: pytest.CaptureFixture[str]) -> None:
    _, exchanged = explained(capsys, VECTORS / "tampered", 8, MACHINE)
    differing = [one["command"] for one, printed in outputs(exchanged) if not printed.startswith(one["prints"])]
    assert differing == ([f"openssl dgst -sha256 -r {MACHINE}/00000/00000008.toml"] if OPENSSL else [])
    _, resealed = explained(capsys, VECTORS / "tampered", 3, MACHINE)
    differing = [
        one["command"].split()[1] for one, printed in outputs(resealed) if not printed.startswith(one["prints"])
    ]
    # Number 3 follows another number 2, number 4 another number 3, and the signature is over other words.
    assert differing == (["dgst", "dgst", "pkeyutl"] if OPENSSL else [])


def test_a_printed_script_runs_as_it_is_and_leaves_nothing(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    shop = tmp_path / "it's a shop"
    shutil.copytree(VECTORS / "intact", shop)
    assert main(["verify", str(shop), "--explain", "7"]) == 0
    script, work = capsys.readouterr().out, tmp_path / "work"
    work.mkdir()
    if not OPENSSL:
        script = "".join(
            line for line in script.splitlines(keepends=True) if "openssl" not in line and "work" not in line
        )
    done = subprocess.run(
        ["sh", "-e"],
        input=script,
        capture_output=True,
        text=True,
        check=True,
        env={"TMPDIR": str(work), "PATH": "/usr/bin:/bin"},
    )
    assert done.stderr == ""
    assert not OPENSSL or "Signature Verified Successfully" in done.stdout
    assert list(work.iterdir()) == []


def test_whose_record_is_meant_is_asked_only_where_it_is_not_clear(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert main(["verify", str(VECTORS / "intact"), "--explain", "11"]) == 3
    assert "Its newest is 10." in capsys.readouterr().err
    shop = tmp_path / "shop"
    shutil.copytree(VECTORS / "intact", shop)
    shutil.copytree(shop / "checklists" / MACHINE, shop / "checklists" / "m-0b5e66a1f392")
    assert main(["verify", str(shop), "--explain", "2"]) == 3
    said = capsys.readouterr().err
    assert "--machine" in said
    assert "m-0b5e66a1f392" in said
