"""Hostile text in every field of every kind of record, sealed past the product's own checks, and every way out."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import dataclass
from html.parser import HTMLParser
from typing import TYPE_CHECKING, Any

import pytest
from checklist.people_samples import FOUNDER, PeopledShop
from checklist.record_samples import start_up_document
from desk_samples import MORNING, Clock, filled, tokens
from hostile.hostile_samples import UNSEEN, VISIBLE, assert_shown, each_kind, kind_of, put
from tui.test_audit_screen import settle

from preflight.__main__ import main
from preflight.audit.record_view import record_sections
from preflight.audit.report import html_page
from preflight.audit.report import lines as sections_as_lines
from preflight.checklist.body import write_body
from preflight.checklist.body_reader import read_body
from preflight.checklist.chain import Chain, ChainError, numbers_in
from preflight.checklist.heading import Signature, heading
from preflight.checklist.machine_records import record
from preflight.checklist.override import override
from preflight.checklist.record import read_record
from preflight.checklist.register import read_register
from preflight.checklist.register_record import person_table
from preflight.checklist.seal import read_seal, seal
from preflight.checklist.store import StoreError, commit
from preflight.cli.init import make_shop
from preflight.outside_text import unfit_in
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine
from preflight.tui.app import PreflightApp
from preflight.tui.audit_desk import AuditDesk
from preflight.tui.demo_shop import MACHINE, add_history
from preflight.tui.desk import Desk, Terminal
from preflight.tui.desk_door import DeskDoor
from preflight.tui.modes.audit import AuditScreen
from preflight.tui.wiring import Holding

if TYPE_CHECKING:
    from pathlib import Path

HOSTILE = f"{VISIBLE}{UNSEEN}"
SEEN = r"\x1b]0;owned\x07"
"""Of it, as it is to be read."""
MARKER = "MARKER"
START_UPS = ("startup", "held", "late")
BY = ["--by", "D. Marrow"]


@dataclass(frozen=True, slots=True)
class HostileShop:
    """A shop without people, and the chains in which each field of each kind holds hostile text once."""

    root: Path
    chain: Chain
    practice: Chain
    templates: dict[str, dict[str, Any]]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> HostileShop:
    """Real records of every kind, and a copy of each with the text in one of its fields."""
    root = tmp_path_factory.mktemp("hostile") / "shop"
    with pytest.MonkeyPatch.context() as patch:
        for name in ("HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME"):
            patch.setenv(name, str(root.parent / "home"))
        make_shop(root, empty=False)
        clock = Clock()
        add_history(root, clock, tokens("demo"), fed=True)
        machine = shop_at(root).load(Machine, MACHINE).value.id
        _hold(root, clock)
        _add_to_it(root, machine)
    chains = {path.name: Chain(root, path.name) for path in (root / "checklists").iterdir()}
    practice = next(chain for name, chain in chains.items() if name.startswith("practice-"))
    made = HostileShop(root, chains[machine], practice, {})
    for chain in (made.chain, practice):
        for number in numbers_in(chain.folder / "00000", 0):
            document = read_body(read_seal(chain.path(number).read_bytes()).body)
            what = str(document.get("practice", {}).get("what", ""))
            made.templates[f"{document['record']['kind']} {what}".strip()] = _short(document)
    tried: set[tuple[object, ...]] = set()
    for kind, document in made.templates.items():
        chain = practice if kind.startswith("practice") else made.chain
        for place in each_kind(document):
            if kind in START_UPS and kind_of(place) in tried:
                continue  # a start-up, a held and a late one are read alike
            tried |= {kind_of(place)} if kind in START_UPS else set()
            odd = put(document, place, MARKER)
            odd["record"]["id"] = odd["record"]["id"] if place == ("record", "id") else made.chain.head().sha256[:16]
            _append(chain, odd)
    return made


def _short(document: dict[str, Any]) -> dict[str, Any]:
    """The same with one item of each list and little of the limits, which are the profile's tables."""

    def cut(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: cut(item) for key, item in value.items()}
        return [cut(item) for item in value[:1]] if isinstance(value, list) else value

    short: dict[str, Any] = cut(document)
    if "limits" in short:
        short["limits"] = {name: dict(list(table.items())[:3]) for name, table in short["limits"].items()}
    return short


def _hold(root: Path, clock: Clock) -> None:
    desk = Desk(shop_at(root), root, clock, tokens("held"), Terminal("bench", 1), MACHINE)
    run = filled(desk.load().run, tension__1="5.0")
    desk.hold(run, Holding("regulator sticks", "A. Brandt", "nothing yet", "D. Marrow"))
    desk.close()


