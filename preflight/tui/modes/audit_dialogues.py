"""What the audit asks in a box of its own: what the list is narrowed to, and a signature under a record."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from typing import TYPE_CHECKING

from preflight.audit.period import Period, periods
from preflight.audit.queries import EVERYTHING
from preflight.tui.asking import Once, asks
from preflight.tui.audit_desk import COLUMNS
from preflight.tui.dialogues.pick import NamePick, pick
from preflight.tui.wiring import Pick

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import TypeVar

    from preflight.audit.queries import Filter, Listed
    from preflight.tui.audit_desk import AuditDesk
    from preflight.tui.audit_signing import Attempt
    from preflight.tui.charset import Charset
    from preflight.tui.form import Filled

    T = TypeVar("T")

DAYS, ALL, TYPED = "days", "all", "typed"


def narrowed_by(only: Filter, column: str, value: str) -> Filter:
    """The filter with one column changed; an empty value takes it away."""
    given = {name: getattr(only, name) for name in COLUMNS} | {column: value}
    return replace(only, machine=given["machine"], person=given["person"], verdict=given["verdict"], kind=given["kind"])


class AuditDialogues(Once[None]):
    """`AuditScreen` says what is shown."""

    desk: AuditDesk
    charset: Charset
    only: Filter
    days: Period
    days_label: str
    notice: str

    if TYPE_CHECKING:  # what `AuditScreen` gives

        async def asked(self, question: Callable[[], T]) -> T | None:
            """The answer; None, with its message in the top bar, when it says what a person can put right."""

        def shown_record(self) -> Listed | None:
            """The record that is open; None in another view."""

        def open_record(self, one: Listed) -> None:
            """Show that record whole."""

        def action_list(self) -> None:
            """The first page of what the filter leaves."""

        def say(self, text: str) -> None:
            """A sentence in the top bar."""

    # narrowing

    @asks
    async def action_narrow(self) -> None:
        """Choose a column and a value; the list shows what is left."""
        names = await self.asked(self.desk.names) or {}
        now = [names.get(self.only.machine, self.only.machine), self.only.person, self.only.verdict, self.only.kind]
        picks = [Pick(name, name, value) for name, value in zip(COLUMNS, now, strict=True)]
        picks += [Pick(DAYS, DAYS, self.days_label), Pick(ALL, "show everything")]
        column = await pick(self.app, "Narrow the list by", picks, self.charset)
        if column is None:
            return
        if column == ALL:
            self.only = EVERYTHING
            self.days, self.days_label = Period(), ""
        elif not await (self._narrow_days() if column == DAYS else self._narrow_column(column)):
            return
        self.action_list()

    async def _narrow_column(self, column: str) -> bool:
        values = await self.asked(lambda: self.desk.values(column)) or []
        names = await self.asked(self.desk.names) or {}
        shown = [Pick(value, names.get(value, value)) for value in values]
        value = await pick(self.app, column, [Pick("", "any"), *shown], self.charset)
        if value is None:
            return False
        self.only = narrowed_by(self.only, column, value)
        return True

    async def _narrow_days(self) -> bool:
        offered = periods(self.desk.now().date())
        shown = [Pick(name, name, period.label) for name, period in offered.items()]
        choices = [Pick("", "any"), *shown, Pick(TYPED, "from a day to a day")]
        chosen = await pick(self.app, DAYS, choices, self.charset)
        if chosen is None:
            return False
        period: Period | None = offered.get(chosen, Period())
        if chosen == TYPED:
            from preflight.tui.dialogues.days import DaysScreen

            period = await self.app.push_screen_wait(DaysScreen(self.days, self.charset))
            if period is None:
                return False
        assert period is not None
        self.days, self.days_label = period, chosen if chosen in offered else period.label
        since, until = period.seconds(self.desk.zone)
        self.only = replace(self.only, since=since, until=until)
        return True

    # signing beneath a record

    @asks
    async def action_countersign(self) -> None:
        """A lead or trainer signs beneath the record that is open; refused tries keep what was typed."""
        one = self.shown_record()
        attempt = await self.asked(lambda: self.desk.begin(one)) if one is not None else None
        if one is None or attempt is None:
            return
        name = await self._who(attempt)
        if name is None:
            return
        from preflight.tui.audit_signing import Countersigning
        from preflight.tui.dialogues.form import Form
        from preflight.tui.forms import REMARK, ROLE, countersign_form, signer_of

        async def save(filled: Filled) -> str:
            texts = filled.texts
            given = Countersigning(signer_of(name, filled), texts.get(ROLE, ""), texts[REMARK], filled.secret)
            return await self.desk.ask(asyncio.get_running_loop(), lambda: self.desk.countersign(attempt, given))

        about = f"Record {one.sequence}, {one.kind} by {one.person}, {one.local[:16].replace('T', ' ')}. "
        about += attempt.about.statement
        form = countersign_form(about, name, attempt.secret_word(name), save, self.desk.opens_key)
        saved = await self.app.push_screen_wait(Form(form, self.charset))
        if saved is None:
            self.say("")
            return
        self.open_record(one)
        self.say(saved.sentence)

    async def _who(self, attempt: Attempt) -> str | None:
        """A name picked, or "" for one to be typed; None to go back."""
        if not attempt.here:
            return ""
        picks = [*(Pick(name, name) for name in attempt.here), Pick("", "another name")]
        return await self.app.push_screen_wait(NamePick("Who countersigns?", picks, self.charset))
