"""`people`, `profiles approve`, `record` and `verify` of a shop with people; secrets are asked for, never arguments."""

from __future__ import annotations

import functools
import getpass
import io
import json
import os
import shutil
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from checklist.people_samples import CHEAP, PASSPHRASE, PIN
from desk_samples import Clock, filled, tokens

from preflight.__main__ import main
from preflight.checklist.body_reader import read_body
from preflight.checklist.key_folder import KeyFolder
from preflight.checklist.people import enrol
from preflight.checklist.seal import read_seal
from preflight.checklist.secret import Secret
from preflight.cli import asked
from preflight.shop.bundled import bundled
from preflight.shop.folder import shop_at
from preflight.tui.demo_shop import MACHINE
from preflight.tui.desk import Desk, Terminal
from preflight.tui.wiring import Holding

LEAD, SECOND, OPERATOR = "T. Varga", "A. Brandt", "D. Marrow"
RUN = """\
schema = 1
machine = "hall-two"
at = 2026-11-26T15:10:00+01:00
job = "ash-stair-treads"
belts = [{ head = "1", card = "H-204" }, { head = "2", card = "H-211" }]
[feed]
fed = [{ feeds = 3 }]
[run]
hours = "2.5 h"
"""
OTHER_PASSPHRASE = "planed maple edges"


class Typist:
    """Types secrets in the order given, and notes what was asked."""

    def __init__(self) -> None:
        self.secrets: list[str] = []
        self.prompts: list[str] = []

    def __call__(self, prompt: str = "") -> str:
        self.prompts.append(prompt)
        return self.secrets.pop(0)


@pytest.fixture
def typist(monkeypatch: pytest.MonkeyPatch) -> Typist:
    made = Typist()
    monkeypatch.setattr(getpass, "getpass", made)
    monkeypatch.setattr(asked, "enrol", functools.partial(enrol, cost=CHEAP))
    return made


