"""Why the verdict is what it is: sentence, what to do, limit and basis on one line, a safety caution on its own row."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Verdict
from preflight.quantities import Quantity
from preflight.tui.painting import clip, fit, wrap, wrap_into
from preflight.tui.widgets.cells import Painted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.events import Click

    from preflight.checks.finding import Finding
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line, Span

INDENT = 11
"""Sentences start here; mark and word stand before them."""


def limit_text(finding: Finding) -> str:
    """The limit alone: "4.1 to 4.8 bar", "at most 1930 mm", "scraped or none"."""
    low, high = (str(bound) if isinstance(bound, Quantity) else "" for bound in (finding.low, finding.high))
    if low and high and finding.low and finding.high and finding.low.unit == finding.high.unit:
        low = low.removesuffix(finding.low.unit).strip()
    if low and high:
        return f"{low} to {high}"
    return f"at least {low}" if low else f"at most {high}" if high else " or ".join(finding.allowed)


def basis_line(finding: Finding, separator: str) -> str:
    """Limit, deciding field and source: "4.1 to 4.8 bar · heads.1.tension · machine book p. 41"."""
    return separator.join(part for part in (limit_text(finding), finding.basis, finding.source) if part)


def why_lines(
    finding: Finding | None,
    caution: tuple[str, str] | None,
    width: int,
    height: int,
    charset: Charset,
    chosen: str = "",
) -> list[Line]:
    """What fits of one finding in `height` lines of `width` cells.

    The caution gets all the rows it needs, then limit and basis one, then remedy and sentence share the rest; what
    is cut ends in an ellipsis, and the sentence gives way before the remedy. `chosen` is the action taken, if any.
    """
    ends = _caution_lines(caution, width, charset)
    lines: list[Line] = []
    if finding is not None:
        basis = clip(basis_line(finding, f" {charset.dot} "), width - INDENT - 1, charset.ellipsis)
        basis_lines: list[Line] = [[_label("limit"), (basis, "dim")]] if basis else []
        rows = max(1, height - len(ends) - len(basis_lines))
        head = f"{charset.mark(finding.verdict)} {finding.verdict.word}"
        lines = _indented(head, finding, width, rows, charset) or _flowing(head, finding, width, rows, charset)
        lines += basis_lines
        if len(lines) + len(ends) < height and (chosen or (finding.verdict is Verdict.CAUTION and finding.actions)):
            done = clip(chosen or "say what was done about it", width - INDENT - 1, charset.ellipsis)
            lines.append([_label("done"), (done, "text")] if chosen else [_label("F4", "key"), (done, "dim")])
    return [*lines, *_blank(height - len(lines) - len(ends)), *ends][:height] if ends else lines[:height]


def _label(text: str, role: str = "dim") -> Span:
    return (f" {text:<{INDENT - 1}}", role)


def _blank(rows: int) -> list[Line]:
    return [[("", "text")]] * max(0, rows)


def _verdict_role(verdict: Verdict) -> str:
    return "badge" if verdict is Verdict.STOP else f"{verdict.word} strong"


def _indented(head: str, finding: Finding, width: int, rows: int, charset: Charset) -> list[Line]:
    """Both texts beside the verdict, or nothing when they need more rows than there are."""
    room = width - INDENT - 1
    said, remedy = wrap(finding.statement, room), wrap(finding.remedy, room)
    if len(said) + len(remedy) > rows:
        return []
    role = _verdict_role(finding.verdict)
    first: Line = [
        (" ", "text"),
        (head, role),
        (" " * (INDENT - 1 - len(head)), "text"),
        (said[0] if said else "", "strong"),
    ]
    lines: list[Line] = [first, *([(" " * INDENT, "text"), (line, "strong")] for line in said[1:])]
    return lines + [[_label("" if n else "do"), (line, "text")] for n, line in enumerate(remedy)]


def _flowing(head: str, finding: Finding, width: int, rows: int, charset: Charset) -> list[Line]:
    """Long texts over the whole width; the sentence gives way to the remedy, since F3 shows all of it."""
    room = width - 2
    remedy_rows = min(len(wrap(finding.remedy, room)), max(rows - 1, 0))
    said = wrap_into(f"{head}  {finding.statement}", room, max(1, rows - remedy_rows), charset.ellipsis)
    remedy = wrap_into(finding.remedy, room, rows - len(said), charset.ellipsis)
    first: Line = [(" ", "text"), (head, _verdict_role(finding.verdict)), (said[0][len(head) :], "strong")]
    return [
        first,
        *([(" ", "text"), (line, "strong")] for line in said[1:]),
        *([(" ", "text"), (line, "text")] for line in remedy),
    ]


def _caution_lines(caution: tuple[str, str] | None, width: int, charset: Charset) -> list[Line]:
    if caution is None:
        return []
    word, sentence = caution
    role = word.lower() if word.lower() in ("danger", "warning", "notice") else "notice"
    start = max(INDENT, len(word) + 3)
    said = wrap(sentence, width - start - 1)
    lines: list[Line] = [
        [(f" {word} ", role), (" " * (start - len(word) - 2), "text"), (said[0] if said else "", "strong")]
    ]
    return [*lines, *([(" " * start, "text"), (line, "strong")] for line in said[1:])]


class WhyPanel(Painted):
    """The panel under the entries; clicked, it opens the full reason."""

    DEFAULT_CSS = "WhyPanel { background: $panel; }"

    def __init__(self, charset: Charset, *, id: str | None = None) -> None:  # noqa: A002 (Textual's name)
        super().__init__(charset, id=id)
        self.finding: Finding | None = None
        self.caution: tuple[str, str] | None = None
        self.chosen = ""
        self.notice = ""

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The notice while there is one, else the finding."""
        if self.notice:
            return [[(fit(f" {line}", width), "text")] for line in wrap(self.notice, width - 2)]
        return why_lines(self.finding, self.caution, width, height, self.charset, self.chosen)

    async def on_click(self, event: Click) -> None:
        """The mouse's way to the full reason."""
        event.stop()
        await self.run_action("screen.why")
