"""What is timed weekly with the machine running: the swing of each belt, and the feed by stopwatch."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import missing
from preflight.checks.removal.removal_facts import feed_speed_of
from preflight.engine.tracking import swing_ratio
from preflight.quantities import Kind, computed, show
from preflight.shop import defaults

if TYPE_CHECKING:
    from preflight.sheet import SetupSheet, Swing
    from preflight.shop.machine import Head, Machine

WIPE_FIRST: Final = (
    "Wipe eye and nozzle, tension into its band, drain the air; then 1/8 turn of the knob and ten swings."
)


def swings(sheet: SetupSheet, machine: Machine, asked: bool) -> list[Finding]:
    """Time out against time back for every head that was timed; open for a head whose week is over."""
    found = []
    for head in machine.heads:
        on = sheet.belt_on(head.id)
        swing = sheet.running.swing.get(head.id)
        if swing is not None:
            found.append(_swing(head, swing))
        elif asked and head.oscillation_stroke is not None and not (on is not None and on.lifted):
            found.append(
                missing(
                    f"head {head.id} swing",
                    f"The swing of the belt on head {head.id} is due to be timed (weekly).",
                    "Time five swings out and five back, door shut; type the mean of each.",
                    f"running.swing.{head.id}",
                )
            )
    return found


def _swing(head: Head, swing: Swing) -> Finding:
    subject = f"head {head.id} swing"
    if swing.out.value <= 0 or swing.back.value <= 0:
        what = f"The swing of head {head.id} is timed as nothing."
        return missing(subject, what, "Time five swings out and five back.", f"running.swing.{head.id}")
    ratio = swing_ratio(swing.out.value, swing.back.value)
    (good_low, good_high), (stop_low, stop_high) = defaults.SWING_RATIO, defaults.SWING_RATIO_STOP
    verdict = Verdict.OK
    if not good_low <= ratio <= good_high:
        verdict = Verdict.CAUTION if stop_low <= ratio <= stop_high else Verdict.STOP
    stops = verdict is Verdict.STOP
    span = f"{good_low:g} to {good_high:g}" if verdict is not Verdict.STOP else f"{stop_low:g} to {stop_high:g}"
    how = "evenly" if verdict is Verdict.OK else "unevenly"
    where = f"inside {span}" if verdict is Verdict.OK else f"outside {span}"
    times = f"out {swing.out.text}, back {swing.back.text}"
    return Finding(
        subject,
        verdict,
        f"Belt on head {head.id} swings {how}: {times}; {ratio:.2f} is {where}.",
        "" if verdict is Verdict.OK else f"{'Stop the head. ' if stops else ''}{WIPE_FIRST}",
        measured=f"{ratio:.2f}",
        allowed=(f"{good_low:g} to {good_high:g}",),
        basis="swing ratio",
        source=defaults.PRACTICE,
        workings=f"swing ratio = time out / time back = {swing.out.text} / {swing.back.text} = {ratio:.2f}",
        actions=("eye wiped", "tension set into its band", "knob 1/8 turn") if verdict is Verdict.CAUTION else (),
    )


def feed_timed(sheet: SetupSheet, machine: Machine, asked: bool) -> list[Finding]:
    """The feed by stopwatch against the feed set; open when its week is over."""
    timed, units = sheet.running.feed_timed, machine.units
    if timed is None:
        return (
            [
                missing(
                    "feed by stopwatch",
                    "The feed is due to be timed (weekly): the dial alone proves nothing.",
                    "Chalk mark on the conveyor, a taped length beside it: time the mark, belts off the wood.",
                    "running.feed_timed",
                )
            ]
            if asked
            else []
        )
    if timed.seconds.value <= 0 or timed.distance.value <= 0:
        what = "The feed is timed as nothing."
        return [missing("feed by stopwatch", what, "Time the chalk mark again.", "running.feed_timed")]
    real = timed.distance.value / timed.seconds.value
    wanted = feed_speed_of(sheet, machine)
    off = real / wanted - 1
    verdict = Verdict.OK if round(abs(off), 9) <= defaults.FEED_OFF else Verdict.CAUTION
    if round(abs(off), 9) > defaults.FEED_OFF_STOP:
        verdict = Verdict.STOP
    allowed = defaults.FEED_OFF_STOP if verdict is Verdict.STOP else defaults.FEED_OFF
    where = "inside" if verdict is Verdict.OK else "outside"
    measured = computed(real, Kind.FEED_SPEED, units)
    return [
        Finding(
            "feed by stopwatch",
            verdict,
            f"The feed runs at {measured.text}, {off:+.1%} against the {show(wanted, Kind.FEED_SPEED, units)} set: "
            f"{where} ±{allowed:.0%}.",
            ""
            if verdict is Verdict.OK
            else "Time it again. It stays: have drive, chain and dial seen to; till then plan with the timed feed.",
            measured=measured,
            basis="feed speed",
            source=defaults.PRACTICE,
            workings=f"feed speed = distance / time = {timed.distance.text} / {timed.seconds.text} = {measured.text}",
            actions=("timed again, the same", "planned with the timed feed", "lead told")
            if verdict is Verdict.CAUTION
            else (),
        )
    ]
