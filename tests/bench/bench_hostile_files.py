"""Every command and the start of the app on a shop folder with one malformed or odd file in it.

Forty-eight malformed variants of each kind of file, and a link, pipe, folder, device, socket and a gigabyte of zeros in
each place; a fresh copy of the shop for each. A command may end as on the sound shop, or name the file; it may not fail
by itself, hang, take more than 5 s or 500 MB, or touch what a link leads to.

For each place every command is run with a pipe, with nothing and with an empty file there. Those that say the same each
time as on the sound shop do not look at it, and are not run again with the other ways.

Run: python -m tests.bench.bench_hostile_files [malformed|odd] [PLACE ...]; misses as they come, figures at the end.
"""

from __future__ import annotations

import itertools
import os
import re
import shutil
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).parents[1]))  # the samples are those of the tests

from checklist.people_samples import FOUNDER, PeopledShop
from hostile.commands import MEGABYTES, SECONDS, Ended, commands, import_everything, open_app, run
from hostile.malformed import NAMES, malformed
from hostile.odd import ODD, plant, prepare, remove, touched, write

from preflight.checklist.key_folder import KeyFolder
from preflight.cli.init import make_shop
from preflight.tui.demo_shop import add_history

if TYPE_CHECKING:
    from collections.abc import Iterator

HOST = os.uname().nodename
OPENED = (b"job card",)
FAILED = ("Traceback", "own failure", "MemoryError", "RecursionError")
ESCAPES = re.compile(r"\x1b\[[0-9;?<>=]*[a-zA-Z]|\x1b[()][A-Z0-9]|\x1b[=>]|\s+")
CASE = re.compile(r"case-[0-9]+")
FIRST = ("pipe", "nothing", "empty")
"""Ways that tell which commands look at a place."""
NUMBERS = re.compile(r"0{2,}([0-9]+)\.toml")


@dataclass(frozen=True, slots=True)
class Template:
    """A shop to be copied, and what each command says on it."""

    folder: Path
    places: dict[str, Path]
    """Names below the shop folder, by what lies there."""
    sound: dict[str, Ended] = field(default_factory=dict)


def now() -> datetime:
    return datetime.now().astimezone()


def template(folder: Path, *, peopled: bool) -> Template:
    """The demo shop with yesterday's start-up and run, a draft of today, its files for training and audit."""
    shop = folder / "shop"
    folder.mkdir(parents=True)
    make_shop(shop, empty=False)
    counter = itertools.count()
    add_history(shop, now, lambda: f"grid-{next(counter):08d}", fed=True)
    machine = next(path.name for path in (shop / "checklists").iterdir() if path.name.startswith("m-"))
    sheet = (shop / "sheets" / "ok-two-heads.toml").read_text("utf-8")
    (shop / "sheets" / "run.toml").write_text(f'{sheet}\n[run]\nhours = "2.4 h"\n', "utf-8")
    (shop / "training.toml").write_text("schema = 1\npassed = 10\nsurprise_days = 0\n", "utf-8")
    (shop / "audit.toml").write_text("[pace]\nshare = 0.5\n", "utf-8")
    (shop / "drafts" / f"{HOST}.machine").write_text("hall-two", "utf-8")
    _draft(shop)
    places = {
        "machine profile": Path("machines", "hall-two.toml"),
        "extraction profile": Path("extraction", "hall-duct.toml"),
        "job card": Path("jobs", "ash-stair-treads.toml"),
        "belt card": Path("belts", "H-204.toml"),
        "sheet": Path("sheets", "ok-two-heads.toml"),
        "run sheet": Path("sheets", "run.toml"),
        "training.toml": Path("training.toml"),
        "audit.toml": Path("audit.toml"),
        "draft": Path("drafts", f"{machine}.json"),
        "safe copy": Path("drafts", f".{machine}.safe.json"),
        "draft lock": Path("drafts", f".{machine}.lock"),
        "machine note": Path("drafts", f"{HOST}.machine"),
        "newest record": Path("checklists", machine, "00000", "00000002.toml"),
        "first record": Path("checklists", machine, "00000", "00000001.toml"),
        "next record": Path("checklists", machine, "00000", "00000003.toml"),
        "chain lock": Path("checklists", machine, ".lock"),
        "folder of a thousand": Path("checklists", machine, "00000"),
        "next thousand": Path("checklists", machine, "00001"),
        "folder of a chain": Path("checklists", machine),
        "folder of records": Path("checklists"),
        "folder of machines": Path("machines"),
        "folder of ducts": Path("extraction"),
        "folder of jobs": Path("jobs"),
        "folder of belts": Path("belts"),
        "folder of sheets": Path("sheets"),
        "folder of drafts": Path("drafts"),
        ".gitattributes": Path(".gitattributes"),
        "another machine": Path("machines", "annex-one.toml"),
        "another belt": Path("belts", "strange.toml"),
        "another chain": Path("checklists", "m-000000000000"),
        "something else": Path("note.toml"),
    }
    if peopled:
        people = PeopledShop(shop, KeyFolder(folder / "keys"), now() - timedelta(hours=5))
        founder = people.person(FOUNDER, "lead")
        people.keys.keep(founder)
        people.book.found(founder, people.signer(FOUNDER))
        people.admit("R. Onslow", "operator", keep=True)
        register = next(path.name for path in (shop / "checklists").iterdir() if path.name.startswith("shop-"))
        key = next((folder / "keys").glob("k-*.toml")).name
        places |= {
            "register record": Path("checklists", register, "00000", "00000002.toml"),
            "founder's record": Path("checklists", register, "00000", "00000001.toml"),
            "folder of the register": Path("checklists", register),
            "key file": Path("..", "keys", key),
        }
    return Template(folder, places)


