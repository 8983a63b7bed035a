"""Station 10: one timed stop of all heads, no restart by itself, limit bar, interlock, tracking, idle current."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import Basis, basis, judged, missing, said
from preflight.checks.running.repairs import clearing
from preflight.checks.running.running_timed import feed_timed, swings
from preflight.checks.running.stop_rotation import rotation, station_of_the_day
from preflight.checks.running.weekly import asked_today
from preflight.checks.slips import impossible, slip
from preflight.checks.tension.check import SUSPICION
from preflight.quantities import Kind, computed
from preflight.shop import defaults
from preflight.shop.limits import Limit

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from preflight.history import History
    from preflight.quantities import Quantity
    from preflight.sheet import SetupSheet
    from preflight.shop.machine import Head, Machine
    from preflight.shop.view import ShopView

__all__ = ["check", "head_of_the_day", "run_down_limit", "station_of_the_day"]

TAG_OUT: Final = "Tag the machine out and call maintenance. It clears by a repair entry and a new test."
TRACKING_WORDS: Final = {
    "touches the frame": "touches the frame",
    "no oscillation": "does not oscillate",
}


def head_of_the_day(heads: Sequence[Head], day: date) -> str:
    """Of the heads that turn, the one whose idle current is read that day, when not all are; empty without any."""
    return heads[day.toordinal() % len(heads)].id if heads else ""


def run_down_limit(head: Head) -> Limit | None:
    """Longest time from stop to still: the head's own, else that of a brake; None for an unbraked head without one."""
    return head.run_down or (defaults.RUN_DOWN if head.brake == "braked" else None)


def check(sheet: SetupSheet, shop: ShopView, history: History | None) -> list[Finding]:
    """Judge the safety devices first, then tracking and idle current; what is due weekly when it is."""
    asked = asked_today(sheet, shop.machine, history)
    run = _Run(sheet, shop.machine, station_of_the_day(shop.machine, sheet.at.date(), history))
    devices = [*run.stop(), run.restart(), run.limit_bar(), *run.interlock("interlock" in asked)]
    return [
        *clearing("running", sheet, history, devices),
        *devices,
        *rotation(sheet, shop.machine, history),
        *(run.tracking(head) for head in run.turning),
        *swings(sheet, shop.machine, "swing" in asked),
        *run.idle_currents(),
        *feed_timed(sheet, shop.machine, "feed by stopwatch" in asked),
    ]


