"""Why the verdict is what it is: sentence, what to do, limit and basis on one line, a safety caution on its own row."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.cells import cell_len

from preflight.checks.finding import Verdict
from preflight.quantities import Quantity
from preflight.tui.attention import no_release
from preflight.tui.painting import clip, fit, wrap
from preflight.tui.widgets.cells import Painted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.events import Click

    from preflight.checks.finding import Finding
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line, Span

NO_RELEASE = (
    "None while this stands, whoever signs: put right, answer anew.",
    "None while this stands: put right, answer anew.",
    "None: put right, answer anew.",
)
"""Under a stop that takes no override; the longest that fits."""
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


def basis_line(finding: Finding, separator: str, width: int) -> str:
    """Limit, deciding field and source: "4.1 to 4.8 bar · heads.1.tension · machine book p. 41".

    Where that is wider than `width`, the field gives way, then the source, never a part of a word; F3 shows all.
    """
    limit, field, source = limit_text(finding), finding.basis, finding.source
    for parts in ((limit, field, source), (limit, source), (limit, field), (source,), (limit,)):
        line = separator.join(part for part in parts if part)
        if cell_len(line) <= width:
            return line
    return ""


def why_lines(
    finding: Finding | None,
    caution: tuple[str, str] | None,
    width: int,
    height: int,
    charset: Charset,
    chosen: str = "",
) -> list[Line]:
    """What fits of one finding in `height` lines of `width` cells.

    The caution gets all the rows it needs. Sentence, remedy and limit stand in columns; where that takes too many
    rows, sentence and remedy run in over the whole width, then the limit is left out, and only then is the end of
    the sentence cut: F3 shows all of it. `chosen` is the action taken, if any, and stands before the limit. That nobody
    can release past a stop, and what clears it, stands whole under such a stop.
    """
    ends = [*_no_release_lines(finding, width), *_caution_lines(caution, width, charset)]
    if finding is None:
        return [*_blank(height - len(ends)), *ends]
    rows = max(1, height - len(ends))
    basis = basis_line(finding, f" {charset.dot} ", width - INDENT - 1)
    basis_lines: list[Line] = [[_label("limit"), (basis, "dim")]] if basis else []
    lines = [*_columns(finding, width, charset), *basis_lines]
    if len(lines) > rows:
        lines = [*_run_in(finding, finding.statement, width, charset), *basis_lines]
    if len(lines) > rows:
        lines = _run_in(finding, finding.statement, width, charset)
    if chosen and len(lines) == rows and basis_lines and lines[-1:] == basis_lines:
        lines = lines[:-1]
    statement = finding.statement
    while len(lines) > rows and len(statement) > 1:
        statement = statement[: -max(1, len(statement) // 20)]
        lines = _run_in(finding, statement.rstrip() + charset.ellipsis, width, charset)
    if len(lines) < rows and (chosen or (finding.verdict is Verdict.CAUTION and finding.actions)):
        done = clip(chosen or "say what was done about it", width - INDENT - 1, charset.ellipsis)
        lines.append([_label("done"), (done, "text")] if chosen else [_label("F4", "key"), (done, "dim")])
    return [*lines[:rows], *(_blank(rows - len(lines)) if ends else []), *ends]


def notice_lines(notice: str, caution: tuple[str, str] | None, width: int, height: int, charset: Charset) -> list[Line]:
    """A sentence in place of the finding; the safety caution stays under it, and gives way only to the sentence."""
    said: list[Line] = [[(fit(f" {line}", width), "text")] for line in wrap(notice, width - 2)]
    ends = _caution_lines(caution, width, charset)
    if len(said) + len(ends) > height:
        return said
    return [*said, *_blank(height - len(said) - len(ends)), *ends]


def _no_release_lines(finding: Finding | None, width: int) -> list[Line]:
    """The line under a stop that takes no override."""
    if finding is None or not no_release(finding):
        return []
    said = next((text for text in NO_RELEASE if cell_len(text) < width - INDENT), NO_RELEASE[-1])
    return [[_label("release", "stop"), (said, "strong")]]


def _label(text: str, role: str = "dim") -> Span:
    return (f" {text:<{INDENT - 1}}", role)


def _blank(rows: int) -> list[Line]:
    return [[("", "text")]] * max(0, rows)


def _verdict_role(verdict: Verdict) -> str:
    return "badge" if verdict is Verdict.STOP else f"{verdict.word} strong"


def _head(finding: Finding, charset: Charset) -> str:
    return f"{charset.mark(finding.verdict)} {finding.verdict.word}"


def _columns(finding: Finding, width: int, charset: Charset) -> list[Line]:
    """Sentence and remedy beside the verdict and a quiet "do"."""
    room = width - INDENT - 1
    said, remedy = wrap(finding.statement, room), wrap(finding.remedy, room)
    head = _head(finding, charset)
    lines: list[Line] = [
        [(" ", "text"), (head, _verdict_role(finding.verdict)), (" " * (INDENT - 1 - len(head)), "text")]
        + [(line, "strong") for line in said[:1]]
    ]
    lines += [[(" " * INDENT, "text"), (line, "strong")] for line in said[1:]]
    return lines + [[_label("" if n else "do"), (line, "text")] for n, line in enumerate(remedy)]


def _run_in(finding: Finding, statement: str, width: int, charset: Charset) -> list[Line]:
    """Verdict, sentence and remedy as one paragraph over the whole width."""
    head = _head(finding, charset)
    left = len("".join(f"{head}{statement}".split()))
    lines: list[Line] = []
    for text in wrap(f"{head} {statement} {finding.remedy}", width - 2):
        strong = 0
        while strong < len(text) and (left or text[strong] == " "):
            left -= text[strong] != " "
            strong += 1
        start = len(head) if not lines else 0
        verdict: list[Span] = [(head, _verdict_role(finding.verdict))] if start else []
        lines.append([(" ", "text"), *verdict, (text[start:strong], "strong"), (text[strong:], "text")])
    return lines


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
            return notice_lines(self.notice, self.caution, width, height, self.charset)
        return why_lines(self.finding, self.caution, width, height, self.charset, self.chosen)

    async def on_click(self, event: Click) -> None:
        """The mouse's way to the full reason."""
        event.stop()
        await self.run_action("screen.why")
