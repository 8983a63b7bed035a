"""What the practice view shows of a sitting: stations with the findings of those judged, and the reason of one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Verdict
from preflight.training.drill import worst_first
from preflight.training.explain import words_for
from preflight.tui.full_reason import full_reason
from preflight.tui.run import Run
from preflight.tui.stations.all_stations import STATIONS

if TYPE_CHECKING:
    from preflight.training.sitting import Sitting
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line


def run_of(sitting: Sitting) -> Run:
    """What the list and the pictures show: the stations asked, with findings of those judged and of no other."""
    scene = sitting.drill.scene
    stations = tuple(station for station in STATIONS if station.id in sitting.drill.asked)
    results = {check: sitting.result(check) for check in sitting.judged}
    return Run(stations, view=scene.view, history=scene.history, sheet=scene.sheet, results=results)


def reason_lines(sitting: Sitting, check: str, charset: Charset) -> list[Line]:
    """What was planted at a judged station, the words in its findings, and all of them with their workings."""
    lines: list[Line] = [
        [("planted  ", "dim"), (f"{fault.cause}. First: {fault.remedy}. {fault.why}", "strong")]
        for fault in sitting.drill.faults_at(check)
    ]
    wrong = [one for one in worst_first(sitting.result(check).findings) if one.verdict is not Verdict.OK]
    lines += [[("word  ", "dim"), (f"{word}: {meaning}", "text")] for word, meaning in words_for(sitting.drill, wrong)]
    return [*lines, [("", "text")], *full_reason(run_of(sitting), check, charset)]
