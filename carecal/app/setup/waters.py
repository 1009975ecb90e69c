"""A water the grower uses, as an entry, and what is to be said of it by its kind and numbers; it plans nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.make_entries import make_entry
from carecal.catalog.names import near
from carecal.collection.entries import SupplyWater
from carecal.errors import Refused, UnknownName

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.app.now import Now
    from carecal.catalog.tables import Catalog

__all__ = ["water", "water_remarks"]

LARGEST_EC = 5.0  # [mS/cm] what is above was read in µS/cm


def water(
    now: Now,
    catalog: Catalog,
    name: str,
    ec_ms_cm: float,
    *,
    alkalinity_mg_l: float | None = None,
    ph: float | None = None,
    kind: str | None = None,
) -> SupplyWater:
    """Return the entry of a water by its numbers.

    Args:
        now: The moment of the command.
        catalog: The tables.
        name: What it is called here.
        ec_ms_cm: Its conductivity. [mS/cm]
        alkalinity_mg_l: Its alkalinity as calcium carbonate. [mg/L]
        ph: Its pH.
        kind: tap, rain, ro, softened or mixed.

    Raises:
        UnknownName: The kind is not known.
        Refused: A value is out of range (µS/cm typed as mS/cm is guessed and named), or the kind harms orchids.
    """
    if ec_ms_cm > LARGEST_EC:
        guess = f"; {ec_ms_cm:g} looks like µS/cm: that is {ec_ms_cm / 1000:g} mS/cm"
        raise Refused(f"EC {ec_ms_cm:g} mS/cm is out of range; allowed are 0 to {LARGEST_EC:g} mS/cm{guess}")
    if kind is not None:
        if kind not in catalog.water_kinds:
            raise UnknownName("kind of water", kind, near(kind, list(catalog.water_kinds)))
        row = catalog.water_kinds[kind]
        if row.refused:
            raise Refused(f"water {row.remark}")
    return make_entry(
        SupplyWater,
        on=now.day,
        name=name,
        ec_ms_cm=ec_ms_cm,
        alkalinity_mg_l=alkalinity_mg_l,
        ph=ph,
        water_kind=kind,
    )


def water_remarks(catalog: Catalog, entry: SupplyWater) -> tuple[str, ...]:
    """Return what is to be said of a water: by its kind, and where a number is outside what needs no thought.

    Source: water_kinds.toml, water_limits.toml.
    """
    kind = catalog.water_kinds.get(entry.water_kind or "")
    said = [f"{entry.name}: {kind.remark}"] if kind is not None and kind.remark else []
    return (*said, *_outside(catalog, entry))


def _outside(catalog: Catalog, entry: SupplyWater) -> Iterator[str]:
    told = {"ec": entry.ec_ms_cm, "alkalinity": entry.alkalinity_mg_l, "ph": entry.ph}
    for quantity, value in told.items():
        row = catalog.water_limits[quantity]
        if value is None or (row.low or 0.0) <= value <= row.fine_to:
            continue
        unit = "" if row.unit == "pH" else f" {row.unit}"
        shown = f"{quantity.upper() if quantity == 'ec' else 'pH' if quantity == 'ph' else quantity} {value:g}{unit}"
        fine = f"{row.low:g} to {row.fine_to:g}" if row.low is not None else f"up to {row.fine_to:g}"
        yield f"{shown}, fine is {fine}{unit}: {row.says}"
        if row.mix_above is not None and value > row.mix_above:
            yield f"above {row.mix_above:g}{unit} use half of it and half rain"
