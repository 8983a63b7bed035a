"""Prints how long a toggled gate takes to new verdicts, advice and picture, at 12 and 40 gates, and in the app.

Every toggle meets a set of open gates not seen before, so nothing comes from a cache. The aim is under 50 ms at
40 gates. Run: python -m tests.bench.bench_toggle
"""

from __future__ import annotations

import asyncio
from dataclasses import replace
from datetime import UTC, datetime
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING, cast

import builders
from generated_hall import OWN, hall
from textual.events import Key

from preflight.shop.view import ShopView
from preflight.tui.app import PreflightApp
from preflight.tui.charset import UNICODE
from preflight.tui.run import Run
from preflight.tui.stations import TITLES
from preflight.tui.stations.all_stations import STATIONS
from preflight.tui.stations.extraction import picture
from preflight.tui.widgets.entry_lines import table_lines
from preflight.tui.wiring import Loaded, Wiring

if TYPE_CHECKING:
    from preflight.tui.modes.run import RunScreen

AT = datetime(2026, 11, 25, 6, 52, tzinfo=UTC)
TOGGLES = 20


def start(gates: int, opened: int) -> Run:
    """A run at a hall in which so many gates stand open, the sander's own among them."""
    flow = {"flow": {"low": "1600 m3/h"}}
    shop = replace(builders.view({"sander_gates": dict.fromkeys(OWN, flow)}), extraction=hall(gates))
    assert isinstance(shop, ShopView)
    typed = {f"extraction.gate.gate-{n}": "open" if n < opened else "shut" for n in range(gates)}
    base = {"schema": 1, "machine": "bay-two", "at": AT}
    return replace(Run(STATIONS, view=shop, base=base), typed=typed).judged()


def report(name: str, seconds: list[float]) -> None:
    """One line."""
    print(f"  {name:<44} median {median(seconds) * 1e3:6.1f} ms, worst {max(seconds) * 1e3:6.1f} ms")


def computed(gates: int) -> None:
    """All that is computed between the key and the paint, without a screen."""
    for words, opened in (("nearly all open, advice to shut", gates), ("few open, advice to open", 3)):
        run = start(gates, opened)
        judging, drawing = [], []
        for n in range(2, min(2 + TOGGLES, gates)):
            key = f"extraction.gate.gate-{n}"
            began = perf_counter()
            run = run.typing(key, "shut" if run.typed[key] == "open" else "open", AT)
            judged = perf_counter()
            table_lines(run, "extraction", key, 60, 40, UNICODE, picture=False)
            picture(run, 60, 40, UNICODE)
            judging.append(judged - began)
            drawing.append(perf_counter() - judged)
        report(f"{gates} gates, {words}: judged", judging)
        report(f"{gates} gates, {words}: drawn", drawing)


async def in_app(gates: int) -> None:
    """From the key to the painted table, 140 by 40."""
    wiring = Wiring(
        TITLES,
        load=lambda: Loaded(start(gates, gates), station="extraction"),
        clock=lambda: AT,
        save=lambda *_: None,
        sign=lambda *_: "",
        hold=lambda *_: "",
    )
    app = PreflightApp(wiring, UNICODE)
    app.animation_level = "none"
    seconds = []
    async with app.run_test(size=(140, 40)) as pilot:
        await pilot.pause()
        await app.workers.wait_for_complete()
        await pilot.pause()
        screen = cast("RunScreen", app.screen)
        for n in range(2, min(2 + TOGGLES, gates)):
            screen.go("extraction", f"extraction.gate.gate-{n}")
            await pilot.pause()
            before, began = screen.run, perf_counter()
            app.post_message(Key("s", "s"))
            while screen.run is before or screen.entries._lines is None:
                await asyncio.sleep(0)
            seconds.append(perf_counter() - began)
    report(f"{gates} gates, in the app: key to paint", seconds)


def main() -> None:
    """Print the figures; never fails on them."""
    print("toggle to repaint, no set of gates seen before")
    for gates in (12, 40):
        computed(gates)
        asyncio.run(in_app(gates))


if __name__ == "__main__":
    main()
