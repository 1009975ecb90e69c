"""What finds, looks and treatments change of a plant in trouble: the sick and weak part of the fold."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from carecal.collection.plant_states import Beside, PestWatch, Treatment

if TYPE_CHECKING:
    from collections.abc import Mapping

    from carecal.collection.plant_states import PlantState
    from carecal.collection.plants import PlantHistory
    from carecal.collection.records import Record

__all__ = ["beside", "felt", "found", "new_root", "seen_of_weak", "strength", "treated", "tried"]

ROT = "rot"
FIRMNESS = {"limp": "soft"}  # a word of older journals and what it stands for
NO_SPIKE = frozenset({"none", "spent"})


def found(state: PlantState, pest: str, day: int, where: str | None) -> tuple[PestWatch, ...]:
    """Return the watches after a find: one a pest, and of rot one a place, each of which runs its own course.

    A find of rot without a place, as older journals have it, and one with a place replace each other.
    """
    places = {where, None} if pest == ROT and where is not None else None
    same = [w for w in state.pests if w.pest == pest and (places is None or w.where in places)]
    earlier = tuple(sorted(d for w in same for d in (w.finds or (w.since,))))
    return (*(w for w in state.pests if w not in same), PestWatch(pest, day, 0, day, where, (*earlier, day)))


def new_root(state: PlantState, values: dict[str, Any], newest_mm: float | None) -> dict[str, Any]:
    """Return counts with what a new root says beside its own length: a root lives, and none is shorter than it."""
    if newest_mm is None or newest_mm <= 0:
        return values
    told = dict(values)
    if not (told.get("roots") or state.roots):
        told["roots"] = 1
    if (told.get("longest_mm") or state.longest_mm or 0) < newest_mm:
        told["longest_mm"] = newest_mm
    return told


def seen_of_weak(data: Mapping[str, Any], day: int) -> dict[str, Any]:
    """Return what an observation changes of firmness, new roots, spike, crown and rest."""
    values: dict[str, Any] = {}
    if data.get("firmness") is not None:
        values["firmness"] = FIRMNESS.get(data["firmness"], data["firmness"])
    if data.get("newest_mm") is not None:
        values.update(newest_mm=data["newest_mm"], newest_on=day)
    if data.get("flowering") is not None:
        values.update(flowering_told=day, flowering_over=None)
    if data.get("flowering") in NO_SPIKE:
        values["spike_mm"] = None
    if data.get("spike_mm") is not None:
        values["spike_mm"] = data["spike_mm"]
    if data.get("crown") == "lost":
        values.update(crown_lost=day, shoot=None)
    elif data.get("crown") == "shoot":
        values["shoot"] = day
    if data.get("rest") is not None:
        values.update(rest=data["rest"], rest_told=day)
    return values


def felt(line: PlantHistory, day: int, values: Mapping[str, Any]) -> None:
    """Remember how the leaves felt on a day, for what the weeks make of it."""
    if "firmness" in values:
        line.firmness.append((day, values["firmness"]))


def treated(line: PlantHistory, record: Record) -> None:
    """Fold a treatment: the last of each kind against each trouble is kept, and that it happened."""
    data, day = record.data, record.on.toordinal()
    for trouble in [data["against"]] if data.get("against") else [w.pest for w in line.latest.pests]:
        kept = [t for t in line.latest.treatments if (t.did, t.against) != (data["did"], trouble)]
        line.change(record, treatments=(*kept, Treatment(data["did"], trouble, day)))
    line.happen(record, "treated", care=data["did"], text=data.get("note") or "")


def beside(line: PlantHistory, record: Record) -> None:
    """Fold that something was found beside the plant: it changes nothing of it but its looks."""
    if record.data.get("withdrawn"):
        return
    line.besides.append(Beside(record.data["pest"], record.data.get("where"), record.on.toordinal()))


def tried(line: PlantHistory, record: Record) -> None:
    """Fold what is tried on a plant that loses ground, or that it goes on as it is."""
    data, day = record.data, record.on.toordinal()
    line.change(record, tried=(*line.latest.tried, (data.get("what") or "", day)))
    line.happen(record, "tried", care=data.get("what") or "", text=data.get("note") or "")


def strength(line: PlantHistory, record: Record) -> None:
    """Fold how strong a plant is fed by its grower's word."""
    line.change(record, feed_ppm_n=record.data.get("ppm_n"))
