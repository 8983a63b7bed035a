"""Timings, run by hand as `python -m tests.bench.NAME`; the builders of the tests are found as the tests find them."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))
