"""The whole round ticked at once: each task of the day as planned, but for the plants that were excepted."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from carecal.app.command_context import CommandContext
from carecal.app.make_entries import make_daily
from carecal.app.near.document import NEAR_DAYS
from carecal.errors import AlreadyDone, Refused
from carecal.wording.dates import spoken

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from carecal.app.door import Collection, Outcome
    from carecal.app.now import Now
    from carecal.collection.entries import Entry
    from carecal.plan.model import Task

__all__ = ["done_round", "write_round"]

MOST_TRIES = 5  # our choice, because few people tick one round at once


def done_round(
    collection: Collection,
    now: Now,
    *,
    on: date | None = None,
    excepted: Sequence[str] = (),
    damp: Sequence[str] = (),
    felt: str | None = None,
) -> list[Entry]:
    """Return the entries that answer each task of a day's round as planned (design §3 rule 3).

    A look joined to a wetting needs none of its own: the wetting's tick counts for both.

    Args:
        collection: The collection.
        now: The moment of the command.
        on: The round's day; None: today. The plan of that day tells what stood in it, what was carried over included.
        excepted: Ids of the plants that were left out; one with nothing to do is none.
        damp: Ids of the plants whose medium was still damp, so that they were looked at and left.
        felt: How the medium of all others felt: parched, right or damp; None: nobody said.

    Raises:
        UnknownName: An id names no plant.
        Refused: The day lies ahead, nothing stands in its round, or a damp plant is not to be wetted in it.
    """
    day = CommandContext(collection, now, ()).fact_day(on)
    out = {collection.number_of(name) for name in excepted}
    left = {collection.number_of(name): name for name in damp}
    planner = collection.planner(day, until=day + timedelta(days=NEAR_DAYS))
    plan = planner.plan("rounds", with_gates=False)
    tasks = [plan.poured(t.id) for t in plan.tasks if t.on == day and t.status in {"open", "overdue"}]
    tasks = [t for t in tasks if t.care != "step"]
    if not tasks:
        raise Refused(f"nothing is to be done on {spoken(day, now.day)}")
    wetted = {task.plant for task in tasks if task.care != "inspection"}
    for number, name in left.items():
        if number not in wetted:
            names = ", ".join(sorted(plan.plant(n).id for n in wetted))
            raise Refused(
                f"{name} is not to be wetted in the round of {spoken(day, now.day)}; in it are {names or 'none'}"
            )
    order = {
        task: place for round_ in plan.rounds if round_.on == day for place, task in enumerate(round_.tasks)
    }
    tasks.sort(key=lambda task: order.get(task.id, len(order)))
    found: list[Entry] = []
    for task in tasks:
        if _needs_entry(task, tasks):
            name = plan.plant(task.plant).id
            if task.plant in out:
                found.append(make_daily("excepted", on=day, plant=name, task=task.id))
            elif task.plant in left and task.care != "inspection":
                values = {"care": task.care, "task": task.id, "aid": task.aid or None}
                found.append(make_daily("left", on=day, plant=name, **values))
            else:
                found.append(_done(task, name, day, felt, asked=plan.task(task.id).ppm_n))
    return found


def write_round(make: Callable[[], list[Entry]], write: Callable[..., Outcome]) -> Outcome:
    """Write a round; what somebody ticks meanwhile is left out of it.

    Args:
        make: Makes its entries, as `done_round` does.
        write: Writes them.

    Raises:
        AlreadyDone: Others have ticked all that was left of it.
        Refused: What `make` or `write` refuses.
    """
    met: AlreadyDone | None = None
    for _ in range(MOST_TRIES):
        try:
            return write(*make())
        except AlreadyDone as done:
            met = done
        except Refused:
            if met is None:
                raise
            break
    raise met or AssertionError("never tried")


def _needs_entry(task: Task, tasks: Sequence[Task]) -> bool:
    return task.joined_to is None or task.joined_to not in {other.id for other in tasks}


def _done(task: Task, plant: str, day: date, felt: str | None, *, asked: float | None) -> Entry:
    of_pot = not task.aid and task.care not in {"inspection", "moistening"}
    unseen = of_pot and not task.certain and felt is None
    return make_daily(
        "done",
        on=day,
        plant=plant,
        care=task.care,
        task=task.id,
        aid=task.aid or None,
        unseen=unseen or None,
        felt=felt if of_pot else None,
        ppm_n=task.ppm_n if task.ppm_n != asked else None,
    )
