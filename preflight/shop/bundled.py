"""Where the profiles that come with the tool lie. Imports no validation library, so that `where` stays light."""

from __future__ import annotations

from pathlib import Path

SAMPLES = "sheets"
"""Folder of the sample sheets in it."""


def bundled() -> Path:
    """Folder of the profiles that come with the tool: inside an installed package, else beside a checkout's."""
    package = Path(__file__).parent.parent
    packed = package / "_profiles"
    return packed if packed.is_dir() else package.parent / "profiles"


def samples() -> list[str]:
    """Names of the sample sheets, in order."""
    return sorted(path.stem for path in (bundled() / SAMPLES).glob("*.toml"))
