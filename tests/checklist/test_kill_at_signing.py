"""A signature cut off by a kill: the record is there once or not at all, and a saved one's draft is not offered."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

TESTS = Path(__file__).parents[1]


def test_a_kill_before_and_after_the_moment_of_publishing_leaves_a_record_or_a_draft_and_never_both(
    tmp_path: Path,
) -> None:
    """The state "published, draft still there" on purpose; the other operations: tests/bench/bench_kill_signing."""
    done = subprocess.run(
        [sys.executable, "-m", "checklist.kill_at_signing", str(tmp_path), "link", "unlink", "replace"],
        cwd=TESTS,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines() == [
        "before link: draft kept, signed again",
        "after link: published, draft still there",
        "before unlink: published, draft still there",
        "after unlink: published, draft still there",
        "before replace: published, draft gone",
        "after replace: published, draft gone",
    ]
