"""A loss laid against what was safe: the 120 days before it, departures ranked, each worded 'may have'."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from math import inf
from typing import TYPE_CHECKING

from carecal.planning.hindsight.air import cold_nights, heat, no_place_out, sun_in_wrap
from carecal.planning.hindsight.case import LOOK_BACK_DAYS, Departure, Past
from carecal.planning.hindsight.pots import cold_reservoir, late_conversion, potted_in_flower, unsafe_potting
from carecal.planning.hindsight.water import (
    fed_against_gates,
    parched,
    pests_forgotten,
    salts,
    too_wet,
    unlooked,
    wet_without_roots,
)
from carecal.wording.dates import day_month

if TYPE_CHECKING:
    from collections.abc import Mapping

    from carecal.catalog.tables import Stage
    from carecal.planning.plant_planner import PlantPlanner

__all__ = ["LOOK_BACK_DAYS", "Departure", "Hindsight", "hindsight", "loss_of"]

RULES = (
    late_conversion,
    unsafe_potting,
    potted_in_flower,
    cold_reservoir,
    too_wet,
    wet_without_roots,
    parched,
    fed_against_gates,
    salts,
    cold_nights,
    heat,
    sun_in_wrap,
    no_place_out,
    pests_forgotten,
    unlooked,
)


@dataclass(frozen=True, slots=True)
class Hindsight:
    """What may have led to a loss.

    Attributes:
        plant: Plant number.
        name: Its name.
        loss: Day of the loss; None where none is recorded.
        what: The loss in words: 'lost on 3 February 2027', or what is recorded instead.
        since: First day that was looked at.
        departures: What departed from what was safe, the heaviest first.
    """

    plant: int
    name: str
    loss: date | None
    what: str
    since: date | None
    departures: tuple[Departure, ...] = ()


def loss_of(plant_planner: PlantPlanner) -> tuple[int, str] | None:
    """Return day and words of a plant's loss: retired as lost, else its last step down a stage; None: neither."""
    line, rows = plant_planner.line, plant_planner.context.catalog.stages
    if line.retired is not None and line.retired_because == "lost":
        return line.retired, f"lost on {day_month(date.fromordinal(line.retired))}"
    drops = [
        (after.day, f"{before.stage} → {after.stage} on {day_month(date.fromordinal(after.day))}")
        for before, after in pairwise(line.states)
        if _order(rows, after.stage) < _order(rows, before.stage)
    ]
    return drops[-1] if drops else None


def _order(rows: Mapping[str, Stage], stage: str | None) -> float:
    """Return how far on the way back a stage is; an unknown one is never below another."""
    return rows[stage].order if stage in rows and stage is not None else inf


def hindsight(plant_planner: PlantPlanner) -> Hindsight:
    """Return what departed from what was safe in the 120 days before a plant's loss, the heaviest first.

    Args:
        plant_planner: The plant; its plan's day is on or after the loss.

    Source: models W; steps.toml; our choice of 120 days, because roots that rot in autumn show by midwinter.
    """
    line, loss = plant_planner.line, loss_of(plant_planner)
    if loss is None:
        return Hindsight(line.number, line.name, None, "no loss and no step down a stage is recorded", None)
    day, what = loss
    past = Past(plant_planner, max(line.entered, day - LOOK_BACK_DAYS), day)
    found = [departure for rule in RULES for departure in rule(past)]
    found.sort(key=lambda departure: (-departure.weight, departure.first, departure.code))
    return Hindsight(
        line.number, line.name, date.fromordinal(day), what, date.fromordinal(past.first), tuple(found)
    )
