"""Declares `preflight audit`; imports nothing but argparse."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable


BACK = "400 days back"
"""As `audit.period.LOOK_BACK` has it, which is not imported for a help text."""


def add_audit(commands: Any, make: Callable[..., argparse.ArgumentParser]) -> None:
    """Add the command and its parts."""
    audit = commands.add_parser("audit", help="what all saved records say: today, lists, patterns, trends, reports")
    parts = audit.add_subparsers(title="commands", metavar="COMMAND", required=True)

    def part(name: str, about: str, *, period: str = "", machine: bool = True) -> argparse.ArgumentParser:
        made = make(parts, name, "audit", about)
        made.set_defaults(part=name)
        made.add_argument("--cache", metavar="DIR", help="folder of the index; default: the platform's cache folder")
        if machine:
            made.add_argument(
                "--machine", metavar="ID", help="its profile's id in the shop, its printed name, or a machine id"
            )
        if period:
            made.add_argument("--since", metavar="DATE", help=f"first day, as in 2026-11-01; default: {period}")
            made.add_argument("--until", metavar="DATE", help="last day; default: today")
        return made

    part("today", "what needs a word today", machine=False)
    listing = part("list", "list records, newest first", period="that of the first record")
    listing.add_argument("--person", metavar="NAME")
    listing.add_argument("--verdict", choices=("ok", "caution", "open", "stop"))
    listing.add_argument("--kind", metavar="KIND", help="startup, held, run, override, repair, countersign, late")
    listing.add_argument("--rows", type=int, metavar="N", help="default: 50; with --csv or --json all")
    listing.add_argument("--after", metavar="MACHINE/NUMBER", help="go on behind this record")
    listing.add_argument("--csv", action="store_true", help="comma-separated values")
    listing.add_argument("--json", action="store_true", help="one JSON document")
    show = part("show", "one record whole, with its seal", machine=False)
    show.add_argument("record", metavar="MACHINE/NUMBER", help='as in "hall-two/12"')
    show.add_argument("--reveal", action="store_true", help="also what a correction hides")
    show.add_argument("--html", metavar="FILE", help='write a page instead of lines; "-": standard output')
    patterns = part("patterns", "flags worth a talk, with their tests", period=BACK, machine=False)
    patterns.add_argument("--csv", action="store_true", help="what was missed, late or held, one by one, as CSV")
    patterns.add_argument("--json", action="store_true", help="one JSON document: flags, shifts, and each case")
    trends = part("trends", "readings over time: baseline, drift alarm, when at the limit", period=BACK)
    trends.add_argument("--drifting", action="store_true", help="only those with an alarm")
    report = part("report", "a period or a machine as lines or as one page to print", period=BACK)
    report.add_argument("--html", metavar="FILE", help='write a page instead of lines; "-": standard output')
    form = part("form", "a blank paper form of a machine, for a power cut")
    form.add_argument("--html", metavar="FILE", default="-", help='default "-": standard output')
    rebuild = part("rebuild", "read every record anew into the index", machine=False)
    rebuild.add_argument("--processes", type=int, metavar="N", help="default: every core")
