"""Where the program's own data folders lie, in a wheel and in a checkout; the only place that knows."""

from __future__ import annotations

from pathlib import Path

from carecal.errors import StorageError

__all__ = ["data_root"]

_PACKAGE = Path(__file__).resolve().parents[1]


def data_root(name: str) -> Path:
    """Folder of the program's own data of that name.

    The wheel's folder comes first: beside an installed package a folder of that name may be somebody else's.

    Args:
        name: 'profiles' or 'shared'.

    Raises:
        StorageError: The folder is missing, so the installation is damaged.
    """
    for root in (_PACKAGE / "_data" / name, _PACKAGE.parent / name):
        if root.is_dir():
            return root
    raise StorageError(f"the program's own data folder '{name}' is missing; install carecal again")
