"""What is told of a plant from before the day it was entered: it teaches, and asks for nothing. It reads no journal."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.collection.plant_fold import COUNTED, NEWCOMER_DAYS, fold_record
from carecal.collection.plant_states import Event
from carecal.collection.plants import PlantHistory
from carecal.collection.stages import next_stage

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from carecal.collection.plant_fold import FoldRules
    from carecal.collection.plant_states import PlantState
    from carecal.collection.records import Record

__all__ = ["came_on", "is_historic", "recall"]

HISTORIC = frozenset({"done", "left", "observed", "weighed", "treated"})
"""Kinds of entries that may lie before the day a plant was entered: what was done to it, seen and weighed."""
_OF_CROWN = ("crown_lost", "shoot")
_OF_FLOWERS = ("flowering", "flowering_since", "flowering_told", "spike_mm")
_OF_FINDS = ("treatments", "last_find", "clean_looks")


def came_on(added: Record) -> date | None:
    """Return the day a plant came, where that lies before the day it was entered; None where it is not known so."""
    told = added.data.get("came")
    came = date.fromisoformat(told) if told else None
    return came if came is not None and came < added.on else None


def is_historic(record: Record, added: Record) -> bool:
    """Return whether a record of a plant tells of the days from its coming to its entry, as it may."""
    came = came_on(added)
    return came is not None and came <= record.on < added.on and record.kind in HISTORIC


def recall(line: PlantHistory, added: Record, told: Iterable[Record], rules: FoldRules) -> None:
    """Fold what is told of the days from a plant's coming to its entry into `before`, and what still holds of it.

    The entry says what the plant is; where it leaves a count open, the last one told before holds. Pests found and
    leaves felt within a newcomer's quarantine still count: our choice, because what is older was looked after. What
    lies before its coming is passed over.

    Args:
        line: The plant as it was entered, nothing later folded.
        added: The record by which it was entered.
        told: Its records of earlier days, in order.
        rules: The stages and containers of the tables.
    """
    came = came_on(added)
    mine = [record for record in told if is_historic(record, added)]
    if came is None or not mine:
        return
    before = PlantHistory(line.number, line.id, line.name, came.toordinal(), retired=line.entered)
    before.states.append(_first_state(line.latest, came.toordinal(), mine, rules))
    _as_potted(before, line.latest)
    for record in mine:
        fold_record(before, record, rules)
        line.newest_written = max(line.newest_written, record.written)
    if line.watered is not None and came.toordinal() <= line.watered < line.entered:
        _and_watered(before, line.watered, added)
    line.before = before
    line.counts[:0] = before.counts
    line.measured[:0] = before.measured
    line.firmness[:0] = before.firmness
    line.photos[:0] = before.photos
    line.states[-1] = _still(line.latest, before, rules)
    wet = [e.day for e in before.events if e.kind == "wet" and e.day >= (line.latest.potted or 0)]
    line.watered = max(filter(None, [line.watered, *wet]), default=None)


def _first_state(entered: PlantState, came: int, told: Sequence[Record], rules: FoldRules) -> PlantState:
    """Return what a plant was when it came: as it was entered, by the first counts that are told of earlier days."""
    counts: dict[str, Any] = {key: getattr(entered, key) for key in COUNTED}
    for record in reversed(told):
        if record.kind == "observed":
            counts |= {key: record.data[key] for key in COUNTED if record.data.get(key) is not None}
    observed = next_stage(rules.stages, None, counts["roots"], counts["longest_mm"], counts["leaves"])
    return entered._replace(
        day=came,
        flowering="none",
        flowering_since=None,
        flowering_told=None,
        aids=(),
        quarantine_since=None,
        observed_stage=observed,
        hand_stage=entered.hand_stage if observed in {None, entered.observed_stage} else None,
        observed_when_set=observed,
        **counts,
    )


def _as_potted(before: PlantHistory, entered: PlantState) -> None:
    """Take the pot as unknown up to the day on which the plant was potted as it was entered."""
    first, potted = before.states[0], entered.potted
    if potted is None or potted <= first.day:
        return
    before.states[0] = first._replace(medium=None, container=None, size_cm=None, potted=None)
    before.states.append(first._replace(day=potted))


def _and_watered(before: PlantHistory, day: int, added: Record) -> None:
    """Add the watering that the entry itself tells of, unless the notes have it."""
    if any(e.kind == "wet" and e.day == day for e in before.events):
        return
    told = Event(day, added.n, "wet", "watering", added.written, added.by, unseen=True)
    before.events.append(told)
    before.events.sort(key=lambda event: event.day)


def _still(entered: PlantState, before: PlantHistory, rules: FoldRules) -> PlantState:
    """Return a plant's state as it was entered, with what was told before and still holds."""
    last, lately = before.latest, entered.day - NEWCOMER_DAYS
    keys = [key for key in COUNTED if getattr(entered, key) is None] + list(_OF_CROWN)
    if entered.flowering_told is None and last.flowering_told is not None:
        keys += _OF_FLOWERS
    if last.newest_on is not None and last.newest_on >= (entered.potted or 0):
        keys += ["newest_mm", "newest_on"]
    if before.firmness and before.firmness[-1][0] > lately:
        keys.append("firmness")
    pests = tuple(watch for watch in last.pests if watch.since > lately)
    values: dict[str, Any] = {key: getattr(last, key) for key in (*keys, *(_OF_FINDS if pests else ()))}
    values["pests"] = pests
    state = entered._replace(**values)
    observed = next_stage(rules.stages, None, state.roots, state.longest_mm, state.leaves)
    return state._replace(observed_stage=observed, observed_when_set=observed)
