"""Arguments of `preflight train`. Imports nothing but argparse."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    Command = Callable[..., argparse.ArgumentParser]

JSON = "print one JSON document instead of lines"


def add_train(commands: Any, command: Command) -> None:
    """`preflight train ...`."""
    train = commands.add_parser("train", help="practise on drills with planted faults; nothing is started")
    kinds = train.add_subparsers(title="commands", metavar="COMMAND", required=True)

    listed = command(kinds, "list", "train", "list the written drills")
    listed.add_argument("--json", action="store_true", help=JSON)

    run = command(kinds, "run", "train_run", "run a drill as plain questions and answers")
    run.add_argument("drill", nargs="?", metavar="DRILL", help="a written drill; default: one drawn for you")
    run.add_argument("--level", type=int, choices=(1, 2, 3), default=1, help="help: 1 limits, 2 worst verdict, 3 none")
    run.add_argument("--seed", type=int, metavar="N", help="of a drawn drill: the same number gives the same drill")
    run.add_argument(
        "--surprise",
        action="store_true",
        help="the one station due for --as NAME, as after a start-up",
    )
    run.add_argument("--as", dest="name", metavar="NAME", help="on record under this name, from the first question on")
    _keys(run)

    read = command(kinds, "read", "train_run", "read a drawn gauge or caliper", shop=False)
    read.add_argument("instrument", nargs="?", metavar="INSTRUMENT", help="default: one drawn for you")
    read.add_argument("--seed", type=int, metavar="N", help="the same number gives the same drawing")

    standing = command(kinds, "standing", "train", "what each person has shown, what is due, the gate to work alone")
    standing.add_argument("name", nargs="?", metavar="NAME", help="default: everybody")
    standing.add_argument("--json", action="store_true", help=JSON)

    mark = command(kinds, "mark", "train", "put down a trainer's mark on somebody")
    mark.add_argument("name", metavar="NAME", help="the trainee")
    mark.add_argument("mark", choices=("observed-start", "near-miss", "may-work-alone"))
    mark.add_argument("--by", metavar="NAME", required=True, help="trainer or lead who signs")
    mark.add_argument("--note", metavar="TEXT", default="", help="one sentence")
    _keys(mark)

    strips = command(kinds, "strips", "train", "judge a measuring test: the same strips read twice against a reference")
    strips.add_argument("name", metavar="NAME", help="who measured")
    for option, about in (("reference", "the trainer's"), ("first", "first"), ("second", "second")):
        strips.add_argument(
            f"--{option}", metavar="LENGTHS", required=True, help=f'{about} readings: "18.02 mm, 18.4 mm"'
        )
    _keys(strips)

    export = command(kinds, "export", "train", "every result of practice, one line a station judged, as CSV")
    export.add_argument("--json", action="store_true", help=JSON)
    for made, what in ((listed, "list"), (run, "run"), (read, "read"), (standing, "standing")):
        made.set_defaults(what=what)
    for made, what in ((mark, "mark"), (strips, "strips"), (export, "export")):
        made.set_defaults(what=what)


def _keys(made: argparse.ArgumentParser) -> None:
    made.add_argument("--keys", metavar="DIR", help="folder of the keys; else PREFLIGHT_KEYS, else the user's own")
