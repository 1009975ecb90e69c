"""What a plant is heading for by its own pace: roots, leaves, next stage, first flower, and what a look should ask."""

from __future__ import annotations

from math import exp, log
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from carecal.horticulture.growth import bloom_forecast, days_per_leaf
from carecal.horticulture.learning import PRIOR, RIGHT_SD, measured
from carecal.horticulture.roots import RootDate, prior_root_date, root_date, root_rate
from carecal.planning.forecasts.dated import MOST_AHEAD_DAYS, Forecast, dated, when_of
from carecal.planning.forecasts.kinds import bloom_limits, leaf_time, root_pace, root_targets
from carecal.planning.forecasts.season_questions import season_questions
from carecal.planning.rhythm.terms import profile_of
from carecal.planning.states import states_of

if TYPE_CHECKING:
    from carecal.collection.plants import PlantState
    from carecal.planning.places.climates import PlaceAir
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["Forecast", "bloom_of", "forecasts_of", "leaf_of", "next_stage_of", "question_for", "root_of"]

LEAST_COUNTS = 3  # models G5
NEAR_DAYS = 7  # our choice, because a crossing is asked for at the looks of the week before it [d]
ASKED_DAYS = 28  # our choice, because four weeks past its band a forecast is worth no question of its own [d]
FEW_MM = 30.0  # up to it tips alone are counted (our choice, because the roots of such a plant are known)
LOST_SHARE = (
    0.7  # our choice, because a ruler errs by less than a third: below it another root is the longest
)


def forecasts_of(plant_planner: PlantPlanner) -> list[Forecast]:
    """Return what is forecast for a plant on the plan's day.

    Source: models G1-G6.
    """
    found = [
        next_stage_of(plant_planner),
        _next_root(plant_planner),
        leaf_of(plant_planner),
        bloom_of(plant_planner),
    ]
    return [forecast for forecast in found if forecast is not None]


def root_of(plant_planner: PlantPlanner, target_mm: float) -> Forecast | None:
    """Return when the longest living root reaches a length; None without any measurement.

    Args:
        plant_planner: The plant.
        target_mm: Length wanted. [mm]

    Source: SEN1968 by the plant's own measurements; our choice of 1-3 mm a day where there are fewer than three.
    """
    points = _points(plant_planner, "longest_mm")
    if not points:
        return None
    days, lengths = [float(day) for day, _ in points], [value for _, value in points]
    title = f"longest root {target_mm:g} mm"
    if len(points) >= LEAST_COUNTS and len(set(days)) > 1:
        rate = root_rate(days, lengths)
        found = root_date(days, lengths, target_mm)
        text = f"{rate.slope:.1f} mm a day by its own {len(points)} measurements ({rate.low:.1f} to {rate.high:.1f})"
        return dated("longest-root", title, text, found, plant_planner.context.as_of, is_own=True)
    tables = plant_planner.context.catalog
    pace = root_pace(profile_of(plant_planner.line.state_at(plant_planner.context.as_of), tables))
    if pace is None:
        return None
    slow, fast = pace
    ahead = prior_root_date(lengths[-1], target_mm, slow, fast)
    shifted = RootDate(*(days[-1] + part if part is not None else None for part in ahead))
    few = "one measurement" if len(points) == 1 else f"{len(points)} measurements"
    text = f"{slow:g} to {fast:g} mm a day as is usual; {few} so far, three tell its own pace"
    return dated("longest-root", title, text, shifted, plant_planner.context.as_of, is_own=False)


def leaf_of(plant_planner: PlantPlanner) -> Forecast | None:
    """Return when the next leaf is counted, by its own pace, else the fastest sensible one; None without a count.

    Source: SEN1968; WANGDIF, a greenhouse's pace that a home plant does not beat (models G2).
    """
    points = _points(plant_planner, "leaves")
    if not points:
        return None
    days, counts = [float(day) for day, _ in points], [value for _, value in points]
    target = counts[-1] + 1
    if len(points) >= LEAST_COUNTS and len(set(days)) > 1 and root_rate(days, counts).slope > 0:
        rate, found = root_rate(days, counts), root_date(days, counts, target)
        text = f"a leaf in {1 / rate.slope:.0f} days by its own {len(points)} counts"
        return dated("leaf", f"{target:g} leaves", text, found, plant_planner.context.as_of, is_own=True)
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
    return Forecast(
        "leaf", f"{target:g} leaves not before {when_of(early)}: {text}", early, None, None, is_own=False
    )


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
    grown = root_of(plant_planner, row.enter_longest_mm)
    if lacking or grown is None:
        root = f"a longest root of {row.enter_longest_mm:g} mm"
        root += f", {state.longest_mm:g} now" if state.longest_mm is not None else ", not measured"
        more = ", ".join([*lacking, *([] if grown is not None else [root])])
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
        when = f"first flower not before {when_of(early)}"
    else:
        when = f"first flower {when_of(early)} to {when_of(late)}, likely {when_of(likely)}"
    text = f"{when}: by warmth{own}{held}{hot}"
    return Forecast("first-flower", text, early, likely, late, is_own=bool(spikes))


