"""What the command line accepts. Declares every command once; imports nothing but argparse."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, NoReturn

from preflight import __version__
from preflight.errors import PreflightError

if TYPE_CHECKING:
    from collections.abc import Sequence

EXIT_STATUSES = """\
exit status: 0 ok, 1 caution, 2 open, stop or failed verification,
             3 input that cannot be read or a usage error, 4 the tool's own failure"""


class UsageError(PreflightError):
    """Arguments that make no command."""


class _Parser(argparse.ArgumentParser):
    """Leaves a usage error to the caller: argparse would exit with 2, which here means "open or stop"."""

    def error(self, message: str) -> NoReturn:
        raise UsageError(message, self.format_usage().strip())


def parser_for(argv: Sequence[str]) -> argparse.ArgumentParser:
    """The parser of these arguments: without a command they open the app, whose first frame does not wait for all the
    commands to be declared."""
    opens_app = not argv or (len(argv) == 2 and argv[0] == "--shop")
    return _top() if opens_app else parser()


def _top() -> _Parser:
    top = _Parser(
        prog="preflight",
        description="The guided, computed check of a wide-belt sander's set-up and start-up. "
        "Without a command: opens the app.",
        epilog=EXIT_STATUSES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="version", version=f"preflight {__version__}")
    top.add_argument("--shop", metavar="DIR", help="shop folder; else PREFLIGHT_SHOP, else the user data folder")
    top.set_defaults(command="preflight.cli.app", demo=False)
    return top


