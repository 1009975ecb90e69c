"""Files that are written whole or not at all; it knows no format."""

from __future__ import annotations

import os
import secrets
from typing import TYPE_CHECKING

from carecal.collection.database import storage_errors

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["write_whole"]


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that whoever reads it sees the old content or the new, never a part.

    Raises:
        StorageError: It cannot be written; an existing file stays as it is.
    """
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    with storage_errors(path):
        try:
            with part.open("xb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)
