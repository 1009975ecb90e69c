"""Steps to a brighter place indoors: leaves used to less light are shaded less and less over some days."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.horticulture.light_steps import steps_up
from carecal.horticulture.rounding import significant
from carecal.plan.model import Reason
from carecal.planning.steps.case import Verdict, held_since, short

if TYPE_CHECKING:
    from carecal.planning.steps.case import Case

__all__ = ["BRIGHTENING", "brightening"]

BRIGHTENING = "brightening"


def brightening(case: Case) -> Verdict | None:
    """Return the days after a move on which light is stepped up, where it rose by more than half; None after them.

    Out of doors `hardening` says so.

    Source: HOU2010, by `steps_up`.
    """
    place, day = case.state.place, case.day
    since = held_since(case.line, day, lambda state: state.place == place)
    if place is None or since is None or since <= case.line.entered or case.context.is_outdoors(place, day):
        return None
    before = case.line.state_at(since - 1).place
    dim, bright = case.context.air(before, since), case.context.air(place, since)
    if before is None or dim is None or bright is None:
        return None
    now, there = dim.at("light_mol", since), bright.at("light_mol", since)
    steps = steps_up(now, there) if now > 0 else []
    if not steps or day >= since + steps[-1].day:
        return None
    parts = [f"{step.light:.2g} mol a day from {short(since + step.day)}" for step in steps[:-1]]
    text = (
        f"{there / now:.2g} times the light it is used to: shade it at first, so that it gets "
        f"{', '.join(parts)}, and all of it from {short(since + steps[-1].day)}; a leaf warm to the hand gets too much"
    )
    return Verdict(
        BRIGHTENING,
        f"Get {case.name} used to the brighter light: all of it from {short(since + steps[-1].day)}",
        since,
        because=(Reason("light", text, significant(there), "mol"),),
        last=since + steps[-1].day - 1,
    )
