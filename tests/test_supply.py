"""What the app stands on is named three times, and the three agree: bounds, pinned releases, list of parts."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
PINNED = re.compile(r"^(?P<name>[a-z0-9-]+)==(?P<version>\S+)(?P<rest>(?:.*\\\n)+.*)$", re.MULTILINE)
HASH = re.compile(r"--hash=sha256:[0-9a-f]{64}")


def project() -> dict[str, Any]:
    table: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return table


def pinned(name: str) -> dict[str, str]:
    """The releases of one file of constraints; every one of them has at least one hash."""
    text = (ROOT / ".ci" / name).read_text(encoding="utf-8")
    releases = {match["name"]: match["version"] for match in PINNED.finditer(text) if HASH.search(match["rest"])}
    assert len(releases) == sum("==" in line for line in text.splitlines())
    return releases


def bounds(*groups: list[str]) -> list[Requirement]:
    return [Requirement(text) for group in groups for text in group]


def test_every_dependency_has_a_lower_and_an_upper_bound() -> None:
    for requirement in bounds(project()["dependencies"], project()["optional-dependencies"]["test"]):
        assert {part.operator for part in requirement.specifier} == {">=", "<"}, requirement


@pytest.mark.parametrize(("name", "extras"), [("constraints-runtime.txt", []), ("constraints-test.txt", ["test"])])
def test_a_pinned_release_lies_within_the_bounds(name: str, extras: list[str]) -> None:
    releases = pinned(name)
    for requirement in bounds(project()["dependencies"], *(project()["optional-dependencies"][e] for e in extras)):
        assert releases[canonicalize_name(requirement.name)] in requirement.specifier, requirement


def test_the_app_is_tested_on_the_releases_that_it_runs_on() -> None:
    tested = pinned("constraints-test.txt")
    assert {name: tested.get(name) for name in pinned("constraints-runtime.txt")} == pinned("constraints-runtime.txt")


def test_the_list_of_parts_names_the_pinned_releases() -> None:
    parts = json.loads((ROOT / ".ci" / "parts.cdx.json").read_text(encoding="utf-8"))
    named = {part["name"]: part["version"] for part in parts["components"]}
    required = {part["name"] for part in parts["components"] if part["scope"] == "required"}
    only_on_windows = {"colorama"}
    assert required == pinned("constraints-runtime.txt").keys()
    assert named.items() <= pinned("constraints-test.txt").items()
    assert pinned("constraints-test.txt").keys() - named.keys() == only_on_windows
    assert all(part["licenses"] for part in parts["components"])
    assert parts["metadata"]["component"]["version"] == project()["version"]


def test_the_licence_lies_in_the_package_and_is_named() -> None:
    assert project()["license"] == "MIT"
    assert project()["license-files"] == ["preflight/LICENSE"]
    assert (ROOT / "preflight" / "LICENSE").read_text(encoding="utf-8").startswith("MIT License\n")


def test_no_address_of_a_registry_is_pinned() -> None:
    for path in [*(ROOT / ".ci").iterdir(), ROOT / "pyproject.toml"]:
        assert "://" not in path.read_text(encoding="utf-8"), path