def _draft(shop: Path) -> None:
    from preflight.shop.folder import shop_at
    from preflight.tui.desk import Desk, Terminal

    counter = itertools.count()
    desk = Desk(shop_at(shop), shop, now, lambda: f"draft-{next(counter):08d}", Terminal(HOST, 1), "hall-two")
    run_now = desk.load().run
    typed = {**run_now.typed, "stock.thickest": "27.7", "tension.1": "4.2"}
    desk.keep(typed, dict.fromkeys(typed, now()), {})
    desk.close()


class Grid:
    """The runs so far: how many, the slowest, the largest, the misses."""

    def __init__(self, work: Path) -> None:
        self._work = work
        self._runs = 0
        self._slowest = self._largest = (0.0, "")
        self._statuses: Counter[int] = Counter()
        self.misses: list[str] = []
        self._begun = self._left = 0

    def measure(self, made: Template) -> None:
        """What each command does on the sound shop: a fault there is the grid's own."""
        for name, ended in self._all(made, None, lambda _: None, None):
            made.sound[name] = ended
            if ended.over or any(word in ended.text for word in FAILED):
                raise SystemExit(f"{name} on the sound shop: {ended}")

    def case(
        self, made: Template, place: str, what: str, data: bytes | None = None, only: set[str] | None = None
    ) -> set[str]:
        """One file malformed (`data`) or something odd in its place, and every command on that shop, or `only` some.

        Returns those that say something else than on the sound shop.
        """
        path, other = made.places[place], set[str]()

        def spoil(shop: Path) -> None:
            if what == "nothing":
                remove(shop / path)
            elif data is None:
                plant(shop / path, what)
            else:
                remove(shop / path)
                write(shop / path, data)

        for name, ended in self._all(made, place, spoil, only):
            self._runs += 1
            if CASE.sub("", ended.text) != CASE.sub("", made.sound[name].text):
                other.add(name)
            self._statuses[ended.status] += 1
            said = f"{place} = {what}, {name}"
            self._slowest = max(self._slowest, (ended.cpu, said))
            self._largest = max(self._largest, (ended.megabytes, said))
            if why := _miss(ended, made.sound[name], path):
                self.misses.append(f"{said}: {why}")
                print(f"MISS {self.misses[-1]}", flush=True)
        return other

    def _all(
        self, made: Template, place: str | None, spoil: object, only: set[str] | None
    ) -> Iterator[tuple[str, Ended]]:
        self._begun += 1
        folder = self._work / f"case-{self._begun}"
        shutil.copytree(made.folder, folder, symlinks=True)
        shop = folder / "shop"
        prepare(shop)
        home = folder / "home"
        os.environ.update(
            HOME=str(home),
            XDG_DATA_HOME=str(home / "data"),
            XDG_CACHE_HOME=str(home / "cache"),
            XDG_STATE_HOME=str(home / "state"),
            PREFLIGHT_KEYS=str(folder / "keys"),
        )
        assert callable(spoil)
        spoil(shop)
        yield "app", open_app(shop, markers=OPENED)
        for name, argv in commands(shop).items():
            if only is None or name in only:
                yield name, run(argv)
            else:
                self._left += 1
        if touched(shop):
            self.misses.append(f"{place}: what a link led to was changed")
            print(f"MISS {self.misses[-1]}", flush=True)
        shutil.rmtree(folder)

    def report(self) -> None:
        """The figures."""
        print(f"{self._begun} shops, {self._runs} runs; by exit status: {dict(sorted(self._statuses.items()))}")
        print(f"{self._left} not run: commands that do not look at the place")
        print(f"most time of its own: {self._slowest[0]:.2f} s ({self._slowest[1]}); bound {SECONDS:.0f} s")
        print(f"most memory: {self._largest[0]:.0f} MB ({self._largest[1]}); bound {MEGABYTES} MB")
        print(f"misses: {len(self.misses)}")


