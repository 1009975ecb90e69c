"""What a plant is heading for by its own pace: roots, leaves, next stage, first flower."""

from __future__ import annotations

from datetime import date
from math import exp, log
from typing import TYPE_CHECKING, NamedTuple

from carecal.horticulture.growth import bloom_forecast, days_per_leaf
from carecal.horticulture.learning import RIGHT_SD, Belief, measured
from carecal.horticulture.roots import RootDate, prior_root_date, root_date, root_rate
from carecal.planning.forecasts.kinds import bloom_limits, leaf_time, root_pace, root_targets
from carecal.planning.rhythm.terms import profile_of
from carecal.planning.sick.crown import is_crownless
from carecal.planning.sick.losing import losing_of
from carecal.planning.sick.rot import open_rot
from carecal.planning.sick.wraps import keeping_of
from carecal.wording.dates import day_month

if TYPE_CHECKING:
    from carecal.planning.places.climates import PlaceAir
    from carecal.planning.plant_planner import PlantPlanner

__all__ = [
    "Forecast",
    "bloom_of",
    "forecasts_of",
    "held_roots",
    "leaf_of",
    "next_stage_of",
    "root_of",
]

BARE = "plastic"  # what the medium of a plant in an unknown pot is reckoned in
LEAST_COUNTS = 3  # models G5
MOST_AHEAD_DAYS = 731  # our choice, because a date more than two years away tells a grower nothing [d]
SPIKES = Belief(0.0, 0.5)  # our choice, because two spikes alike may differ by half of their time
LOST_SHARE = (
    0.7  # our choice, because a ruler errs by less than a third: below it another root is the longest
)


class Forecast(NamedTuple):
    """A thing expected in a band of days (ordinals); None is unknown.

    Attributes:
        what: Code: longest-root, leaf, stage or first-flower.
        text: One sentence with the numbers behind it.
        early: First day of the 80 % band.
        likely: Its middle.
        late: Its last day.
        is_own: Whether the plant's own pace tells it, not the usual one.
    """

    what: str
    text: str
    early: int | None
    likely: int | None
    late: int | None
    is_own: bool


def forecasts_of(plant_planner: PlantPlanner) -> list[Forecast]:
    """Return what is forecast for a plant on the plan's day.

    Source: models G1-G6.
    """
    state = plant_planner.line.state_at(plant_planner.context.as_of)
    if is_crownless(state):
        return []  # what is left of it grows no leaf, and its roots only hold it up
    found = [
        next_stage_of(plant_planner),
        _next_root(plant_planner),
        leaf_of(plant_planner),
        bloom_of(plant_planner),
    ]
    return [forecast for forecast in found if forecast is not None]


def root_of(plant_planner: PlantPlanner, target_mm: float) -> Forecast | None:
    """Return when the longest living root reaches a length; None without any measurement, or where none can grow.

    Args:
        plant_planner: The plant.
        target_mm: Length wanted. [mm]

    Source: SEN1968 by the plant's own measurements; our choice of 1-3 mm a day where there are fewer than three.
    """
    points = _points(plant_planner, "longest_mm")
    if not points or held_roots(plant_planner):
        return None
    days, lengths = [float(day) for day, _ in points], [value for _, value in points]
    title = f"longest root {target_mm:g} mm"
    if len(points) >= LEAST_COUNTS and len(set(days)) > 1:
        rate = root_rate(days, lengths)
        found = root_date(days, lengths, target_mm)
        text = f"{rate.slope:.1f} mm a day by its own {len(points)} measurements ({rate.low:.1f} to {rate.high:.1f})"
        return _dated("longest-root", title, text, found, plant_planner.context.as_of, is_own=True)
    tables = plant_planner.context.catalog
    pace = root_pace(profile_of(plant_planner.line.state_at(plant_planner.context.as_of), tables))
    if pace is None:
        return None
    slow, fast = pace
    ahead = prior_root_date(lengths[-1], target_mm, slow, fast)
    shifted = RootDate(*(days[-1] + part if part is not None else None for part in ahead))
    few = "one measurement" if len(points) == 1 else f"{len(points)} measurements"
    text = f"{slow:g} to {fast:g} mm a day as is usual; {few} so far, three tell its own pace"
    return _dated("longest-root", title, text, shifted, plant_planner.context.as_of, is_own=False)


