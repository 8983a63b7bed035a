"""The invented history of a shop: its bundled machines over months, with people, planted habits and planted faults.

Every record is made by the same sheet, `assess`, `document`, `write_body` and `commit` as a real one, unsigned. The
same seed gives the same shop.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from random import Random
from typing import TYPE_CHECKING, Any

from preflight.audit.habits import Gauge, Habits, Hand, Levels
from preflight.audit.invented_runs import Runs
from preflight.checklist.body import write_body
from preflight.checklist.chain import Chain
from preflight.checklist.document import Entry, Held, StartUp, document
from preflight.checklist.heading import Signature
from preflight.checklist.reference import Reference
from preflight.checklist.store import commit, prepare_shop
from preflight.checks.finding import Verdict
from preflight.checks.route import assess
from preflight.sheet import SetupSheet
from preflight.shop.bundled import SAMPLES, bundled
from preflight.shop.files import load
from preflight.shop.folder import shop_at

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from preflight.checklist.store import Saved
    from preflight.shop.view import ShopView

SHEETS = ("ok-one-head", "ok-two-heads", "ok-three-heads")
"""Bundled sheets that the days vary."""
LONGEST_RUN = timedelta(hours=4, minutes=10)
"""From the begin of an invented run to its record, at most."""
TRIES = 4
"""Of mending what was held; a profile that stops even calm readings must not go on for ever."""
MEANING = "I made this check at the machine and read these figures myself."


@dataclass(frozen=True, slots=True)
class Plan:
    """What is planted, so that a test knows what must be found."""

    people: Mapping[str, Habits] = field(
        default_factory=lambda: {
            "D. Marrow": Habits(),
            "L. Brandreth": Habits(),
            "J. Ferrow": Habits(),
            "P. Hask": Habits(rush=0.4, copies=0.5),
            "T. Wold": Habits(rounds=0.8),
            "K. Ostery": Habits(rereads=0.3),
        }
    )
    """Two of them at each machine, in turn."""
    tension_falls: str = "hall-two"
    """Machine whose first head loses tension over the last third: a leak."""
    brake_wears: str = "hall-three"
    """Machine whose first head takes longer to stop over the second half."""
    drum_ground: str = "hall-two"
    """Machine whose first drum is ground halfway."""
    missed: float = 0.15
    """Share of late shifts without a start-up; early ones miss 1 in 100."""
    on_held: float = 0.2
    """Share of held start-ups after which the machine runs all the same; after the others it is mended first."""


@dataclass(frozen=True, slots=True)
class Made:
    """What was written."""

    records: int
    machines: Mapping[str, str]
    """Machine id by profile name."""


def make_history(
    shop: Path,
    until: datetime,
    days: int = 365,
    *,
    seed: int = 7,
    plan: Plan | None = None,
    sheets: Sequence[str] = SHEETS,
    progress: Callable[[int, int], None] = lambda _done, _all: None,
) -> Made:
    """Fill a shop folder that holds the bundled profiles. Weekends are free, two shifts work.

    Raises `PreflightError` when profiles or folder cannot be used.
    """
    plan, rng = plan or Plan(), Random(seed)
    prepare_shop(shop)
    benches = [_Bench(shop, name, place, plan, Random(rng.random())) for place, name in enumerate(sheets)]
    records = 0
    for number in range(days):
        day = until - timedelta(days=days - number)
        if day.weekday() < 5:
            for bench in benches:
                records += bench.work(day, number / days)
        progress(number + 1, days)
    return Made(records, {bench.name: bench.view.machine.id for bench in benches})


def gauges_of(sheet: Mapping[str, Any], view: ShopView) -> list[Gauge]:
    """The instruments that a bundled sheet was filled in from, with their spread."""
    made = []
    metric = view.machine.units == "metric"
    for head, text in sheet["tension"].items():
        if head != "supply":
            value, unit = text.split()
            decimals = 2 if metric else 1
            mean = float(value)
            made.append(Gauge(f"tension.{head}", mean, mean * 0.01, mean * 0.01, decimals, unit))
    value, unit = sheet["extraction"]["readings"][0]["hood_static"].split(" ", 1)
    mean, decimals = float(value), 0 if metric else 2
    made.append(Gauge("extraction.static", mean, mean * 0.02, mean * 0.01, decimals, unit))
    for head, seconds in sheet["running"]["stop"]["seconds"].items():
        made.append(Gauge(f"running.stop.{head}", float(seconds), 0.15, 0.15, 1, "s"))
    for head, text in sheet["running"]["idle_current"].items():
        made.append(Gauge(f"running.current.{head}", float(text.split()[0]), 0.1, 0.1, 1, "A"))
    spread, fine, decimals, unit = (0.08, 0.01, 2, "mm") if metric else (0.004, 0.0003, 4, "in")
    first = sheet["test_board"]["readings"][0]
    before = float(first["before"].split()[0])
    made.append(Gauge("test_board.before", before, spread, 0.0, decimals, unit))
    for row, place in zip(sheet["test_board"]["readings"], ("left", "centre", "right"), strict=True):
        taken = float(row["after"].split()[0]) - before
        made.append(Gauge(f"test_board.{place}", taken, fine, fine, decimals, unit, follows="test_board.before"))
    return made


def varied(sheet: Mapping[str, Any], texts: Mapping[str, str], gauges: Sequence[Gauge]) -> dict[str, Any]:
    """The sheet with today's readings in it."""
    units = {gauge.key: gauge.unit for gauge in gauges}
    made = {key: dict(value) if isinstance(value, dict) else value for key, value in sheet.items()}
    for key, text in texts.items():
        station, *rest = key.split(".")
        if station == "tension":
            made["tension"][rest[0]] = f"{text} {units[key]}"
        elif key == "extraction.static":
            first, *others = sheet["extraction"]["readings"]
            made["extraction"]["readings"] = [{**first, "hood_static": f"{text} {units[key]}"}, *others]
        elif key.startswith("running.stop."):
            stop = made["running"]["stop"]
            made["running"]["stop"] = {**stop, "seconds": {**stop["seconds"], rest[1]: float(text)}}
        elif key.startswith("running.current."):
            made["running"]["idle_current"] = {**made["running"]["idle_current"], rest[1]: f"{text} {units[key]}"}
    unit, before = units["test_board.before"], texts["test_board.before"]
    made["test_board"]["readings"] = [
        {"x": row["x"], "before": f"{before} {unit}", "after": f"{texts[f'test_board.{place}']} {unit}"}
        for row, place in zip(sheet["test_board"]["readings"], ("left", "centre", "right"), strict=True)
    ]
    return made


