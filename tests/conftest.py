"""Puts this folder on the path of the tests, so that they find `builders`, and holds still what surrounds them.

No test sees the day, the zone, the language, the terminal, the shop or the keys of whoever runs it.
"""

from __future__ import annotations

import os
import shutil
import time
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, settings
from secrets_left import NoSecretLeft, secrets_left
from standing_clock import StandingClock

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

ZONE = "CET-1CEST,M3.5.0,M10.5.0/3"
"""Off UTC and with summer time, so that whoever mixes up the two is noticed; as POSIX writes it, for any system."""
HOMES = {
    "HOME": "",
    "USERPROFILE": "",
    "LOCALAPPDATA": "",
    "XDG_DATA_HOME": "data",
    "XDG_CONFIG_HOME": "config",
    "XDG_CACHE_HOME": "cache",
    "XDG_STATE_HOME": "state",
}
UNSET = ("PREFLIGHT_", "LC_", "LANG", "COLUMNS", "LINES", "COLORTERM", "NO_COLOR", "FORCE_COLOR", "PYTHON_COLORS")
"""Variables that begin so are not there."""

# No law fails on a clock: a machine that does two things at once takes longer for an example.
settings.register_profile(
    "unhurried",
    settings.get_profile(settings.get_current_profile_name()),
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("unhurried")


@pytest.fixture(scope="session", autouse=True)
def _place() -> Iterator[None]:
    """Zone, language, terminal and file rights, once for all tests of a process."""
    with pytest.MonkeyPatch.context() as patch:
        for name in [name for name in os.environ if name.startswith(UNSET)]:
            patch.delenv(name)
        patch.setenv("LC_ALL", "C.UTF-8")
        patch.setenv("TERM", "xterm-256color")
        patch.setenv("TZ", ZONE)
        time.tzset()
        mask = os.umask(0o022)
        yield
        os.umask(mask)
    time.tzset()


@pytest.fixture(scope="session")
def _homes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("homes")


@pytest.fixture(autouse=True)
def home(_homes: Path) -> Iterator[Path]:
    """The home of whoever runs the test: not there until something is put into it, and gone afterwards.

    Set by a patch of its own, which stays when a test takes its own changes back halfway.
    """
    home = _homes / "home"
    with pytest.MonkeyPatch.context() as patch:
        for name, folder in HOMES.items():
            patch.setenv(name, str(home / folder))
        patch.setattr("preflight.clock.datetime", StandingClock)
        yield home
    if home.exists():
        shutil.rmtree(home)


@pytest.fixture
def no_secret_left(home: Path) -> NoSecretLeft:
    """`no_secret_left(secrets, shop, screens)`: none in the shop, in this user's caches and logs, or on a screen."""

    def require(secrets: Sequence[str], shop: Path, screens: Iterable[str] = ()) -> None:
        assert secrets_left(secrets, [shop, home], screens) == []

    return require
