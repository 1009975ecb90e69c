"""What a potting or a move leaves of a plant's own pace, by the day on which it counts anew (models K4)."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.horticulture.learning import KEPT_SHARE, PRIOR, Belief, kept_share

if TYPE_CHECKING:
    from carecal.collection.plants import PlantHistory, PlantState
    from carecal.planning.plan_context import PlanContext

__all__ = ["Reset", "resets_of", "share_kept"]

DAYS_A_MONTH = 30.44  # definition: 365.25/12


class Reset(NamedTuple):
    """A potting or a move: its day, what neighbours teach, whether it is a potting, what share of its pace stays."""

    day: int
    prior: Belief | None
    is_potting: bool
    share: float


def resets_of(line: PlantHistory, context: PlanContext) -> list[Reset]:
    """Return what each potting and move does to what was learned, by day."""
    found: dict[int, Reset] = {}
    former = line.states[0]
    for state in line.states[1:]:
        if state.potting != former.potting or state.place != former.place:
            is_potting = state.potting != former.potting
            share = share_kept(former, state.day, context) if is_potting else KEPT_SHARE
            found[state.day] = Reset(state.day, None, is_potting, share)
        former = state
    for event in line.events:
        if event.prior is not None:
            known = found.get(event.day) or Reset(event.day, None, is_potting=False, share=KEPT_SHARE)
            mean, sd = event.prior
            prior = Belief(mean, min(sd, PRIOR.sd))  # one written when a first prior was wider
            found[event.day] = known._replace(
                prior=prior, is_potting=known.is_potting or event.kind == "potted"
            )
    first = found.pop(line.entered, None) if line.before is not None else None
    if first is not None and line.before is not None:
        found[line.before.entered] = first._replace(day=line.before.entered)  # known before the notes begin
    return [found[day] for day in sorted(found)]


def share_kept(former: PlantState, day: int, context: PlanContext) -> float:
    """Return how much of its own pace a plant takes along from a medium left on a day (models K4). [-]."""
    medium = context.catalog.media.get(former.medium or "")
    if medium is None or not medium.rots or former.potted is None:
        return KEPT_SHARE
    months = (day - former.potted) / DAYS_A_MONTH
    return kept_share(months, medium.life_months_low, medium.life_months_high)