class _Bench:
    """One machine of the shop and the two people who work at it."""

    def __init__(self, shop: Path, sheet: str, place: int, plan: Plan, rng: Random) -> None:
        self.sheet = load(bundled() / SAMPLES / f"{sheet}.toml", SetupSheet).raw
        self.name = str(self.sheet["machine"])
        self.view = shop_at(shop).view(SetupSheet.model_validate(self.sheet))
        self.gauges = gauges_of(self.sheet, self.view)
        self._chain = Chain(shop, self.view.machine.id)
        self._plan, self._rng = plan, rng
        names = list(plan.people)
        crew = [names[(place + step * 3) % len(names)] for step in (0, 1)]
        self._hands = [Hand(name, Random(rng.random()), plan.people[name]) for name in crew]
        self._levels = Levels(self.gauges, rng)
        self._runs = Runs(self.sheet, self.view, Random(rng.random()))
        self._count = 0
        self._last: Reference | None = None
        self._ground = False

    def work(self, day: datetime, part: float) -> int:
        """One day: start-ups of both shifts and their run records. Returns how many records."""
        before = self._count
        self._levels.next_day()
        levels = dict(self._levels.today)
        if self.name == self._plan.tension_falls and part > 2 / 3:
            levels["tension.1"] = levels.get("tension.1", 0.0) - 18 * (part - 2 / 3)
        if self.name == self._plan.brake_wears and part > 1 / 2:
            levels["running.stop.1"] = levels.get("running.stop.1", 0.0) + 8 * (part - 1 / 2)
        for hour, hand, misses in ((6, self._hands[0], 0.01), (14, self._hands[1], self._plan.missed)):
            at = day.replace(hour=hour, minute=0, second=0, microsecond=0) + timedelta(
                minutes=self._rng.randrange(5, 25)
            )
            ends = at + timedelta(hours=4)
            if self._rng.random() >= misses:
                signed, held = self._start_up(at, hand, levels)
                if held and (mended := self._mended(signed, hand)) is not None:
                    signed = mended
                if held:  # no run begins before its start-up is signed, however long it was
                    ends = max(ends, signed + LONGEST_RUN)
            self._run(ends, hand.person, part)
        return self._count - before

    def _mended(self, signed: datetime, hand: Hand) -> datetime | None:
        """The released start-up some minutes after a held one; None where they run on the held one."""
        if self._rng.random() < self._plan.on_held:
            return None
        calm = dict.fromkeys(self._levels.today, 0.0)
        for _ in range(TRIES):
            at = signed + timedelta(minutes=self._rng.randrange(12, 40))
            signed, held = self._start_up(at, hand, calm, mended=True)
            if not held:
                break
        return signed

    def _start_up(
        self, at: datetime, hand: Hand, levels: Mapping[str, float], *, mended: bool = False
    ) -> tuple[datetime, bool]:
        """Save one; when it was signed, and whether it is held. `mended`: it goes on from the held one before it."""
        texts = hand.readings(self.gauges, levels)
        answers = hand.answers(texts, int(at.timestamp()), self.gauges)
        entries = [
            Entry(
                one.key,
                one.text,
                datetime.fromtimestamp(one.at, UTC),
                tuple((datetime.fromtimestamp(s, UTC), was) for s, was in one.earlier),
            )
            for one in answers
        ]
        raw = varied(self.sheet, texts, self.gauges)
        if not mended and hand.finds_something():
            raw["glue"] = {**raw["glue"], "state": "smeared" if self._rng.random() < 0.6 else "beads standing"}
        signed = datetime.fromtimestamp(answers[-1].at + 20, at.tzinfo)
        raw |= {"at": signed, "operator": hand.person}
        judged = assess(SetupSheet.model_validate(raw), self.view)
        stops = [found.statement for one in judged.checks for found in one.findings if found.verdict is Verdict.STOP]
        held = Held(stops[0], "S. Ollery", "nothing yet") if stops else None
        signature = Signature(hand.person, "operator", MEANING, signed)
        on = self._last if mended else None
        made = StartUp(self._id(), raw, judged, self.view, signature, entries, held, refers=on)
        saved = self._save(made.record_id, write_body(document(made)))
        self._last = Reference(self.view.machine.id, saved.head.sequence, saved.head.sha256)
        return signed, held is not None

    def _run(self, at: datetime, person: str, part: float) -> None:
        grind = not self._ground and part >= 1 / 2 and self.name == self._plan.drum_ground
        self._ground = self._ground or grind
        record = self._id()
        self._save(record, self._runs.body(at, person, record, self._last, grind=grind))

    def _id(self) -> str:
        return f"{self._rng.getrandbits(128):032x}"

    def _save(self, record: str, body: bytes) -> Saved:
        self._count += 1
        return commit(self._chain, lambda _: body, record_id=record, signer=None, token="historymaker")
