"""Flush and feed round a rest and after heat: a flush before a rest and after a spell, clear water after a rest."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.rhythm.terms import profile_of
from carecal.planning.wettings.heat import flushes_after_heat

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.catalog.tables import Catalog
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.resting import Resting
    from carecal.planning.rhythm.situations import Situation
    from carecal.planning.wettings.feeding import CareRules, Tally

__all__ = ["by_season"]

RULE = "any"  # the row of rests.toml


def by_season(
    rules: CareRules,
    stretch: Situation,
    rests: Sequence[Resting],
    days: tuple[int, int, int],
    tally: Tally,
    context: PlanContext,
) -> tuple[CareRules, str]:
    """Return what holds for a wetting as a rest or a hot spell changes it, and why it would be a flush.

    Args:
        rules: What holds for it besides.
        stretch: The plant's situation on its due day.
        rests: The plant's rests.
        days: Day of the wetting before it, its due day, that of the one after it.
        tally: What has gone in before it.
        context: Climate and tables.
    """
    last, due, following = days
    because = ""
    if flushes_before_rest(rests, due, following, tally, context.catalog):
        because = "the flush before its rest"
    elif flushes_after_heat(stretch.state, due, tally, context):
        because = "a flush after the heat"
    slow = profile_of(stretch.state, context.catalog).feed_days_slow
    is_clear = is_clear_water(rests, due, last, context.catalog, slow)
    return rules._replace(
        flush_due_by_salt=rules.flush_due_by_salt or bool(because and rules.flush_days),
        may_feed=rules.may_feed and not is_clear,
    ), because


def flushes_before_rest(
    rests: Sequence[Resting], due: int, following: int, tally: Tally, catalog: Catalog
) -> bool:
    """Return whether the wetting due on a day is the flush before a rest, for a plant fed not long before.

    It is the first one within the days before it that rests.toml names, or the last one before it where none falls
    into them.

    Args:
        rests: The plant's rests.
        due: Due day of the wetting.
        following: Due day of the one after it.
        tally: What has gone in before it.
        catalog: The tables.

    Source: PALOMAR: a leaching before winter.
    """
    rule = catalog.rests[RULE]
    start = next((rest.start for rest in rests if rest.start > due), None)
    if start is None or tally.last_feed is None or tally.last_feed < start - rule.fed_within_days:
        return False
    opens = start - int(rule.flush_before_high)
    if tally.last_flush >= opens:
        return False
    return due >= opens or (due <= start - rule.flush_before_low and following >= start)


def is_clear_water(
    rests: Sequence[Resting], due: int, last: int, catalog: Catalog, feed_days_slow: float
) -> bool:
    """Return whether the wetting due on a day is clear water for a rest's sake.

    So is the first one after a rest, and of a kind that is not fed in its rest each one from the days of the flush
    before it on: what is fed then would stay in the pot.

    Args:
        rests: The plant's rests.
        due: Its due day.
        last: Day of the wetting before it.
        catalog: The tables.
        feed_days_slow: Days between feeds in its kind's rest; 0 = none. [d]
    """
    if any(last <= rest.until < due for rest in rests):
        return True
    opens = int(catalog.rests[RULE].flush_before_high)
    return not feed_days_slow and any(rest.start - opens <= due < rest.start for rest in rests)
