"""A collection whose climate never changes, for tests of the rules of meaning."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.app.diary import Diary


@pytest.fixture
def diary(tmp_path: Path) -> Iterator[Diary]:
    """Return an empty diary without preferred weekdays, so that a care day is the due day."""
    made = Diary(tmp_path)
    yield made
    made.close()
