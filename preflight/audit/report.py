"""Sections as plain lines, as CSV, and as one self-contained page that prints on A4 and Letter and loads nothing."""

from __future__ import annotations

import csv
import html
import io
import textwrap
from typing import TYPE_CHECKING

from preflight.audit.chart import picture, svg

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preflight.audit.sections import Section

WIDTH = 100
LEVELS = " ▁▂▃▄▅▆▇█"
STYLE = """
@page { size: auto; margin: 14mm 12mm; }
:root { color-scheme: light; }
body { font: 10pt/1.4 system-ui, sans-serif; color: #1c2126; background: #fff; max-width: 186mm; margin: 1em auto; }
h1 { font-size: 15pt; margin: 0 0 .2em; } h2 { font-size: 11pt; margin: 1.2em 0 .3em; border-bottom: 1px solid #888; }
p { margin: .2em 0; } .quiet { color: #5e6872; font-size: 8.5pt; }
table { border-collapse: collapse; width: 100%; font-size: 8.5pt; margin: .3em 0; }
th { text-align: left; border-bottom: 1px solid #888; } td, th { padding: 1.5pt 5pt 1.5pt 0; vertical-align: top; }
td { border-bottom: 1px solid #ddd; overflow-wrap: break-word; } .n { text-align: right; white-space: nowrap; }
td.w { white-space: nowrap; overflow-wrap: normal; }
tr, figure, section.short { break-inside: avoid; } thead { display: table-header-group; } h2 { break-after: avoid; }
svg { width: 100%; height: auto; font: 9px system-ui, sans-serif; } .frame { fill: none; stroke: #bbb; }
.limit { stroke: #a3180f; stroke-dasharray: 6 3; } .mean { stroke: #1f5f8b; stroke-dasharray: 2 3; }
.dot { fill: #0a6b47; } .drift { stroke: #855500; stroke-width: 1.4; fill: none; } .mark { stroke: #888; }
.end { text-anchor: end; } .mid { text-anchor: middle; } .bar { fill: #1f5f8b; }
.blank td { height: 7.5mm; border: 1px solid #888; padding: 2pt 4pt; }
.blank th { border: 1px solid #888; padding: 2pt 4pt; }
"""


def lines(sections: Sequence[Section], width: int = WIDTH) -> Iterator[str]:
    """Sections for the terminal or a mail."""
    for place, one in enumerate(sections):
        if place:
            yield ""
        yield one.title
        for sentence in one.sentences:
            yield from textwrap.wrap(sentence, width, initial_indent="  ", subsequent_indent="    ")
        if one.rows:
            yield from table_lines(one.names, one.rows, width)
        for trend in one.trends:
            yield from ("  " + "".join(text for text, _ in line).rstrip() for line in picture(trend, width - 2, 11))
        if one.bars:
            yield "  " + "".join(bar(value, max(one.bars)) for value in one.bars)


def bar(value: float, most: float) -> str:
    """One of nine heights."""
    return LEVELS[round(value / most * (len(LEVELS) - 1))] if most > 0 else LEVELS[0]


def table_lines(names: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> Iterator[str]:
    """Columns as wide as they need; when that is wider than the terminal, a row on several lines."""
    widths = [max(len(line[column]) for line in (names, *rows)) for column in range(len(names))]
    if sum(widths) + 2 * len(widths) <= width:
        shown = [names, *rows] if any(names) else rows
        for line in shown:
            yield "  " + "  ".join(text.ljust(size) for text, size in zip(line, widths, strict=True)).rstrip()
        return
    for row in rows:
        said = "; ".join(f"{name} {text}" if name else text for name, text in zip(names, row, strict=True) if text)
        yield from textwrap.wrap(said, width, initial_indent="  - ", subsequent_indent="    ")


def as_csv(names: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Comma-separated values by RFC 4180. A cell that a spreadsheet would run as a formula begins with a quote."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(names)
    writer.writerows([f"'{cell}" if cell[:1] in "=+-@\t\r" and cell else cell for cell in row] for row in rows)
    return out.getvalue()


def html_page(title: str, subtitle: str, sections: Sequence[Section]) -> str:
    """The whole page."""
    body = "\n".join(_section(one) for one in sections)
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        f"<title>{html.escape(title)}</title><style>{STYLE}</style></head>\n<body><h1>{html.escape(title)}</h1>"
        f'<p class="quiet">{html.escape(subtitle)}</p>\n{body}\n</body></html>\n'
    )


def _section(one: Section) -> str:
    parts = [f"<h2>{html.escape(one.title)}</h2>"]
    parts += [f"<p>{html.escape(sentence)}</p>" for sentence in one.sentences]
    if one.rows:
        parts.append(html_table(one.names, one.rows))
    parts += [f"<figure>{svg(trend)}</figure>" for trend in one.trends]
    if one.bars:
        parts.append(_bars(one.bars))
    kind = ' class="short"' if len(one.rows) <= 12 else ""
    return f"<section{kind}>{''.join(parts)}</section>"


def html_table(names: Sequence[str], rows: Sequence[Sequence[str]], kind: str = "") -> str:
    """A table whose header is repeated on every printed page."""
    first = rows[0] if rows else [""] * len(names)
    head = "".join(f"<th{_class(cell)}>{html.escape(name)}</th>" for name, cell in zip(names, first, strict=True))
    cells = ("".join(f"<td{_class(cell)}>{html.escape(cell)}</td>" for cell in row) for row in rows)
    body = "".join(f"<tr>{row}</tr>" for row in cells)
    attribute = f' class="{kind}"' if kind else ""
    return (
        f"<table{attribute}>"
        + (f"<thead><tr>{head}</tr></thead>" if any(names) else "")
        + f"<tbody>{body}</tbody></table>"
    )


def _class(cell: str) -> str:
    if cell.replace(".", "", 1).isdigit():
        return ' class="n"'
    return ' class="w"' if len(cell) <= 16 else ""


def _bars(values: Sequence[float]) -> str:
    most = max(values) or 1.0
    step = 620 / len(values)
    drawn = "".join(
        f'<rect class="bar" x="{10 + place * step:.1f}" y="{70 - 60 * value / most:.1f}" '
        f'width="{step - 1:.1f}" height="{60 * value / most:.1f}"/>'
        for place, value in enumerate(values)
    )
    return f'<figure><svg viewBox="0 0 640 74" role="img" aria-label="metres over the width">{drawn}</svg></figure>'