def _add_to_it(root: Path, machine: str) -> None:
    """An override, a repair, a countersignature, a correction, a late entry, and practice of three kinds."""
    shop = ["--shop", str(root)]
    (stop, *_) = (one for one in _newest(root, machine)["findings"] if one["verdict"] == "stop")
    held = record(root, machine, 3, read_register(root))
    signature = Signature("T. Varga", "lead", "I permit it.", MORNING)
    until = MORNING.replace(hour=18)
    body = override(held, stop["check"], stop["subject"], "scraped by hand", until, "override-000001", signature)
    commit(Chain(root, machine), lambda _: body, record_id="override-000001", signer=None, token="tokentoken")
    about = ["--check", stop["check"], "--subject", stop["subject"]]
    sheet = root / "sheets" / "ok-two-heads.toml"
    late = root / "late.toml"
    late.write_text(re.sub(r"(?m)^at = \d{4}", "at = 2020", sheet.read_text("utf-8")), encoding="utf-8")
    strips = ["--reference", "18.02 mm", "--first", "18.03 mm", "--second", "18.02 mm"]
    for argv in (
        ["record", "repair", MACHINE, "3", *about, "--done", "x", "--who", "y", "--measured", "z", *BY],
        ["record", "countersign", MACHINE, "3", "--remark", "seen", "--role", "lead", "--by", "T. Varga"],
        ["record", "correct", MACHINE, "1", "--key", "tension.1", "--text", "4.1", "--reason", "misread", *BY],
        ["record", "late", MACHINE, str(late), "--why", "power was off", *BY],
        ["train", "strips", "D. Marrow", *strips],
        ["train", "mark", "D. Marrow", "observed-start", "--by", "T. Varga", "--note", "seen"],
    ):
        assert main([*argv, *shop]) in (0, 1), argv


def _newest(root: Path, machine: str) -> dict[str, Any]:
    chain = Chain(root, machine)
    return read_body(read_seal(chain.path(chain.head().sequence).read_bytes()).body)


def _spelled(text: str) -> bytes:
    """A text as it stands between the quotation marks of a record."""
    escapes = {'"': '\\"', "\\": "\\\\", "\b": "\\b", "\n": "\\n", "\f": "\\f", "\r": "\\r"}
    return "".join(
        escapes.get(one) or (f"\\u{ord(one):04x}" if ord(one) < 0x20 or one == "\x7f" else one) for one in text
    ).encode()


def _append(chain: Chain, document: dict[str, Any], text: str = HOSTILE) -> int:
    """The next record of a chain, unsigned, as somebody with an editor and the layout makes it."""
    head = chain.head()
    body = write_body(document).replace(MARKER.encode(), _spelled(text))
    number = head.sequence + 1
    data = seal(body, machine=chain.machine, sequence=number, previous=head.sha256, signer=None)
    chain.path(number).write_bytes(data)
    return number


def said_by(argv: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    capsys.readouterr()
    assert main(argv) in (0, 1, 2, 3), argv
    told = capsys.readouterr()
    assert_shown(told.out + "\n" + told.err)
    if "--json" in argv:
        assert json.loads(told.out) is not None
    if "--csv" in argv or argv[:2] == ["train", "export"]:
        for row in csv.reader(io.StringIO(told.out.replace("\r\n", "\n"))):
            assert not any(cell.startswith(tuple("=+-@\t\r＝＋－＠")) for cell in row), row
    if "--html" in argv:
        assert_page(told.out)
    return told.out + told.err


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.attributes: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}


def assert_page(page: str) -> None:
    """A page of ours alone: nothing in it that runs, loads or leads elsewhere."""
    tags = _Tags()
    tags.feed(page)
    assert not tags.tags & {"script", "img", "a", "iframe", "object", "link", "form", "base"}
    assert not {name for name in tags.attributes if name.startswith("on") or name in ("href", "src")}


def test_every_kind_of_record_is_tried(made: HostileShop) -> None:
    assert set(made.templates) == {
        "startup", "run", "held", "override", "repair", "countersign", "correction", "late",
        "practice strips", "practice mark",
    }  # fmt: skip
    assert made.chain.head().sequence > 150


def test_what_is_read_of_a_record_can_be_seen_whatever_it_holds(made: HostileShop) -> None:
    """And its digest and seal are those of the bytes as they are."""
    hostile = 0
    for chain in (made.chain, made.practice):
        for number in numbers_in(chain.folder / "00000", 0):
            data = chain.path(number).read_bytes()
            found = read_record(data, None, chain.machine, number)
            assert found.sealed is not None
            if found.content is not None:
                assert not list(unfit_in(dict(found.content.document))), number
                hostile += SEEN in str(found.content.document).replace("\\\\", "\\")
            assert_shown(found.statement)
    assert hostile > 60, "most fields are free texts, in which it stands"


def test_each_record_as_lines_and_as_a_page(made: HostileShop, capsys: pytest.CaptureFixture[str]) -> None:
    shop = ["--shop", str(made.root)]
    seen = 0
    for number in range(1, made.chain.head().sequence + 1):
        lines = said_by(["record", "show", MACHINE, str(number), *shop], capsys)
        try:
            sections = record_sections(None, made.root, made.chain.machine, number)
        except ChainError as refused:  # it has not the shape of its kind
            assert_shown(str(refused))
            continue
        assert_shown("\n".join(sections_as_lines(sections)))
        page = html_page("one record", "", sections)
        assert_page(page)
        assert_shown(page)
        seen += SEEN in lines or SEEN in page
    assert seen > 60


