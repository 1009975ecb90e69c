"""Rows worked out for each plant, kept beside the journal's head until they may be other; it knows no row's content.

A plant's row rests on its own entries, those of the collection, of its mother and of what sits on it, the files and
the day. As long as none of these changes it is read back; only plants about which something was entered are made
again. What is made may reach over several days, so that a new day mostly finds its rows.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from carecal import __version__
from carecal.app.lazy import LazyModule
from carecal.app.near.source import WHOLE
from carecal.app.store import cached, cached_under, keep_under
from carecal.catalog.digest import content_digest

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from datetime import date

    from carecal.app.near import kept_making
    from carecal.app.near.kept_making import Planned, Recipe
    from carecal.app.near.source import Source
else:
    kept_making = LazyModule("carecal.app.near.kept_making")

__all__ = ["KeptRows", "Rows", "stale_among"]

Rows = dict[int, dict[str, Any]]


class KeptRows:
    """The kept rows of one kind, one for each plant and day, and one a day for the collection as a whole.

    Each is `{"mothers": [numbers], "row": what the recipe makes, JSON values}`.

    Args:
        collection: The collection.
        folder: Name of the kind in the cache, with all that its rows are made for, as 'near/14'.
        version: Of the rows' content; another number throws kept ones away.
        recipe: Gives how rows are made; asked only when some are.
    """

    def __init__(
        self, collection: Source, folder: str, version: int | str, recipe: Callable[[], Recipe]
    ) -> None:
        self._source, self._folder, self._recipe = collection, folder, recipe
        self.stamp = f"{version}|{__version__}|{content_digest(collection.folder)}"
        self._turn = cached(collection.journal.connection, folder, self.stamp)

    @property
    def is_begun(self) -> bool:
        """Whether rows are kept that the files and the program still agree with."""
        return self._turn is not None

    def brought_up(self, as_of: date, planned: Planned | None = None, *, most: int | None = None) -> Rows:
        """Return the rows of all plants on a day, by number; those that are not kept are made anew and kept.

        Args:
            as_of: The day.
            planned: What is planned of that day already, used where it is all that is needed.
            most: Leave it be where more plants than these would have to be planned; None: plan them all.
        """
        journal = self._source.journal
        head = journal.head()  # before anything is read: rows may be newer than it, never older
        changed = self._changed(head)
        rows = self._read(as_of) if changed is not None else {}
        stale = stale_among(rows, changed or ())
        rows = {number: row for number, row in rows.items() if number not in stale}
        missing = {WHOLE, *range(1, journal.most_plants() + 1)} - rows.keys()
        if missing and (most is None or len(missing) <= most):
            wanted = kept_making.Wanted(as_of, frozenset(missing), changed)
            mothers = {number: row["mothers"] for number, row in rows.items()}
            made = kept_making.rows_of(self._source, self._recipe(), wanted, mothers, planned)
            self._keep(made, head, stale, None if changed is None else as_of)
            rows |= made[as_of]
        return rows

    def _changed(self, head: int) -> frozenset[int] | None:
        """Return the plants about which something was entered since the rows were kept; None: anything may differ."""
        if self._turn is None:
            return None
        known = int(json.loads(self._turn)["head"])
        return frozenset() if known == head else self._source.journal.changed_since(known)

    def _read(self, as_of: date) -> Rows:
        folder = f"{self._folder}/{as_of.isoformat()}"
        kept = cached_under(self._source.journal.connection, folder, self.stamp)
        rows = json.loads("[" + ",".join(text for _, text in kept) + "]")  # a parse each takes twice the time
        return {int(name): row for (name, _), row in zip(kept, rows, strict=True)}

    def _keep(
        self, made: Mapping[date, Mapping[int, Any]], head: int, stale: set[int], since: date | None
    ) -> None:
        """Keep rows, unless somebody else kept some meanwhile.

        Args:
            made: Rows by day and plant.
            head: The newest entry that they rest on.
            stale: Plants whose rows of any day are void.
            since: Rows of days before it go; None: all former rows are void.
        """
        void = stale | {number for of_day in made.values() for number in of_day if number != WHOLE}
        turn = int(json.loads(self._turn)["turn"]) + 1 if self._turn is not None else 1
        values = {
            f"{day.isoformat()}/{number}": json.dumps(row, ensure_ascii=False)
            for day, of_day in made.items()
            for number, row in of_day.items()
        }

        def stays(name: str) -> bool:
            day, _, number = name.partition("/")
            return since is not None and day >= since.isoformat() and int(number) not in void

        written = json.dumps({"head": head, "turn": turn})
        connection = self._source.journal.connection
        if keep_under(connection, self._folder, self.stamp, (self._turn, written), values, stays):
            self._turn = written


def stale_among(rows: Mapping[int, Mapping[str, Any]], changed: Iterable[int]) -> set[int]:
    """Return plants that changed, the mothers they sit on, and the plants that sit on them.

    Args:
        rows: Rows with the mothers of each plant.
        changed: Numbers of the plants about which something was entered.
    """
    told = set(changed)
    if not told:
        return told
    mothers = {mother for number in told & rows.keys() for mother in rows[number]["mothers"]}
    keikis = {number for number, row in rows.items() if not told.isdisjoint(row["mothers"])}
    return told | mothers | keikis
