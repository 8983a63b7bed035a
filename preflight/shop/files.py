"""Reading the files: bytes to a validated model, or one error that names file, key and what was expected."""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from preflight.disk import RefusedError, read, read_named
from preflight.outside_text import unfit_in
from preflight.shop.fields import TODAY
from preflight.shop.problems import FileProblemsError, Problem, of_validation
from preflight.toml_text import TomlError, read_toml

if TYPE_CHECKING:
    from pathlib import Path

Model = TypeVar("Model", bound=BaseModel)

LARGEST_FILE = 1_000_000
"""Bytes; a larger file is refused unread."""


@dataclass(frozen=True, slots=True)
class Loaded(Generic[Model]):
    """A model beside the digest of the very bytes it was read from."""

    value: Model
    sha256: str
    path: Path
    raw: dict[str, Any]
    """The file as a plain table, as a record keeps it."""


class AnyTable(BaseModel):
    """A file of a kind not known yet."""

    model_config = ConfigDict(extra="allow")


def load(path: Path, model: type[Model], root: Path | None = None) -> Loaded[Model]:
    """Read and validate one file: of the shop at `root`, in which nothing is followed, or one that a person named.

    Raises `FileProblemsError`.
    """
    try:
        data = read_named(path, LARGEST_FILE) if root is None else read(root, _inside(path, root), LARGEST_FILE)
    except OSError as error:
        raise FileProblemsError(str(path), [Problem("", in_words(error))]) from error
    raw = parse(data, str(path))
    return Loaded(validate(raw, model, str(path)), hashlib.sha256(data).hexdigest(), path, raw)


def _inside(path: Path, root: Path) -> str:
    return os.path.relpath(path, root)


def in_words(error: OSError) -> str:
    """What is wrong with the file, to stand behind its name."""
    return str(error.strerror) if isinstance(error, RefusedError) else f"cannot be read: {error.strerror or error}"


def is_file(path: Path) -> bool:
    """Whether the file is there; a name that no file can have (too long, a NUL byte) is simply not there."""
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def parse(data: bytes, name: str) -> dict[str, Any]:
    """TOML bytes to a plain dict of texts that can be seen. Raises `FileProblemsError`."""
    try:
        raw = read_toml(data)
    except TomlError as error:
        raise FileProblemsError(name, [Problem("", str(error))]) from error
    if unseen := [Problem(key, why) for key, why in unfit_in(raw)]:
        raise FileProblemsError(name, sorted(unseen, key=lambda problem: problem.key))
    return raw


def validate(raw: dict[str, Any], model: type[Model], name: str) -> Model:
    """A plain dict to a model. Raises `FileProblemsError` with every problem of every field."""
    try:
        return model.model_validate(raw, context=TODAY)
    except ValidationError as error:
        raise FileProblemsError(name, of_validation(error, model)) from error
