"""Faults from the cut to the test board: removal, feed, running, thickness. Common practice, no source, throughout."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Verdict
from preflight.quantities import Kind, parse
from preflight.training.drill import Expected
from preflight.training.fault import Fault, Planting
from preflight.training.faults_bench import any_head, length, on_sheet
from preflight.training.setup import Change, moved_board

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from random import Random

    from preflight.training.setup import Setup

OPEN, CAUTION, STOP = Verdict.OPEN, Verdict.CAUTION, Verdict.STOP

TOO_MUCH: Mapping[str, Mapping[str, str]] = {
    "ok-two-heads": {"1": "0.44 mm", "2": "0.08 mm"},
    "ok-one-head": {"1": "0.0085 in"},
    "ok-three-heads": {"1": "0.57 mm", "2": "0.09 mm", "3": "0.04 mm"},
}
"""Shares whose first is more than that head takes in one pass, while the others erase the one before."""
LOADS_THE_MOTOR = ("ok-two-heads", "ok-three-heads")
"""Where such a cut also loads the first motor over 70 %: the small machine runs narrow stock."""
IDLE: Mapping[str, Mapping[str, str]] = {
    "ok-two-heads": {"1": "0.25 mm", "2": "0.01 mm"},
    "ok-three-heads": {"1": "0.25 mm", "2": "0.01 mm", "3": "0.04 mm"},
}
"""Shares with which a head takes less than the scratches of the one before."""


def _shares(setup: Setup, shares: Mapping[str, str], found: tuple[Expected, ...]) -> Planting:
    """Shares for one pass over stock that is just as much thicker than its target, and a test board that lost it."""
    total = sum(parse(text, Kind.LENGTH).value for text in shares.values())
    target = parse(setup.job["target_thickness"], Kind.LENGTH).value
    thick = target + total * int(setup.job.get("faces", 2))
    lot = [length(setup, thick - below) for below in (0.0, 20e-6, 10e-6, 25e-6, 10e-6)]
    board = setup.sheet["test_board"]["readings"]
    read = [{"x": one["x"], "before": length(setup, thick), "after": length(setup, thick - total)} for one in board]
    changes = (
        Change("sheet", "removal.share", dict(shares)),
        Change("sheet", "removal.passes", 1),
        Change("sheet", "stock.thickness", lot),
        Change("sheet", "test_board.readings", read),
    )
    return Planting(changes, found)


def _too_much(setup: Setup, _random: Random) -> Planting:
    shares = TOO_MUCH[setup.base]
    found = [Expected("removal", "head 1", STOP)]
    if setup.base in LOADS_THE_MOTOR:
        found.append(Expected("removal", "head 1 motor", CAUTION))
    return _shares(setup, shares, tuple(found))


def _lazy_head(setup: Setup, _random: Random) -> Planting | None:
    shares = IDLE.get(setup.base)
    return _shares(setup, shares, (Expected("removal", "head 2 need", STOP),)) if shares else None


def _middle(setup: Setup, _random: Random) -> Planting | None:
    parts = setup.job["parts"]
    places = setup.machine.conveyor.places
    if places is None or len(parts) != 1:
        return None
    boards = [{"part": 1, "place": places.count // 2}]
    return Planting((Change("sheet", "feed.boards", boards),), (Expected("feed", "evenness", CAUTION),))


def _fence(setup: Setup, _random: Random) -> Planting | None:
    parts = setup.job["parts"]
    boards = [{"part": at, "place": 0} for at in range(1, len(parts) + 1)]
    return Planting((Change("sheet", "feed.boards", boards),), (Expected("feed", "evenness", CAUTION),))


def _slow_stop(low: float, high: float, verdict: Verdict) -> Callable[[Setup, Random], Planting | None]:
    """A head that stops at that share of its limit."""

    def plant(setup: Setup, random: Random) -> Planting | None:
        _, head = any_head(setup, random)
        limit = head.run_down
        if limit is None or limit.ceiling is None:
            return None
        text = f"{limit.ceiling * random.uniform(low, high):.1f} s"
        change = Change("sheet", f"running.stop.seconds.{head.id}", text)
        return Planting((change,), (Expected("running", f"head {head.id} stop", verdict),))

    return plant


def _untimed(setup: Setup, random: Random) -> Planting:
    _, head = any_head(setup, random)
    change = Change("sheet", f"running.stop.seconds.{head.id}", None)
    return Planting((change,), (Expected("running", f"head {head.id} stop", OPEN),))


def _tracking(answer: str | None, verdict: Verdict) -> Callable[[Setup, Random], Planting]:
    def plant(setup: Setup, random: Random) -> Planting:
        _, head = any_head(setup, random)
        change = Change("sheet", f"running.tracking.{head.id}", answer)
        return Planting((change,), (Expected("running", f"head {head.id} tracking", verdict),))

    return plant


def _current(setup: Setup, random: Random) -> Planting | None:
    _, head = any_head(setup, random)
    if head.motor is None or head.motor.idle_current is None:
        return None
    text = f"{head.motor.idle_current.value * random.uniform(1.4, 1.8):.1f} A"
    change = Change("sheet", f"running.idle_current.{head.id}", text)
    return Planting((change,), (Expected("running", f"head {head.id} idle current", CAUTION),))


def _feed_off(setup: Setup, random: Random) -> Planting:
    speed = parse(setup.sheet["removal"]["feed_speed"], Kind.FEED_SPEED).value
    share = random.uniform(0.78, 0.86)
    timed = {"distance": "2 m", "seconds": f"{2 / (speed * share):.1f} s"}
    change = Change("sheet", "running.feed_timed", timed)
    return Planting((change,), (Expected("running", "feed by stopwatch", STOP),))


def _shape(subject: str, ends: tuple[float, float, float], verdict: Verdict) -> Callable[[Setup, Random], Planting]:
    """The board's three places moved by these shares of the subject's limit; the mean stays."""

    def plant(setup: Setup, random: Random) -> Planting:
        limit = getattr(setup.machine.test_board, subject)
        assert limit is not None
        assert limit.ceiling is not None  # bundled profiles name both
        way = random.choice((1, -1)) * (random.uniform(1.25, 1.6) if verdict is STOP else random.uniform(0.8, 0.85))
        changes = []
        for at, (reading, share) in enumerate(zip(setup.sheet["test_board"]["readings"], ends, strict=True), 1):
            other = moved_board(reading, way * share * limit.ceiling, setup.machine.units)
            changes.append(Change("sheet", f"test_board.readings.{at}", other))
        return Planting(tuple(changes), (Expected("test_board", subject, verdict),))

    return plant


def _seen(words: tuple[str, ...], verdict: Verdict) -> Callable[[Setup, Random], Planting]:
    def plant(_setup: Setup, random: Random) -> Planting:
        change = Change("sheet", "test_board.raking_light", random.choice(words))
        return Planting((change,), (Expected("test_board", "raking light", verdict),))

    return plant


def _two_places(setup: Setup, _random: Random) -> Planting:
    readings = setup.sheet["test_board"]["readings"]
    change = Change("sheet", "test_board.readings", [readings[0], readings[-1]])
    return Planting((change,), (Expected("test_board", "thickness", OPEN),))


FAULTS = (
    Fault("too-much", "removal", "cut", 2, "the first head takes too much at once", "take it in more passes",
          "The belt glazes or tears and the motor trips on the first boards.", _too_much,
          touches=("stock", "test_board", "extraction")),
    Fault("lazy-head", "removal", "cut", 2, "a head takes too little to erase", "give it more, or a middle grit",
          "Coarse scratches stay under the finish and show with the stain.", _lazy_head,
          touches=("stock", "test_board", "extraction")),
    Fault("all-middle", "feed", "feed places", 2, "every board goes down the middle", "spread them over the width",
          "The belt is thrown away with its edges unused, and the drum goes hollow.", _middle),
    Fault("all-fence", "feed", "feed places", 2, "every board goes along the fence", "spread them over the width",
          "One side of belt and drum wears alone: boards come out tapered.", _fence),
    Fault("slow-stop", "running", "safety device", 2, "a head takes too long to stop", "tag out, call maintenance",
          "Hands go in because it looks still.", _slow_stop(1.06, 1.5, STOP), safety=True),
    Fault("slowing-brake", "running", "safety device", 3, "a stop time that has crept up", "time again, book the brake",
          "A brake goes bad slowly.", _slow_stop(0.92, 0.98, CAUTION), safety=True),
    Fault("stop-untimed", "running", "record", 3, "a head was not timed", "time every head in one stop",
          "The one that was not timed is the one that does not stop.", _untimed, safety=True),
    Fault("restarts", "running", "safety device", 1, "the machine starts by itself", "tag out, call maintenance",
          "It starts when power comes back and hands are inside.",
          on_sheet("running", "restart", STOP, running__restarts_by_itself=True), safety=True),
    Fault("limit-bar", "running", "safety device", 1, "the limit bar does not stop it", "tag out, call maintenance",
          "Nothing keeps a thick board out.",
          on_sheet("running", "limit bar", STOP, running__limit_bar="does not stop the feed"), safety=True),
    Fault("interlock", "running", "safety device", 1, "it starts with a door open", "tag out, call maintenance",
          "The door is all there is between a hand and the belt.",
          on_sheet("running", "interlock", STOP, running__interlock="starts with a door open"), safety=True),
    Fault("tracking-uneven", "running", "tracking", 2, "the belt swings unevenly", "tension first, then the eye",
          "Turning the knob at every swing makes it worse.", _tracking("uneven", CAUTION)),
    Fault("tracking-frame", "running", "tracking", 1, "the belt touches the frame", "stop the head, look at tension",
          "It frays, folds and runs off.", _tracking("touches the frame", STOP)),
    Fault("no-swing", "running", "tracking", 1, "the belt does not swing", "stop the head, clear the swing",
          "Every grain cuts in one line: raised lines on every board.", _tracking("no oscillation", STOP)),
    Fault("idle-current", "running", "motor", 2, "a motor idles too high", "look at brake and bearings",
          "A brake rubs or a bearing goes; it is hot before it is heard.", _current),
    Fault("feed-off", "running", "measuring", 2, "the feed is not what the dial says", "have the dial seen to",
          "Cut, load and marks were all worked out with the other speed.", _feed_off),
    Fault("taper", "test_board", "board", 2, "one side comes out thicker", "swap the strips, then adjust",
          "Parts do not fit, and over joints it adds up.", _shape("taper", (0.5, 0.0, -0.5), STOP)),
    Fault("taper-small", "test_board", "board", 3, "a taper that asks for care", "swap the strips, watch it",
          "It grows.", _shape("taper", (0.5, 0.0, -0.5), CAUTION)),
    Fault("crown", "test_board", "board", 2, "middle and edges differ", "look at feed places and tension",
          "A hollow drum or a bent roller: it does not go away.", _shape("crown", (-1 / 3, 2 / 3, -1 / 3), STOP)),
    Fault("surface", "test_board", "board", 1, "the surface shows a mark", "find the head that leaves it",
          "Found now it is one board; found after the run it is the lot.",
          _seen(("burn line", "sunken straight scratch", "deep stray scratches", "raised straight line"), STOP)),
    Fault("surface-faint", "test_board", "board", 2, "a faint mark in raking light", "make the first test for it",
          "Under a finish it shows.", _seen(("faint dull streak", "fuzzy grain", "dust streak"), CAUTION)),
    Fault("light-forgotten", "test_board", "record", 3, "nobody held a lamp to the board", "hold a lamp low along it",
          "From above every board looks good.",
          on_sheet("test_board", "raking light", OPEN, test_board__raking_light="")),
    Fault("two-places", "test_board", "measuring", 3, "the middle was not measured", "measure left, centre and right",
          "Two edges show no crown.", _two_places),
)  # fmt: skip
