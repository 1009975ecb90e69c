"""Tasks gathered into care days: the order to go round, what to mix, cautions once (design §3 rule 12)."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from carecal.horticulture.nutrition import grams_for_ppm
from carecal.horticulture.rounding import significant
from carecal.plan.model import Can, FeedMix, PlantView, Round, Task

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from carecal.planning.plan_context import PlanContext

__all__ = ["order_key", "rounds_of"]

APART = frozenset({"quarantine", "pest-watch"})


def order_key(
    task: Task, view: PlantView, context: PlanContext, wettings: Mapping[str, Task]
) -> tuple[object, ...]:
    """Return where a task stands in its round: healthy first, then by can, place, the most fragile first."""
    cares, stages = context.catalog.cares, context.catalog.stages
    joined = wettings.get(task.joined_to or "")
    care = joined.care if joined is not None else task.care
    rank = cares[care].rank if care in cares else 5
    fragile = stages[view.stage].order if view.stage is not None and view.stage in stages else 0
    strength = (joined or task).ppm_n or 0.0  # each strength is a can of its own, from weak to strong
    return (
        _stands_apart(view),
        rank,
        strength,
        view.place or "",
        fragile,
        task.plant,
        joined is not None,
        task.care,
        task.id,
    )


def rounds_of(tasks: Iterable[Task], views: Mapping[int, PlantView], context: PlanContext) -> list[Round]:
    """Return one round a care day; tasks keep their ids in the order to go round."""
    found = []
    for on, of_day in groupby(sorted(tasks, key=lambda t: t.on), key=lambda t: t.on):
        day = list(of_day)
        wettings = {t.id: t for t in day}
        day.sort(key=lambda t: order_key(t, views[t.plant], context, wettings))
        cautions = [code for code in context.catalog.cautions if any(code in t.cautions for t in day)]
        found.append(
            Round(
                on,
                tuple(t.id for t in day),
                _can(day, views, context),
                sum(t.minutes for t in day),
                tuple(cautions),
            )
        )
    return found


def _can(tasks: list[Task], views: Mapping[int, PlantView], context: PlanContext) -> Can:
    """Return what to mix for a round: plain water, then feeds from weak to strong, those that stand apart last."""
    plain = [t for t in tasks if t.care != "feeding"]
    apart = [t for t in plain if _stands_apart(views[t.plant])]
    fed = sorted((t for t in tasks if t.care == "feeding"), key=lambda t: (*_mix_key(t, views), t.id))
    mixes = [_mix(key, list(group), context) for key, group in groupby(fed, key=lambda t: _mix_key(t, views))]
    return Can(_litres(plain), tuple(mixes), _litres(apart))


def _mix_key(task: Task, views: Mapping[int, PlantView]) -> tuple[bool, float]:
    return _stands_apart(views[task.plant]), task.ppm_n or 0.0


def _mix(key: tuple[bool, float], fed: list[Task], context: PlanContext) -> FeedMix:
    apart, ppm = key
    feed, supplies = context.supplies.fertiliser, context.supplies
    grams = None
    if feed is not None and feed.n_pct > 0:
        grams = significant(grams_for_ppm((feed.n_pct, 0.0, 0.0), ppm), 3)
    name = feed.name if feed is not None else ""
    ec = significant(supplies.feed_ms_cm(ppm), 2) if feed is not None else None
    return FeedMix(ppm, grams, _litres(fed), tuple(t.id for t in fed), name, ec, apart)


def _litres(tasks: list[Task]) -> float:
    return significant(sum(t.litres or 0.0 for t in tasks), 3)


def _stands_apart(view: PlantView) -> bool:
    """Return whether a plant shares no can: in quarantine or on pest-watch (states.csv, blocks)."""
    return bool(APART & set(view.states))
