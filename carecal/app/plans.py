"""A plan as scripts get it: it also says why, and writes itself as a calendar. It plans nothing itself."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import TYPE_CHECKING, Any

from carecal.app.lazy import LazyModule
from carecal.app.now import real_now
from carecal.plan.model import Plan

if TYPE_CHECKING:
    from carecal.app.documents import why
    from carecal.app.door import Collection
    from carecal.app.publish import calendars
    from carecal.plan.model import Grouping
else:
    calendars = LazyModule("carecal.app.publish.calendars")
    why = LazyModule("carecal.app.documents.why")

__all__ = ["HomePlan", "of_home"]


@dataclass(frozen=True, slots=True, kw_only=True)
class HomePlan(Plan):
    """A plan that knows its collection; its collection must still be open when it is asked."""

    collection: Collection = field(compare=False, repr=False)

    def why(self, plant: str) -> dict[str, Any]:
        """Return everything that decides what is planned for a plant on the plan's day.

        Raises:
            UnknownName: No plant has that id.
            Refused: It was not there yet, or has left.
        """
        return why.why(self.collection, self.as_of, plant)

    def to_ical(self, *, grouping: Grouping | None = None, **options: Any) -> bytes:
        """Return the bytes of `carecal calendar write` on the plan's day, and bring its ledger up to them.

        Args:
            grouping: 'rounds' or 'each'; None: the plan's own.
            options: The others of `carecal.app.publish.calendars.options_of`: form, plant, place, care, at, days …

        Raises:
            StorageError: The collection cannot be written.
        """
        now = real_now(self.timezone, self.as_of)
        wanted = calendars.options_of(self.collection, now, grouping=grouping or self.grouping, **options)
        return calendars.render_calendar(self.collection, wanted, now).body


def of_home(collection: Collection, plan: Plan) -> HomePlan:
    """Return a plan with its collection beside it."""
    return HomePlan(
        **{each.name: getattr(plan, each.name) for each in fields(plan) if each.init}, collection=collection
    )