@dataclass(frozen=True, slots=True)
class _Run:
    sheet: SetupSheet
    machine: Machine
    today: str | None
    """Stop station whose turn it is."""

    @property
    def turning(self) -> list[Head]:
        """Heads that run today: a lifted head counts as switched off until something is read on it."""
        readings = self.sheet.running
        read = {*readings.tracking, *readings.idle_current, *(readings.stop.seconds if readings.stop else ())}
        return [
            head
            for head in self.machine.heads
            if head.id in read or not ((on := self.sheet.belt_on(head.id)) and on.lifted)
        ]

    def stop(self) -> list[Finding]:
        """The station tried, and the seconds of every head that runs."""
        test, today = self.sheet.running.stop, self.today
        where = f" at {today}, today's station," if today else ""
        if test is None:
            return [
                missing(
                    "stop",
                    "The timed stop is not done.",
                    f"Run all heads, press the stop{where} and time each head from stop to still.",
                    "running.stop",
                )
            ]
        return [self.station(test.station, today), *(f for head in self.turning for f in self.run_down(head))]

    def station(self, tried: str, today: str | None) -> Finding:
        known = self.machine.emergency_stops
        statement = f"The stop at {tried} was tried."
        if tried == today:
            statement = f"The stop at {tried} was tried, today's station."
        elif today is not None:
            statement = f"The stop at {tried} was tried; today's in the rotation is {today}."
        unknown = bool(known) and tried not in known
        return Finding(
            "stop station",
            Verdict.CAUTION if unknown else Verdict.OK,
            f"{statement[:-1]}, and {tried} is not in the profile." if unknown else statement,
            "Try a station of the list, or have the lead add this one." if unknown else "",
            measured=tried,
            allowed=known,
            basis="emergency_stops",
            source=self.machine.source,
            actions=("a listed station tried too", "lead told to add it") if unknown else (),
        )

    def run_down(self, head: Head) -> list[Finding]:
        test = self.sheet.running.stop
        reading = test.seconds.get(head.id) if test is not None else None
        subject, asks = f"head {head.id} stop", f"running.stop.seconds.{head.id}"
        unbraked = head.brake == "none"
        shut = " Unbraked: doors stay shut until it is still." if unbraked else ""
        if reading is None:
            return [
                missing(
                    subject,
                    f"The stop of head {head.id} is not timed.{shut}",
                    "Time it from pressing stop to still; all heads in one stop.",
                    asks,
                )
            ]
        if reading.value < defaults.RUN_DOWN_LEAST.value:
            return [
                impossible(
                    subject,
                    reading,
                    f"Stop of head {head.id} in {reading.text} cannot be: a drum takes {defaults.RUN_DOWN_LEAST} and "
                    f"more to stand.{shut}",
                    "Stop all heads again, time it from pressing stop to still, and type what the watch shows.",
                    asks,
                    "stop time",
                )
            ]
        field = f"{self.machine.head_key(head.id)}.run_down"
        by = basis(run_down_limit(head), field, self.machine.source)
        if by is None:
            return [
                missing(
                    subject,
                    f"Head {head.id} stops in {reading.text}; it has no brake and no limit in the profile.{shut}",
                    f"Lead: put the limit of the machine book into the profile ({field}).",
                    field,
                    basis=field,
                )
            ]
        what = f"Stop of head {head.id}"
        finding = judged(
            subject,
            what,
            reading,
            by,
            self.machine.units,
            too_low="Time it again: that is faster than the machine book gives.",
            too_high=TAG_OUT,
            near="Time it again; if it stays, have the brake looked at before it gets worse.",
            takes_override=False,
            actions=("timed again, the same", "maintenance told", "brake check booked"),
        )
        # no slip is asked about here: a brake that fails can take ten times as long
        return [replace(finding, statement=finding.statement + shut)]

    def restart(self) -> Finding:
        answer = self.sheet.running.restarts_by_itself
        if answer is None:
            return missing(
                "restart",
                "Restart by itself is not tried.",
                "Reset the stop, as after a power cut: nothing may start until start is pressed.",
                "running.restarts_by_itself",
            )
        said_so = "starts by itself" if answer else "stays still"
        return self.device(
            "restart",
            not answer,
            f"After the stop is reset the machine {said_so}.",
            said_so,
            ("stays still",),
            f"It must not. {TAG_OUT}",
        )

    def limit_bar(self) -> Finding:
        answer = self.sheet.running.limit_bar
        if answer is None:
            return missing(
                "limit bar",
                "The limit bar is not tried.",
                "Push it with a stick or a test piece, never a hand: the feed must stop.",
                "running.limit_bar",
            )
        right = "stops the feed"
        return self.device("limit bar", answer == right, f"The limit bar {answer}.", answer, (right,), TAG_OUT)

    def interlock(self, asked: bool) -> list[Finding]:
        answer = self.sheet.running.interlock
        if answer is None and asked:
            return [
                missing(
                    "interlock",
                    "The door interlock is due to be tried (weekly).",
                    "Heads at rest, open a door, press start: it must be refused. Never open a door on running heads.",
                    "running.interlock",
                )
            ]
        if answer is None:
            return []
        right = "start refused"
        words = "the start is refused" if answer == right else "the machine starts"
        statement = f"With a door open and the heads at rest {words}."
        return [self.device("interlock", answer == right, statement, answer, (right,), TAG_OUT)]

    def device(
        self, subject: str, good: bool, statement: str, answer: str, allowed: tuple[str, ...], remedy: str
    ) -> Finding:
        """A safety device that works or does not; nobody may go on past it."""
        return Finding(
            subject,
            Verdict.OK if good else Verdict.STOP,
            statement,
            "" if good else remedy,
            measured=answer,
            allowed=allowed,
            basis="safety device",
            source=defaults.PRACTICE,
            takes_override=False,
        )

    def tracking(self, head: Head) -> Finding:
        subject = f"head {head.id} tracking"
        answer = self.sheet.running.tracking.get(head.id)
        if answer is None:
            return missing(
                subject,
                f"Tracking of head {head.id} is not looked at.",
                "Watch ten swings, door shut: both ways, about evenly, off the frame?",
                f"running.tracking.{head.id}",
            )
        order = f"In this order: {SUSPICION}. Then 1/8 turn of the knob and ten swings."
        verdict = {"even": Verdict.OK, "uneven": Verdict.CAUTION}.get(answer, Verdict.STOP)
        statement = f"The belt on head {head.id} swings evenly."
        remedy = ""
        if verdict is Verdict.CAUTION:
            statement = f"The belt on head {head.id} swings unevenly."
            remedy = order
        elif verdict is Verdict.STOP:
            statement = f"The belt on head {head.id} {TRACKING_WORDS[answer]}."
            remedy = f"Stop the head. {order}"
        return Finding(
            subject,
            verdict,
            statement,
            remedy,
            measured=answer,
            allowed=("even",),
            basis="tracking look",
            source=defaults.PRACTICE,
            actions=("tension set into its band", "eye wiped", "less feed or cut", "knob 1/8 turn")
            if verdict is Verdict.CAUTION
            else (),
        )

    def idle_currents(self) -> list[Finding]:
        """Every head that was read against its baseline; at least the head of the day is asked."""
        readings = self.sheet.running.idle_current
        found = [f for head in self.machine.heads if head.id in readings for f in self.idle(head, readings[head.id])]
        if found or not self.turning:
            return found
        today = head_of_the_day(self.turning, self.sheet.at.date())
        return [
            missing(
                "idle current",
                "No idle current is read.",
                f"Read the current of head {today}, today's head, running without stock.",
                f"running.idle_current.{today}",
            )
        ]

    def idle(self, head: Head, reading: Quantity) -> list[Finding]:
        subject, field = f"head {head.id} idle current", f"{self.machine.head_key(head.id)}.motor.idle_current"
        base = head.motor.idle_current if head.motor else None
        units = self.machine.units
        if base is None:
            return [
                Finding(
                    subject,
                    Verdict.OK,
                    f"Head {head.id} idles at {said(reading, units)}; the profile has no baseline to compare.",
                    measured=reading,
                    basis=field,
                )
            ]
        mark = computed(base.value * defaults.IDLE_CURRENT_RISE, Kind.CURRENT, units)
        by = Basis(
            Limit(caution_high=mark),
            field,
            f"{self.machine.source}; {defaults.IDLE_CURRENT_RISE - 1:.0%} over it: common practice",
        )
        over = f"{reading.value / base.value - 1:+.0%}" if base.value > 0 else "no share"
        finding = judged(
            subject,
            f"Head {head.id} idles at",
            reading,
            by,
            units,
            near="Heads off: does the brake rub, is a bearing hot, the drive belt tight, the belt on the frame?",
            workings=f"change = today / baseline = {reading.text} / {base.text} = {over}",
            actions=("brake and bearings looked at", "read again warm", "maintenance told"),
        )
        if finding.verdict is Verdict.OK:
            return [
                replace(finding, statement=f"Head {head.id} idles at {said(reading, units)}, baseline {base.text}.")
            ]
        statement = f"Head {head.id} idles at {said(reading, units)}, {over} against its baseline of {base.text}."
        plate = head.motor.plate_current if head.motor is not None else None
        possible = Limit(high=plate) if plate is not None else None
        asks = f"running.idle_current.{head.id}"
        asked = slip(subject, "Idle current", reading, Limit(high=mark), units, asks, possible=possible)
        found = [replace(finding, statement=statement)]
        return [*found, asked] if asked is not None else found