def parser() -> argparse.ArgumentParser:
    """The whole command line. `command` of the result names the module that runs it."""
    from preflight.cli.audit_commands import add_audit
    from preflight.cli.signed_commands import add_approve, add_people, add_record
    from preflight.cli.train_commands import add_train
    from preflight.shop.bundled import samples

    top = _top()
    commands = top.add_subparsers(title="commands", metavar="COMMAND")

    demo = _command(commands, "demo", "app", "open the app on a throwaway demo shop", shop=False)
    demo.add_argument(
        "--days",
        type=int,
        default=0,
        metavar="N",
        help="with N days of invented records, for the lead's view; default: 0",
    )
    demo.set_defaults(demo=True)

    assess = _command(commands, "assess", "assess", "verdicts on a setup sheet, without a screen")
    assess.add_argument(
        "sheet", metavar="SHEET", help=f"setup sheet (a TOML file), or the name of a sample: {', '.join(samples())}"
    )
    assess.add_argument("--machine", metavar="ID", help="machine profile to judge by: an id or a file")
    assess.add_argument("--all", action="store_true", help="also show the findings that are ok")
    assess.add_argument("--json", action="store_true", help="print one JSON document instead of lines")

    air = _command(commands, "airflow", "airflow", "flows, velocities and advice for a set of open gates")
    air.add_argument("--open", metavar="A,B", action="append", required=True, help='gates that are open; "" for none')
    air.add_argument("--extraction", metavar="ID|FILE", help="extraction profile; default: the machine's")
    air.add_argument("--machine", metavar="ID|FILE", help="machine profile whose needs count; default: design flows")
    air.add_argument("--in-use", metavar="A,B", action="append", help="gates that neighbours need: never shut")
    air.add_argument("--filter-drop", metavar="DROP", help='filter drop read today, as in "520 Pa"')
    air.add_argument("--damp", action="store_true", help="damp stock: judge by its velocity")
    air.add_argument("--json", action="store_true", help="print one JSON document instead of lines")

    feed = _command(commands, "feed", "feed", "where boards go over the width, so that belt and drum wear evenly")
    feed.add_argument("--machine", metavar="ID|FILE", required=True, help="machine profile: an id or a file")
    feed.add_argument(
        "--part",
        metavar="SIZE, COUNT",
        action="append",
        required=True,
        help='width x length x thickness and how many, as in "180 mm x 700 mm x 19 mm, 60"; once for each size',
    )
    strips = 'strips = [{ left = "15 mm", right = "300 mm", passed = "120 m" }], from the bed\'s left edge'
    feed.add_argument("--wear", metavar="FILE", help=f"worn strips (TOML): {strips}; default: an unworn belt")
    feed.add_argument(
        "--trade",
        metavar="HOW",
        default="rotation",
        help="rotation (few different feeds), evenest, fewest (feeds), or so many extra feeds",
    )
    feed.add_argument("--skew", metavar="DEG", default="0", help="how far boards are turned, degrees; default: 0")
    feed.add_argument("--at-marks", action="store_true", help="only at the machine's marked places; default: anywhere")
    feed.add_argument("--feed", metavar="SPEED", help='feed speed, as in "6 m/min"; default: the usual one')
    feed.add_argument("--json", action="store_true", help="print one JSON document instead of lines")

    done = _command(commands, "run-record", "run_record", "save what a job really fed, from a file")
    done.add_argument(
        "file", metavar="FILE", help="setup sheet (a TOML file) with a [run] table: hours, began, off, glue, readings"
    )
    done.add_argument("--by", metavar="NAME", help="who signs; default: the only person with a key here")
    done.add_argument("--keys", metavar="DIR", help="folder of sealed keys; else PREFLIGHT_KEYS, else the user's own")

    marks = _command(commands, "marks", "marks", "name what prints marks that repeat along a board")
    marks.add_argument("--machine", metavar="ID", required=True, help="machine profile: an id or a file")
    marks.add_argument("--span", metavar="LENGTH", required=True, help='over the marks, as in "121 mm"')
    marks.add_argument("--count", metavar="N", type=int, required=True, help="spaces between the marks in that span")
    marks.add_argument("--feed", metavar="SPEED", help='feed speed, as in "6 m/min"; default: the usual one')
    marks.add_argument("--json", action="store_true", help="print one JSON document instead of lines")

    belts = _command(commands, "belts", "belts", "list the belts on the rack, those that fit a head and job first")
    belts.add_argument("--machine", metavar="ID", required=True, help="machine profile: an id or a file")
    belts.add_argument("--head", metavar="ID", required=True, help="head of that machine")
    belts.add_argument("--job", metavar="ID", help="job card whose grits count")
    belts.add_argument("--platen", choices=("down", "lifted"), default="lifted", help="on a head that has one")
    belts.add_argument("--json", action="store_true", help="print one JSON document instead of lines")

    profiles = commands.add_parser("profiles", help="check profiles and cards, or begin a new one")
    kinds = profiles.add_subparsers(title="commands", metavar="COMMAND", required=True)
    check = _command(kinds, "check", "profiles", "find everything that is wrong with profiles and cards")
    check.add_argument("refs", nargs="*", metavar="ID|FILE", help="default: everything in the shop")
    new = _command(kinds, "new", "starter", "write a commented machine profile to begin from", shop=False)
    new.add_argument("path", nargs="?", metavar="FILE", help="default: standard output")

    add_approve(kinds, _command)
    add_people(commands, _command)
    add_record(commands, _command)
    add_audit(commands, _command)
    add_train(commands, _command)

    init = _command(commands, "init", "init", "make a shop folder", shop=False)
    init.add_argument("folder", nargs="?", metavar="DIR", help="default: the folder that `where` names")
    init.add_argument("--empty", action="store_true", help="without the bundled demo profiles and cards")

    verify = _command(commands, "verify", "verify", "check seals and chains of the saved records")
    verify.add_argument("folder", nargs="?", metavar="FOLDER|FILE", help="default: the shop folder")
    verify.add_argument("--anew", action="store_true", help="read every body again, not only those not read before")
    verify.add_argument("--explain", type=int, metavar="N", help="the steps for record N, as commands that repeat them")
    verify.add_argument(
        "--machine", metavar="ID|CHAIN", help="with --explain: whose record; not needed where there is one"
    )
    verify.add_argument("--head", metavar="FILE|TEXT", help="heads kept elsewhere, from: preflight people head")
    verify.add_argument("--json", action="store_true", help="print one JSON document instead of lines")

    _command(commands, "where", "where", "which shop folder would be used, and why; makes nothing")
    return top


def _command(
    commands: argparse._SubParsersAction[_Parser], name: str, module: str, about: str, *, shop: bool = True
) -> argparse.ArgumentParser:
    made = commands.add_parser(
        name,
        help=about,
        description=about[0].upper() + about[1:] + ".",
        epilog=EXIT_STATUSES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    made.set_defaults(command=f"preflight.cli.{module}")
    if shop:
        # SUPPRESS: without it the default here would overwrite a --shop given before the command
        made.add_argument("--shop", metavar="DIR", default=argparse.SUPPRESS, help="shop folder")
    return made
