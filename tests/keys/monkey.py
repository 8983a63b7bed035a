"""A monkey at the keyboard: random keys in bursts through the real app, from drafts in every state.

Nothing of what Enter left standing may be lost, nothing may be released, nothing may fail, and every screen can be
left. Run: python -m tests.keys.monkey [--runs 270] [--pty 30] [--from SEED] [--jobs 2]
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import os
import sys
import tempfile
import time
import traceback
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from multiprocessing import get_context
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).parents[1]))  # the samples are those of the tests

from checklist.people_samples import PIN
from keys import terminal
from keys.keystrokes import KEYS_A_RUN, LOOK, LOOK_LONGER, SHOWN, SIGN_WALK, bursts, character
from keys.ledger import failures, releases
from keys.listening import Heard, Kind, listening
from keys.shops import STATES, Templates
from practice_samples import tokens
from textual.events import Key
from textual.widgets import Input

from preflight.tui.app import PreflightApp
from preflight.tui.charset import ASCII, UNICODE
from preflight.tui.demo_shop import MACHINE
from preflight.tui.desk_door import DeskDoor
from preflight.tui.dialogues.pick import PickScreen
from preflight.tui.key_gate import REST
from preflight.tui.modes.run import RunScreen

if TYPE_CHECKING:
    from keys.keystrokes import Burst
    from keys.shops import MonkeyShop
    from textual.app import App
    from textual.pilot import Pilot
    from textual.screen import Screen

MORNING = datetime(2026, 11, 26, 6, 40, tzinfo=UTC)
SIZES = ((60, 20), (80, 24), (130, 40))
PAUSES = {"short": 0.1, LOOK: 0.08, LOOK_LONGER: 0.27}
RESTS = 0.02
"""Seconds in which nearly nothing is done once all is done."""
STALL = 0.7
"""Seconds in which the app's loop stands still and keys queue up."""
LEAVES = 40
"""Keys with which every screen can be left."""
FOLDERS_OF_THE_USER = ("HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_STATE_HOME", "XDG_CONFIG_HOME")
SECONDS_A_RUN = 400.0
HALF = 0.5
ASKS_MACHINE = 0.15
"""Share of runs in which the terminal does not know its machine."""
NEXT_SHIFT = 0.25
"""Share of the times the app is opened again in which the next shift has begun."""


@dataclass
class Outcome:
    """What one run came to."""

    seed: int
    state: str
    peopled: bool
    size: tuple[int, int]
    secret: str = ""
    """Typed where a secret is asked for on a walk; empty in most runs, where nobody can sign in a shop with people."""
    keys: int = 0
    opened: int = 0
    """Times the app was opened: once more after each time that keys left it, or a kill."""
    releases: int = 0
    """Start-ups released, each by the key that signs."""
    killed: int = 0
    half_typed: int = 0
    """Kills at which an answer was being typed."""
    heard: list[Heard] = field(default_factory=list)
    screens: set[str] = field(default_factory=set)
    """Names of the screens that keys came to."""
    failures: list[str] = field(default_factory=list)
    seconds: float = 0.0

    @property
    def standing(self) -> int:
        """How often Enter left an answer standing."""
        return sum(one.kind is Kind.COMMITTED for one in self.heard)

    def line(self) -> str:
        """One line of the report."""
        people = "people" if self.peopled else "no people"
        said = "; ".join(self.failures) or "held"
        return (
            f"seed {self.seed:>4}  {self.state:<9} {people:<9} {self.size[0]}x{self.size[1]}  "
            f"{self.keys} keys, {self.standing} left standing, {self.seconds:.0f} s: {said}"
        )


