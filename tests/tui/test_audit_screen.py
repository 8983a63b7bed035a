"""The audit on the screen: today, list, one record, filters and keys, with the index in a folder of the test."""

from __future__ import annotations

from contextlib import asynccontextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, cast

import pytest
from fake_stations import Bench
from textual.widgets import Input, Static

from preflight.audit.history_maker import make_history
from preflight.audit.queries import EVERYTHING, Filter, count, page
from preflight.audit.shop_audit import ShopAudit
from preflight.cli.init import make_shop
from preflight.tui.app import PreflightApp
from preflight.tui.audit_bars import KEYS
from preflight.tui.audit_desk import AuditDesk
from preflight.tui.charset import ASCII, UNICODE, Charset
from preflight.tui.modes.audit import AuditScreen
from preflight.tui.wiring import Pick

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable
    from contextlib import AbstractAsyncContextManager
    from pathlib import Path

    from textual.pilot import Pilot

    from preflight.tui.dialogues.pick import PickScreen

    Opened = tuple[AuditScreen, Pilot[None]]
    OpenAudit = Callable[..., AbstractAsyncContextManager[Opened]]

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("screen") / "shop"
    make_shop(folder, empty=False)
    make_history(folder, NOW, 10, sheets=("ok-two-heads",))
    return folder


@pytest.fixture
def open_audit(shop: Path, tmp_path: Path) -> OpenAudit:
    """`async with open_audit(size) as (screen, pilot)`, with every record read."""

    @asynccontextmanager
    async def opened(size: tuple[int, int] = (80, 24), charset: Charset = UNICODE) -> AsyncIterator[Opened]:
        app = PreflightApp(Bench().wiring(), charset)
        app.animation_level = "none"
        async with app.run_test(size=size) as pilot:
            desk = AuditDesk(shop, lambda: NOW, tmp_path / "cache", zone=UTC)
            await app.push_screen(AuditScreen(desk, charset))
            while not desk.looked:
                await pilot.pause(0.01)
            await settle(pilot)
            yield cast("AuditScreen", app.screen), pilot

    return opened


async def settle(pilot: Pilot[None]) -> None:
    """Wait until no view is on its way; one that was overtaken by a newer one is no failure."""
    await pilot.pause()
    for _ in range(1000):
        if not len(pilot.app.workers):
            break
        await pilot.pause(0.01)
    await pilot.pause()


def text(screen: AuditScreen) -> list[str]:
    return [strip.text for strip in screen._compositor.render_strips(screen.size)]


async def test_it_opens_with_today_and_names_the_machine(open_audit: OpenAudit) -> None:
    async with open_audit() as (screen, _):
        lines = text(screen)
        assert lines[0].startswith(" records: today")
        assert "Hall, two heads" in lines[1]
        assert "hecked today; last start-up" in lines[2]
        assert all(label in lines[-1] for _, _, label in KEYS)


