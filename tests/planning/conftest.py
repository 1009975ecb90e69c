"""Fixtures of the planning tests: the catalog and an empty collection in memory."""

from __future__ import annotations

from datetime import date

import pytest

from carecal.catalog.load import load_catalog
from carecal.catalog.tables import Catalog
from carecal.collection.entries import MonthRow
from tests.bench import Bench, demo_climates


@pytest.fixture(scope="session")
def catalog() -> Catalog:
    """Return the project's own catalog."""
    return load_catalog()


@pytest.fixture(scope="session")
def demo_climate() -> dict[str, tuple[MonthRow, ...]]:
    """Return the twelve rows of each place of climate_demo.csv."""
    return demo_climates()


@pytest.fixture
def bench(catalog: Catalog) -> Bench:
    """Return an empty collection at 54.3° N that starts on 1 January 2025."""
    return Bench(catalog, date(2025, 1, 1))
