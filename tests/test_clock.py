"""One place asks what time it is, and the tests hold that place still."""

from __future__ import annotations

import re
import time
from datetime import timedelta
from pathlib import Path

from standing_clock import NOW

from preflight import clock

PACKAGE = Path(clock.__file__).parent
ASKED = re.compile(r"datetime\.now\(|\.utcnow\(|date\.today\(|\btime\.time\(|\blocaltime\(|\bgmtime\(")


def test_only_the_clock_asks_what_time_it_is() -> None:
    asking = [path.name for path in PACKAGE.rglob("*.py") if ASKED.search(path.read_text(encoding="utf-8"))]
    assert asking == ["clock.py"]


def test_the_clock_gives_local_time_with_its_offset() -> None:
    assert clock.now() == NOW
    assert clock.now().utcoffset() == timedelta(hours=1)


def test_the_tests_stand_in_a_zone_of_their_own() -> None:
    assert time.tzname == ("CET", "CEST")
