"""A module that is imported when something of it is first used, so that what needs no plan stays quick."""

from __future__ import annotations

from importlib import import_module
from typing import Any

__all__ = ["LazyModule"]


class LazyModule:
    """Stands for a module until it is used.

    A type checker is told the real one: `if TYPE_CHECKING: from … import engine`, else a `LazyModule` of that name.

    Args:
        name: The module's whole name.
    """

    def __init__(self, name: str) -> None:
        self._name = name

    def __getattr__(self, attribute: str) -> Any:
        """Import the module and return what it has under a name."""
        return getattr(import_module(self._name), attribute)
