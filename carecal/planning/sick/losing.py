"""Losing ground: warning, losing, and the question whether to go on (losing_ground.toml); what to try (tries.toml).

It rests on what was told alone: how leaves felt, leaves counted, roots not come. The grower alone gives a plant up.
"""

from __future__ import annotations

from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.rhythm.terms import profile_of
from carecal.planning.sick.wraps import CLOSED, keeping_of
from carecal.planning.spans import merge
from carecal.wording.dates import day_month

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.catalog.tables import Catalog, LosingGround, Try
    from carecal.collection.plants import PlantHistory, PlantState
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.spans import Span

__all__ = [
    "ASKED_AGAIN_DAYS",
    "GOING_ON",
    "Losing",
    "Trying",
    "free_from",
    "is_losing",
    "losing_of",
    "losing_spans",
    "next_try",
    "trying_of",
]

WARNING, LOSING, GO_ON = "warning", "losing", "go-on"
GOING_ON = ""  # what is tried where it goes on as it is
HELD_DAYS = (
    28  # our choice, because a softening that nobody felt again within a try's length tells no more [d]
)
ASKED_AGAIN_DAYS = 28  # our choice, because who went on is asked again after the length of a try [d]
FLOWERS = frozenset({"in-spike", "in-bloom", "spent"})


class Losing(NamedTuple):
    """A level of losing ground with what it rests on.

    Attributes:
        level: Its row of losing_ground.toml.
        reasons: What was told, in words.
        asks: Whether the grower is asked to go on or not: at the last level, unless that was answered lately.
    """

    level: LosingGround
    reasons: tuple[str, ...]
    asks: bool

    @property
    def shown(self) -> str:
        """The level as lists show it: once the grower goes on, it is losing ground like others."""
        return LOSING if self.level.level == GO_ON and not self.asks else self.level.level


class Trying(NamedTuple):
    """What is being tried: its row of tries.toml, since when, and the last day on which nothing else is (ordinals)."""

    row: Try
    since: int
    until: int


def losing_of(line: PlantHistory, day: int, catalog: Catalog) -> Losing | None:
    """Return the highest level of losing ground that a plant has reached on a day; None for none.

    Args:
        line: The plant.
        day: The day (ordinal).
        catalog: The tables.

    Source: losing_ground.toml.
    """
    if line.retired is not None or not line.states or line.state_at(day).mother is not None:
        return None
    for level in sorted(catalog.losing_ground.values(), key=lambda row: -row.order):
        reasons = tuple(text for text in _reasons(line, day, level, catalog) if text)
        if reasons:
            return Losing(level, reasons, level.level == GO_ON and not _went_on(line, day))
    return None


def losing_spans(line: PlantHistory, first: int, last: int, catalog: Catalog) -> list[Span]:
    """Return the days on which its leaves tell that a plant loses ground, with what was told up to each day.

    That nobody told of roots is no sign here.

    Args:
        line: The plant.
        first: First day (ordinal).
        last: Last day.
        catalog: The tables.
    """
    rows = catalog.losing_ground.values()
    weeks = {int(row.leaves_days) for row in rows if row.leaves_days is not None}
    told, seen = [on for on, _ in line.firmness], [on for on, _ in line.counts]
    turns = {
        first,
        *told,
        *(on + HELD_DAYS + 1 for on in told),
        *seen,
        *(on + d + 1 for on in seen for d in weeks),
    }
    days = sorted(day for day in turns if first <= day <= last)
    ends = [*(day - 1 for day in days[1:]), last]
    return merge(
        (day, end)
        for day, end in zip(days, ends, strict=True)
        if line.state_at(day).mother is None
        and (
            any(any(_by_leaves(line, day, level, catalog)) for level in rows)
            or _came_soft(line, day, catalog)
        )
    )


def is_losing(line: PlantHistory, day: int, catalog: Catalog) -> bool:
    """Return whether a plant has reached more than the warning."""
    found = losing_of(line, day, catalog)
    return found is not None and found.level.level != WARNING


def trying_of(line: PlantHistory, day: int, catalog: Catalog) -> Trying | None:
    """Return what is being tried on a plant on a day: one thing at a time, each as long as tries.toml says."""
    for what, since in reversed(line.state_at(day).tried):
        row = catalog.tries.get(what)
        if row is not None and row.days and since <= day < since + int(row.days):
            return Trying(row, since, since + int(row.days) - 1)
    return None


def next_try(line: PlantHistory, day: int, context: PlanContext) -> Try | None:
    """Return what is worth trying next on a plant that loses ground; None where all that fits was tried.

    What was tried in the last half year is not named again.
    """
    state, catalog = line.state_at(day), context.catalog
    half_year = catalog.losing_ground[GO_ON].no_root_days or 0
    tried = {what for what, since in state.tried if day - since < half_year}
    rows = sorted(catalog.tries.values(), key=lambda row: row.order)
    return next((row for row in rows if row.name not in tried and _fits(row, state, day, context)), None)


def free_from(row: Try, state: PlantState, day: int) -> int | None:
    """Return the first day on which a try is allowed after the last potting, where that lies ahead; else None."""
    if row.not_within_days is None or state.potted is None:
        return None
    free = state.potted + int(row.not_within_days)
    return free if free > day else None


