"""Which cautions belong to a task: the conditions of cautions.toml held against what the task is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.states import states_of

if TYPE_CHECKING:
    from carecal.collection.plants import PlantState
    from carecal.planning.plan_context import PlanContext

__all__ = ["cautions_of"]

COLD_MEDIUM_C = 16  # cautions.csv cold-water
POTTINGS = frozenset({
    "potting-on", "converting-to-a-reservoir", "new-medium-due", "taking-the-plug-out", "confirming-a-potting",
})  # fmt: skip
LARGE_POT_CM = 20  # cautions.csv lifting
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
    said = _facts(state, day, care, context, step)
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


def _facts(state: PlantState, day: int, care: str, context: PlanContext, step: str) -> set[str]:
    said = {care, f"medium:{state.medium}", f"profile:{state.profile}", f"container:{state.container}"}
    said.update(f"aid:{name}" for name in state.aid_names)
    said.update(f"state:{name}" for name in states_of(state, day, context.catalog, resting=False))
    said.update(f"seen:{watch.pest}" for watch in state.pests)
    if care in WETTINGS:
        said.add("wetting")
    if step:
        said.add(f"step:{step}")
        if step in POTTINGS:
            said.add("potting")
        if step in {"cutting-a-spike", "parting-a-keiki"}:
            said.add("cutting")
    if state.last_find is not None and day - state.last_find <= 60:
        said.add("pest in the last 60 days")
    if state.size_cm is not None and state.size_cm >= LARGE_POT_CM:
        said.add(f"size>={LARGE_POT_CM}")
    if context.is_outdoors(state.place, day):
        said.add("place:outdoors")
    air = context.air(state.place, day)
    if air is not None:
        if air.light_source_on(day) == "lamp" or air.spec.lamp_ppfd:
            said.add("place:lamp")
        if (
            state.container is not None
            and state.container in context.catalog.containers
            and _night(air.medium(state.container), day - air.origin)
        ):
            said.add(f"medium night < {COLD_MEDIUM_C}")
    return said


def _night(medium: tuple[list[float], list[float]], index: int) -> bool:
    return medium[1][index] < COLD_MEDIUM_C
