"""The list of parts: what the app and its tests stand on, as CycloneDX 1.6 JSON on standard output.

Read from the metadata of the installed packages, for the releases named in constraints-test.txt. The same releases give
the same bytes on every machine: no time, no random number, and markers are judged for Linux and all Pythons named.
"""

from __future__ import annotations

import json
import re
import sys
from importlib import metadata
from typing import Any

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

PACKAGE = "widebelt-preflight"
PYTHONS = ("3.11", "3.12", "3.13")
SYSTEM = {
    "implementation_name": "cpython",
    "os_name": "posix",
    "platform_machine": "x86_64",
    "platform_python_implementation": "CPython",
    "platform_system": "Linux",
    "sys_platform": "linux",
}
LONGEST_NAME = 64
"""Characters; what is longer in the field of the licence is its whole text."""


def requirements(name: str, extras: frozenset[str]) -> list[tuple[Requirement, frozenset[str]]]:
    """What `name` asks for on Linux under any of the Pythons, each with the extras asked of it."""
    asked = []
    for text in metadata.requires(name) or []:
        requirement = Requirement(text)
        marker = requirement.marker
        surroundings = (
            {**SYSTEM, "python_version": python, "python_full_version": f"{python}.0", "extra": extra}
            for python in PYTHONS
            for extra in (extras or {""})
        )
        if marker is None or any(marker.evaluate(where) for where in surroundings):
            asked.append((requirement, frozenset(requirement.extras)))
    return asked


def closure(extras: frozenset[str]) -> dict[str, set[str]]:
    """Every package that is reached from ours, with the names of those it asks for."""
    reached: dict[str, set[str]] = {}
    waiting = [(PACKAGE, extras)]
    seen = set(waiting)
    while waiting:
        name, wanted = waiting.pop()
        asked = [(canonicalize_name(requirement.name), more) for requirement, more in requirements(name, wanted)]
        reached.setdefault(name, set()).update(other for other, _ in asked)
        waiting += (fresh := set(asked) - seen)
        seen |= fresh
    return reached


def reference(name: str) -> str:
    """The package's URL in the sense of the purl specification: a name, no address."""
    return f"pkg:pypi/{name}@{metadata.version(name)}"


def licences(name: str) -> list[dict[str, Any]]:
    """What the package says of its licence: an expression, else a short name, else its classifiers."""
    about = metadata.metadata(name).json
    if expression := about.get("license_expression"):
        return [{"expression": expression}]
    stated = str(about.get("license", "")).strip()
    if stated and len(stated) <= LONGEST_NAME and "\n" not in stated:
        return [{"license": {"name": stated}}]
    prefix = re.compile(r"License :: (?:OSI Approved :: )?(.+)")
    found = (prefix.fullmatch(line) for line in about.get("classifier", []))
    return [{"license": {"name": match[1]}} for match in found if match]


def component(name: str, kind: str, scope: str | None) -> dict[str, Any]:
    """One part as the list names it."""
    part = {
        "type": kind,
        "bom-ref": reference(name),
        "name": name,
        "version": metadata.version(name),
        "scope": scope,
        "licenses": licences(name),
        "purl": reference(name),
    }
    return {key: value for key, value in part.items() if value}


def parts_list() -> dict[str, Any]:
    """The whole document. Parts that only the tests need are `excluded`: they are not there when the app runs."""
    running, testing = closure(frozenset()), closure(frozenset({"test"}))
    names = sorted(testing.keys() - {PACKAGE})
    return {
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "version": 1,
        "metadata": {"component": component(PACKAGE, "application", None)},
        "components": [component(name, "library", "required" if name in running else "excluded") for name in names],
        "dependencies": [
            {"ref": reference(name), "dependsOn": sorted(reference(other) for other in testing[name])}
            for name in sorted(testing)
        ],
    }


if __name__ == "__main__":
    json.dump(parts_list(), sys.stdout, indent=1, ensure_ascii=False)
    print()
