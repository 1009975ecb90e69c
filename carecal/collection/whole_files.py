"""Files that are written whole or not at all; it knows no format."""

from __future__ import annotations

import os
import secrets
from contextlib import contextmanager
from typing import TYPE_CHECKING

from carecal.collection.database import storage_errors

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["write_whole"]


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that whoever reads it sees the old content or the new, never a part.

    A device or a pipe is written to and never replaced; behind a link it is the file that is replaced.

    Raises:
        StorageError: It cannot be written; an existing file stays as it is.
    """
    with storage_errors(path), _named(path):
        if path.exists() and not path.is_file() and not path.is_dir():
            path.write_bytes(content)
        else:
            _replace(path.resolve(), content)


def _replace(path: Path, content: bytes) -> None:
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        with part.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


@contextmanager
def _named(path: Path) -> Iterator[None]:
    """Let an error of the system name the file that was asked for, not the one beside it."""
    try:
        yield
    except OSError as error:
        error.filename = str(path)
        raise