def _miss(ended: Ended, sound: Ended, path: Path) -> str:
    """Why a run is a miss; empty when it is none."""
    if ended.over:
        return ended.over
    failed = next((word for word in FAILED if word in ended.text), "")
    if failed or ended.status not in (0, 1, 2, 3):
        return f"status {ended.status}, {failed or 'no documented one'}: {ended.text[-300:]!r}"
    if ended.status == sound.status or _named(path, ended.text):
        return ""
    return f"status {ended.status} instead of {sound.status}, and {path} is not named: {ended.text[-300:]!r}"


def _named(path: Path, text: str) -> bool:
    """Whether the file is named: by its name or stem, a record by its number, a folder by its name."""
    flat = ESCAPES.sub("", text)
    words = [path.name, path.stem, *(part for part in path.parts if part != "..")]
    if number := NUMBERS.fullmatch(path.name):
        words += [f"record{number[1]}", f"Record{number[1]}", f"number{number[1]}", f"/{number[1]}"]
    return any(ESCAPES.sub("", word) in flat for word in words if len(word) > 3)


def main() -> None:
    """Spoil, run, count."""
    wanted = sys.argv[1:]
    kinds = [word for word in wanted if word in ("malformed", "odd")] or ["malformed", "odd"]
    names = [word for word in wanted if word not in ("malformed", "odd")]
    import_everything()
    with tempfile.TemporaryDirectory(prefix="preflight-grid-") as folder:
        os.environ.pop("PREFLIGHT_SHOP", None)
        os.environ["PREFLIGHT_KEYS"] = str(Path(folder, "no-keys"))
        grid = Grid(Path(folder, "work"))
        for peopled in (False, True):
            made = template(Path(folder, f"template-{peopled}"), peopled=peopled)
            grid.measure(made)
            for place, path in made.places.items():
                own = place in ("register record", "founder's record", "folder of the register", "key file")
                if (names and place not in names) or own is not peopled:
                    continue
                source = made.folder / "shop" / path
                whole = source.is_file() and path.suffix in (".toml", ".json")
                look = grid.case(made, place, "pipe") | grid.case(made, place, "nothing")
                look |= grid.case(made, place, "empty", b"") if whole else set()
                if "malformed" in kinds and whole:
                    data = source.read_bytes()
                    for what in NAMES:
                        if what not in FIRST:
                            spoilt = malformed(what, data, as_json=path.suffix == ".json")
                            grid.case(made, place, what, spoilt, look)
                if "odd" in kinds:
                    for what in ODD:
                        if what not in FIRST and not (what == "folder" and source.is_dir()):  # an ordinary one
                            grid.case(made, place, what, None, look)
                print(f"{place}: done, {len(grid.misses)} misses so far", flush=True)
        grid.report()
    sys.exit(1 if grid.misses else 0)


if __name__ == "__main__":
    main()
