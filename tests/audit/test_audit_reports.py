"""Reports: page, lines and CSV say the same figures; a page loads nothing; one record is shown whole."""

from __future__ import annotations

import csv
import html.parser
import io
import re
import shutil
from collections import Counter
from pathlib import Path

import pytest
from audit.audit_samples import MACHINE, NOW, add_record, copied

from preflight.audit.chart import bounds
from preflight.audit.paper_form import form_rows, paper_form
from preflight.audit.queries import Filter, distinct, page
from preflight.audit.record_view import record_sections
from preflight.audit.report import as_csv, html_page, lines
from preflight.audit.rules import Rules, rules_of
from preflight.audit.sections import Section, period_sections, today_sections
from preflight.audit.shop_audit import ShopAudit
from preflight.audit.trends import trends
from preflight.audit.words import day, figure
from preflight.checklist.chain import Chain, ChainError
from preflight.errors import PreflightError
from preflight.shop.bundled import bundled
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine

UNTIL = int(NOW.timestamp()) + 1
YEAR = 366 * 86400


class Text(html.parser.HTMLParser):
    """The text of a page, and every attribute that could load something."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.cells: list[str] = []
        self.body: list[str] = []
        """Text of the sections."""
        self.drawn: list[str] = []
        """Text of drawings."""
        self._in: list[str] = []
        self.loading: list[str] = []
        self.feed(page)

    def handle_data(self, data: str) -> None:
        self.cells.append(data)
        if "svg" in self._in:
            self.drawn.append(data)
        elif "section" in self._in:
            self.body.append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag in self._in:
            self._in.remove(tag)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._in.append(tag)
        self.loading += [tag for name, _ in attrs if name in ("src", "href", "srcset", "data", "action", "background")]
        self.loading += [tag] if tag in ("script", "link", "iframe", "img", "object", "embed", "form") else []


@pytest.fixture(scope="module")
def report(invented: Path, tmp_path_factory: pytest.TempPathFactory) -> list[Section]:
    audit = ShopAudit(invented, tmp_path_factory.mktemp("cache"))
    audit.fill()
    made = audit.ask(lambda c: period_sections(c, invented, Rules(), UNTIL - YEAR, UNTIL))
    audit.close()
    return made


def test_every_figure_of_the_page_stands_in_the_lines_and_the_other_way_round(report: list[Section]) -> None:
    shown = Text(html_page("A title", "a subtitle", report))
    printed = " ".join(" ".join(lines(report, 100_000)).split())
    for one in report:
        for text in (*one.sentences, *(cell for row in one.rows for cell in row)):
            assert text in shown.cells or not text
            assert " ".join(text.split()) in printed


def figures(text: str) -> list[str]:
    """Every number in a text, sorted; dates and words with digits in them come apart the same way on both sides."""
    return sorted(re.findall(r"\d+(?:\.\d+)?", text))


def test_the_figures_of_the_page_are_those_of_the_lines_each_as_often(report: list[Section]) -> None:
    for one in report:
        bare = Section(one.title, one.sentences, one.names, one.rows)
        page = " ".join(Text(html_page("A title", "a subtitle", [bare])).body)
        page_figures = figures(page)
        assert page_figures == figures(" ".join(lines([bare], 100_000)))
        narrow = figures(" ".join(lines([bare], 60)))
        assert (Counter(page_figures) - Counter(narrow), set(narrow)) == (Counter(), set(page_figures))


def test_the_figures_of_a_record_are_the_same_on_page_and_lines(invented: Path, tmp_path: Path) -> None:
    audit = ShopAudit(invented, tmp_path / "cache")
    audit.fill()
    for kind in ("startup", "held", "run"):
        one = audit.ask(lambda c, kind=kind: page(c, Filter(kind=kind), rows=1))[0]  # type: ignore[misc]
        made = audit.ask(lambda c, one=one: record_sections(c, invented, one.machine, one.sequence))  # type: ignore[misc]
        shown = figures(" ".join(Text(html_page("A title", "a subtitle", made)).body))
        assert len(shown) > 20
        assert shown == figures(" ".join(lines(made, 100_000)))
    audit.close()


def test_a_chart_on_the_page_is_labelled_with_the_figures_of_its_readings(invented: Path, tmp_path: Path) -> None:
    audit = ShopAudit(invented, tmp_path / "cache")
    audit.fill()
    machine = audit.ask(lambda c: distinct(c, "machine"))[0]
    drawn = audit.ask(lambda c: trends(c, machine, Rules()))
    audit.close()
    assert drawn
    for trend in drawn:
        newest = trend.points[-1]
        known = {figure(value, trend.like) for value in (newest.low, newest.high, trend.mean) if value is not None}
        known |= {figure(value, trend.like) for value in bounds(trend)}
        known |= {day(trend.points[0].at), day(newest.at), "R", "B"} | {mark.text for mark in trend.marks}
        assert set(Text(html_page("A title", "a subtitle", [Section("", trends=(trend,))])).drawn) <= known


def test_a_heading_stays_with_what_it_heads_and_long_tables_repeat_theirs(report: list[Section]) -> None:
    alone = next(one for one in report if not (one.rows or one.trends or one.bars))
    assert '<section class="alone">' in html_page("t", "s", [alone])
    table = html_page("t", "s", [Section("Held", (), ("time", "about"), (("2026", "x" * 200),) * 60)])
    assert "<thead>" in table
    assert 'class="short"' not in table
    small = html_page("t", "s", [Section("Held", (), ("time", "about"), (("2026", "stop"),))])
    assert '<section class="short">' in small
    assert "<b>stop</b>" in small


def test_a_page_loads_nothing_and_runs_nothing(report: list[Section]) -> None:
    text = html_page("A title", "a subtitle", report)
    assert Text(text).loading == []
    assert "url(" not in text
    assert "@import" not in text
    assert "default-src 'none'" in text


def test_what_people_typed_cannot_become_markup() -> None:
    text = html_page("<b>t</b>", "s", [Section("<i>x", ("<script>alert(1)</script>",), ("<a>",), (("<img src=x>",),))])
    assert Text(text).loading == []


def test_csv_reads_back_and_runs_no_formula() -> None:
    rows = [("a,b", 'said "so"', "two\nlines"), ("=1+1", "-5", "plain")]
    read = list(csv.reader(io.StringIO(as_csv(("x", "y", "z"), rows))))
    assert read[1] == ["a,b", 'said "so"', "two\\nlines"]
    assert read[2] == ["'=1+1", "'-5", "plain"]


def test_a_record_is_shown_as_signed_with_limits_earlier_values_and_its_seal(tmp_path: Path) -> None:
    limits = {"machine": {"heads": [{"id": "1", "tension": {"paper": {"low": "3.1 bar"}}}]}}
    entries = [{"key": "tension.1", "text": "4.2", "at": NOW, "earlier": [{"at": NOW, "text": "4.9"}]}]
    saved = add_record(tmp_path, 1, entries=entries, limits=limits, tension={"1": "4.2 bar"})
    made = record_sections(None, tmp_path, MACHINE, 1)
    text = "\n".join(lines(made))
    assert "Unsigned: its seal fits" in text
    assert saved.head.sha256 in text
    assert "4.9 (2026-11-25 12:00:00)" in text
    assert "machine.heads.1.tension.paper.low  3.1 bar" in text
    assert "tension.1" in text


def test_the_seal_of_a_record_is_checked_on_the_file_not_taken_from_the_index(invented: Path, tmp_path: Path) -> None:
    shop = copied(invented, tmp_path)
    audit = ShopAudit(shop, tmp_path / "cache")
    audit.fill()
    one = audit.ask(page)[0]
    path = Chain(shop, one.machine).path(one.sequence)
    path.write_bytes(path.read_bytes().replace(b"hours", b"hourz", 1))
    with pytest.raises(ChainError, match="was changed"):
        audit.ask(lambda c: record_sections(c, shop, one.machine, one.sequence))
    audit.close()


def test_a_later_record_about_a_record_is_shown_beside_it(tmp_path: Path) -> None:
    saved = add_record(tmp_path, 2)
    refers = {"machine": MACHINE, "sequence": 1, "sha256": saved.head.sha256}
    heading = {"kind": "countersign", "name": "R. Onslow"}
    add_record(tmp_path, 1, heading=heading, refers=refers, countersign={"remark": "seen"})
    audit = ShopAudit(tmp_path, tmp_path / "cache")
    audit.fill()
    text = "\n".join(lines(audit.ask(lambda c: record_sections(c, tmp_path, MACHINE, 1))))
    assert "Later records about it" in text
    assert "R. Onslow" in text
    assert "seen" in text
    audit.close()


def test_today_names_each_machine_and_whether_it_was_checked(invented: Path, tmp_path: Path) -> None:
    audit = ShopAudit(invented, tmp_path / "cache")
    audit.fill()
    made = audit.ask(lambda c: today_sections(c, invented, Rules(), NOW))
    assert sorted(one.title for one in made) == ["Annex, one head", "Hall, three heads", "Hall, two heads"]
    assert all(
        one.sentences[0].startswith(("Checked today", "NOT checked today", "HELD today, not released")) for one in made
    )
    audit.close()


def test_a_machine_that_was_only_held_today_is_not_said_never_to_have_started(tmp_path: Path) -> None:
    heading = {"kind": "held", "name": "R. Onslow", "verdict": "stop"}
    add_record(tmp_path, 1, heading=heading, held={"what": "Stop time over.", "told": "lead", "tried": "nothing"})
    (tmp_path / "machines").mkdir(exist_ok=True)
    path = Path(shutil.copy(bundled() / "machines" / "hall-two.toml", tmp_path / "machines"))
    text = path.read_text(encoding="utf-8")
    own = next(line for line in text.splitlines() if line.startswith('id = "m-'))
    path.write_text(text.replace(own, f'id = "{MACHINE}"', 1), encoding="utf-8")
    audit = ShopAudit(tmp_path, tmp_path / "cache")
    audit.fill()
    (one,) = audit.ask(lambda c: today_sections(c, tmp_path, Rules(), NOW))
    assert one.sentences[0] == "HELD today, not released; nothing released yet."
    audit.close()


def test_the_paper_form_asks_for_every_head_in_the_order_of_the_run(invented: Path) -> None:
    machine = shop_at(invented).load(Machine, "hall-two").value
    rows = form_rows(machine)
    assert [row[0] for row in rows] == sorted((row[0] for row in rows), key=[row[0] for row in rows].index)
    text = " ".join(row[1] for row in rows)
    assert all(f"head {head.id}: gauge, bar" in text for head in machine.heads)
    assert Text(paper_form(machine)).loading == []


def test_thresholds_come_from_the_shop_file_and_a_misspelt_one_is_named(tmp_path: Path) -> None:
    assert rules_of(tmp_path) == Rules()
    (tmp_path / "audit.toml").write_text("alarm = 0.001\n[pace]\nshare = 0.5\n")
    assert (rules_of(tmp_path).alarm, rules_of(tmp_path).pace.share) == (0.001, 0.5)
    (tmp_path / "audit.toml").write_text("[pace]\nshair = 0.5\n")
    with pytest.raises(PreflightError, match="share"):
        rules_of(tmp_path)