async def test_the_list_shows_every_record_once_over_all_pages(
    open_audit: OpenAudit, shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(page, "__kwdefaults__", {**(page.__kwdefaults__ or {}), "rows": 10})
    async with open_audit() as (screen, pilot):
        await pilot.press("f3")
        await settle(pilot)
        seen: list[tuple[str, int]] = []
        total = screen.page.total
        while True:
            rows = [(one.machine, one.sequence) for one in screen.page.rows]
            if seen[-len(rows) :] == rows:
                break
            seen += rows
            screen.pane.move(len(rows))
            await pilot.press("down")
            await settle(pilot)
        assert len(seen) == len(set(seen)) == total > 20
        screen.pane.move(-len(screen.page.rows))
        await pilot.press("up")
        await settle(pilot)
        assert screen.pane.cursor == len(screen.page.rows) - 1
        assert (screen.page.rows[-1].machine, screen.page.rows[-1].sequence) in seen


async def test_enter_opens_a_record_whole_and_escape_goes_back_to_its_place(open_audit: OpenAudit) -> None:
    async with open_audit() as (screen, pilot):
        await pilot.press("f3")
        await settle(pilot)
        await pilot.press("down", "down", "down", "enter")
        await settle(pilot)
        one = screen.page.rows[3]
        assert f"Record {one.sequence} of Hall, two heads ({one.machine})" in text(screen)[1]
        assert "Seal: Unsigned" in text(screen)[2]
        await pilot.press("escape")
        await settle(pilot)
        assert (screen.view, screen.pane.cursor) == ("list", 3)
        await pilot.press("escape")
        await settle(pilot)
        assert not isinstance(pilot.app.screen, AuditScreen)


async def test_the_list_is_narrowed_by_what_is_picked(open_audit: OpenAudit, shop: Path, tmp_path: Path) -> None:
    async with open_audit() as (screen, pilot):
        await pilot.press("f8")
        await pilot.pause()
        await pilot.press("4")  # kind
        await pilot.pause(0.2)
        picking = cast("PickScreen", pilot.app.screen)
        await pilot.press(str(1 + [one.id for one in picking.picks].index("run")))
        await settle(pilot)
        assert {one.kind for one in screen.page.rows} == {"run"}
        assert "run" in text(screen)[0]
    audit = ShopAudit(shop, tmp_path / "cache")
    assert screen.page.total == audit.ask(lambda c: count(c, Filter(kind="run")))
    audit.close()


async def test_the_list_is_narrowed_to_days_offered_or_typed(open_audit: OpenAudit, shop: Path, tmp_path: Path) -> None:
    async with open_audit() as (screen, pilot):
        await pilot.press("f8", "5")  # days
        await pilot.pause(0.2)
        await pilot.press("3")  # last 7 days
        await settle(pilot)
        assert "last 7 days" in text(screen)[0]
        days = {one.local[:10] for one in screen.page.rows}
        assert days
        assert min(days) >= "2026-11-19"
        await pilot.press("f8", "5")
        await pilot.pause(0.2)
        await pilot.press("6")  # typed
        await pilot.pause(0.2)
        box = pilot.app.screen
        box.query_one("#first", Input).value, box.query_one("#last", Input).value = "2026-11-24", "2026-11-20"
        box.query_one("#last").focus()
        await pilot.press("enter")
        assert "is before the first" in "".join(str(one.render()) for one in box.query(Static))
        box.query_one("#first", Input).value = "2026-11-19"
        await pilot.press("enter")
        await settle(pilot)
        assert "2026-11-19 to 2026-11-20" in text(screen)[0]
        since, until = (int(datetime(2026, 11, day, tzinfo=UTC).timestamp()) for day in (19, 21))
        assert {one.local[:10] for one in screen.page.rows} == {"2026-11-19", "2026-11-20"}
        await pilot.press("f8", "6")  # show everything
        await settle(pilot)
        assert screen.only == EVERYTHING
    audit = ShopAudit(shop, tmp_path / "cache")
    assert audit.ask(lambda c: count(c, Filter(since=since, until=until))) < screen.page.total
    audit.close()


async def test_each_view_of_a_shop_without_records_says_what_it_will_show_and_what_to_do(tmp_path: Path) -> None:
    make_shop(tmp_path / "shop", empty=False)
    app = PreflightApp(Bench().wiring())
    async with app.run_test(size=(60, 24)) as pilot:
        desk = AuditDesk(tmp_path / "shop", lambda: NOW, tmp_path / "cache")
        await app.push_screen(AuditScreen(desk, app.charset))
        screen = cast("AuditScreen", app.screen)
        while not desk.looked:
            await pilot.pause(0.01)
        for key, word in (("f2", "last start-up"), ("f3", "newest first"), ("f4", "Habits"), ("f7", "Readings")):
            await pilot.press(key)
            await settle(pilot)
            said = " ".join(" ".join(text(screen)).split())
            assert "No record is saved yet: make and sign a start-up check." in said
            assert word in said


async def test_patterns_and_trends_are_a_key_away(open_audit: OpenAudit) -> None:
    async with open_audit() as (screen, pilot):
        await pilot.press("f4")
        await settle(pilot)
        assert "Worth a talk" in text(screen)[1]
        await pilot.press("f7")
        await settle(pilot)
        assert "Readings that drift, of all machines" in text(screen)[2]
        assert any("Trends: Hall, two heads" in line for line in text(screen))


async def test_a_narrow_ascii_terminal_shows_time_person_and_verdict(open_audit: OpenAudit) -> None:
    async with open_audit((60, 24), ASCII) as (screen, pilot):
        await pilot.press("f3")
        await settle(pilot)
        one = screen.page.rows[0]
        line = text(screen)[1]
        assert line.isascii()
        assert len(line) <= 60
        assert one.person in line
        assert one.local[:10] in line


async def test_a_long_list_paints_only_what_is_in_view(open_audit: OpenAudit) -> None:
    async with open_audit() as (screen, _):
        screen.pane.show([[(f"line {number}", "text")] for number in range(100_000)], 0)
        assert len(screen.pane.painted()) == screen.pane.size.height
        screen.pane.move(99_999)
        assert "line 99999" in "".join(part for part, _ in screen.pane.painted()[-1])


async def test_records_signed_meanwhile_are_listed_when_it_is_opened_again(open_audit: OpenAudit, shop: Path) -> None:
    async with open_audit() as (screen, pilot):
        await pilot.press("f3")
        await settle(pilot)
        before = screen.page.total
        make_history(shop, NOW + timedelta(days=3), 2, seed=9, sheets=("ok-two-heads",))
        screen.read_records()
        await settle(pilot)
        await pilot.press("f3")
        await settle(pilot)
        assert screen.page.total > before


async def test_the_run_opens_it_with_its_own_key_and_says_when_there_is_nothing() -> None:
    app = PreflightApp(Bench().wiring())
    async with app.run_test() as pilot:
        await settle(pilot)
        await pilot.press("ctrl+r")
        await pilot.pause()
        assert "no saved records" in app.screen.why.notice  # type: ignore[attr-defined]


async def test_the_records_are_read_without_opening_a_machine_and_escape_leaves(shop: Path, tmp_path: Path) -> None:
    opened: list[str] = []
    desk = AuditDesk(shop, lambda: NOW, tmp_path / "cache", zone=UTC)
    wiring = replace(
        Bench().wiring(), machines=lambda: [Pick("a", "Hall A")], open_on=opened.append, audit=lambda: desk
    )
    app = PreflightApp(wiring)
    async with app.run_test() as pilot:
        await pilot.pause(0.2)
        await pilot.press("2")  # the records
        while not desk.looked:
            await pilot.pause(0.01)
        assert isinstance(app.screen, AuditScreen)
        await pilot.press("escape")
        await pilot.pause(0.2)
        assert cast("PickScreen", app.screen).picks[0].id == "a"
        await pilot.press("escape")
        await pilot.pause(0.2)
        assert not app.is_running
    assert opened == []


async def test_trends_of_one_machine_end_with_its_wear_and_patterns_say_that_they_are_of_everything(
    open_audit: OpenAudit,
) -> None:
    async with open_audit() as (screen, pilot):
        await pilot.press("f3")
        await settle(pilot)
        screen.only = Filter(machine=screen.page.rows[0].machine)
        await pilot.press("f7")
        await settle(pilot)
        assert screen._sections[-1].title.startswith("Wear of head 2, ")
        await pilot.press("f4")
        await settle(pilot)
        assert "of everything: narrowing does not count here" in text(screen)[0]


async def test_a_question_that_comes_after_the_records_were_let_go_of_is_no_failure(open_audit: OpenAudit) -> None:
    async with open_audit() as (screen, pilot):
        screen.desk.close()  # as on leaving, with the second half of today still to be asked
        screen.action_today()
        screen.action_list()
        await settle(pilot)
        assert not cast("PreflightApp", pilot.app).failures
        assert "The records are closed" in " ".join(text(screen))
