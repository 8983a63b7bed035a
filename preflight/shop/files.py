"""Reading the files: bytes to a validated model, or one error that names file, key and what was expected."""

from __future__ import annotations

import hashlib
import stat
import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from pydantic import BaseModel, ValidationError

from preflight.shop.problems import FileProblemsError, Problem, of_validation

if TYPE_CHECKING:
    from pathlib import Path

Model = TypeVar("Model", bound=BaseModel)

LARGEST_FILE = 4_000_000
"""Bytes; a larger file is refused unread."""


@dataclass(frozen=True, slots=True)
class Loaded(Generic[Model]):
    """A model beside the digest of the very bytes it was read from."""

    value: Model
    sha256: str
    path: Path
    raw: dict[str, Any]
    """The file as a plain table, as a record keeps it."""


def load(path: Path, model: type[Model]) -> Loaded[Model]:
    """Read and validate one file. Raises `FileProblemsError`."""
    try:
        status = path.stat()
        if not stat.S_ISREG(status.st_mode):  # a device or a pipe may never end
            raise FileProblemsError(str(path), [Problem("", "is not a file")])
        if status.st_size > LARGEST_FILE:
            raise FileProblemsError(
                str(path),
                [Problem("", f"is larger than {LARGEST_FILE // 1_000_000} MB, so it is no file of this kind")],
            )
        data = path.read_bytes()
    except (OSError, ValueError) as error:  # ValueError: a NUL byte in the name
        why = error.strerror if isinstance(error, OSError) and error.strerror else error
        raise FileProblemsError(str(path), [Problem("", f"cannot be read: {why}")]) from error
    raw = parse(data, str(path))
    return Loaded(validate(raw, model, str(path)), hashlib.sha256(data).hexdigest(), path, raw)


def is_file(path: Path) -> bool:
    """Whether the file is there; a name that no file can have (too long, a NUL byte) is simply not there."""
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def parse(data: bytes, name: str) -> dict[str, Any]:
    """TOML bytes to a plain dict. Raises `FileProblemsError`."""
    try:
        return tomllib.loads(data.decode("utf-8"))
    except UnicodeDecodeError as error:
        raise FileProblemsError(name, [Problem("", f"is not UTF-8 text (byte {error.start})")]) from error
    except tomllib.TOMLDecodeError as error:
        raise FileProblemsError(name, [Problem("", f"is not valid TOML: {error}")]) from error
    except (RecursionError, ValueError, OverflowError) as error:
        # tomllib lets a few values through to int() and datetime(), and recurses on deep nesting
        raise FileProblemsError(
            name,
            [
                Problem(
                    "",
                    f"is not usable TOML: {type(error).__name__.replace('Error', '').lower()} in a value or nesting",
                )
            ],
        ) from error


def validate(raw: dict[str, Any], model: type[Model], name: str) -> Model:
    """A plain dict to a model. Raises `FileProblemsError` with every problem of every field."""
    try:
        return model.model_validate(raw)
    except ValidationError as error:
        raise FileProblemsError(name, of_validation(error, model)) from error
