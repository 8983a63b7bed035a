"""Sections as plain lines, as CSV, and as one self-contained page that prints on A4 and Letter and loads nothing."""

from __future__ import annotations

import csv
import io
import re
import textwrap
from typing import TYPE_CHECKING

from preflight.audit.chart import bar, bar_lines, bars_svg, picture, svg
from preflight.outside_text import as_html, csv_cell, shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preflight.audit.sections import Section

WIDTH = 100
LINE = 120
"""Characters that a printed line of a table holds."""
LEAST = 10
"""Percent of the page for a column of prose, however little it says beside the others."""
WORD = 20
"""Characters of a cell that is not broken."""
SHORT = 900
"""Characters of a table that is kept on one page."""
LOUD = ("stop", "caution", "open")
"""Cells that must be found on a page without colours."""
PAIR = ("key", "value")
"""Header of a table that goes on the page in two columns when it is long."""
_FIGURE = re.compile(r"-?\d+(\.\d+)?(e-?\d+)?")
STYLE = """
@page { size: auto; margin: 14mm 12mm 16mm; @bottom-right { content: counter(page) " / " counter(pages);
  font: 8pt system-ui, sans-serif; color: #5e6872; } }
:root { color-scheme: light; }
body { font: 10pt/1.4 system-ui, sans-serif; color: #1c2126; background: #fff; max-width: 186mm; margin: 1em auto; }
h1 { font-size: 15pt; margin: 0 0 .2em; } h2 { font-size: 11pt; margin: 1.2em 0 .3em; border-bottom: 1px solid #888; }
p { margin: .2em 0; } .quiet { color: #5e6872; font-size: 8.5pt; }
table { border-collapse: collapse; width: 100%; font-size: 8.5pt; margin: .3em 0; }
th { text-align: left; border-bottom: 1px solid #888; } td, th { padding: 1.5pt 5pt 1.5pt 0; vertical-align: top; }
td { border-bottom: 1px solid #ddd; overflow-wrap: break-word; } .n { text-align: right; }
.n, .w { white-space: nowrap; } td.n, td.w { overflow-wrap: normal; } figure { margin: .3em 0; }
.pairs { columns: 2; column-gap: 7mm; } .pairs table { font-size: 7pt; margin: 0; }
.pairs td { padding: .5pt 4pt .5pt 0; }
tr, figure, section.short { break-inside: avoid; } thead { display: table-header-group; }
h2, section.alone, section.alone p { break-after: avoid; }
svg { width: 100%; height: auto; font: 9px system-ui, sans-serif; } .frame { fill: none; stroke: #bbb; }
.limit { stroke: #a3180f; stroke-dasharray: 6 3; } .mean { stroke: #1f5f8b; stroke-dasharray: 2 3; }
.dot { fill: #0a6b47; } .drift { stroke: #855500; stroke-width: 1.4; fill: none; } .mark { stroke: #888; }
.end { text-anchor: end; } .mid { text-anchor: middle; } .bar { fill: #1f5f8b; }
.blank { width: calc(100% - 1px); } .blank td { height: 7mm; }
.blank td, .blank th { border: 1px solid #888; padding: 2pt 4pt; }
"""


def lines(sections: Sequence[Section], width: int = WIDTH) -> Iterator[str]:
    """Sections for the terminal or a mail."""
    for place, one in enumerate(sections):
        if place:
            yield ""
        yield shown(one.title)
        for sentence in one.sentences:
            yield from textwrap.wrap(shown(sentence), width, initial_indent="  ", subsequent_indent="    ")
        if one.rows:
            yield from table_lines(one.names, one.rows, width)
        for trend in one.trends:
            yield from ("  " + "".join(text for text, _ in line).rstrip() for line in picture(trend, width - 2, 11))
        if one.bars:
            yield "  " + "".join(bar(value, max(one.bars)) for value in one.bars)
        yield from ("  " + "".join(text for text, _ in line).rstrip() for line in bar_lines(one.bar_rows, width - 2))


