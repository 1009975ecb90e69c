"""What finds and treatments change of a plant in trouble: the part of the fold that tells the sick."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.collection.plant_states import Treatment

if TYPE_CHECKING:
    from carecal.collection.plants import PlantHistory
    from carecal.collection.records import Record

__all__ = ["treated"]


def treated(line: PlantHistory, record: Record) -> None:
    """Fold a treatment: the last of each kind against each trouble is kept, and that it happened."""
    data, day = record.data, record.on.toordinal()
    for trouble in [data["against"]] if data.get("against") else [w.pest for w in line.latest.pests]:
        kept = [t for t in line.latest.treatments if (t.did, t.against) != (data["did"], trouble)]
        line.change(record, treatments=(*kept, Treatment(data["did"], trouble, day)))
    line.happen(record, "treated", care=data["did"], text=data.get("note") or "")
