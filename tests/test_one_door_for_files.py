"""Nothing opens, lists or writes a file of a shop but `disk`, and nothing parses TOML but `toml_text`."""

from __future__ import annotations

import ast
from pathlib import Path
from typing import TYPE_CHECKING

import preflight

if TYPE_CHECKING:
    from collections.abc import Iterator

PACKAGE = Path(preflight.__file__).parent
ON_A_PATH = frozenset(
    {
        *("read_bytes", "read_text", "write_bytes", "write_text", "iterdir", "glob", "rglob", "touch", "unlink"),
        *("mkdir", "rmdir", "symlink_to", "hardlink_to"),
    }
)
"""Methods that nothing but a path has, and that read, list or change a file."""
OF_THE_SYSTEM = frozenset({"open", "scandir", "listdir", "link", "symlink", "rename", "replace", "remove", "unlink"})
OUTSIDE_A_SHOP = {
    "disk.py": "the door itself",
    "publishing.py": "the door's one operation",
    "file_rights.py": "looks at the folder of keys",
    "__main__.py": "the null device",
    "cli/terminal.py": "the terminal",
    "own_failure.py": "this user's log",
    "cli/init.py": "reads the bundled files; the new shop is written by the door",
    "cli/starter.py": "a file that a person names, made new",
    "shop/bundled.py": "the bundled files",
    "training/drill_file.py": "the written drills of the package",
    "checklist/key_folder.py": "makes the folder of keys",
    "checklist/founders.py": "makes this terminal's own folder",
    "checklist/body_memory.py": "this terminal's cache",
    "audit/index.py": "this terminal's cache",
    "audit/filling_lock.py": "this terminal's cache",
}


def calls(tree: ast.AST) -> Iterator[ast.Call]:
    """Calls that open, list or change a file."""
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        called = node.func
        if isinstance(called, ast.Name):
            if called.id == "open":
                yield node
        elif isinstance(called, ast.Attribute):
            of_system = isinstance(called.value, ast.Name) and called.value.id == "os" and called.attr in OF_THE_SYSTEM
            with_mode = called.attr == "open" and bool(node.args) and isinstance(node.args[0], ast.Constant)
            over_another = called.attr in ("replace", "rename") and len(node.args) == 1 and not node.keywords
            if called.attr in ON_A_PATH or of_system or with_mode or over_another:
                yield node


def test_only_the_door_touches_files_of_a_shop() -> None:
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        name = path.relative_to(PACKAGE).as_posix()
        lines = [node.lineno for node in calls(ast.parse(path.read_text("utf-8")))]
        if lines:
            found[name] = lines
    assert {name: lines for name, lines in found.items() if name not in OUTSIDE_A_SHOP} == {}
    assert set(OUTSIDE_A_SHOP) - set(found) <= {"disk.py"}, "a module that no longer does it needs no permission"


def test_only_one_module_parses_toml() -> None:
    importing = [
        path.relative_to(PACKAGE).as_posix()
        for path in PACKAGE.rglob("*.py")
        if "tomllib"
        in {
            alias.name
            for node in ast.walk(ast.parse(path.read_text("utf-8")))
            if isinstance(node, (ast.Import, ast.ImportFrom))
            for alias in node.names
        }
    ]
    assert importing == ["toml_text.py"]