def held_roots(plant_planner: PlantPlanner) -> str:
    """Return why no root is foretold, '' where one may be: without a tip, or in too cold a medium.

    Source: our choice, because a root grows at its tip alone; root_medium_min_c of profiles, of wraps.toml else.
    """
    day = plant_planner.context.as_of
    state, tables = plant_planner.line.state_at(day), plant_planner.context.catalog
    if state.tips == 0 or (state.stage == "rootless" and not state.tips):
        return "no root is foretold before a tip grows"
    if state.mother is not None:
        return ""  # its roots hang in the air
    kept, air = keeping_of(state, tables), plant_planner.context.air(state.place, day)
    least = profile_of(state, tables).root_medium_min_c
    if least is None and kept is not None:
        least = kept.row.root_medium_min_c
    if least is None or air is None:
        return ""
    container = state.container if state.container in tables.containers else BARE
    mean = air.medium_ahead(container or BARE)[day - air.origin]
    shown = f"{mean:.1f}".removesuffix(".0")
    return f"no root is foretold while the medium is at {shown} °C, under {least:g}" if mean < least else ""


def leaf_of(plant_planner: PlantPlanner) -> Forecast | None:
    """Return when the next leaf is counted, by its own pace, else the fastest sensible one; None without a count.

    Source: SEN1968; WANGDIF, a greenhouse's pace that a home plant does not beat (models G2).
    """
    points = _points(plant_planner, "leaves")
    if not points or not _has_a_crown_to_grow(plant_planner):
        return None
    points = [each for each in points if each[0] >= (plant_planner.line.latest.shoot or 0)]
    if not points:  # the leaves of the lost crown tell nothing of the shoot
        return None
    days, counts = [float(day) for day, _ in points], [value for _, value in points]
    target = counts[-1] + 1
    if len(points) >= LEAST_COUNTS and len(set(days)) > 1 and root_rate(days, counts).slope > 0:
        rate, found = root_rate(days, counts), root_date(days, counts, target)
        text = f"a leaf in {1 / rate.slope:.0f} days by its own {len(points)} counts"
        return _dated("leaf", f"{target:g} leaves", text, found, plant_planner.context.as_of, is_own=True)
    state = plant_planner.line.state_at(plant_planner.context.as_of)
    air = plant_planner.context.air(state.place, plant_planner.context.as_of)
    if air is None:
        return None
    tables = plant_planner.context.catalog
    time = leaf_time(profile_of(state, tables))
    if time is None:
        return None
    pace = days_per_leaf(_mean(air, plant_planner.context.as_of), time.theta_c_d, time.base_c)
    if pace > MOST_AHEAD_DAYS:
        return None
    early = int(days[-1] + pace)
    text = f"a leaf in {pace:.0f} days at best, as in a greenhouse; three counts tell its own pace"
    is_past = early < plant_planner.context.as_of
    when = "may be there by now, count again" if is_past else f"not before {_when(early)}"
    return Forecast("leaf", f"{target:g} leaves {when}: {text}", early, None, None, is_own=False)


def _has_a_crown_to_grow(plant_planner: PlantPlanner) -> bool:
    """Return whether a leaf may be foretold: with living roots in the open, and without rot or loss of ground.

    Source: our choice, because a plant that lives on its leaves loses them before it makes one.
    """
    day, tables = plant_planner.context.as_of, plant_planner.context.catalog
    state = plant_planner.line.state_at(day)
    if state.stage == "rootless" or state.is_wrapped or open_rot(state, day, tables) is not None:
        return False
    return losing_of(plant_planner.line, day, tables) is None


def next_stage_of(plant_planner: PlantPlanner) -> Forecast | None:
    """Return when the next stage is reached, if only the longest root is missing; what else is missing is said."""
    state = plant_planner.line.state_at(plant_planner.context.as_of)
    rows = sorted(plant_planner.context.catalog.stages.values(), key=lambda row: row.order)
    names = [row.stage for row in rows]
    if state.stage not in names or names.index(state.stage) + 1 >= len(names):
        return None
    row = rows[names.index(state.stage) + 1]
    lacking = [
        f"{wanted} {word if wanted != 1 else one}"
        + (f", {have} now" if have is not None else ", not counted")
        for word, one, wanted, have in (
            ("roots", "root", row.enter_roots, state.roots),
            ("leaves", "leaf", row.enter_leaves, state.leaves),
        )
        if wanted and (have is None or have < wanted)
    ]
    grown, held = root_of(plant_planner, row.enter_longest_mm), held_roots(plant_planner)
    if lacking or grown is None:
        unmeasured = grown is None and not held
        root = f"a longest root of {row.enter_longest_mm:g} mm"
        root += f", {state.longest_mm:g} now" if state.longest_mm is not None else ", not measured"
        more = ", ".join([*lacking, *([root] if unmeasured else [])])
        more = "; ".join(part for part in (more or "a longer root", held) if part)
        return Forecast("stage", f"{row.stage} asks for {more}", None, None, None, is_own=False)
    text = f"{row.stage}: {grown.text}"
    return Forecast("stage", text, grown.early, grown.likely, grown.late, grown.is_own)


