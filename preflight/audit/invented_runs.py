"""The invented runs of one machine: what was fed, belts and drums that came off, glue, as real run records have it.

Every table is made by `checklist.run_record`, wear maps included, so an invented run cannot differ from a real one.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from preflight.checklist.heading import Signature
from preflight.checklist.run_record import MEANING, RunDone, run_body, run_table
from preflight.checklist.wear_maps import thrown_away, wear_maps
from preflight.checks.feed.feed_task import FeedTask, chosen_plan, task_for
from preflight.history import History
from preflight.sheet import SetupSheet

if TYPE_CHECKING:
    from datetime import datetime
    from random import Random

    from preflight.checklist.reference import Reference
    from preflight.shop.view import ShopView

REASONS = ("worn out", "worn out", "worn out", "glue line", "torn edge", "other grit")
"""Why belts come off, as often as they stand here."""
GLUE = 0.05
"""Share of runs that lost a lot, and minutes, to squeeze-out."""


@dataclass
class Runs:
    """One machine's runs; remembers its wear maps, how long its belts are on, and which belts these are."""

    sheet: dict[str, Any]
    """As typed; its belts change as belts come off."""
    view: ShopView
    rng: Random
    hours: dict[str, float] = field(default_factory=dict)
    """Left to the belt on each head."""
    history: History = field(default_factory=History)
    changed: int = 0
    """Belts thrown away so far."""

    def body(
        self, at: datetime, person: str, record_id: str, refers: Reference | None, *, grind: bool = False
    ) -> bytes:
        """The record of the next run, signed `at`. `grind`: the drum of the first head is ground after it."""
        hours = round(self.rng.uniform(2.0, 3.8), 1)
        off = [{"head": head, "why": self.rng.choice(REASONS)} for head in self._worn(hours)]
        glue = {"lots": 1, "belts": 0, "minutes": self.rng.randrange(10, 45)} if self.rng.random() < GLUE else None
        done = RunDone.model_validate(
            {
                "hours": f"{hours} h",
                "began": at - timedelta(hours=hours, minutes=self.rng.randrange(5, 20)),
                "off": off,
                "drums": [{"head": str(self.view.machine.heads[0].id), "what": "ground"}] if grind else [],
                "glue": glue,
            }
        )
        sheet = self._fed()
        table = run_table(sheet, done, self.view, self.history, at)
        signature = Signature(person, "operator", MEANING, at)
        body = run_body(sheet, done, self.view, self.history, record_id, signature, refers)
        belts, drums = wear_maps([{"run": table}])
        self.history = History(belt_wear=belts, drum_wear=drums)
        for one in off:
            if thrown_away(one["why"]):
                self._another_belt(one["head"])
        return body

    def _worn(self, hours: float) -> list[str]:
        """Heads whose belt has had its time after this run."""
        gone = []
        for on in self.sheet["belts"]:
            head = str(on["head"])
            left = self.hours.get(head, self.rng.uniform(15, 60)) - hours
            if left <= 0:
                gone.append(head)
                left = self.rng.uniform(15, 60)
            self.hours[head] = left
        return gone

    def _fed(self) -> SetupSheet:
        """The sheet with most of the lot fed as planned."""
        sheet = SetupSheet.model_validate(self.sheet)
        task = task_for(sheet, self.view, self.history)
        assert isinstance(task, FeedTask)  # the bundled sheets name jobs that fit their machines
        feeds = chosen_plan(sheet, task).feeds
        fed = [{"feeds": max(1, round(feeds * self.rng.uniform(0.6, 1.0)))}]
        return SetupSheet.model_validate({**self.sheet, "feed": {**self.sheet.get("feed", {}), "fed": fed}})

    def _another_belt(self, head: str) -> None:
        """The next belt of the same kind, on a card of its own."""
        self.changed += 1
        belts = []
        for on in self.sheet["belts"]:
            card = on["card"]
            if str(on["head"]) == head:
                raw = dict(card) if isinstance(card, dict) else dict(self.view.raw[f"belts/{card}"])
                raw["id"] = f"{str(raw['id']).split('-new')[0]}-new{self.changed}"
                on = {**on, "card": raw}
            belts.append(on)
        self.sheet["belts"] = belts
