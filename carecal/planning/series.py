"""Plain slots of one rhythm as recurrence rules; what is fed, flushed, open or moved stays a task of its own."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from carecal.plan.model import Rhythm, Series, Task

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

__all__ = ["series_of"]

PLAIN = frozenset({"watering", "refilling", "moistening"})


def series_of(tasks: Iterable[Task], rhythms: Sequence[Rhythm], basis: str) -> list[Series]:
    """Return the series of one plant's tasks in the grouping `each`.

    Args:
        tasks: The plant's wettings and moistenings, sorted by day.
        rhythms: Its rhythms.
        basis: Written instant of the newest entry it rests on.
    """
    found = []
    ordered = sorted((t for t in tasks if t.care != "inspection"), key=lambda t: (t.aid, t.due))
    for aid, of_path in groupby(ordered, key=lambda t: t.aid):
        mine = [r for r in rhythms if r.aid == aid]
        for rhythm, group in groupby(of_path, key=lambda t: _rhythm_on(mine, t)):
            if rhythm is not None:
                run = max(_regular_runs(list(group), rhythm.days), key=len, default=[])
                made = _series(run, rhythm, basis)
                if made is not None:
                    found.append(made)
    return found


def _rhythm_on(rhythms: Sequence[Rhythm], task: Task) -> Rhythm | None:
    return next((r for r in rhythms if r.start <= task.due <= r.until), None)


def _regular_runs(tasks: list[Task], days: int) -> Iterator[list[Task]]:
    """Yield runs of tasks that stand exactly `days` apart on their own days, the plain ones all done alike."""
    run: list[Task] = []
    for task in tasks:
        if task.status != "planned" or task.on != task.due:
            continue
        plain = next((each for each in reversed(run) if each.care in PLAIN), task)
        is_other = task.care in PLAIN and task.technique != plain.technique
        if run and ((task.on - run[-1].on).days != days or is_other):
            yield run
            run = []
        run.append(task)
    if run:
        yield run


def _series(run: list[Task], rhythm: Rhythm, basis: str) -> Series | None:
    plain = [task for task in run if task.care in PLAIN]
    if not plain:
        return None
    first, last = plain[0], plain[-1]
    skipped = tuple(t.on for t in run if t.care not in PLAIN and first.on < t.on < last.on)
    before, after = (first.due - first.earliest).days, (first.latest - first.due).days
    slip = f"may slip: {before} days early, {after} days late" if before or after else "keep the day"
    return Series(
        key=f"series/{first.plant}/{first.potting}/{first.care}/{first.aid}/{rhythm.start.isoformat()}",
        plant=first.plant,
        care=first.care,
        technique=first.technique,
        first=first.on,
        every_days=rhythm.days,
        until=last.on,
        skip=skipped,
        aid=first.aid,
        potting=first.potting,
        because=tuple(reason.text for reason in rhythm.reasons),
        window=slip,
        certain=first.certain,
        tasks=tuple(t.id for t in plain),
        basis=basis,
    )
