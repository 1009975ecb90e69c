"""Which cautions belong to a task: the conditions of cautions.toml held against what the task is."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.states import states_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from carecal.catalog.tables import Catalog
    from carecal.collection.plants import PlantState
    from carecal.planning.plan_context import PlanContext

__all__ = ["Limit", "cautions_of", "conditions_of", "limits_in"]

POTTINGS = frozenset({
    "potting-on", "converting-to-a-reservoir", "new-medium-due", "taking-the-plug-out", "confirming-a-potting",
})  # fmt: skip
WETTINGS = frozenset({"watering", "refilling", "feeding", "flushing"})
# Conditions with a number of the table's own, by what it is held against.
LIMITS = {
    "size": re.compile(r"size>=(\d+(?:\.\d+)?)"),  # of the pot [cm]
    "night": re.compile(r"medium night < (-?\d+(?:\.\d+)?)"),  # of the medium [°C]
    "found": re.compile(r"pest in the last (\d+) days"),  # since the last find [d]
}


class Limit(NamedTuple):
    """A condition with a number: as cautions.toml says it, and its number."""

    said: str
    value: float


def conditions_of(catalog: Catalog) -> tuple[tuple[str, tuple[frozenset[str], ...]], ...]:
    """Return each caution with the conditions of which one shows it, in the table's order.

    To those of cautions.toml come the potting into or out of a medium that names it, and every task of a plant that
    bears an aid that names it.
    """
    return tuple(
        (
            code,
            (
                *(frozenset(part.strip() for part in when.split("+")) for when in row.when),
                *(
                    frozenset({f"medium:{m.medium}", "potting"})
                    for m in catalog.media.values()
                    if code in m.cautions
                ),
                *(frozenset({f"aid:{a.aid}"}) for a in catalog.aids.values() if code in a.cautions),
            ),
        )
        for code, row in catalog.cautions.items()
    )


def limits_in(conditions: Iterable[tuple[str, Iterable[frozenset[str]]]]) -> dict[str, tuple[Limit, ...]]:
    """Return the numbers in conditions, by what each is held against: size, night or found."""
    parts = {part for _, alternatives in conditions for parts in alternatives for part in parts}
    return {
        what: tuple(
            Limit(part, float(match[1]))
            for part in sorted(parts)
            if (match := pattern.fullmatch(part)) is not None
        )
        for what, pattern in LIMITS.items()
    }


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
    limits = context.caution_limits
    if state.last_find is not None:
        since = day - state.last_find
        said.update(limit.said for limit in limits["found"] if since <= limit.value)
    if state.size_cm is not None:
        said.update(limit.said for limit in limits["size"] if state.size_cm >= limit.value)
    if context.is_outdoors(state.place, day):
        said.add("place:outdoors")
    air = context.air(state.place, day)
    if air is not None:
        if air.light_source_on(day) == "lamp" or air.spec.lamp_ppfd:
            said.add("place:lamp")
        if state.container is not None and state.container in context.catalog.containers:
            night = air.medium(state.container)[1][day - air.origin]
            said.update(limit.said for limit in limits["night"] if night < limit.value)
    return said