def planned(seed: int) -> tuple[Outcome, Random]:
    """The run of that seed before its first key: state, people and size in turn, the rest by chance."""
    state = STATES[seed % len(STATES)]
    peopled = (seed // len(STATES)) % 2 == 1
    secret = PIN if peopled and seed % 3 == 0 else ""
    return Outcome(seed, state, peopled, SIZES[seed % len(SIZES)], secret), Random(seed)


def run(seed: int, folder: Path, templates: Templates, count: int = KEYS_A_RUN) -> Outcome:
    """One run; never raises for what the app does."""
    outcome, chance = planned(seed)
    shop = templates.shop(folder / f"run-{seed}", outcome.state, chance, MORNING, peopled=outcome.peopled)
    return play(outcome, shop, pressed(outcome, chance, count), chance)


def run_at_terminal(seed: int, folder: Path, templates: Templates, count: int = KEYS_A_RUN) -> Outcome:
    """The same at a terminal of its own, on today's date."""
    outcome, chance = planned(seed)
    now = datetime.now().astimezone()
    shop = templates.shop(folder / f"pty-{seed}", outcome.state, chance, now, peopled=outcome.peopled)
    keys = pressed(outcome, chance, count)
    return terminal.run(outcome, keys, chance, shop, folder / f"pty-{seed}.notes")


def pressed(outcome: Outcome, chance: Random, count: int) -> list[Burst]:
    """The keys of a run; from a complete draft half the runs begin with the way to the signature."""
    first = SIGN_WALK if outcome.state == "complete" and chance.random() < HALF else ()
    return list(bursts(chance, count, outcome.secret, first))


def play(outcome: Outcome, shop: MonkeyShop, keys: list[Burst], chance: Random) -> Outcome:
    """Press these bursts in that shop, leave, and look at what is left."""
    began = time.monotonic()
    with listening(outcome.heard.append):
        left = list(keys)
        while left and not outcome.failures:
            try:
                left = asyncio.run(_sitting(outcome, shop, left, chance))
            except Exception as error:  # noqa: BLE001  (whatever the app fails with is what is looked for)
                outcome.failures = outcome.failures or [_in_words(error)]
            if left and chance.random() < NEXT_SHIFT:
                shop.clock.now += timedelta(hours=12)
    outcome.releases = len(releases(shop))
    if not outcome.failures:
        outcome.failures += failures(shop, outcome.heard, secret_known=bool(outcome.secret))
    outcome.seconds = time.monotonic() - began
    return outcome


def _in_words(error: BaseException) -> str:
    frames = traceback.extract_tb(error.__traceback__)
    own = [frame for frame in frames if "/preflight/" in frame.filename] or frames
    places = ", ".join(f"{Path(frame.filename).name}:{frame.lineno}" for frame in (own[-1], frames[-1]))
    return f"{type(error).__name__}: {error} ({places})"


async def _sitting(outcome: Outcome, shop: MonkeyShop, pressed: list[Burst], chance: Random) -> list[Burst]:
    """The app from opening to leaving; the bursts that are left because keys left it early."""
    machine = "" if chance.random() < ASKS_MACHINE else MACHINE
    outcome.opened += 1
    door = DeskDoor(shop.root, machine, shop.clock, tokens(f"a{outcome.opened}"), "bench", 1)
    app = PreflightApp(door.wiring(), chance.choice((UNICODE, ASCII)), rest=chance.choice((0.0, REST)))
    app.animation_level = "none"
    left = list(pressed)
    try:
        async with asyncio.timeout(SECONDS_A_RUN), app.run_test(size=outcome.size) as pilot:
            while left and _open(app):
                burst = left.pop(0)
                await _press(outcome, pilot, burst, shop)
            if _open(app):
                await _leave(outcome, pilot)
    except TimeoutError:
        outcome.failures.append(f"it hung, or was not left, within {SECONDS_A_RUN:.0f} s")
        left = []
    finally:
        door.close()
    outcome.failures += [_in_words(error) for error in app.failures]
    if app.return_code and not app.failures:
        outcome.failures.append(f"the app ended with status {app.return_code}")
    return left


def _open(app: PreflightApp) -> bool:
    return app.is_running and not app._exit and not app.failures


async def _press(outcome: Outcome, pilot: Pilot[None], burst: Burst, shop: MonkeyShop) -> None:
    app = pilot.app
    shop.clock.now += timedelta(seconds=3 * len(burst.keys))
    for key in burst.keys:
        outcome.screens.add(type(app.screen).__name__)
        app.post_message(Key(key, character(key)))
    outcome.keys += len(burst.keys)
    if burst.wait == "stall":
        time.sleep(STALL)
    elif burst.wait == SHOWN:
        await _shown(app)
    elif burst.wait in PAUSES:
        await asyncio.sleep(PAUSES[burst.wait])
    await (_settled() if burst.wait != "none" else asyncio.sleep(0))


async def _shown(app: App[None]) -> None:
    """Until the run is there to type into; what is typed before is dropped."""
    run = app.screen_stack[0]
    while isinstance(run, RunScreen) and run.loaded is None:
        await asyncio.sleep(RESTS)


async def _settled() -> None:
    """Until this process rests, at most a second: a pilot's own pause waits for widgets that may be gone by then."""
    until = time.monotonic() + 1.0
    while time.monotonic() < until:
        worked = time.process_time()
        await asyncio.sleep(RESTS)
        if time.process_time() - worked < RESTS / 4:
            return


async def _leave(outcome: Outcome, pilot: Pilot[None]) -> None:
    """Esc out of whatever is open, then leave the run."""
    app = pilot.app
    await _settled()
    for _ in range(LEAVES):
        if not _open(pilot.app):  # type: ignore[arg-type]
            return
        for key in _keys_out(app.screen):
            app.post_message(Key(key, character(key)))
            await asyncio.sleep(0.27)  # a key struck again sooner counts once
            await _settled()
    if _open(app):  # type: ignore[arg-type]
        outcome.failures.append(f"{type(app.screen).__name__} was not left with {LEAVES} times Esc or Ctrl+Q")


def _keys_out(screen: Screen[object]) -> tuple[str, ...]:
    """What leaves that screen: a question about leaving by its answer, all else by Esc."""
    if isinstance(screen, RunScreen):
        return "ctrl+q", "1"
    return ("2",) if isinstance(screen, PickScreen) and screen.question.startswith("Leave this drill?") else ("escape",)


def _one(seed: int, count: int, at_terminal: bool) -> Outcome:
    """One run in a process of its own, with folders of its own; what the app prints goes nowhere."""
    Input.cursor_blink = False  # type: ignore[assignment]
    with tempfile.TemporaryDirectory(prefix="monkey-") as name, Path(os.devnull).open("w") as nowhere:
        folder = Path(name)
        os.environ.update({variable: str(folder / variable) for variable in FOLDERS_OF_THE_USER})
        with contextlib.redirect_stderr(nowhere), contextlib.redirect_stdout(nowhere):
            templates = Templates(folder / "templates")
            return (run_at_terminal if at_terminal else run)(seed, folder, templates, count)


def summary(outcomes: list[Outcome]) -> str:
    """The figures of all runs."""
    screens = Counter(name for one in outcomes for name in one.screens)
    counts = {
        "runs": len(outcomes),
        "keys": sum(one.keys for one in outcomes),
        "answers left standing by Enter": sum(one.standing for one in outcomes),
        "forms confirmed": sum(heard.kind is Kind.CONFIRMED for one in outcomes for heard in one.heard),
        "releases": sum(one.releases for one in outcomes),
        "times opened": sum(one.opened for one in outcomes),
        "kills": sum(one.killed for one in outcomes),
        "of them in the middle of an answer": sum(one.half_typed for one in outcomes),
        "runs failed": sum(bool(one.failures) for one in outcomes),
    }
    failed = [str(one.seed) for one in outcomes if one.failures]
    lines = [", ".join(f"{count} {what}" for what, count in counts.items())]
    lines.append("screens: " + ", ".join(f"{name} {count}" for name, count in screens.most_common()))
    return "\n".join([*lines, *(["seeds that failed: " + " ".join(failed)] if failed else [])])


def main() -> int:
    """Run as many as asked for, print seeds and failures; status 1 when anything failed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=270)
    parser.add_argument("--pty", type=int, default=30, help="runs at a real terminal, after those")
    parser.add_argument("--from", dest="first", type=int, default=0, metavar="SEED")
    parser.add_argument("--keys", type=int, default=KEYS_A_RUN)
    parser.add_argument("--jobs", type=int, default=1)
    asked = parser.parse_args()
    seeds = range(asked.first, asked.first + asked.runs + asked.pty)
    at_terminal = [seed >= asked.first + asked.runs for seed in seeds]
    outcomes: list[Outcome] = []
    with ProcessPoolExecutor(asked.jobs, max_tasks_per_child=1, mp_context=get_context("spawn")) as pool:
        for outcome in pool.map(_one, seeds, [asked.keys] * len(seeds), at_terminal):
            outcomes.append(outcome)
            print(outcome.line(), flush=True)
    print(f"\n{summary(outcomes)}")
    return int(any(one.failures for one in outcomes))


if __name__ == "__main__":
    sys.exit(main())