def bloom_of(plant_planner: PlantPlanner) -> Forecast | None:
    """Return when a spike opens its first flower, by thermal time and by the plant's own earlier spikes.

    Source: ROBINSON2003 for the band; models K for what earlier spikes say (models G1).
    """
    state = plant_planner.line.state_at(plant_planner.context.as_of)
    since = state.flowering_since
    if state.flowering != "in-spike" or since is None:
        return None
    air = plant_planner.context.air(state.place, plant_planner.context.as_of)
    if air is None:
        return None
    factor, spikes = _spike_factor(plant_planner)
    tables = plant_planner.context.catalog
    limits = bloom_limits(profile_of(state, tables))
    if limits is None:
        return None
    found = bloom_forecast(limits, _means(air, since), factor)
    early, likely, late = (since + days if days is not None else None for days in found[:3])
    own = f"; its own {spikes} earlier spikes count: ×{factor:.2f}" if spikes else ""
    hot, held = "", ""
    if found.abort_days:
        hot = f"; {found.abort_days} days of {limits.abort_c:g} °C and more, at which buds may drop"
    if found.held_days:
        held = f"; no faster on {found.held_days} days above {limits.cap_c:g} °C"
    if early is None:
        when = "no first flower within two years"
    elif likely is None or late is None:
        when = f"first flower not before {_when(early)}"
    else:
        when = f"first flower {_when(early)} to {_when(late)}, likely {_when(likely)}"
    text = f"{when}: by warmth{own}{held}{hot}"
    return Forecast("first-flower", text, early, likely, late, is_own=bool(spikes))


def _next_root(plant_planner: PlantPlanner) -> Forecast | None:
    state = plant_planner.line.state_at(plant_planner.context.as_of)
    if state.longest_mm is None:
        return None
    target = next((mm for mm in root_targets(plant_planner.context.catalog) if mm > state.longest_mm), None)
    return root_of(plant_planner, target) if target is not None else None


def _points(plant_planner: PlantPlanner, what: str) -> list[tuple[int, float]]:
    """Return day and value of what was really counted, of the last run that never fell: a lost root starts anew."""
    by_day = {
        day: value
        for day, key, value in plant_planner.line.measured
        if key == what and plant_planner.context.air_from <= day <= plant_planner.context.as_of
    }
    found: list[tuple[int, float]] = []
    for day, value in sorted(by_day.items()):
        if found and value < LOST_SHARE * found[-1][1]:
            found = []
        found.append((day, value))
    return found


def _spike_factor(plant_planner: PlantPlanner) -> tuple[float, int]:
    """Return how the plant's earlier spikes went against the forecast, and how many there were (models K)."""
    belief, count, tables = SPIKES, 0, plant_planner.context.catalog
    begun: tuple[int, str | None] | None = None
    for state in plant_planner.line.states:
        if state.flowering == "in-spike" and state.flowering_since is not None and begun is None:
            begun = state.flowering_since, state.place
        elif state.flowering != "in-spike" and begun is not None:
            air = plant_planner.context.air(begun[1], begun[0])
            if state.flowering == "in-bloom" and state.flowering_since is not None and air is not None:
                limits = bloom_limits(profile_of(state, tables))
                likely = bloom_forecast(limits, _means(air, begun[0])).likely if limits is not None else None
                took = state.flowering_since - begun[0]
                if likely and took > 0:
                    belief, count = measured(belief, log(took / likely), RIGHT_SD), count + 1
            begun = None
    return (exp(belief.mean) if count else 1.0), count


def _means(air: PlaceAir, since: int) -> list[float]:
    days = range(since + 1, min(air.last, since + 731) + 1)
    return [_mean(air, day) for day in days]


def _mean(air: PlaceAir, day: int) -> float:
    return (air.at("day_c", day) + air.at("night_c", day)) / 2


def _dated(what: str, target: str, text: str, found: RootDate, today: int, *, is_own: bool) -> Forecast:
    early, likely, late = (
        int(part) if part is not None and part <= today + MOST_AHEAD_DAYS else None for part in found
    )
    if early is None:
        said = f"{target}: not within two years at this pace: {text}"
    elif late is None or likely is None:
        said = f"{target} not before {_when(early)}: {text}"
    elif early == late:
        said = f"{target} reached on {_when(early)}: {text}"
    elif late < today:
        said = f"{target} was expected by {_when(late)}, count again: {text}"
    else:
        said = f"{target} between {_when(early)} and {_when(late)}, likely {_when(likely)}: {text}"
    return Forecast(what, said, early, likely, late, is_own)


def _when(day: int) -> str:
    return day_month(date.fromordinal(day))
