"""Invented stations and a small judge, so that the screens are tested without profiles, files or checks."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from preflight.checks.finding import CheckResult, Finding, Verdict
from preflight.quantities import Kind, QuantityError, parse
from preflight.shop.limits import Limit
from preflight.tui.rows import Choice, Row, answers
from preflight.tui.run import Run, Station
from preflight.tui.wiring import Holding, Loaded, Pick, Signing, Wiring

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from preflight.tui.charset import Charset
    from preflight.tui.painting import Picture

NOON = datetime(2026, 3, 4, 7, 12, tzinfo=UTC)
BAND = Limit(
    parse("4.1 bar", Kind.PRESSURE),
    parse("4.8 bar", Kind.PRESSURE),
    parse("4.2 bar", Kind.PRESSURE),
    parse("4.7 bar", Kind.PRESSURE),
)
WARNING = (
    "WARNING",
    "Release stored air before the belt door is opened and lock the machine off; the machine's book comes first.",
)


def _word(key: str, label: str, *choices: str, **more: Any) -> Row:
    return Row(key, label, choices=tuple(Choice(choice) for choice in choices), subjects=(key,), **more)


def _stock(_: Run) -> Sequence[Row]:
    length: dict[str, Any] = {"kind": Kind.LENGTH, "unit": "mm"}
    return (
        Row("stock.job", "job", shown="J-1182 oak doors, 640 parts"),
        Row(
            "stock.thick",
            "thickest piece, mm",
            ("stock", "thickest"),
            subjects=("stock.thick",),
            hint="Caliper at three places; the thickest sets the opening.",
            **length,
        ),
        Row("stock.thin", "thinnest piece, mm", ("stock", "thinnest"), subjects=("stock.thin",), **length),
        Row("stock.short", "shortest piece, mm", ("stock", "shortest"), subjects=("stock.short",), **length),
        _word("stock.wand", "metal detector over it", "nothing found", "found and removed", "found, still in"),
    )


def _glue(_: Run) -> Sequence[Row]:
    return (
        _word(
            "glue.state",
            "squeeze-out",
            "none",
            "scraped",
            "beads standing",
            "smeared",
            hint="Look along the joints with the light behind them.",
        ),
        Row("glue.by", "scraped by", ("glue", "by"), optional=True),
    )


def _tension(_: Run) -> Sequence[Row]:
    gauge: dict[str, Any] = {
        "kind": Kind.PRESSURE,
        "unit": "bar",
        "band": BAND,
        "hint": "Belt on, doors shut, read at the gauge of the head.",
    }
    return (
        Row("tension.1", "head 1 gauge, bar", ("tension", "1"), subjects=("head 1",), earlier="4.4 bar", **gauge),
        Row("tension.2", "head 2 gauge, bar", ("tension", "2"), subjects=("head 2",), earlier="4.4 bar", **gauge),
        _word("tension.leak", "hiss at the cylinders", "none", "some", fact=True),
    )


def _feed(_: Run) -> Sequence[Row]:
    return tuple(
        Row(f"feed.{n}", f"place {n} fed, mm", ("feed", str(n)), Kind.LENGTH, "mm", subjects=(f"feed.{n}",))
        for n in range(1, 16)
    )


def _one(key: str) -> Callable[[Run], Sequence[Row]]:
    return lambda _: (
        _word(f"{key}.look", "looked at, as it should be", "yes", "no"),
        _word(f"{key}.plan", "plan accepted", "confirmed"),
    )


def _board(_: Run, width: int, height: int, charset: Charset) -> Picture:
    if height < 4 or width < 30:
        return ()
    room = min(width, 50)
    bar = [(charset.levels[2 + abs(room // 2 - x) * 5 // (room // 2)], "wood") for x in range(room)]
    return (
        [("board from the front, thickness drawn 200 times", "dim")],
        bar,
        [(charset.horizontal * room, "rule")],
        [(f"{'left':<{room // 2 - 3}}centre{'right':>{room - room // 2 - 3}}", "dim")],
    )


STATIONS = (
    Station("stock", "stock", "The thickest piece sets the opening.", _stock),
    Station("glue", "glue", "Squeeze-out is off before the stock comes here.", _glue),
    Station("belts", "belts", "Each belt fits its head and runs the right way.", _one("belts"), WARNING),
    Station("backing", "backing", "Backing, joint and grit suit each head.", _one("backing")),
    Station("condition", "condition", "Locked off, doors open: what can be seen.", _one("condition"), WARNING),
    Station("tension", "tension", "Gauge inside the band for the belt's backing.", _tension, WARNING, _board),
    Station("extraction", "extraction", "Air enough here for the gates open now.", _one("extraction")),
    Station("removal", "removal", "The cut shared over the heads, within caps.", _one("removal")),
    Station("feed", "feed", "Places over the width, so that the belt wears evenly.", _feed),
    Station(
        "running",
        "running",
        "Stops in time and stays stopped.",
        _one("running"),
        ("DANGER", "Keep the doors shut until everything stands still."),
    ),
    Station("test_board", "test board", "What the machine really makes.", _one("test_board"), None, _board),
)


def _judge(check: str, row: Row, typed: str) -> Finding | None:
    subject = row.subjects[0] if row.subjects else ""
    if not subject:
        return None
    if not typed:
        return Finding(subject, Verdict.OPEN, f"{row.label}: not answered yet.", asks=subject)
    if row.band is not None:
        return _judge_gauge(subject, typed)
    if typed in ("found, still in", "no"):
        return Finding(
            subject,
            Verdict.STOP,
            f"{row.label}: {typed}.",
            "Put it right, then answer again.",
            typed,
            takes_override=False,
        )
    if typed == "smeared":
        actions = ("scraped again and let stand", "put aside for the lead to look at")
        statement = "Glue is smeared over the joints; it covers a wider strip than a bead and cannot be snapped off."
        return Finding(
            subject,
            Verdict.CAUTION,
            statement,
            "Sand a first board of it, look at the belt, then decide.",
            typed,
            actions=actions,
        )
    return Finding(subject, Verdict.OK, f"{row.label}: {typed}.", measured=typed)


def _judge_gauge(subject: str, typed: str) -> Finding | None:
    try:
        read = parse(typed, Kind.PRESSURE, "bar")
    except QuantityError:
        return None
    assert BAND.low is not None
    assert BAND.high is not None
    bounds: dict[str, Any] = {
        "measured": read,
        "low": BAND.low,
        "high": BAND.high,
        "basis": "heads.tension.cloth_x",
        "source": "machine book p. 41",
    }
    if not BAND.low.value <= read.value <= BAND.high.value:
        over = "above 4.8 bar" if read.value > BAND.high.value else "below 4.1 bar"
        return Finding(
            subject,
            Verdict.STOP,
            f"{subject} reads {read.text}, {over}.",
            "Set the regulator to 4.4 bar and read again; too much tension disturbs tracking first, then tears paper.",
            **bounds,
        )
    low, high = BAND.edges()
    if (low is not None and read.value < low) or (high is not None and read.value > high):
        return Finding(
            subject,
            Verdict.CAUTION,
            f"{subject} reads {read.text}, inside 4.1 to 4.8 bar but near its end.",
            "Set it to 4.4 bar.",
            actions=("set to 4.4 bar", "left as it is"),
            **bounds,
        )
    return Finding(subject, Verdict.OK, f"{subject} reads {read.text}, inside 4.1 to 4.8 bar.", **bounds)


@dataclass(frozen=True, slots=True)
class FakeRun(Run):
    """A run judged by the small judge above."""

    def judged(self) -> FakeRun:
        """Findings for every row of every station."""
        unread: dict[str, str] = {}
        results = {}
        for station in self.stations:
            rows = station.rows(self)
            unread.update(answers(rows, self.typed)[1])
            found = [_judge(station.id, row, self.typed.get(row.key, "")) for row in rows if row.asked]
            results[station.id] = CheckResult(station.id, tuple(one for one in found if one is not None))
        return replace(self, results=results, unread=unread)


def all_answered() -> dict[str, str]:
    """Answers with which every station is ok."""
    typed = {}
    for station in STATIONS:
        for row in station.rows(FakeRun(STATIONS)):
            number = "4.4" if row.band else "20"
            typed[row.key] = row.choices[0].label if row.choices else number if row.kind else "bench two"
    return typed


@dataclass
class Bench:
    """A wiring whose callbacks note what they were given."""

    typed: dict[str, str] = field(default_factory=dict)
    load: Callable[[], Loaded] | None = None
    saved: list[tuple[dict[str, str], Any, Any]] = field(default_factory=list)
    signed: list[Signing] = field(default_factory=list)
    held: list[Holding] = field(default_factory=list)

    def loaded(self) -> Loaded:
        """A run with the answers this bench starts with."""
        run = FakeRun(STATIONS).resumed(self.typed, {}, {})
        return Loaded(run, "Fennimore mid-two", "J-1182 oak doors", "Ada Quill")

    def wiring(self) -> Wiring:
        """Everything the app is given."""

        def sign(_: Run, signing: Signing) -> str:
            self.signed.append(signing)
            return "Saved as record 12 of this machine, unsigned: no key yet."

        def hold(_: Run, holding: Holding) -> str:
            self.held.append(holding)
            return "Saved as held record 13 of this machine."

        return Wiring(
            titles=tuple((station.id, station.title) for station in STATIONS),
            load=self.load or self.loaded,
            clock=lambda: NOON,
            save=lambda typed, entered, earlier, _: self.saved.append((dict(typed), dict(entered), dict(earlier))),
            sign=sign,
            hold=hold,
            events=(
                Pick("job", "new job", "Stock, glue, removal, feed and test board."),
                Pick("belt", "belt changed", "The head's belt, backing and tension."),
            ),
            happened=lambda _run, event: replace(self.loaded(), notice=f"Asked again after: {event}."),
            subjects=lambda _: (
                Pick("job", "job", "J-1182 oak doors"),
                Pick("belt 1", "belt on head 1", "P100 X-weight"),
            ),
            picks=lambda _run, subject: (Pick(f"{subject}-a", "card A"), Pick(f"{subject}-b", "card B")),
            picked=lambda _run, _subject, card: replace(self.loaded(), job=card),
            people=lambda: ("Ada Quill", "Bram Ostler"),
            words=lambda: (
                ("taper", "One edge thicker than the other across the width."),
                ("crown", "Centre thicker than the edges."),
            ),
        )
