"""The desk behind the screens: one terminal's shop, machine, draft and records, as the callables of `Wiring`.

No Textual here. Everything that reads or writes a file is called from a thread of the app.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from preflight.checklist.draft import Draft, Holder
from preflight.checklist.past import Past, past
from preflight.checks.voids import event, kept
from preflight.errors import PreflightError
from preflight.quantities import QuantityError
from preflight.shop.cards import BeltCard, JobCard
from preflight.shop.machine import Machine
from preflight.tui.run import Run
from preflight.tui.wiring import Earlier, Holding, Loaded, Pick, Signing, Times

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from preflight.shop.files import Loaded as File
    from preflight.shop.folder import Shop

SHIFT_HOURS = 10
"""A draft older than this is an earlier shift's: facts stay, readings go."""
DRAFTS = "drafts"


@dataclass(frozen=True, slots=True)
class Terminal:
    """This terminal, as told to another one that finds a draft in use."""

    host: str
    pid: int


class Desk:
    """What one terminal has in hand. Not for use from several threads at once; the app calls one at a time."""

    def __init__(
        self,
        shop: Shop,
        root: Path,
        clock: Callable[[], datetime],
        token: Callable[[], str],
        terminal: Terminal,
        machine: str = "",
    ) -> None:
        self._shop = shop
        self._root = root
        self._clock = clock
        self._token = token
        self._terminal = terminal
        self._machine = machine
        self._draft: Draft | None = None
        self._past = Past()
        self._started: dict[str, Any] = {}

    # opening ------------------------------------------------------------------------------------------------------

    def load(self) -> Loaded:
        """Profiles, cards, earlier records and the draft of this terminal's machine."""
        from preflight.tui.stations.all_stations import STATIONS

        name = self._machine or self._last_machine()
        profile = self._shop.load(Machine, name)
        around = self._shop.with_neighbours(profile.path)
        skipped: list[str] = []
        view = around.machine_view(profile, self._cards(JobCard, skipped), self._cards(BeltCard, skipped))
        self._machine = name
        self._past = past(self._root, profile.value.id)
        run = Run(
            stations=STATIONS,
            view=view,
            history=self._past.history(),
            base={"schema": 1, "machine": name, "at": self._now()},
        )
        run, notice = self._resumed(run, self._open_draft(profile.value.id))
        if skipped:
            notice = f"{notice} Cards that cannot be read: {', '.join(skipped)}.".strip()
        return self._loaded(run, notice)

    def close(self) -> None:
        """Let go of the draft; it stays for the next time."""
        if self._draft is not None:
            self._draft.close()
            self._draft = None

    def _last_machine(self) -> str:
        known = self._shop.ids(Machine)
        if not known:
            raise PreflightError("This shop has no machine profile.", "Write one with: preflight profiles new")
        remembered = self._root / DRAFTS / f"{self._terminal.host}.machine"
        try:
            name = remembered.read_text(encoding="utf-8").strip()
        except OSError:
            name = ""
        return name if name in known else known[0]

    def _cards(self, model: type[Any], skipped: list[str]) -> dict[str, File[Any]]:
        found = {}
        for ref in self._shop.ids(model):
            try:
                found[ref] = self._shop.load(model, ref)
            except PreflightError:
                skipped.append(ref)
        return found

    def _open_draft(self, machine_id: str) -> Draft:
        self.close()
        folder = self._root / DRAFTS
        folder.mkdir(exist_ok=True)
        (folder / f"{self._terminal.host}.machine").write_text(self._machine, encoding="utf-8")
        since = self._now().strftime("%Y-%m-%d %H:%M")
        holder = Holder("another terminal", self._terminal.host, self._terminal.pid, since)
        self._draft = Draft.open(folder, machine_id, holder)
        return self._draft

    def _resumed(self, run: Run, draft: Draft) -> tuple[Run, str]:
        content = draft.content
        self._begin()
        if content is None or not isinstance(content.get("typed"), dict):
            return self._fresh(run)
        typed: dict[str, str] = content["typed"]
        entered = {key: datetime.fromisoformat(at) for key, at in content.get("entered", {}).items()}
        earlier = {
            key: tuple((datetime.fromisoformat(at) if at else None, text) for at, text in values)
            for key, values in content.get("earlier", {}).items()
        }
        began = max(entered.values(), default=None)
        said = " ".join(draft.notices)
        if began is not None and (self._now() - began).total_seconds() > SHIFT_HOURS * 3600:
            only = carried(run, typed)
            return run.resumed(
                only, {}, {}
            ), f"{said} Draft of {began:%Y-%m-%d %H:%M}: facts kept, readings dropped.".strip()
        self._started.update({key: content[key] for key in ("record", "since") if content.get(key) is not None})
        when = f" of {began:%H:%M}" if began else ""
        return run.resumed(typed, entered, earlier), f"{said} Draft{when} resumed.".strip()

    def _fresh(self, run: Run) -> tuple[Run, str]:
        last = self._past.last
        if last is not None and datetime.fromisoformat(last["record"]["local"]).date() == self._now().date():
            entries = last.get("entries", ())
            entered = {entry["key"]: entry["at"] for entry in entries}
            at = datetime.fromisoformat(last["record"]["local"])
            typed = carried_belts(run, {entry["key"]: entry["text"] for entry in entries})
            return run.resumed(typed, entered, {}), f"Signed at {at:%H:%M}. F2: what has happened since?"
        return run.resumed(carried(run, self._past.facts()), {}, {}), ""

    # while it is entered ------------------------------------------------------------------------------------------

    def keep(self, typed: Mapping[str, str], entered: Times, earlier: Earlier) -> None:
        """The draft sink: on disk at every change."""
        if self._draft is None:
            return
        self._draft.change(
            {
                **self._started,
                "typed": dict(typed),
                "entered": {key: at.isoformat() for key, at in entered.items()},
                "earlier": {
                    key: [[at.isoformat() if at else None, text] for at, text in values]
                    for key, values in earlier.items()
                },
            }
        )

    def happened(self, run: Run, event_id: str) -> Loaded:
        """The run after an event: what it voids is asked again."""
        self._begin()
        happened = event(event_id)
        facts = {row.key: row.fact for station in run.stations for row in station.rows(run)}
        typed = {
            key: text
            for key, text in kept(run.typed, happened, facts).items()
            if not (
                key.startswith("action:") and any(key.startswith(f"action:{v.split('.')[0]}:") for v in happened.voids)
            )
        }
        again = replace(run, base={**run.base, "at": self._now()})
        return self._loaded(
            again.resumed(typed, run.entered, {}), f"{happened.label.capitalize()}: asked again is what that voids."
        )

    def subjects(self, run: Run) -> list[Pick]:
        """Machine, job, and the belt of each head."""
        heads = run.view.machine.heads if run.view else ()
        belts = [Pick(f"belts.{head.id}.card", f"belt on head {head.id}") for head in heads]
        return [Pick("machine", "machine"), Pick("stock.job", "job card"), *belts]

    def picks(self, run: Run, subject: str) -> list[Pick]:
        """The machines, or the answers of that row."""
        if subject == "machine":
            return [Pick(ref, ref) for ref in self._shop.ids(Machine)]
        rows = {row.key: row for station in run.stations for row in station.rows(run)}
        return [Pick(choice.label, choice.label) for choice in rows[subject].choices] if subject in rows else []

    def picked(self, run: Run, subject: str, chosen: str) -> Loaded:
        """The run with that answer, or another machine's run."""
        if subject == "machine":
            self._machine = chosen
            return self.load()
        return self._loaded(run.typing(subject, chosen, self._now()).accepting(subject), "")

    def people(self) -> list[str]:
        """Names on this machine's records, the newest first."""
        return list(
            dict.fromkeys(
                str(record["record"].get("name", "")) for record in self._past.records if record["record"].get("name")
            )
        )

    # leaving ------------------------------------------------------------------------------------------------------

    def sign(self, run: Run, signing: Signing) -> str:
        """Save the record of a run that may be released."""
        return self._save(run, signing.name, signing.meaning, None)

    def hold(self, run: Run, holding: Holding) -> str:
        """Save the record of a start-up that cannot go on."""
        return self._save(run, holding.name, "This start-up stopped here.", holding)

    def _save(self, run: Run, name: str, meaning: str, holding: Holding | None) -> str:
        from preflight.checklist.document import Held
        from preflight.checklist.heading import Signature
        from preflight.tui.signoff import ROLE, save, start_up

        newest = next(iter(self._past.records), None)
        last = datetime.fromisoformat(newest["record"]["utc"]) if newest else None
        held = Held(holding.what, holding.told, holding.tried) if holding else None
        signature = Signature(name, ROLE, meaning, self._now())
        made = start_up(run, str(self._started["record"]), signature, held, last)
        self._make_cards(run)
        saved = save(self._root, made, self._token(), self._started.get("since"))
        if self._draft is not None:
            self._draft.discard()
            self._draft = None
        self._past = past(self._root, made.view.machine.id)
        self._begin()
        self._open_draft(made.view.machine.id)
        word = "Held" if held else "Released for this job"
        sure = "" if saved.durable else " The system could not say that the disk has it."
        return f"{word} at {signature.at:%H:%M}: record {saved.head.sequence}, unsigned (no key yet).{sure}"

    def _make_cards(self, run: Run) -> None:
        from preflight.checklist.publish import write_durably
        from preflight.tui.belt_card_file import card_file

        assert run.view is not None
        for head in run.view.machine.heads:
            made = card_file(run, head.id)
            if made is not None:
                folder = self._root / "belts"
                folder.mkdir(exist_ok=True)
                path = folder / f"{made[0]}.toml"
                if not path.exists():
                    temporary = folder / f".{made[0]}.tmp"
                    temporary.unlink(missing_ok=True)
                    write_durably(temporary, made[1])
                    temporary.replace(path)

    def _begin(self) -> None:
        self._started = {"record": self._token(), "since": None}

    def _now(self) -> datetime:
        now = self._clock()
        return (now if now.tzinfo else now.astimezone()).replace(microsecond=0)

    def _loaded(self, run: Run, notice: str) -> Loaded:
        assert run.view is not None
        job = run.view.job(run.sheet) if run.sheet else None
        return Loaded(run, run.view.machine.name, job.name if job else "", "", notice)


def carried(run: Run, typed: Mapping[str, str]) -> dict[str, str]:
    """Of earlier answers those that are facts and still make sense: cards, platen, gates; never a reading."""
    known = carried_belts(run, typed)
    facts: dict[str, str] = {}
    for station in run.stations:
        for row in station.rows(replace(run, typed=facts)):
            text = known.get(row.key, "")
            if not (row.fact and text):
                continue
            try:
                row.writes(text)
            except QuantityError:
                continue
            facts[row.key] = text
    return facts


def carried_belts(run: Run, typed: Mapping[str, str]) -> dict[str, str]:
    """Answers in which a belt that was new then is named by the card that was made of it."""
    from preflight.tui.stations.belts import NEW

    answers = dict(typed)
    for station in run.stations:
        for row in station.rows(run):
            if answers.get(row.key) == NEW:
                mark = answers.get(row.key.replace(".card", ".id"), "").strip()
                answers[row.key] = next((c.label for c in row.choices if c.label.startswith(f"{mark} ")), "")
    return answers
