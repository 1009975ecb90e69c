"""Announced moves and pottings: confirmed on their day, stones soaked on the day before (design §3 rule 14)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.plan.model import Reason
from carecal.planning.steps.case import Case, Verdict, told

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from carecal.collection.plants import Announcement

__all__ = ["announced", "container_of", "has_reservoir", "plan_reason", "planned", "soaking"]

STONES = frozenset({"expanded-clay", "pumice", "lava"})


def soaking(case: Case) -> Verdict | None:
    """Return the day before a planned potting into stones: rinse and soak them."""
    plan = announced(case, lambda a: a.kind == "potting" and a.medium in STONES)
    if plan is None:
        return None
    medium = str(plan.medium).replace("-", " ")
    text = f"potting is planned for {told(plan.day)}: dry stones draw water from new roots"
    return Verdict(
        "soaking-clay",
        f"Rinse and soak {medium} for {case.name}",
        plan.day - 1,
        because=(Reason("planned", text),),
    )


def planned(case: Case) -> Iterator[Verdict]:
    """Yield the announced moves and pottings, each to be confirmed on its day (design §3 rule 14)."""
    for plan in case.line.announced:
        deed = f"move to {plan.text}" if plan.kind == "moving" else f"potting into {plan.text}"
        step = "confirming-a-move" if plan.kind == "moving" else "confirming-a-potting"
        text = f"announced for {told(plan.day)}; nothing changes before it is confirmed"
        because = (Reason("planned", text), *_unsafe(case, plan))
        yield Verdict(step, f"Planned {deed} of {case.name}: confirm it", plan.day, because=because)


def _unsafe(case: Case, plan: Announcement) -> Iterator[Reason]:
    """Yield the warning that a potting is planned for a day that is no safe start."""
    if plan.kind != "potting":
        return
    container = container_of(plan)
    into_reservoir = has_reservoir(case, container) and not has_reservoir(case, case.state.container or "")
    step = "converting-to-a-reservoir" if into_reservoir else "potting-on"
    window = case.window(step, container)
    if window is None or window.starts.run_of(plan.day) is not None:
        return
    former = window.starts.former_run(plan.day)
    ended = f"; the last one before it was {told(former[1])}" if former is not None else ""
    yield Reason("not-safe", f"that day is no safe start in a {container} pot{ended}")


def plan_reason(plan: Announcement) -> Reason:
    """Return that the grower planned a potting."""
    return Reason("planned", f"planned by you for {told(plan.day)}: {plan.text}")


def announced(case: Case, wanted: Callable[[Announcement], bool]) -> Announcement | None:
    """Return the first announcement that is wanted, or None."""
    return next((a for a in case.line.announced if wanted(a)), None)


def container_of(plan: Announcement) -> str:
    """Return what a planned potting goes into."""
    return plan.container or ""


def has_reservoir(case: Case, container: str) -> bool:
    """Return whether a container has a reservoir."""
    row = case.context.catalog.containers.get(container)
    return row is not None and row.has_reservoir