def test_every_list_report_and_verification(made: HostileShop, capsys: pytest.CaptureFixture[str]) -> None:
    shop = ["--shop", str(made.root)]
    said = {
        tuple(argv): said_by([*argv, *shop], capsys)
        for argv in (
            ["audit", "list", "--rows", "500"],
            ["audit", "list", "--csv"],
            ["audit", "list", "--json"],
            ["audit", "today"],
            ["audit", "patterns", "--since", "2020-01-01"],
            ["audit", "patterns", "--since", "2020-01-01", "--csv"],
            ["audit", "patterns", "--since", "2020-01-01", "--json"],
            ["audit", "trends", "--since", "2020-01-01"],
            ["audit", "report", "--since", "2020-01-01"],
            ["audit", "report", "--since", "2020-01-01", "--html", "-"],
            ["audit", "show", f"{MACHINE}/30"],
            ["audit", "show", f"{MACHINE}/30", "--html", "-"],
            ["assess", str(made.root / "sheets" / "ok-two-heads.toml")],
            ["assess", str(made.root / "sheets" / "ok-two-heads.toml"), "--json"],
            ["verify"],
            ["verify", "--json"],
            ["people", "list"],
            ["people", "head"],
            ["train", "standing"],
            ["train", "standing", "--json"],
            ["train", "export"],
            ["train", "export", "--json"],
        )
    }
    assert sum(SEEN in text for text in said.values()) >= 4


async def test_the_records_on_the_screen(made: HostileShop, tmp_path: Path) -> None:
    door = DeskDoor(made.root, MACHINE, lambda: MORNING, tokens("app"), "bench", 1)
    app = PreflightApp(door.wiring())
    app.animation_level = "none"
    seen = []
    try:
        async with app.run_test(size=(100, 30)) as pilot:

            def screen_text() -> str:
                return "\n".join(strip.text for strip in app.screen._compositor.render_strips(app.size))

            while "Reading profiles" in screen_text():
                await pilot.pause(0.02)
            seen.append(screen_text())
            desk = AuditDesk(made.root, lambda: MORNING, tmp_path / "cache")
            await app.push_screen(AuditScreen(desk, app.charset))
            while not desk.looked:
                await pilot.pause(0.02)
            for key in ("f2", "f4", "f5", "f3"):
                await pilot.press(key)
                await settle(pilot)
                seen.append(screen_text())
            for _ in range(12):
                await pilot.press("enter")
                await settle(pilot)
                seen.append(screen_text())
                await pilot.press("escape")
                await settle(pilot)
                for _ in range(7):
                    await pilot.press("down")
    finally:
        door.close()
    for one in seen:
        assert_shown(one)
    assert any(SEEN in one for one in seen)
    assert len(set(seen)) > 8


def test_a_lead_who_admits_a_hostile_name_past_the_checks_changes_nothing_that_is_printed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    peopled = PeopledShop.founded(tmp_path / "shop", tmp_path / "keys")
    make_shop(tmp_path / "other", empty=False)
    monkeypatch.setenv("PREFLIGHT_KEYS", str(peopled.keys.path))
    chain = Chain(peopled.shop, read_register(peopled.shop).chain)
    for place in ("name", "role", "public"):
        head = chain.head()
        tables = person_table("enrolment", "R. Onslow", role="operator", public=peopled.signer("R. Onslow").public)
        tables["person"][place] = MARKER
        signature = Signature(FOUNDER, "lead", "I know this person.", peopled.now)
        document = {"record": heading("enrolment", peopled.token(), signature), **tables}
        body = write_body(document).replace(MARKER.encode(), _spelled(HOSTILE))
        data = seal(
            body,
            machine=chain.machine,
            sequence=head.sequence + 1,
            previous=head.sha256,
            signer=peopled.signer(FOUNDER),
        )
        chain.path(head.sequence + 1).write_bytes(data)
    shop = ["--shop", str(peopled.shop)]
    for argv in (
        ["people", "list"],
        ["people", "list", "--json"],
        ["verify"],
        ["people", "head"],
        ["people", "founder"],
    ):
        said_by([*argv, *shop], capsys)
    register = read_register(peopled.shop)
    assert [one.name for one in register.active] == [FOUNDER]
    assert [number for number, _ in register.faults] == [2, 3, 4]


@pytest.mark.parametrize("text", [UNSEEN, "a\nb", "x\u200b", "y\u202e"])
def test_no_record_of_ours_is_saved_with_what_cannot_be_seen(tmp_path: Path, text: str) -> None:
    (tmp_path / "checklists").mkdir()
    signature = Signature("R. Onslow", "operator", "I made this check.", MORNING)
    body = write_body(start_up_document("record-00000001", signature, text))
    chain = Chain(tmp_path, "m-7f3a91c2d04e")
    with pytest.raises(StoreError, match=r"glue\.by holds a character that cannot be seen"):
        commit(chain, lambda _: body, record_id="record-00000001", signer=None, token="tokentoken")
    assert not list(chain.folder.glob("*/*.toml"))
