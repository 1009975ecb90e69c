"""The door itself: how a collection begins."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from carecal.app import Collection, Now
from carecal.collection.entries import CollectionStarted
from carecal.collection.journal import Journal
from carecal.errors import Refused

DAY = date(2026, 3, 4)
BEGIN = CollectionStarted(on=DAY, name="Quay", latitude=54.3, longitude=10, timezone="Europe/Berlin")
NOW = Now(DAY, datetime(2026, 3, 4, 9, tzinfo=UTC), datetime(2026, 3, 4, 9, tzinfo=UTC), is_given=True)


def test_a_beginning_that_was_cut_off_is_taken_up(tmp_path: Path) -> None:
    """A folder whose maker was killed between the file and its first entry can be begun again."""
    Journal.create(tmp_path / "home").close()
    with Collection.start(tmp_path / "home", BEGIN, NOW) as collection:
        assert (collection.journal.head(), collection.timeline(DAY).facts.name) == (1, "Quay")


def test_a_collection_is_never_begun_twice(tmp_path: Path) -> None:
    """A folder that holds a collection is refused, and what stands there is left as it is."""
    Collection.start(tmp_path / "home", BEGIN, NOW).close()
    with pytest.raises(Refused, match="stands in"):
        Collection.start(tmp_path / "home", BEGIN, NOW)
    with Collection.open(tmp_path / "home", readonly=True) as collection:
        assert collection.journal.head() == 1
