"""What a hot spell does to feed and flush: clear water in it, a flush after it, then a first feed at half."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.places.weather import AFTER, feed_spells
from carecal.planning.spans import merge

if TYPE_CHECKING:
    from carecal.collection.plants import PlantState
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.spans import Span
    from carecal.planning.wettings.feeding import Tally

__all__ = ["flushes_after_heat", "heat_factor", "shut_by_heat"]

FLUSH_DAYS = (
    21  # our choice, because salts of a spell that ended three weeks ago are those of any other feed [d]
)


def shut_by_heat(state: PlantState, context: PlanContext) -> list[Span]:
    """Return the days without feed of the spells where a plant stands, the days after each included.

    Source: weather_limits.toml no-feed, after-heat.
    """
    after = int(context.catalog.weather_limits[AFTER].after_days or 0)
    return merge((start, until + after) for start, until in feed_spells(state, context))


def flushes_after_heat(state: PlantState, due: int, tally: Tally, context: PlanContext) -> bool:
    """Return whether the wetting due on a day flushes what a hot spell left: fed before it, not flushed since."""
    return any(
        tally.last_feed is not None
        and tally.last_feed <= until
        and tally.last_flush <= until < due <= until + FLUSH_DAYS
        for _, until in feed_spells(state, context)
    )


def heat_factor(state: PlantState, due: int, last_feed: int | None, context: PlanContext) -> float:
    """Return how strong a feed on a day is for a spell's sake: the first one after it is weaker. [-]."""
    since = last_feed if last_feed is not None else 0
    follows = any(since <= until < due for _, until in feed_spells(state, context))
    return context.catalog.weather_limits[AFTER].feed_factor if follows else 1.0