@pytest.fixture
def shop(tmp_path: Path, typist: Typist, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A founded shop with an operator."""
    folder = tmp_path / "shop"
    monkeypatch.setenv("PREFLIGHT_SHOP", str(folder))
    monkeypatch.setenv("PREFLIGHT_KEYS", str(tmp_path / "keys"))
    assert main(["init", str(folder)]) == 0
    typist.secrets = [PASSPHRASE, PASSPHRASE]
    assert main(["people", "found", LEAD]) == 0
    typist.secrets = [PASSPHRASE, PIN, PIN]
    assert main(["people", "add", OPERATOR]) == 0
    return folder


def listed(capsys: pytest.CaptureFixture[str]) -> list[dict[str, Any]]:
    capsys.readouterr()
    assert main(["people", "list", "--json"]) == 0
    people = json.loads(capsys.readouterr().out)["people"]
    assert isinstance(people, list)
    return people


def newest(shop: Path, prefix: str) -> dict[str, Any]:
    return read_body(read_seal(max(shop.glob(f"checklists/{prefix}-*/*/*.toml")).read_bytes()).body)


def test_founding_and_adding_ask_for_secrets_and_print_none(
    shop: Path, typist: Typist, capsys: pytest.CaptureFixture[str]
) -> None:
    said = capsys.readouterr()
    assert PASSPHRASE not in said.out + said.err
    assert PIN not in said.out + said.err
    assert [prompt.split(":")[0] for prompt in typist.prompts] == [
        "New passphrase of T. Varga",
        "The same passphrase once more",
        "Passphrase of T. Varga",
        "New PIN of D. Marrow",
        "The same PIN once more",
    ]
    assert [(one["name"], one["role"], one["key_here"]) for one in listed(capsys)] == [
        (LEAD, "lead", True),
        (OPERATOR, "operator", True),
    ]


@pytest.mark.parametrize(
    ("secrets", "said"),
    [
        ([PASSPHRASE, "1234", "12345678", "0000"], "A PIN has at least 8 digits"),
        ([PASSPHRASE, PIN, "48190376", "1234", PIN, "48190376"], "The two PINs differ."),
        (["not the passphrase", "nor is this one", ""], "This does not open the key of T. Varga."),
    ],
)
def test_a_poor_or_mistyped_secret_is_asked_for_three_times_and_then_nothing_is_changed(
    shop: Path, typist: Typist, capsys: pytest.CaptureFixture[str], secrets: list[str], said: str
) -> None:
    capsys.readouterr()
    typist.secrets = list(secrets)
    assert main(["people", "add", "R. Onslow"]) == 3
    error = capsys.readouterr().err
    assert said in error
    assert error.count("Type it once more.") == 2
    assert "That was the third try." in error
    assert error.rstrip().endswith("Run it again.")
    assert not typist.secrets
    assert not any(secret and secret in error for secret in secrets)
    assert len(listed(capsys)) == 2


def test_a_secret_that_is_right_the_third_time_is_taken(
    shop: Path, typist: Typist, capsys: pytest.CaptureFixture[str]
) -> None:
    typist.secrets = ["not the passphrase", "nor is this one", PASSPHRASE, "1234", PIN, "48190376", PIN, PIN]
    assert main(["people", "add", "R. Onslow"]) == 0
    assert len(listed(capsys)) == 3


def test_role_renewal_and_retirement_are_records_and_the_last_lead_cannot_go(
    shop: Path, typist: Typist, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["people", "retire", LEAD]) == 3
    assert main(["people", "role", LEAD, "operator"]) == 3
    assert "only lead" in capsys.readouterr().err
    typist.secrets = [PASSPHRASE]
    assert main(["people", "role", OPERATOR, "trainer"]) == 0
    typist.secrets = [PASSPHRASE, OTHER_PASSPHRASE, OTHER_PASSPHRASE]
    assert main(["people", "role", OPERATOR, "lead", "--by", LEAD]) == 0
    typist.secrets = [OTHER_PASSPHRASE]
    assert main(["people", "retire", LEAD, "--by", OPERATOR]) == 0
    people = listed(capsys)
    assert [(one["role"], one["until"] is None) for one in people] == [("lead", False), ("lead", True)]
    typist.secrets = [OTHER_PASSPHRASE, PASSPHRASE, PASSPHRASE]
    assert main(["people", "renew", LEAD]) == 0
    assert all(one["until"] is None for one in listed(capsys))
    assert main(["verify"]) == 0


def test_an_operator_admits_nobody(shop: Path, typist: Typist, capsys: pytest.CaptureFixture[str]) -> None:
    typist.secrets = [PIN]
    assert main(["people", "add", "R. Onslow", "--by", OPERATOR]) == 3
    assert "Only a lead" in capsys.readouterr().err
    assert typist.secrets == [PIN]


def test_heads_are_exported_and_prove_the_tail(
    shop: Path, typist: Typist, capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    capsys.readouterr()
    assert main(["people", "head"]) == 0
    text = capsys.readouterr().out
    kept = tmp_path / "head.txt"
    kept.write_text(text, encoding="utf-8")
    for given in (str(kept), text):
        assert main(["verify", "--head", given]) == 0
        assert "nothing cut off before the head kept elsewhere" in capsys.readouterr().out
    max(shop.glob("checklists/shop-*/*/*.toml")).unlink()
    assert main(["verify"]) == 2
    assert "has lost records: it had 2" in capsys.readouterr().out
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "another terminal"))
    assert main(["verify"]) == 0
    capsys.readouterr()
    assert main(["verify", "--head", str(kept), "--json"]) == 2
    found = json.loads(capsys.readouterr().out)
    assert found["status"] == "cut tail"
    assert found["chains"][0]["problems"][0]["files"][0].endswith("00000002.toml")
    assert main(["verify", "--head", text.replace("T. Varga", "T. Verga")]) == 3
    assert main(["verify", "--head", str(tmp_path / "gone")]) == 3


def test_a_stick_with_nothing_but_chains_and_a_single_file_are_verified(
    shop: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stick = tmp_path / "stick"
    shutil.copytree(shop / "checklists", stick)
    monkeypatch.setenv("PREFLIGHT_SHOP", str(tmp_path / "no-shop"))
    assert main(["verify", str(stick)]) == 0
    path = max(stick.glob("*/*/*.toml"))
    capsys.readouterr()
    assert main(["verify", str(path), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["status"], found["sequence"], found["statement"]) == ("intact", 2, "Signed by T. Varga.")
    path.write_bytes(path.read_bytes().replace(b"D. Marrow", b"D. Morrow"))
    assert main(["verify", str(path)]) == 2
    alone = tmp_path / "00000001.toml"
    shutil.copy(min(stick.glob("*/*/*.toml")), alone)
    monkeypatch.delenv("PREFLIGHT_SHOP")
    assert main(["verify", str(alone)]) == 3
    assert "no public keys at hand" in capsys.readouterr().out


def test_progress_goes_to_standard_error_alone(
    shop: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    capsys.readouterr()
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    assert main(["verify", "--json"]) == 0
    said = capsys.readouterr()
    assert json.loads(said.out)["status"] == "intact"
    assert said.err.endswith("2 of 2\n")


def test_an_approved_profile_is_silent_and_a_changed_one_is_said_by_assess(
    shop: Path, typist: Typist, capsys: pytest.CaptureFixture[str]
) -> None:
    def said() -> list[str]:
        capsys.readouterr()
        main(["assess", "ok-two-heads", "--shop", str(shop), "--json"])
        return list(json.loads(capsys.readouterr().out).get("unapproved", []))

    assert len(said()) == 2
    typist.secrets = [PASSPHRASE]
    assert main(["profiles", "approve", "hall-two", "hall-duct"]) == 0
    assert said() == []
    path = shop / "machines" / "hall-two.toml"
    path.write_text(path.read_text("utf-8") + "\n# raised\n", encoding="utf-8")
    assert said()[0].startswith("machines/hall-two was changed since T. Varga approved it")
    main(["assess", "ok-two-heads", "--shop", str(shop)])
    assert "NOTE: machines/hall-two was changed" in capsys.readouterr().out
    assert main(["profiles", "approve", "nothing-like-it"]) == 3


def test_a_profile_that_is_approved_as_it_is_is_said_and_not_approved_again(
    shop: Path, typist: Typist, capsys: pytest.CaptureFixture[str]
) -> None:
    typist.secrets = [PASSPHRASE]
    assert main(["profiles", "approve", "hall-two"]) == 0
    before = sorted(shop.rglob("checklists/**/*.toml"))
    sha256 = newest(shop, "shop")["approval"]["sha256"]
    capsys.readouterr()
    assert main(["profiles", "approve", "hall-two", "machines/hall-two"]) == 0  # and no secret is asked for
    said = capsys.readouterr().out
    assert said.startswith("machines/hall-two is approved already as it is now: by T. Varga on 20")
    assert f"digest {sha256[:12]}.\nNothing was written.\n" in said
    assert sorted(shop.rglob("checklists/**/*.toml")) == before
    typist.secrets = [PASSPHRASE]
    assert main(["profiles", "approve", "hall-two", "hall-duct", "hall-duct"]) == 0
    said = capsys.readouterr().out
    assert "machines/hall-two is approved already" in said
    assert "extraction/hall-duct approved by T. Varga" in said
    assert len(sorted(shop.rglob("checklists/**/*.toml"))) == len(before) + 1


def test_the_rule_for_a_new_secret_is_said_before_it_is_asked(
    shop: Path, typist: Typist, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    typist.secrets = [PASSPHRASE, PIN, PIN]
    said: list[str] = []

    def asked_for(prompt: str = "") -> str:
        said.append(capsys.readouterr().err)
        return typist(prompt)

    monkeypatch.setattr(getpass, "getpass", asked_for)
    assert main(["people", "add", "R. Onslow"]) == 0
    assert "at least 8 digits and nothing else; not one digit repeated, not counting up or down" in said[1]
    typist.secrets = [PASSPHRASE, OTHER_PASSPHRASE, OTHER_PASSPHRASE]
    said.clear()
    assert main(["people", "add", SECOND, "--role", "lead"]) == 0
    assert "at least 14 characters, 6 of them different" in said[1]


@pytest.fixture
def held(shop: Path, typist: Typist) -> int:
    """A held record with a tension stop, which takes an override, and a fan that is off, which does not."""
    clock = Clock()
    clock.now = asked.now()
    keys = KeyFolder(Path(os.environ["PREFLIGHT_KEYS"]))
    desk = Desk(shop_at(shop), shop, clock, tokens("desk"), Terminal("bench", 1), MACHINE, keys=keys)
    run = filled(desk.load().run, tension__1="5.0", running__restart="starts by itself")
    desk.hold(run, Holding("regulator sticks", SECOND, "tapped it", OPERATOR, Secret(PIN)))
    desk.close()
    return 1


def stops(shop: Path) -> list[dict[str, Any]]:
    return [one for one in newest(shop, "m")["findings"] if one["verdict"] == "stop"]


def test_a_lead_overrides_a_stop_that_takes_one_and_nobody_the_others(
    shop: Path, held: int, typist: Typist, capsys: pytest.CaptureFixture[str]
) -> None:
    taking = {one["takes_override"]: one for one in stops(shop)}
    assert set(taking) == {True, False}

    def override(stop: dict[str, Any], *more: str, reason: str = "regulator is on order, watched by hand") -> int:
        subject = ["--check", stop["check"], "--subject", stop["subject"]]
        return main(["record", "override", MACHINE, str(held), *subject, "--reason", reason, *more])

    assert override(taking[False], "--until", "2999-01-01T12:00", "--by", LEAD) == 3
    assert "Nobody may go on past this stop" in capsys.readouterr().err
    for until, reason, by in (
        ("2999-01-01T12:00", "regulator is on order", LEAD),
        ("2020-01-01T12:00", "regulator is on order", LEAD),
        ("soon", "regulator is on order", LEAD),
        ("", "ok", LEAD),
        ("", "regulator is on order", OPERATOR),
    ):
        typist.secrets = []  # refused before a secret is asked for
        later = until or (asked.now() + timedelta(hours=2)).isoformat()
        assert override(taking[True], "--until", later, "--by", by, reason=reason) == 3
    typist.secrets = [PASSPHRASE]
    later = (asked.now() + timedelta(hours=2)).isoformat()
    capsys.readouterr()
    assert override(taking[True], "--until", later, "--by", LEAD) == 0
    assert "It covers tension, head 1 of record 1 until " in capsys.readouterr().out
    made = newest(shop, "m")
    assert made["record"]["kind"] == "override"
    assert made["refers"]["sequence"] == held
    assert made["override"]["stop"]["measured"]["text"] == "5.0 bar"


def test_repair_countersign_and_correction_refer_to_their_record(
    shop: Path, held: int, typist: Typist, capsys: pytest.CaptureFixture[str]
) -> None:
    stop = next(one for one in stops(shop) if not one["takes_override"])
    about = ["--check", stop["check"], "--subject", stop["subject"]]
    done = ["--done", "new contactor", "--who", "E. Quist", "--measured", "stays still"]
    for argv, kind, secret in (
        (["repair", MACHINE, "1", *about, *done, "--by", OPERATOR], "repair", PIN),
        (["countersign", MACHINE, "1", "--by", LEAD], "countersign", PASSPHRASE),
        (
            ["correct", MACHINE, "1", "--key", "tension.2", "--text", "3.5", "--reason", "misread", "--by", OPERATOR],
            "correction",
            PIN,
        ),
    ):
        typist.secrets = [secret]
        assert main(["record", *argv]) == 0
        made = newest(shop, "m")
        assert made["record"]["kind"] == kind
        assert made["refers"]["sequence"] == 1
    assert made["correction"]["was"] == "3.4"
    capsys.readouterr()
    assert main(["record", "show", MACHINE, "1"]) == 0
    said = [line.split(", ")[0] for line in capsys.readouterr().out.splitlines() if line.startswith("  later")]
    assert said == ["  later: Correction", "  later: Countersignature", "  later: Repair"]
    typist.prompts.clear()
    for argv in (
        ["countersign", MACHINE, "1", "--by", OPERATOR],
        ["correct", MACHINE, "1", "--key", "tension.9", "--text", "3", "--reason", "x", "--by", OPERATOR],
        ["repair", MACHINE, "1", "--check", "glue", "--subject", "x", *done, "--by", OPERATOR],
        ["show", MACHINE, "99"],
    ):
        assert main(["record", *argv]) == 3
    assert not typist.prompts, "what is refused is refused before a secret is asked for"
    assert "The newest is 4." in capsys.readouterr().err
    assert main(["verify"]) == 0


def test_in_a_shop_with_people_every_command_that_saves_a_record_asks_for_a_key(
    shop: Path, held: int, typist: Typist, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """And saves nothing without it: the wrong PIN in place of the right one leaves every chain as it was."""
    sheet = tmp_path / "paper.toml"
    sheet.write_text((bundled() / "sheets" / "ok-two-heads.toml").read_text("utf-8").replace("at = 20", "at = 19", 1))
    run = tmp_path / "run.toml"
    run.write_text(RUN, encoding="utf-8")
    stop = next(one for one in stops(shop) if one["takes_override"])
    about = ["--check", stop["check"], "--subject", stop["subject"]]
    soon = (asked.now() + timedelta(hours=2)).isoformat()
    before = sorted(shop.glob("checklists/*/*/*.toml"))
    strips = ["--reference", "18.02 mm", "--first", "18.03 mm", "--second", "18.02 mm"]
    commands = [
        ["record", "late", MACHINE, str(sheet), "--why", "power was off", "--by", OPERATOR],
        ["record", "override", MACHINE, "1", *about, "--reason", "on order, watched", "--until", soon, "--by", LEAD],
        ["record", "repair", MACHINE, "1", *about, "--done", "x", "--who", "y", "--measured", "4.2", "--by", OPERATOR],
        ["record", "countersign", MACHINE, "1", "--by", LEAD],
        ["record", "correct", MACHINE, "1", "--key", "tension.2", "--text", "3", "--reason", "x", "--by", OPERATOR],
        ["run-record", str(run), "--by", OPERATOR],
        ["train", "mark", OPERATOR, "observed-start", "--by", LEAD],
        ["train", "strips", OPERATOR, *strips],
        ["train", "run", "nothing-wrong-inches", "--as", OPERATOR],
        ["profiles", "approve", "hall-two", "--by", LEAD],
        ["people", "add", "R. Onslow", "--by", LEAD],
        ["people", "renew", OPERATOR, "--by", LEAD],
        ["people", "retire", OPERATOR, "--by", LEAD],
        ["people", "role", OPERATOR, "trainer", "--by", LEAD],
    ]
    for argv in commands:
        typist.prompts.clear()
        typist.secrets = ["no secret of theirs"] * 3
        assert main(argv) == 3, argv
        assert typist.prompts, argv
        for path in Path(os.environ["PREFLIGHT_KEYS"]).glob("*.tries"):
            path.unlink()  # the next one is not to wait
    assert sorted(shop.glob("checklists/*/*/*.toml")) == before
    shutil.rmtree(next(shop.glob("checklists/shop-*")))
    for argv in [*commands, ["people", "found", "A. Brandt"]]:
        typist.prompts.clear()
        capsys.readouterr()
        assert main(argv) == 3, argv
        said = capsys.readouterr().err
        assert "the register of people is gone" in said, argv
        assert "Nothing is founded or signed here" in said, argv
        assert not typist.prompts, argv
    assert sorted(shop.glob("checklists/*/*/*.toml")) == [path for path in before if "shop-" not in str(path)]


def test_a_register_that_is_gone_is_said_by_list_verify_assess_and_founder_and_comes_back(
    shop: Path, held: int, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    register = next(shop.glob("checklists/shop-*"))
    key = "k-" + register.name.removeprefix("shop-")
    assert main(["people", "founder"]) == 0
    assert "Nothing stands against it." in capsys.readouterr().out
    shutil.move(register, tmp_path / "aside")
    for argv, status in (
        (["people", "founder"], 2),
        (["people", "list"], 0),
        (["verify"], 2),
        (["assess", "ok-two-heads", "--shop", str(shop)], None),
        (["audit", "today"], 0),
    ):
        capsys.readouterr()
        assert main(argv) == status or status is None
        said = " ".join(capsys.readouterr().out.split())
        assert "T. Varga (key" in said, argv
        assert "founded this shop, and the register of people is gone. Is the shop folder whole?" in said, argv
    capsys.readouterr()
    main(["people", "list", "--json"])
    assert "the register of people is gone" in json.loads(capsys.readouterr().out)["alarm"]
    shutil.move(tmp_path / "aside", register)
    assert main(["people", "founder"]) == 0
    assert main(["people", "founder", "--accept", key[:20]]) == 3
    assert main(["people", "founder", "--accept", "nobody"]) == 3
    assert main(["people", "founder", "--accept", key]) == 0
    assert main(["verify"]) == 0


def test_a_shop_begun_anew_in_the_same_folder_says_so_and_goes_on_when_that_is_told(
    shop: Path, typist: Typist, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.rmtree(shop)
    capsys.readouterr()
    assert main(["init", str(shop)]) == 0
    assert "This terminal remembers the shop that T. Varga (key k-" in capsys.readouterr().out
    assert main(["people", "found", SECOND]) == 3
    assert "Here lay the shop that T. Varga" in capsys.readouterr().err
    assert main(["people", "founder", "--accept", "nobody"]) == 0
    typist.secrets = [OTHER_PASSPHRASE, OTHER_PASSPHRASE]
    assert main(["people", "found", SECOND]) == 0
    assert main(["people", "founder"]) == 0


def test_a_late_entry_says_why_and_when_it_happened(
    shop: Path, typist: Typist, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = tmp_path / "paper.toml"
    bundled_one = (bundled() / "sheets" / "ok-two-heads.toml").read_text("utf-8")
    sheet.write_text(bundled_one.replace("at = 20", "at = 19", 1), encoding="utf-8")
    late = ["record", "late", MACHINE, str(sheet), "--why", "power was off", "--by", OPERATOR]
    typist.secrets = [PIN]
    assert main(late) == 0
    made = newest(shop, "m")
    assert (made["record"]["kind"], made["late"]["why"]) == ("late", "power was off")
    assert made["late"]["happened"].startswith("19")
    typist.secrets = [PIN]
    sheet.write_text(bundled_one.replace("at = 20", "at = 29", 1), encoding="utf-8")
    assert main(late) == 3
    assert "still to come" in capsys.readouterr().err


def test_a_record_is_shown_with_name_time_and_meaning(
    shop: Path, held: int, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    assert main(["record", "show", MACHINE, str(held)]) == 0
    said = capsys.readouterr().out.splitlines()
    assert said[0].startswith("Start-up held")
    assert said[1].startswith("  D. Marrow, operator, 20")
    assert said[2:4] == ['  "This start-up stopped here."', "  Signed by D. Marrow."]
    assert any("told: A. Brandt" in line for line in said)
    assert main(["record", "show", MACHINE, "99"]) == 3


def test_a_drill_begins_with_a_pin_which_is_asked_again_after_a_slip_of_the_finger(
    shop: Path, typist: Typist, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    drill = ["train", "run", "nothing-wrong-inches", "--as"]
    assert main([*drill, "R. Onslow"]) == 3
    assert "was admitted to sign here" in capsys.readouterr().err  # before a question is asked
    monkeypatch.setattr("sys.stdin", io.StringIO("ok\n" * 20))
    typist.secrets = ["48190376", "48190377", PIN]
    assert main([*drill, OPERATOR]) == 0
    said = capsys.readouterr()
    assert said.err.count("This does not open the key of D. Marrow.") == 2
    assert "PRACTICE kept: record 2 of practice-" in said.out
    assert newest(shop, "practice")["practice"]["trainee"] == OPERATOR
    assert main(["verify"]) == 0
    monkeypatch.setattr("sys.stdin", io.StringIO("ok\n" * 20))
    typist.secrets = ["48190376", "48190377", "48190378"]
    assert main([*drill, OPERATOR]) == 3
    assert "PRACTICE station" not in capsys.readouterr().out  # nothing of it is shown before it is on record
    typist.prompts.clear()
    for by in (OPERATOR, LEAD):  # no trainer; oneself
        assert main(["train", "mark", LEAD, "observed-start", "--by", by]) == 3
    assert not typist.prompts
    assert len(list(shop.glob("checklists/practice-*/*/*.toml"))) == 2
