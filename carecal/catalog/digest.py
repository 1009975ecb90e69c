"""The files that a catalog is read from, and a digest of what stands in them; it knows no tables."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from carecal.catalog.data import data_root

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["content_digest", "data_files"]

_FOLDERS = ("profiles", "shared")


def data_files(own: Path | None = None) -> Iterator[tuple[str, Path]]:
    """Every file of the catalog with its short name, the program's own first, then the grower's, each sorted.

    Args:
        own: The collection's folder, which may hold `profiles/*.toml` and `shared/*.toml`.
    """
    for folder in _FOLDERS:
        for path in sorted(data_root(folder).glob("*.toml")):
            yield f"{folder}/{path.name}", path
    if own is not None:
        for folder in _FOLDERS:
            for path in sorted((own / folder).glob("*.toml")):
                yield f"own {folder}/{path.name}", path


def content_digest(own: Path | None = None, salt: str = "") -> str:
    """SHA-256 over every file of the catalog, as hexadecimal digits.

    Args:
        own: The collection's folder.
        salt: What else the digest rests on.

    Raises:
        OSError: A file cannot be read.
    """
    digest = hashlib.sha256(salt.encode())
    for name, path in data_files(own):
        content = path.read_bytes()
        digest.update(f"\n{name} {len(content)}\n".encode())
        digest.update(content)
    return digest.hexdigest()
