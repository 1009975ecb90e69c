"""Profiles and shared tables: typed rows, their JSON and files; `carecal.catalog.load` checks them."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from carecal.catalog.cache import catalog_from_json, catalog_to_json, files_digest
    from carecal.catalog.data import data_root
    from carecal.catalog.names import near
    from carecal.catalog.tables import Catalog, Profile

__all__ = ["Catalog", "Profile", "catalog_from_json", "catalog_to_json", "data_root", "files_digest", "near"]

_HOMES = {
    "Catalog": "tables",
    "Profile": "tables",
    "catalog_from_json": "cache",
    "catalog_to_json": "cache",
    "data_root": "data",
    "files_digest": "cache",
    "near": "names",
}


def __getattr__(name: str) -> Any:
    """Return a name from its module when first asked for: kept rounds are read without any table."""
    if name not in _HOMES:
        raise AttributeError(f"module 'carecal.catalog' has no attribute '{name}'")
    return getattr(import_module(f"carecal.catalog.{_HOMES[name]}"), name)
