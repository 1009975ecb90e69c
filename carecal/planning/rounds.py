"""Tasks gathered into care days: the order to go round, what to mix, cautions once (design §3 rule 12)."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from carecal.horticulture.rounding import significant
from carecal.planning.model import Can, FeedMix, PlantView, Round, Task

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from carecal.planning.scene import Scene

__all__ = ["order_key", "rounds_of"]

APART = frozenset({"quarantine", "pest-watch"})


def order_key(task: Task, view: PlantView, scene: Scene, wettings: Mapping[str, Task]) -> tuple[object, ...]:
    """Return where a task stands in its round: healthy first, then by can, place, the most fragile first."""
    cares, stages = scene.catalog.cares, scene.catalog.stages
    joined = wettings.get(task.joined_to or "")
    care = joined.care if joined is not None else task.care
    rank = cares[care].rank if care in cares else 5
    fragile = stages[view.stage].order if view.stage is not None and view.stage in stages else 0
    apart = bool(APART & set(view.states))
    return apart, rank, view.place or "", fragile, task.plant, joined is not None, task.care, task.id


def rounds_of(tasks: Iterable[Task], views: Mapping[int, PlantView], scene: Scene) -> list[Round]:
    """Return one round a care day; tasks keep their ids in the order to go round."""
    found = []
    for on, of_day in groupby(sorted(tasks, key=lambda t: t.on), key=lambda t: t.on):
        day = list(of_day)
        wettings = {t.id: t for t in day}
        day.sort(key=lambda t: order_key(t, views[t.plant], scene, wettings))
        cautions = [code for code in scene.catalog.cautions if any(code in t.cautions for t in day)]
        found.append(
            Round(
                on, tuple(t.id for t in day), _can(day, scene), sum(t.minutes for t in day), tuple(cautions)
            )
        )
    return found


def _can(tasks: list[Task], scene: Scene) -> Can:
    plain = sum(t.litres or 0.0 for t in tasks if t.care != "feeding")
    feeds = sorted((t for t in tasks if t.care == "feeding"), key=lambda t: (t.ppm_n or 0.0, t.id))
    mixes = []
    for ppm, group in groupby(feeds, key=lambda t: t.ppm_n or 0.0):
        fed = list(group)
        grams, name = _dose(ppm, scene)
        litres = significant(sum(t.litres or 0.0 for t in fed), 3)
        mixes.append(FeedMix(ppm, grams, litres, tuple(t.id for t in fed), name))
    return Can(significant(plain, 3), tuple(mixes))


def _dose(ppm_n: float, scene: Scene) -> tuple[float | None, str]:
    """Return grams a litre for a strength from the grower's newest fertiliser, never above its label's rate."""
    if not scene.facts.fertilisers:
        return None, ""
    feed = list(scene.facts.fertilisers.values())[-1]
    if feed.n_pct <= 0:
        return None, feed.name
    grams = ppm_n / (10 * feed.n_pct)
    if feed.label_rate_g_per_l is not None:
        grams = min(grams, feed.label_rate_g_per_l)
    return significant(grams, 3), feed.name
