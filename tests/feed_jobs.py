"""Made-up feeding jobs whose sizes lie on a lattice, for tests that compare plans with programmes."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from preflight.engine.boards import Part, Usable
from preflight.engine.coverage import Strip


@dataclass(frozen=True)
class Job:
    parts: list[Part]
    belt: Usable
    wear: list[Strip]
    step: float


def job_of(number: int) -> Job:
    """A made-up job: all sizes whole multiples of a step, so that left edges on the step lose nothing."""
    random = Random(f"job {number}")
    step = random.choice([0.01, 0.02, 0.025])
    cells = random.randint(30, 70)
    sizes = random.choice([1, 2, 3, 3, 4, 5])
    most = random.choice([4, 12, 40, 120])
    keep_off: tuple[tuple[float, float], ...] = ()
    widest = cells * 0.75
    if number % 3 == 0:
        at, wide = random.randint(4, cells - 6), random.randint(1, 3)
        keep_off = ((at * step, (at + wide) * step),)
        widest = max(at, cells - at - wide)
    parts = [
        Part(
            random.randint(4, max(4, int(widest))) * step,
            random.choice([0.4, 0.55, 0.7, 0.9, 1.2, 1.25, 2.0]),
            random.randint(1, most),
        )
        for _ in range(sizes)
    ]
    wear = []
    if number % 2 == 0:
        height = random.choice([0.2, 0.6, 1.2]) * sum(p.count * p.length * p.width for p in parts) / (cells * step)
        left = 0
        while left < cells:
            right = min(cells, left + random.randint(2, 12))
            wear.append(Strip(left * step, right * step, random.uniform(0.0, height)))
            left = right
    return Job(parts, Usable(cells * step, 0.0, keep_off), wear, step)
