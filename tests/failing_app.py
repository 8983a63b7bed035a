"""The command with a failure put into one place of the app; run at a terminal: python failing_app.py PLACE SHOP."""

from __future__ import annotations

import sys
from typing import Any
from unittest import mock

SECRET = "48291573"
"""In the failure's variables and its message: nobody may come to read it."""
PLACES = {
    "compose": "preflight.tui.modes.run.RunScreen.compose",
    "mount": "preflight.tui.modes.run.RunScreen.on_mount",
    "load": "preflight.tui.desk.Desk.load",
    "handler": "preflight.tui.modes.run.RunScreen.action_why",
    "paint": "preflight.tui.widgets.why_panel.WhyPanel.lines",
    "dialogue": "preflight.tui.dialogues.review.ReviewScreen.fields",
    "worker": "preflight.tui.modes.run_dialogues.RunDialogues.ask_event",
    "saving": "preflight.tui.desk.Desk.hold",
    "draft": "preflight.tui.desk.Desk.keep",
    "copy": "preflight.checklist.safe_copy.SafeCopy._write",
    "keyboard": "textual.drivers.linux_driver.LinuxDriver.process_message",
    "records": "preflight.tui.audit_desk.AuditDesk.fill",
    "wiring": "preflight.tui.desk_door.DeskDoor.wiring",
}


class InjectedError(Exception):
    """What the failure is."""


def fail(*_: Any, **__: Any) -> Any:
    """Fails with a secret in a local variable and in the message."""
    pin = SECRET
    raise InjectedError(f"it was {pin}")


def main(place: str, shop: str) -> int:
    """Open the app on that shop with the failure in that place."""
    from preflight.__main__ import main as preflight

    target = PLACES[place]
    if place in ("paint", "keyboard"):
        return _later(target, shop)
    with mock.patch(target, fail):
        return preflight(["--shop", shop])


def _later(target: str, shop: str) -> int:
    """Fails once the run is shown: by the key x."""
    from preflight.__main__ import main as preflight
    from preflight.tui.modes.run import RunScreen

    patch, typed = mock.patch(target, fail), RunScreen.typed

    def started(screen: RunScreen, key: str, text: str) -> None:
        if "x" in text:
            patch.start()
        typed(screen, key, text)

    with mock.patch.object(RunScreen, "typed", started):
        return preflight(["--shop", shop])


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