def _fits(row: Try, state: PlantState, day: int, context: PlanContext) -> bool:
    """Return whether a try fits a plant: the place has room for it, there is a spike, the moss is not fresh."""
    if row.warmer_c is not None:
        warm = context.catalog.wraps[CLOSED].day_high_c
        return context.day_temperature(state.place, day) + row.warmer_c <= warm
    if row.light_mol_low is not None:
        air = context.air(state.place, day)
        return air is not None and air.at("light_mol", day) < row.light_mol_low
    if row.not_within_days is not None:
        return state.medium == "moss" and free_from(row, state, day) is None
    if row.name == "other-wrap":
        return keeping_of(state, context.catalog) is not None
    return row.name != "spike-off" or state.flowering in FLOWERS


def _reasons(line: PlantHistory, day: int, level: LosingGround, catalog: Catalog) -> Iterator[str]:
    yield from _by_leaves(line, day, level, catalog)
    state = line.state_at(day)
    if level.no_root_days is not None and state.stage == "rootless":
        since = _since_stage(line, day, "rootless")
        if (state.newest_mm or 0) <= 0 and day - since >= level.no_root_days:
            yield f"no new root since {_told(since)}, {day - since} days"
    if level.no_tip_days is not None and state.stage == "new-tips":
        grown = _grown_on(line, day)
        if day - grown >= level.no_tip_days:
            yield f"its tips were not seen to grow since {_told(grown)}"


def _by_leaves(line: PlantHistory, day: int, level: LosingGround, catalog: Catalog) -> Iterator[str]:
    """Yield what its leaves tell of a level: softer, and fewer; '' for neither."""
    if level.firmness_steps is not None and level.firmness_days is not None:
        yield _softer(line, day, int(level.firmness_steps), int(level.firmness_days), catalog)
    state = line.state_at(day)
    if profile_of(state, catalog).leaf_theta_c_d is not None:  # a kind that drops its leaves is no patient
        yield _fewer_leaves(line, day, level)


def _softer(line: PlantHistory, day: int, steps: int, within: int, catalog: Catalog) -> str:
    """Return how much softer its leaves became within so many days, '' for less or where that was long ago."""
    felt = [(on, word) for on, word in line.firmness if on <= day]
    if not felt or day - felt[-1][0] > HELD_DAYS:
        return ""
    last, word = felt[-1]
    scores = {name: int(row.score) for name, row in catalog.firmness.items()}
    best = min((scores[w] for on, w in felt if last - on <= within), default=scores[word])
    if scores[word] - best < steps:
        return ""
    before = next(w for on, w in felt if last - on <= within and scores[w] == best)
    return f"leaves {word} on {_told(last)}, {before} before"


def _came_soft(line: PlantHistory, day: int, catalog: Catalog) -> bool:
    """Return whether the first leaves ever felt were soft, not long ago: nobody knows since when they are.

    Source: our choice, because what cannot drink cannot use a feed.
    """
    felt = [(on, word) for on, word in line.firmness if on <= day]
    scores = {name: int(row.score) for name, row in catalog.firmness.items()}
    return (
        len({scores[word] for _, word in felt}) == 1
        and scores[felt[0][1]] > 0
        and day - felt[0][0] <= HELD_DAYS
    )


def _fewer_leaves(line: PlantHistory, day: int, level: LosingGround) -> str:
    """Return how many leaves it lost within so many days, or that few are left and one went; '' for neither."""
    if level.leaves_days is None:
        return ""
    shoot = line.state_at(day).shoot or 0  # the leaves of a shoot are counted anew
    counted = [
        (on, state.leaves) for on, state in line.counts if shoot < on <= day and state.leaves is not None
    ]
    lost = sum(
        max(0, before - after)
        for (_, before), (on, after) in pairwise(counted)
        if day - on <= level.leaves_days
    )
    if level.leaves_lost is not None and lost >= level.leaves_lost:
        return f"{lost} leaves lost in {level.leaves_days:g} days"
    if level.leaves_left is not None and lost and counted[-1][1] <= level.leaves_left:
        left = counted[-1][1]
        return (
            "its last leaf is gone"
            if not left
            else f"{left} {'leaf' if left == 1 else 'leaves'} left, {lost} lost"
        )
    return ""


def _since_stage(line: PlantHistory, day: int, stage: str) -> int:
    """Return since when a plant has been in a stage: from its coming or potting, if it came so."""
    since, first = day, False
    for state in reversed(line.states):
        if state.day > day:
            continue
        if state.stage != stage:
            break
        since, first = state.day, state is line.states[0]
    known = [d for d in (line.states[0].came, line.states[0].potted) if d is not None] if first else []
    return min([since, *([max(known)] if known else [])])


def _grown_on(line: PlantHistory, day: int) -> int:
    """Return the last day on which a root was found longer or a tip more than before, else the stage's first.

    Nobody could say so here before the plant was entered: from that day at the earliest.
    """
    grown = max(_since_stage(line, day, "new-tips"), line.entered)
    for (_, before), (on, after) in pairwise(line.counts):
        longer = (after.longest_mm or 0) > (before.longest_mm or 0) or (after.newest_mm or 0) > (
            before.newest_mm or 0
        )
        if on <= day and (longer or (after.tips or 0) > (before.tips or 0)):
            grown = max(grown, on)
    return grown


def _went_on(line: PlantHistory, day: int) -> bool:
    """Return whether the grower said lately that it goes on, or tries something."""
    return any(day - since < ASKED_AGAIN_DAYS for _, since in line.state_at(day).tried if since <= day)


def _told(day: int) -> str:
    return day_month(date.fromordinal(day))