def table_lines(names: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> Iterator[str]:
    """Columns as wide as they need; when that is wider than the terminal, a row on several lines, prose by itself."""
    rows = [[shown(cell) for cell in row] for row in rows]
    widths = [max(len(line[column]) for line in (names, *rows)) for column in range(len(names))]
    if sum(widths) + 2 * len(widths) <= width:
        printed = [names, *rows] if any(names) else rows
        for line in printed:
            yield "  " + "  ".join(text.ljust(size) for text, size in zip(line, widths, strict=True)).rstrip()
        return
    if len(names) == 2:
        first = min(widths[0], width // 2 - 4)
        for key, text in rows:
            indent = " " * (first + 4)
            yield from textwrap.wrap(f"{key:<{first}}  {text}", width, initial_indent="  ", subsequent_indent=indent)
        return
    for row in rows:
        cells = [
            (place == 0 or len(text) <= WORD, name, text)
            for place, (name, text) in enumerate(zip(names, row, strict=True))
            if text
        ]
        words = "; ".join(f"{name} {text}".strip() for word, name, text in cells if word)
        yield from textwrap.wrap(words, width, initial_indent="  - ", subsequent_indent="    ")
        for word, name, text in cells:
            if not word:
                said = f"{name}: {text}" if name else text
                yield from textwrap.wrap(said, width, initial_indent="    ", subsequent_indent="      ")


def as_csv(names: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Comma-separated values by RFC 4180, each cell as `csv_cell` makes it."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(names)
    writer.writerows([csv_cell(cell) for cell in row] for row in rows)
    return out.getvalue()


def html_page(title: str, subtitle: str, sections: Sequence[Section]) -> str:
    """The whole page."""
    body = "\n".join(_section(one) for one in sections)
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        f"<title>{as_html(title)}</title><style>{STYLE}</style></head>\n<body><h1>{as_html(title)}</h1>"
        f'<p class="quiet">{as_html(subtitle)}</p>\n{body}\n</body></html>\n'
    )


def _section(one: Section) -> str:
    parts = [f"<h2>{as_html(one.title)}</h2>"]
    parts += [f"<p>{as_html(sentence)}</p>" for sentence in one.sentences]
    short = sum(len(cell) for row in one.rows for cell in row) <= SHORT
    if one.rows:
        table = html_table(one.names, one.rows)
        two = one.names == PAIR and not short
        parts.append(f'<div class="pairs">{table}</div>' if two else table)
    parts += [f"<figure>{svg(trend)}</figure>" for trend in one.trends]
    if one.bars:
        parts.append(_bars(one.bars))
    parts += [f"<figure>{drawn}</figure>" for drawn in bars_svg(one.bar_rows)]
    # a heading of what follows is never left behind on a page
    alone = not (one.rows or one.trends or one.bars or one.bar_rows)
    kind = ' class="alone"' if alone else ' class="short"' if short else ""
    return f"<section{kind}>{''.join(parts)}</section>"


def html_table(names: Sequence[str], rows: Sequence[Sequence[str]], kind: str = "") -> str:
    """A table whose header is repeated on every printed page."""
    columns = [[row[place] for row in rows] for place in range(len(names))]
    kinds = [_class(column) for column in columns]
    head = "".join(f"<th{of}>{as_html(name)}</th>" for name, of in zip(names, kinds, strict=True))
    cells = ("".join(f"<td{of}>{_cell(cell)}</td>" for cell, of in zip(row, kinds, strict=True)) for row in rows)
    body = "".join(f"<tr>{row}</tr>" for row in cells)
    attribute = f' class="{kind}"' if kind else ""
    return (
        f"<table{attribute}>{_widths(columns, kinds) if names != PAIR else ''}"
        + (f"<thead><tr>{head}</tr></thead>" if any(names) else "")
        + f"<tbody>{body}</tbody></table>"
    )


def _cell(text: str) -> str:
    return f"<b>{text}</b>" if text in LOUD else as_html(text)


def _class(column: Sequence[str]) -> str:
    """Of all cells of a column: figures stand right, short words on one line, prose is broken."""
    if any(column) and all(_FIGURE.fullmatch(cell) for cell in column if cell):
        return ' class="n"'
    return ' class="w"' if max(map(len, column), default=0) <= WORD else ""


def _widths(columns: Sequence[Sequence[str]], kinds: Sequence[str]) -> str:
    """Room for the columns of prose by how much they say; a browser alone gives the longest word too much."""
    said = [sum(map(len, column)) ** 0.75 if not kind else 0.0 for column, kind in zip(columns, kinds, strict=True)]
    if sum(one > 0 for one in said) < 2:
        return ""
    short = sum(max(map(len, column)) + 2 for column, kind in zip(columns, kinds, strict=True) if kind)
    room = max(40.0, 100.0 - 100.0 * short / LINE)
    share = (f' style="width: {max(LEAST, room * one / sum(said)):.0f}%"' if one else "" for one in said)
    return f"<colgroup>{''.join(f'<col{style}>' for style in share)}</colgroup>"


def _bars(values: Sequence[float]) -> str:
    most = max(values) or 1.0
    step = 620 / len(values)
    drawn = "".join(
        f'<rect class="bar" x="{10 + place * step:.1f}" y="{70 - 60 * value / most:.1f}" '
        f'width="{step - 1:.1f}" height="{60 * value / most:.1f}"/>'
        for place, value in enumerate(values)
    )
    return f'<figure><svg viewBox="0 0 640 74" role="img" aria-label="metres over the width">{drawn}</svg></figure>'
