"""Shop folders for the monkey: with people and without, and a draft of the day in every state."""

from __future__ import annotations

import hashlib
import shutil
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from checklist.people_samples import FOUNDER, PIN, PeopledShop
from desk_samples import Clock, tokens

from preflight.checklist.key_folder import KeyFolder
from preflight.checklist.secret import Secret
from preflight.cli.init import make_shop
from preflight.shop.folder import shop_at
from preflight.tui.demo_shop import MACHINE, MEANING, NAME, YESTERDAY, add_history
from preflight.tui.desk import Desk, Terminal
from preflight.tui.wiring import NO_SECRET, Holding, Signing

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path
    from random import Random

    from preflight.tui.run import Run

STATES = ("empty", "half", "complete", "cautions", "stopped", "held", "released", "yesterday")
PEOPLE = "peopled"
OPERATOR = NAME
CAUTION = {"glue.state": "smeared", "extraction.bin": "72", "running.current.1": "14.5"}
STOP = {"tension.1": "5.1", "stock.wand": "found, still in", "running.stop.2": "13.0", "extraction.spark": "fault"}
SHUT = "shut"
PROFILES = ("machines/hall-two", "extraction/hall-duct")


@dataclass(frozen=True, slots=True)
class MonkeyShop:
    """One shop folder, made for one run."""

    root: Path
    clock: Clock
    peopled: bool
    state: str
    keys: Path
    records_before: frozenset[str] = field(default_factory=frozenset)


def _secret(peopled: bool) -> Secret:
    return Secret(PIN) if peopled else NO_SECRET


class Templates:
    """The shops of a process, made once each and copied for every run."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._made: dict[bool, Path] = {}

    def shop(self, into: Path, state: str, chance: Random, now: datetime, *, peopled: bool) -> MonkeyShop:
        """A shop with yesterday's start-up and run, and a draft of today in that state."""
        template = self._made.get(peopled) or self._make(peopled, now)
        shutil.copytree(template, into)
        clock = Clock()
        clock.now = now
        shop = MonkeyShop(into / "shop", clock, peopled, state, into / "keys")
        _draft(shop, chance)
        return MonkeyShop(shop.root, clock, peopled, state, shop.keys, frozenset(records(shop.root)))

    def _make(self, peopled: bool, now: datetime) -> Path:
        folder = self._folder / (PEOPLE if peopled else "unnamed")
        folder.mkdir(parents=True)
        shop = folder / "shop"
        make_shop(shop, empty=False)
        clock = Clock()
        clock.now = now
        add_history(shop, clock, tokens("demo"), fed=True)
        if peopled:
            _found(shop, folder / "keys", now - timedelta(hours=5))
        self._made[peopled] = folder
        return folder


def _found(shop: Path, keys: Path, at: datetime) -> None:
    """A lead and an operator, and the profiles approved, once the records before them are there."""
    people = PeopledShop(shop, KeyFolder(keys), at)
    founder = people.person(FOUNDER, "lead")
    people.keys.keep(founder)
    people.book.found(founder, people.signer(FOUNDER))
    people.admit(OPERATOR, "operator", keep=True)
    for profile in PROFILES:
        people.approve(profile, hashlib.sha256((shop / f"{profile}.toml").read_bytes()).hexdigest())


def records(root: Path) -> list[str]:
    """Every record of every chain, by its path."""
    return sorted(str(path.relative_to(root)) for path in root.glob("checklists/*/*/*.toml"))


def desk_of(shop: MonkeyShop, word: str = "monkey", machine: str = MACHINE) -> Desk:
    """A desk at the shop's terminal."""
    keys = KeyFolder(shop.keys) if shop.peopled else None
    return Desk(shop_at(shop.root), shop.root, shop.clock, tokens(word), Terminal("bench", 1), machine, keys=keys)


def _draft(shop: MonkeyShop, chance: Random) -> None:
    """Put the draft of that state there, by the desk's own ways."""
    if shop.state == "empty":
        return
    now = shop.clock.now
    if shop.state == "yesterday":
        shop.clock.now = now - timedelta(hours=20)
    desk = desk_of(shop, "draft")
    try:
        run = desk.load().run
        run = _answered(run, answers(shop.state, chance), shop.clock.now)
        desk.keep(run.typed, run.entered, run.earlier)
        if shop.state == "held":
            desk.hold(run, Holding("tension of head 1", "the lead", "air looked at", OPERATOR, _secret(shop.peopled)))
        elif shop.state == "released":
            assert run.releasable, "the sample answers are released"
            desk.sign(run, Signing(OPERATOR, MEANING, _secret(shop.peopled)))
    finally:
        desk.close()
        shop.clock.now = now


def answers(state: str, chance: Random) -> Mapping[str, str]:
    """What stands in a draft of that state, by row key."""
    full = dict(YESTERDAY)
    if state in ("half", "yesterday"):
        return {key: text for key, text in full.items() if chance.random() < 0.5}
    if state == "cautions":
        return full | {key: CAUTION[key] for key in chance.sample(list(CAUTION), 2)}
    if state in ("stopped", "held"):
        return full | {key: STOP[key] for key in chance.sample(list(STOP), 2)}
    return full


def _answered(run: Run, texts: Mapping[str, str], at: datetime) -> Run:
    """The run with these answers typed, and every other gate shut."""
    gates = [row.key for station in run.stations for row in station.rows(run) if row.key.startswith("extraction.gate.")]
    shut = {key: SHUT for key in gates if key not in texts and texts.get("extraction.static")}
    typed = {**run.typed, **shut, **texts}
    return run.resumed(typed, dict.fromkeys(typed, at), run.earlier)