def question_for(plant_planner: PlantPlanner, day: int | None = None) -> str:
    """Return the question that a look on a day should answer, '' for none: pests, a crossing ahead, a flower.

    Args:
        plant_planner: The plant.
        day: Day of the look (ordinal); None: the plan's day.
    """
    on = day if day is not None else plant_planner.context.as_of
    state, tables = (
        plant_planner.line.state_at(min(on, plant_planner.context.as_of)),
        plant_planner.context.catalog,
    )
    asked = [
        f"{watch.pest} again? {tables.pests[watch.pest].look_for}"
        for watch in state.pests
        if watch.pest in tables.pests and watch.clean_looks < tables.pests[watch.pest].looks
    ]
    if not asked and "quarantine" in states_of(state, on, tables, resting=False):
        asked.append("any pest, on both sides of the leaves and in the axils?")
    roots = _root_question(plant_planner, state, on)
    asked += [roots] if roots else []
    if any(early - NEAR_DAYS <= on <= late for _, early, late in _flowers(plant_planner)):
        asked.append("is the first flower open?")
    asked += season_questions(plant_planner, state, on)
    return "; ".join(asked)


def _root_question(plant_planner: PlantPlanner, state: PlantState, on: int) -> str:
    """Return the question on roots: what was never counted, else the longest length that may be reached by then."""
    if state.longest_mm is None:
        unsure = state.stage in {"rootless", "new-tips", "rooting-in"}
        return "count roots and tips; how long is the longest root in mm?" if unsure else ""
    near = [
        mm
        for mm, early, late in _crossings(plant_planner)
        if mm > state.longest_mm and early - NEAR_DAYS <= on <= late
    ]
    if not near:
        return ""
    count = "count tips" if state.tips is not None or near[0] <= FEW_MM else "count roots and tips"
    return f"{count}; longest root ≥ {near[0]:g} mm?"


def _crossings(plant_planner: PlantPlanner) -> list[tuple[float, int, int]]:
    """Return each length with the first and last day on which a look asks for it; kept, since many looks ask."""
    kept, key = _KEPT.setdefault(plant_planner, {}), ("roots", plant_planner.context.as_of)
    if key not in kept:
        kept[key] = [
            (mm, each.early, max(each.late or each.early, plant_planner.context.as_of) + ASKED_DAYS)
            for mm, each in (
                (mm, root_of(plant_planner, mm)) for mm in root_targets(plant_planner.context.catalog)
            )
            if each is not None and each.early is not None
        ]
    return kept[key]


def _flowers(plant_planner: PlantPlanner) -> list[tuple[float, int, int]]:
    kept, key = _KEPT.setdefault(plant_planner, {}), ("flower", plant_planner.context.as_of)
    if key not in kept:
        found = bloom_of(plant_planner)
        kept[key] = (
            [(0.0, found.early, max(found.late or found.early, plant_planner.context.as_of) + ASKED_DAYS)]
            if found is not None and found.early is not None
            else []
        )
    return kept[key]


_KEPT: WeakKeyDictionary[PlantPlanner, dict[tuple[str, int], list[tuple[float, int, int]]]] = (
    WeakKeyDictionary()
)


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
        if key == what and day <= plant_planner.context.as_of
    }
    found: list[tuple[int, float]] = []
    for day, value in sorted(by_day.items()):
        if found and value < LOST_SHARE * found[-1][1]:
            found = []
        found.append((day, value))
    return found


def _spike_factor(plant_planner: PlantPlanner) -> tuple[float, int]:
    """Return how the plant's earlier spikes went against the forecast, and how many there were (models K)."""
    belief, count, tables = PRIOR, 0, plant_planner.context.catalog
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
