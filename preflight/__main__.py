"""The command: parse the arguments, import the one command asked for, turn every ending into an exit status.

0 ok, 1 caution, 2 open, stop or failed verification, 3 input that cannot be read or a usage error, 4 the tool's
own failure. Nothing heavy is imported before the arguments are understood: `--help` and `where` stay light.
"""

from __future__ import annotations

import contextlib
import importlib
import io
import os
import sys
from typing import TYPE_CHECKING, TextIO, cast

from preflight.cli.parser import parser_for
from preflight.errors import OWN_FAILURE, PreflightError
from preflight.outside_text import ShownStream, unfit

if TYPE_CHECKING:
    from collections.abc import Sequence

INTERRUPTED = 130
"""As a shell reports a command ended by Ctrl+C."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; `argv` without the program's name, by default the process's own. Returns the exit status."""
    _let_any_terminal_print()
    try:
        with contextlib.redirect_stdout(_door(sys.stdout)), contextlib.redirect_stderr(_door(sys.stderr)):
            status = _run(argv)
        sys.stdout.flush()
    except BrokenPipeError:
        # Whoever read the output has gone. Python flushes stdout once more at exit, which must not fail again.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return OWN_FAILURE
    return status


def _run(argv: Sequence[str] | None) -> int:
    try:
        given = sys.argv[1:] if argv is None else list(argv)
        _refuse_unseen(given)
        arguments = parser_for(given).parse_args(given)
        return int(importlib.import_module(arguments.command).run(arguments))
    except PreflightError as error:
        return _failed(error.message, error.hint, error.exit_status)
    except SystemExit as done:  # --help and --version end this way
        return done.code if isinstance(done.code, int) else 0
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        raise
    except Exception as error:  # the one broad except: a traceback helps nobody at the machine
        if os.environ.get("PREFLIGHT_DEBUG"):
            raise
        return _failed(f"own failure: {type(error).__name__}: {error}", f"{_log(error)}.", OWN_FAILURE)


def _log(error: Exception) -> str:
    from preflight import clock
    from preflight.own_failure import logged

    sentence = logged([error], clock.now())
    return sentence[0].upper() + sentence[1:]


def _door(stream: TextIO) -> TextIO:
    return cast("TextIO", ShownStream(stream))


def _refuse_unseen(argv: Sequence[str]) -> None:
    """No name, remark or path from the command line holds what nobody can see. A text of heads has several lines."""
    for argument in argv:
        heads = argument.removeprefix("--head=").startswith("preflight heads")
        if why := unfit("".join(argument.splitlines()) if heads else argument):
            raise PreflightError(f"The argument {argument!r} {why}.", "Type it again without.")


def _failed(message: str, hint: str, status: int) -> int:
    for line in [*message.splitlines(), *hint.splitlines()]:
        print(f"preflight: {line}", file=sys.stderr)
    return status


def _let_any_terminal_print() -> None:
    """A console without the degree sign gets a question mark, not an error."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


if __name__ == "__main__":
    sys.exit(main())
