"""Declares `preflight audit`; imports nothing but argparse."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable


def add_audit(commands: Any, make: Callable[..., argparse.ArgumentParser]) -> None:
    """Add the command and its parts."""
    audit = commands.add_parser("audit", help="what all saved records say: today, lists, patterns, trends, reports")
    parts = audit.add_subparsers(title="commands", metavar="COMMAND", required=True)

    def part(name: str, about: str, *, period: bool = False, machine: bool = True) -> argparse.ArgumentParser:
        made = make(parts, name, "audit", about)
        made.set_defaults(part=name)
        made.add_argument("--cache", metavar="DIR", help="folder of the index; default: the platform's cache folder")
        if machine:
            made.add_argument("--machine", metavar="ID", help="machine profile: its id in the shop, or a machine id")
        if period:
            made.add_argument("--since", metavar="DATE", help="first day, as in 2026-11-01")
            made.add_argument("--until", metavar="DATE", help="last day; default: today")
        return made

    part("today", "what needs a word today", machine=False)
    listing = part("list", "list records, newest first", period=True)
    listing.add_argument("--person", metavar="NAME")
    listing.add_argument("--verdict", choices=("ok", "caution", "open", "stop"))
    listing.add_argument("--kind", metavar="KIND", help="startup, held, run, override, repair, countersign, late")
    listing.add_argument("--rows", type=int, default=50, metavar="N", help="default: 50")
    listing.add_argument("--after", metavar="MACHINE/NUMBER", help="go on behind this record")
    listing.add_argument("--csv", action="store_true", help="comma-separated values")
    listing.add_argument("--json", action="store_true", help="one JSON document")
    show = part("show", "one record whole, with its seal", machine=False)
    show.add_argument("record", metavar="MACHINE/NUMBER", help='as in "hall-two/12"')
    show.add_argument("--html", metavar="FILE", help='write a page instead of lines; "-": standard output')
    patterns = part("patterns", "flags worth a talk, with their tests", period=True, machine=False)
    patterns.add_argument("--json", action="store_true", help="one JSON document")
    trends = part("trends", "readings over time: baseline, drift alarm, when at the limit", period=True)
    trends.add_argument("--drifting", action="store_true", help="only those with an alarm")
    report = part("report", "a period or a machine as lines or as one page to print", period=True)
    report.add_argument("--html", metavar="FILE", help='write a page instead of lines; "-": standard output')
    form = part("form", "a blank paper form of a machine, for a power cut")
    form.add_argument("--html", metavar="FILE", default="-", help='default "-": standard output')
    rebuild = part("rebuild", "read every record anew into the index", machine=False)
    rebuild.add_argument("--processes", type=int, metavar="N", help="default: every core")
