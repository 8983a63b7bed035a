"""The surprise drill: one station of one drill, offered now and then after a signed start-up, never inside it.

Nothing of a start-up goes in here and nothing of it comes out: the drill is made from a bundled set-up, its record goes
to the chains of practice. That help fades until a fault comes unannounced: trainer's practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from random import Random
from typing import TYPE_CHECKING

from preflight.training.generator import generated

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from preflight.training.drill import Drill
    from preflight.training.gate import Gate
    from preflight.training.records import PracticeRecord

LEVEL = 2
"""Of the faults: a number to hold against a limit. The help is none."""
SEEDS = 2**31


def is_due(records: Iterable[PracticeRecord], name: str, gate: Gate, now: datetime) -> bool:
    """Whether that person's next one is due: so many days after the one before, or after the first practice.

    Somebody who never practised here is never asked, nor anybody in a shop that wants none.
    """
    own = [one for one in records if one.trainee == name and one.counts]
    if not own or not gate.surprise_days:
        return False
    last = max((one.at for one in own if one.table.get("surprise")), default=min(one.at for one in own))
    return now - last >= timedelta(days=gate.surprise_days)


def surprise(seed: int, lean: Mapping[str, float] | None = None) -> Drill:
    """One station to judge, with one planted fault or none; the same for the same seed.

    lean: weight per kind of fault, as for any drawn drill.
    """
    random = Random(seed)
    drill = generated(random.randrange(SEEDS), LEVEL, lean)
    while len(drill.planted) > 1:
        drill = generated(random.randrange(SEEDS), LEVEL, lean)
    check = drill.planted[0].check if drill.planted else random.choice(drill.asked)
    return replace(drill, id=f"surprise-{drill.id}", title=f"One station: {drill.title}", asked=(check,))
