"""Which cautions belong to a task: the conditions of cautions.toml held against what the task is."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.caution_conditions import Limit
from carecal.planning.states import is_settling, states_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from carecal.collection.plants import PlantState
    from carecal.planning.plan_context import PlanContext

__all__ = ["cautions_of"]

POTTINGS = frozenset(
    {
        "potting-on",
        "converting-to-a-reservoir",
        "new-medium-due",
        "taking-the-plug-out",
        "confirming-a-potting",
    }
)
MOST_KEPT = 4096  # our choice, because a plant has a few dozen
WETTINGS = frozenset({"watering", "refilling", "feeding", "flushing"})


def cautions_of(
    state: PlantState,
    day: int,
    care: str,
    context: PlanContext,
    *,
    step: str = "",
    plant: int = 0,
    into: str = "",
) -> tuple[str, ...]:
    """Return the codes of the cautions that belong to a care or step of a plant on a day, in the table's order.

    `plant` is its number, for the sides of the trade that it takes alone; `into` the medium it is to be potted into.
    """
    outdoors, lamp, cold = context.place_on(state.place, state.container, day)
    about = _OfDay(
        is_settling(state, day, context.catalog),
        (*_limits(state, day, context.caution_limits), *cold),
        is_outdoors=outdoors,
        is_lit_by_lamp=lamp,
    )
    key = id(state), care, step, plant, into, about
    kept = context.kept_cautions.get(key)
    if kept is None or kept[0] is not state:
        if len(context.kept_cautions) >= MOST_KEPT:
            context.kept_cautions.clear()
        states = states_of(state, day, context.catalog, resting=False)
        said = _facts(state, care, step, about) | {f"state:{name}" for name in states}
        kept = context.kept_cautions[key] = state, _found(state, said, context, plant, into)
    return kept[1]


def _found(state: PlantState, said: set[str], context: PlanContext, plant: int, into: str) -> tuple[str, ...]:
    if into and "potting" in said:
        said.add(f"medium:{into}")
    found = context.cautions_for(frozenset(said))
    if "cold-water" in found and _bears_ice(state) and context.side("ice-or-tepid", state, plant) == "b":
        found = tuple(code for code in found if code != "cold-water")
    if "peroxide" in found and not _rots_at_roots(state) and context.side("peroxide", state, plant) == "a":
        found = tuple(code for code in found if code != "peroxide")
    return found


def _bears_ice(state: PlantState) -> bool:
    """Return whether a plant is one like those that ice did no harm: rooted, in bark (SOUTH2017)."""
    return state.medium == "bark" and state.stage in {"rooting-in", "established"}


def _rots_at_roots(state: PlantState) -> bool:
    """Return whether the rot seen may be at the roots, which peroxide damages (GOOSSEN2021)."""
    return any(watch.pest == "rot" and watch.where not in {"leaf", "crown"} for watch in state.pests)


class _OfDay(NamedTuple):
    """What a day adds to what a plant is: settling in, conditions with a number that hold, and how its place is."""

    is_settling: bool
    limits: tuple[str, ...]
    is_outdoors: bool
    is_lit_by_lamp: bool


def _limits(state: PlantState, day: int, limits: Mapping[str, tuple[Limit, ...]]) -> Iterator[str]:
    """Yield the conditions on pot and finds that hold on a day."""
    if state.last_find is not None:
        yield from (limit.said for limit in limits["found"] if day - state.last_find <= limit.value)
    if state.size_cm is not None:
        yield from (limit.said for limit in limits["size"] if state.size_cm >= limit.value)


def _facts(state: PlantState, care: str, step: str, about: _OfDay) -> set[str]:
    said = {care, f"medium:{state.medium}", f"profile:{state.profile}", f"container:{state.container}"}
    said.update(f"aid:{name}" for name in state.aid_names)
    said.update(f"seen:{watch.pest}" for watch in state.pests)
    if care in WETTINGS:
        said.add("wetting")
    if step:
        said.add(f"step:{step}")
        if step in POTTINGS:
            said.add("potting")
        if step in {"cutting-a-spike", "parting-a-keiki"}:
            said.add("cutting")
    said.update(about.limits)
    if about.is_outdoors:
        said.add("place:outdoors")
    if about.is_lit_by_lamp:
        said.add("place:lamp")
    return said
