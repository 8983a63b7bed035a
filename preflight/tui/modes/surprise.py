"""After a signed start-up, now and then: one planted reading to judge, in the practice view and marked as practice."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.tui.dialogues.practice import PracticePick
from preflight.tui.modes.train import TrainScreen
from preflight.tui.wiring import Pick

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import App

    from preflight.training.sitting import Sitting
    from preflight.tui.charset import Charset
    from preflight.tui.practice_desk import PracticeDesk

NOW, LATER = "now", "later"


async def offer(
    app: App[object],
    desk: PracticeDesk,
    sitting: Sitting,
    name: str,
    charset: Charset,
    words: Sequence[tuple[str, str]],
) -> None:
    """Offer the sitting to that person; awaited in a worker, once the record of the start-up is saved."""
    picks = [
        Pick(NOW, "judge one station of practice", "About a minute."),
        Pick(LATER, "not today", "It is offered again after the next start-up."),
    ]
    question = "The start-up is saved and nothing here changes it. Your next practice is due."
    if await app.push_screen_wait(PracticePick(question, picks, charset)) == NOW:
        await app.push_screen_wait(TrainScreen(desk, charset, words, offered=(sitting, name)))
