"""What each plant gives to the rounds of the coming days, kept beside the journal's head until it may be other.

What a plant gives rests on its own entries, those of the collection, of its mother and of what sits on it, the files
and the day. As long as none of these changes it is read back; only plants about which something was entered are
planned again. Each plan gives the rows of several days at once, so that a new day mostly finds its own.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from carecal import __version__
from carecal.app.lazy import LazyModule
from carecal.app.near.document import WHOLE, round_document
from carecal.app.store import cached, cached_under, keep_under
from carecal.catalog.digest import content_digest

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date

    from carecal.app.near import make as near_make
    from carecal.app.near.make import Planned
    from carecal.app.near.source import Source
else:
    near_make = LazyModule("carecal.app.near.make")

__all__ = ["FORMAT", "Shelf", "follow", "near_round"]

FORMAT = 1  # of the rows; another number throws kept ones away
MOST_FOLLOWED = 12  # our choice, because more plants are planned sooner by the round that asks for them

Rows = dict[int, dict[str, Any]]


def near_round(collection: Source, as_of: date, days: int = 1) -> dict[str, Any]:
    """Return the round of a day and of the days after it, planning only what no kept row tells.

    Args:
        collection: The collection.
        as_of: The day.
        days: How many days, the first included. [d]
    """
    rows = Shelf(collection, days).brought_up(as_of)
    told = {number: rows[number]["row"] for number in sorted(rows)}
    whole = told.pop(WHOLE)
    return round_document(whole, {n: row for n, row in told.items() if row is not None}, as_of, days)


def follow(collection: Source, as_of: date, planned: Planned) -> None:
    """Bring what is kept up to an entry that was just written, where a round is kept and few plants are concerned.

    Args:
        collection: The collection.
        as_of: The day.
        planned: What was planned with the entry; its planner may be moved on to later days.
    """
    if len(planned.plants) <= MOST_FOLLOWED:
        shelf = Shelf(collection, 1)
        if shelf.is_begun:
            shelf.brought_up(as_of, planned, most=MOST_FOLLOWED)


class Shelf:
    """The kept rows of a collection for rounds of so many days.

    Args:
        collection: The collection.
        days: How many days each round shows. [d]
    """

    def __init__(self, collection: Source, days: int) -> None:
        self._source, self._days = collection, days
        self._folder = f"near/{days}"
        self._stamp = f"{FORMAT}|{__version__}|{content_digest(collection.folder)}"
        self._turn = cached(collection.journal.connection, self._folder, self._stamp)

    @property
    def is_begun(self) -> bool:
        """Whether rows are kept that the files and the program still agree with."""
        return self._turn is not None

    def brought_up(self, as_of: date, planned: Planned | None = None, *, most: int | None = None) -> Rows:
        """Return the rows of all plants on a day; those that are not kept are made anew and kept.

        Args:
            as_of: The day.
            planned: What is planned of that day already, used where it is all that is needed.
            most: Leave it be where more plants than these would have to be planned; None: plan them all.
        """
        journal = self._source.journal
        head = journal.head()  # before anything is read: rows may be newer than it, never older
        changed = self._changed(head)
        rows = self._read(as_of) if changed is not None else {}
        stale = _stale(changed or frozenset(), rows)
        rows = {number: row for number, row in rows.items() if number not in stale}
        missing = {WHOLE, *range(1, journal.most_plants() + 1)} - rows.keys()
        if missing and (most is None or len(missing) <= most):
            wanted = near_make.Wanted(as_of, self._days, frozenset(missing), changed)
            mothers = {number: row["mothers"] for number, row in rows.items()}
            made = near_make.rows_of(self._source, wanted, mothers, planned)
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
        kept = cached_under(self._source.journal.connection, folder, self._stamp)
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
        keep_under(connection, self._folder, self._stamp, (self._turn, written), values, stays)


def _stale(changed: Iterable[int], rows: Mapping[int, Mapping[str, Any]]) -> set[int]:
    """Return the plants that changed, the mothers they sit on, and the plants that sit on them."""
    told = set(changed)
    if not told:
        return told
    mothers = {mother for number in told & rows.keys() for mother in rows[number]["mothers"]}
    keikis = {number for number, row in rows.items() if not told.isdisjoint(row["mothers"])}
    return told | mothers | keikis
