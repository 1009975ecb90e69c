"""How a spike and a bloom end: the grower is asked from their usual end on; after long silence they count as over.

What nobody said is never written into the journal: it is laid over the fold, the same each time (askings.toml).
"""

from __future__ import annotations

from datetime import date
from itertools import groupby
from typing import TYPE_CHECKING

from carecal.horticulture.growth import bloom_forecast
from carecal.planning.forecasts.kinds import bloom_limits
from carecal.planning.rhythm.terms import profile_of
from carecal.planning.steps.case import months_after
from carecal.wording.weak import over_text

if TYPE_CHECKING:
    from carecal.collection.plants import PlantHistory, PlantState
    from carecal.planning.plan_context import PlanContext

__all__ = ["close_unanswered", "flower_question", "said_over", "usual_end"]

SPIKE, BLOOM = "in-spike", "in-bloom"
ENDING = frozenset({SPIKE, BLOOM})
UNKNOWN_DAYS = 183  # our choice, because a kind without numbers is asked after half a year, not never [d]
SAID_DAYS = 14  # our choice, because what was taken as over is said as long as it was asked for once [d]


def usual_end(state: PlantState, context: PlanContext) -> int | None:
    """Return the day on which a spike or a bloom has usually ended (ordinal); None for a plant with neither.

    Source: the profile's bloom_months_high; ROBINSON2003 for the latest first flower, by the warmth of its place.
    """
    if state.flowering not in ENDING or state.flowering_since is None:
        return None
    key = state.flowering, state.flowering_since, state.profile, state.place
    if key not in context.kept_ends:
        context.kept_ends[key] = _usual_end(state, state.flowering_since, context)
    return context.kept_ends[key]


def _usual_end(state: PlantState, since: int, context: PlanContext) -> int:
    profile = profile_of(state, context.catalog)
    if state.flowering == BLOOM:
        months = profile.bloom_months_high
        return months_after(since, months) if months is not None else since + UNKNOWN_DAYS
    air, limits = context.air(state.place, since), bloom_limits(profile)
    if air is None or limits is None:
        return since + UNKNOWN_DAYS
    days = range(since + 1, min(since + UNKNOWN_DAYS, air.last) + 1)
    means = [(air.at("day_c", on) + air.at("night_c", on)) / 2 for on in days]
    latest = bloom_forecast(limits, means, 1.0).latest
    return since + (latest if latest is not None else UNKNOWN_DAYS)


def flower_question(state: PlantState, day: int, context: PlanContext) -> str:
    """Return what a look asks of a spike or a bloom from its usual end on, '' before it or where it was told lately."""
    end = usual_end(state, context)
    if end is None or day < end:
        return ""
    row, told = context.catalog.askings[state.flowering], state.flowering_told
    return "" if told is not None and day < told + row.ask_days else row.does


def close_unanswered(line: PlantHistory, context: PlanContext) -> bool:
    """Lay over a plant's states that a spike or bloom is over where nobody answered for long; return whether it did.

    Each counts as over so many days after its usual end or the last time it was told, the later one, up to the
    plan's day (askings.toml unanswered_days).
    """
    if all(state.flowering not in ENDING for state in line.states):
        return False
    runs = [list(run) for _, run in groupby(line.states, _told)]
    found: list[PlantState] = []
    for run, after in zip(runs, [*(run[0].day for run in runs[1:]), context.as_of + 1], strict=True):
        over = _over_on(run[0], context)
        found.extend(run if over is None or over >= after else _closed(run, max(over, run[0].day)))
    changed = found != line.states
    line.states[:] = found
    return changed


def said_over(state: PlantState, day: int) -> str:
    """Return that its spike or bloom was taken as over, on the days on which that is said; '' on others."""
    over = state.flowering_over
    return over_text(date.fromordinal(over)) if over is not None and over <= day < over + SAID_DAYS else ""


def _over_on(state: PlantState, context: PlanContext) -> int | None:
    end = usual_end(state, context)
    row = context.catalog.askings[state.flowering] if end is not None else None
    if end is None or row is None or row.unanswered_days is None:
        return None
    return max(end, state.flowering_told or 0) + int(row.unanswered_days)


def _told(state: PlantState) -> tuple[str, int | None, int | None]:
    return state.flowering, state.flowering_since, state.flowering_told


def _closed(run: list[PlantState], over: int) -> list[PlantState]:
    """Return states of one spike or bloom with those from a day on without it."""
    before = [state for state in run if state.day < over]
    begun = [state for state in run if state.day <= over][-1]
    later = [begun._replace(day=over), *(state for state in run if state.day > over)]
    return [
        *before,
        *(
            state._replace(flowering="none", flowering_since=over, flowering_over=over, spike_mm=None)
            for state in later
        ),
    ]
