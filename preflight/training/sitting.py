"""One practice run while it goes on: stations judged one by one, each answer final before anything of it is shown."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from preflight.checks.finding import Verdict
from preflight.training.explain import help_lines
from preflight.training.score import DrillMark, mark, score

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preflight.checks.finding import CheckResult
    from preflight.checks.route import Assessment
    from preflight.training.drill import Drill
    from preflight.training.score import Judgement, StationMark


@dataclass(frozen=True, slots=True)
class Sitting:
    """A drill with the judgements given so far."""

    drill: Drill
    level: int
    answer: Assessment
    judged: Mapping[str, Judgement] = field(default_factory=dict)
    surprise: bool = False
    """Offered after a start-up rather than asked for."""

    @property
    def left(self) -> tuple[str, ...]:
        """Stations still to be judged, in working order."""
        return tuple(check for check in self.drill.asked if check not in self.judged)

    @property
    def done(self) -> bool:
        """Whether every station asked was judged."""
        return not self.left

    def judging(self, judgement: Judgement) -> Sitting:
        """The sitting after one more judgement. ValueError for a station not asked, or judged before."""
        if judgement.check not in self.left:
            raise ValueError(f"{judgement.check} is not to be judged now")
        return replace(self, judged={**self.judged, judgement.check: judgement})

    def result(self, check: str) -> CheckResult:
        """The findings of a station."""
        return next(result for result in self.answer.checks if result.check == check)

    def shown(self, check: str) -> CheckResult | None:
        """The findings of a station that may be seen: those of one that was judged."""
        return self.result(check) if check in self.judged else None

    def helps(self, check: str) -> list[str]:
        """The help of this level at a station that was not judged yet."""
        return help_lines(self.answer, check, self.level, self.drill.scene.view.machine.units)

    def mark(self, check: str) -> StationMark:
        """How the judgement of a station turned out. KeyError when it was not judged."""
        return mark(self.drill, self.result(check).verdict, self.judged[check])

    @property
    def marked(self) -> DrillMark:
        """The whole drill; of stations not judged the faults are missed."""
        return score(self.drill, self.answer, self.judged.values())


def begin(drill: Drill, level: int, *, surprise: bool = False) -> Sitting:
    """A new sitting; ValueError for a level that is not 1, 2 or 3."""
    if level not in (1, 2, 3):
        raise ValueError(f"a level is one of 1, 2, 3, not {level}")
    return Sitting(drill, level, drill.answer(), surprise=surprise)


def told(mark: StationMark) -> str:
    """How one judgement turned out, in a sentence."""
    said = f"You said {mark.said.word}, it is {mark.truth.word}: {mark.outcome.value}."
    if mark.missed and mark.safety:
        said += " A safety fault: this weighs most."
    if mark.truth is not Verdict.OK and mark.cause is not None:
        right = {True: "right", False: "not right"}
        said += f" Cause {right[mark.cause]}, remedy {right[bool(mark.remedy)]}."
    return said
