"""The rests of a plant: begun by the month or a sign, ended by a sign alone, half-way back where nobody answers.

Source: rests.toml; OBRIEN, ODIGEST: rest is told by the plant, new growth is the signal to restore water.
"""

from __future__ import annotations

from calendar import monthrange
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.rhythm.terms import FULL, profile_of
from carecal.planning.spans import FOREVER, Span

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from carecal.catalog.tables import Profile, RestWater
    from carecal.collection.plants import PlantHistory, PlantState
    from carecal.planning.plan_context import PlanContext

__all__ = ["BUDS", "HALF", "Resting", "rest_months", "rest_on", "rest_water_on", "rests_of"]

EQUATOR_DEG = 10  # design §3 rule 17: within 10 degrees of the equator there is no rest by months
BUDS = frozenset({"in-spike", "in-bloom"})
HALF = "half"
RULE = "any"  # the row of rests.toml
BY_MONTH = "a"  # of the side rest-end
ALL_YEAR = "a"  # of the side nobile-rest
EPSILON_C = 0.05  # our choice, because normals that touch a limit for a day change no water [K]
EARLY_DAYS = 120  # our choice, because growths ripen at most four months before the usual month [d]


class Resting(NamedTuple):
    """One rest of a plant, in days (ordinals), both ends included.

    Attributes:
        start: Its first day.
        until: The last day before its sign was seen; far ahead where nobody has seen it.
        asked_from: First day on which it is asked whether it is over.
        usual_end: Last day of the profile's months: the sign is looked for around it.
        half_from: Day from which water goes half-way back, as nobody has answered.
        is_told: Whether a sign has ended it.
    """

    start: int
    until: int
    asked_from: int
    usual_end: int
    half_from: int
    is_told: bool

    @property
    def edges(self) -> tuple[int, int, int, int]:
        """The days on which water or what is asked changes."""
        return self.start, self.asked_from, self.half_from, self.until + 1

    def is_asked(self, day: int) -> bool:
        """Return whether a look on a day asks for its sign."""
        return self.asked_from <= day <= self.until

    def holds(self, day: int) -> str:
        """Return how deep the rest is on a day: 'full', 'half' or '' for none."""
        if not self.start <= day <= self.until:
            return ""
        return FULL if day < self.half_from else HALF


def rests_of(line: PlantHistory, context: PlanContext, first: int, last: int) -> list[Resting]:
    """Return the rests of a plant that hold a day from first to last, in order.

    A rest begins with the profile's month, or on the day on which its sign was told before that; it ends on the day
    on which its ending sign was told, by `rest` or by what this kind shows (profile rest_ends_by).
    """
    profile = profile_of(line.latest, context.catalog)
    if profile.rest_from_month is None or profile.rest_to_month is None:
        return []
    by_month = context.side("rest-end", line.latest, line.number) == BY_MONTH
    signs = list(_signs(line, profile))
    begun = [day for day, told in signs if told == "begun"]
    usual = list(_usual(profile, context.facts.latitude, begun, first, last))
    found = []
    for at, (month_start, month_end) in enumerate(usual):
        if line.entered > month_end:
            continue
        start = min((d for d in begun if month_start - EARLY_DAYS <= d < month_start), default=month_start)
        after = usual[at + 1][0] - 1 if at + 1 < len(usual) else FOREVER
        again: int | None = start
        while again is not None:  # told begun once more within its months, it rests once more
            found.append(_one(context, signs, (again, month_end, after), by_month=by_month))
            ended = found[-1].until
            again = min((d for d in begun if ended < d <= month_end), default=None)
    return [rest for rest in found if rest.start <= last and rest.until >= first]


def rest_months(profile: Profile, latitude: float, first: int, last: int) -> list[Span]:
    """Return the days of a profile's months of rest: they are the north's, shifted six in the south."""
    if profile.rest_from_month is None or profile.rest_to_month is None or abs(latitude) < EQUATOR_DEG:
        return []
    shift = 6 if latitude < 0 else 0
    begin, end = ((month - 1 + shift) % 12 + 1 for month in (profile.rest_from_month, profile.rest_to_month))
    found = []
    for year in range(date.fromordinal(first).year - 1, date.fromordinal(last).year + 1):
        closing = year + (end < begin)
        found.append(
            (date(year, begin, 1).toordinal(), date(closing, end, monthrange(closing, end)[1]).toordinal())
        )
    return found


def rest_on(rests: Iterable[Resting], day: int) -> Resting | None:
    """Return the rest that holds a day."""
    return next((rest for rest in rests if rest.start <= day <= rest.until), None)


def rest_water_on(state: PlantState, day: int, context: PlanContext, plant: int) -> RestWater | None:
    """Return what water a kind with a dry rest gets on a day of it, by the night normal of its place.

    None where the kind has no rows of rest_waters.toml, its grower waters it all year (side nobile-rest), or the
    place has no climate.
    """
    rows = [row for row in context.catalog.rest_waters.values() if row.profile == state.profile]
    air = context.air(state.place, day)
    if not rows or air is None or context.side("nobile-rest", state, plant) == ALL_YEAR:
        return None
    night = air.at("night_c", day)
    return max(
        (row for row in rows if row.night_from_c <= night + EPSILON_C),
        key=lambda row: row.night_from_c,
        default=None,
    )


def _usual(profile: Profile, latitude: float, begun: Sequence[int], first: int, last: int) -> Iterator[Span]:
    """Yield the usual days of each rest; near the equator one for each beginning that was told."""
    if abs(latitude) >= EQUATOR_DEG:
        yield from rest_months(profile, latitude, first, last)
        return
    months = ((profile.rest_to_month or 0) - (profile.rest_from_month or 0)) % 12 + 1
    yield from ((day, day + round(months * 365.25 / 12) - 1) for day in begun)


def _one(
    context: PlanContext, signs: Sequence[tuple[int, str]], days: tuple[int, int, int], *, by_month: bool
) -> Resting:
    rule, (start, month_end, after) = context.catalog.rests[RULE], days
    asked_from = start + int(rule.ask_from_days)
    ends = [
        day
        for day, told in signs
        if start <= day <= after and (told in {"over", "shown"} or (told == "tips" and day >= asked_from))
    ]
    over = min(ends, default=None)
    answers = [day for day, told in signs if told == "goes-on" and start <= day <= after]
    half_from = max([month_end, *answers]) + int(rule.unanswered_days) + 1
    if by_month:
        until = min(month_end, (over or FOREVER) - 1)
        return Resting(start, until, FOREVER, month_end, FOREVER, is_told=True)
    until = over - 1 if over is not None else after
    return Resting(start, until, asked_from, month_end, half_from, over is not None)


def _signs(line: PlantHistory, profile: Profile) -> Iterator[tuple[int, str]]:
    """Yield what was told of rests and what the plant showed, by day: begun, goes-on, over, shown or tips."""
    former: PlantState | None = None
    for state in line.states:
        if state.rest is not None and state.rest_told == state.day:
            yield state.day, state.rest
        if former is not None and state.flowering != former.flowering:
            budding, over = state.flowering in BUDS, former.flowering in BUDS and state.flowering not in BUDS
            if (profile.rest_ends_by == "buds" and budding) or (
                profile.rest_ends_by == "spike-over" and over
            ):
                yield state.day, "shown"
        former = state
    if profile.rest_ends_by == "tips":
        yield from ((day, "tips") for day, what, value in line.measured if what == "tips" and value >= 1)
