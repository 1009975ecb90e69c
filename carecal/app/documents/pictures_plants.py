"""What pictures of one plant show, in numbers: its pot drying, its roots and leaves. It draws nothing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from carecal.app.documents.pictures import Mark
from carecal.errors import Refused
from carecal.horticulture.drydown import two_stage_days, two_stage_left, water_fraction
from carecal.horticulture.learning import CRITICAL, RESIDUAL
from carecal.planning.pace.estimates import target_fraction
from carecal.planning.rhythm.drying import Drying
from carecal.planning.rhythm.situations import situation_at
from carecal.wording.tasks import done_word

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.plants import Event, PlantHistory
    from carecal.planning.plant_planner import PlantPlanner
    from carecal.planning.wettings.slots import Slot

__all__ = ["DryDown", "Growth", "dry_down", "growth"]

MOST_DRYING_DAYS = 120  # our choice, because a picture of more days shows no single one


@dataclass(frozen=True, slots=True)
class DryDown:
    """Water left in a pot since its last wetting, day by day, as shares of the water held.

    Attributes:
        wetted: The day of the wetting.
        is_assumed: Whether nobody said so: it was planned for that day and not ticked.
        left: One share a day, the first of `wetted`. [-]
        low: The same if it dries as fast as its 80 % band allows. [-]
        high: The same if it dries as slowly. [-]
        target: Share at which it is wetted again. [-]
        today: The plan's day.
        window: First day, due day and last day of the next wetting; None where none is planned.
        marks: Entries since the wetting, with the share that a weight tells.
    """

    wetted: date
    is_assumed: bool
    left: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    target: float
    today: date
    window: tuple[date, date, date] | None
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class Growth:
    """What was counted of a plant, with the numbers at which its stages begin.

    Attributes:
        longest_mm: Days and longest root. [mm]
        roots: Days and living roots.
        leaves: Days and leaves.
        stages: Stage and the longest root, roots and leaves that enter it.
        marks: Pottings.
    """

    longest_mm: tuple[tuple[date, float], ...]
    roots: tuple[tuple[date, float], ...]
    leaves: tuple[tuple[date, float], ...]
    stages: tuple[tuple[str, float, float, float], ...]
    marks: tuple[Mark, ...]


def dry_down(collection: Collection, now: Now, plant: str) -> DryDown | None:
    """Return how a plant's pot has dried since it was last wetted and how it will; None where nobody can know.

    Raises:
        UnknownName: No plant has that id.
        Refused: It was not there on that day.
    """
    plant_planner = _desk(collection, now, plant)
    context, line = plant_planner.context, plant_planner.line
    state = line.state_at(context.as_of)
    since, is_assumed = _wetted(plant_planner)
    known_pot = state.medium in context.catalog.media and line.retired is None and not state.is_wrapped
    if since is None or not known_pot:
        return None
    target = target_fraction(situation_at(plant_planner.stretches, context.as_of), context)
    pending = plant_planner.chain.pending
    last = min(max(context.as_of, pending.latest if pending is not None else 0) + 3, context.last_day)
    drying = Drying(plant_planner.stretches, context)
    passed = [drying.progress(since, day) for day in range(since, min(last, since + MOST_DRYING_DAYS) + 1)]
    known = [progress for progress in passed if progress is not None]
    if not RESIDUAL < target < 1 or len(known) < len(passed) or not known or known[-1] == 0:
        return None
    estimate = plant_planner.taught_on(context.as_of)
    left, low, high = (
        tuple(_water_left(progress / factor, target) for progress in known)
        for factor in (estimate.factor, estimate.low, estimate.high)
    )
    return DryDown(
        date.fromordinal(since),
        is_assumed,
        left,
        low,
        high,
        target,
        now.day,
        _window(pending),
        tuple(_entries(line, since, last)),
    )


def _wetted(plant_planner: PlantPlanner) -> tuple[int | None, bool]:
    """Return the day of the last wetting, and whether it was only assumed."""
    said = [e.day for e in plant_planner.line.told if _wets(e)]
    said += [plant_planner.line.watered] if plant_planner.line.watered is not None else []
    assumed = [slot.day for slot in plant_planner.chain.slots() if slot.status == "assumed"]
    real, guessed = max(said, default=None), max(assumed, default=None)
    if guessed is not None and (real is None or guessed > real):
        return guessed, True
    return real, False


def _wets(event: Event) -> bool:
    return (event.kind == "wet" and event.aid is None) or (event.kind == "potted" and event.watered)


def _water_left(progress: float, target: float) -> float:
    """Return the share of the water held after so many intervals; 1 interval ends at the target."""
    return two_stage_left(
        1.0, CRITICAL, RESIDUAL, progress * two_stage_days(1.0, CRITICAL, RESIDUAL, target, 1.0), 1.0
    )


def _window(slot: Slot | None) -> tuple[date, date, date] | None:
    if slot is None:
        return None
    return date.fromordinal(slot.earliest), date.fromordinal(slot.due), date.fromordinal(slot.latest)


def _entries(line: PlantHistory, since: int, last: int) -> Iterator[Mark]:
    """Yield what was said of a pot since its wetting; a weight between full and dry tells a share of water."""
    marked = {e.mark: e.weight_g for e in line.told if e.kind == "weighed" and e.mark}
    dry, full = marked.get("dry"), marked.get("full")
    for event in line.told:
        if not since <= event.day <= last or event.aid is not None:
            continue
        share = None
        if event.weight_g is not None and dry is not None and full is not None and full > dry:
            share = water_fraction(event.weight_g, dry, full)
        said = [f"felt {event.felt}"] if event.felt else []
        said += [f"{event.weight_g:g} g"] if event.weight_g is not None else []
        word = done_word(event.care) if event.kind in {"wet", "look"} else event.kind
        if event.kind in {"wet", "look", "left", "weighed", "potted"}:
            yield Mark(date.fromordinal(event.day), event.kind, ", ".join([word, *said]), share)


def growth(collection: Collection, now: Now, plant: str) -> Growth | None:
    """Return what was counted of a plant over time; None before the first count.

    Raises:
        UnknownName: No plant has that id.
        Refused: It was not there on that day.
    """
    plant_planner = _desk(collection, now, plant)
    line, stages = plant_planner.line, plant_planner.context.catalog.stages.values()

    def points(what: str) -> tuple[tuple[date, float], ...]:
        by_day = {day: value for day, key, value in line.measured if key == what}
        return tuple((date.fromordinal(day), value) for day, value in sorted(by_day.items()))

    found = Growth(
        points("longest_mm"),
        points("roots"),
        points("leaves"),
        tuple(
            (row.stage, float(row.enter_longest_mm), float(row.enter_roots), float(row.enter_leaves))
            for row in sorted(stages, key=lambda row: row.order)
            if row.enter_longest_mm or row.enter_roots
        ),
        tuple(Mark(date.fromordinal(e.day), "potted", "potted") for e in line.events if e.kind == "potted"),
    )
    return found if found.longest_mm or found.roots or found.leaves else None


def _desk(collection: Collection, now: Now, plant: str) -> PlantPlanner:
    number = collection.number_of(plant)
    plant_planner = collection.planner(now.day, plants={number}).plant_planners.get(number)
    if plant_planner is None:
        raise Refused(f"'{plant}' was not in the collection on {now.day}; it was added later")
    return plant_planner
