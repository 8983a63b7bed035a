"""One invented shop for all audit tests."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from audit.audit_samples import invented_shop

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(scope="session")
def invented(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The three bundled machines with 14 days of records; not to be changed."""
    return invented_shop(tmp_path_factory.mktemp("audit"))
