"""Nothing but the one reading opens a record's file, reads its seal or its body, or looks for words in its bytes."""

from __future__ import annotations

import ast
import functools
from pathlib import Path

import pytest

import preflight

ROOT = Path(preflight.__file__).parent
MAY: dict[str, frozenset[str]] = {
    # the file's bytes: opened by the chain, handed to whoever reads records by it
    "read_alone": frozenset({"checklist/chain", "checklist/chain_check", "checklist/verify"}),
    "ChainFiles": frozenset(
        {
            "checklist/chain",
            "checklist/chain_check",
            "checklist/machine_records",
            "checklist/admission",
            "checklist/register_alarm",
            "cli/explain",
        }
    ),
    "LARGEST_RECORD": frozenset({"checklist/seal", "checklist/chain"}),
    # its seal
    "read_seal": frozenset(
        {"checklist/seal", "checklist/chain", "checklist/record", "checklist/chain_check", "cli/explain"}
    ),
    # its body
    "read_body": frozenset({"checklist/body_reader", "checklist/body", "checklist/record"}),
    "check_kind": frozenset({"checklist/record_kinds", "checklist/record"}),
    "read_content": frozenset({"checklist/record", "checklist/body_memory", "checklist/store"}),
    "read_record": frozenset(
        {
            "checklist/record",
            "checklist/machine_records",
            "checklist/admission",
            "checklist/verify",
            "checklist/store",
            "cli/explain",
        }
    ),
}
"""Names of the reading, and the modules that may use them."""


@functools.cache
def modules() -> dict[str, ast.Module]:
    """Every module of the package by its path without ending."""
    paths = sorted(ROOT.rglob("*.py"))
    return {path.relative_to(ROOT).with_suffix("").as_posix(): ast.parse(path.read_bytes()) for path in paths}


def names(tree: ast.Module) -> set[str]:
    """Names that a module defines, uses, imports or reaches through a dot."""
    found = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    found |= {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    found |= {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.ClassDef)}
    imports = (node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom))
    return found | {alias.name for node in imports for alias in node.names}


@pytest.mark.parametrize("name", MAY)
def test_a_part_of_the_reading_is_used_by_the_reading_alone(name: str) -> None:
    users = {module for module, tree in modules().items() if name in names(tree)}
    assert users == MAY[name]


def test_no_library_of_toml_and_no_search_of_bytes_reads_a_saved_record() -> None:
    for module, tree in modules().items():
        if not module.startswith("checklist/") or module == "checklist/key_folder":  # keys are no records
            continue
        imported = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
        imported |= {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
        assert not imported & {"tomllib", "preflight.toml_text"}, module
        searched = {node.value for node in ast.walk(tree) if isinstance(node, ast.Constant)} & {b"[record]\n"}
        assert not searched or module == "checklist/record", module


def test_no_file_of_a_chain_is_opened_past_the_door() -> None:
    """What is named by a record's number is opened by `ChainFiles`; `relative_path` is for names that are shown."""
    for module, tree in modules().items():
        for node in ast.walk(tree):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
                continue
            if node.func.attr in ("read_bytes", "read_text", "open"):
                text = ast.unparse(node.func.value)
                assert "relative_path" not in text, module
                assert ".path(" not in text, module
