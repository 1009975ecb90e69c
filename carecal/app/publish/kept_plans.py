"""What each plant gives to the plan of a day, kept in memory between two makings of calendars.

After a tick one plant is planned, and put together with what the others gave: a plan rests on a plant's own entries,
those of its mother and its keikis, those of the collection, and the files. Nothing is written; a new day begins anew.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.app.lazy import LazyModule
from carecal.app.store import secret
from carecal.calendars.made import MadeParts
from carecal.calendars.packing import Packer
from carecal.collection.concerns import mothers_of

if TYPE_CHECKING:
    from datetime import date

    from carecal.app import engine
    from carecal.app.door import Collection
    from carecal.calendars.options import CalendarOptions
    from carecal.collection.records import Record
    from carecal.plan.model import Grouping, Plan
    from carecal.planning.assembly import Assembly
    from carecal.planning.piece import Piece
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.planner import Planner
else:
    engine = LazyModule("carecal.app.engine")

__all__ = ["KeptPlans"]

MOST_PLANTS = 3000  # our choice, because a year of so many plants takes some 150 MB in each grouping


class _Kept(NamedTuple):
    """What was planned last in one grouping.

    Attributes:
        stamp: Collection, day and files that it rests on.
        newest: The newest entry that it rests on.
        assembly: What each plant gives, and the days made of it.
        written: Written instant of the newest entry of each plant.
        mothers: Mothers that each plant ever sat on.
        context: What the plants share, for its air.
    """

    stamp: tuple[object, ...]
    newest: Record
    assembly: Assembly
    written: dict[int, str]
    mothers: dict[int, set[int]]
    context: PlanContext


class KeptPlans:
    """Gives plans of whole collections, planning only what changed since the last one; asked by one thread."""

    def __init__(self) -> None:
        self._kept: dict[Grouping, _Kept] = {}
        self._parts: dict[tuple[CalendarOptions, str], MadeParts] = {}
        self._packers: dict[int, Packer] = {}

    def parts(self, options: CalendarOptions, public_url: str) -> MadeParts:
        """Return what was written of days for a calendar of these options."""
        return self._parts.setdefault((options, public_url), MadeParts(is_lasting=True))

    def packer(self, calendar: int) -> Packer:
        """Return what compressed a named calendar before."""
        return self._packers.setdefault(calendar, Packer())

    def plan(self, collection: Collection, day: date, grouping: Grouping) -> Plan | None:
        """Return the plan of a day without gates, as `Planner.plan` would; None where it is too large to be kept.

        Args:
            collection: The collection.
            day: The day.
            grouping: 'rounds' or 'each'.
        """
        journal = collection.journal
        head = journal.head()
        if not head or journal.most_plants() > MOST_PLANTS:
            self._kept.clear()
            self._parts.clear()
            self._packers.clear()
            return None
        newest, stamp = journal.record(head), self._stamp(collection, day)
        kept = self._kept.pop(grouping, None)  # whatever breaks off in between leaves nothing half brought up
        stale = self._stale(collection, kept, stamp)
        if kept is None or stale is None:
            self._parts.clear()
            records = journal.records()
            planner = collection.planner(day, records=records)
            assembly = engine.Assembly(grouping, day)
            found = _Kept(stamp, newest, assembly, {}, mothers_of(records), planner.context)
            made = set(planner.plant_planners)
        else:
            planner, made, mothers = _planner(collection, day, stale, kept.mothers)
            planner.context.share_air(kept.context)
            found = kept._replace(newest=newest, mothers=kept.mothers | mothers, context=planner.context)
        pieces: dict[int, Piece | None] = dict.fromkeys(made)
        for number in made:
            found.written.pop(number, None)
        for number in sorted(made & planner.plant_planners.keys()):
            plant_planner = planner.plant_planners[number]
            found.written[number] = plant_planner.line.newest_written
            pieces[number] = planner.piece(plant_planner, grouping, with_gates=False)
            plant_planner.forget()
        found.assembly.take(pieces)
        last = max(found.written.values(), default="")
        plan = planner.whole(found.assembly, with_gates=False, newest=last)
        self._kept[grouping] = found
        return plan

    def _stamp(self, collection: Collection, day: date) -> tuple[object, ...]:
        generation = secret(collection.journal.connection, "generation")
        return collection.id, generation, day, engine.files_digest(collection.folder)

    def _stale(
        self, collection: Collection, kept: _Kept | None, stamp: tuple[object, ...]
    ) -> frozenset[int] | None:
        """Return the plants about which something was entered since; None: anything may differ."""
        journal = collection.journal
        if kept is None or kept.stamp != stamp or journal.head() < kept.newest.n:
            return None
        if journal.record(kept.newest.n) != kept.newest:
            return None  # another journal stands there now
        return journal.changed_since(kept.newest.n)


def _planner(
    collection: Collection, day: date, changed: frozenset[int], mothers: dict[int, set[int]]
) -> tuple[Planner, set[int], dict[int, set[int]]]:
    """Return a planner of the plants that changed and of those they rest on, which to take of it, and their mothers."""
    own = mothers_of(collection.journal.records(changed)) if changed else {}
    known = {
        number: mothers.get(number, set()) | own.get(number, set()) for number in mothers.keys() | own.keys()
    }
    stale = set(changed)
    for number in changed:
        stale |= known.get(number, set())
    stale |= {number for number, hers in known.items() if not hers.isdisjoint(changed)}
    kin = {mother for number in stale for mother in known.get(number, ())}
    kin |= {number for number, hers in known.items() if not hers.isdisjoint(stale)}
    records = collection.journal.records(stale | kin)
    return collection.planner(day, records=records), stale, known
