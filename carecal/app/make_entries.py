"""Entries made from plain arguments: what a model refuses becomes one line for people."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, TypeVar, cast

from carecal.collection.plain_entries import plain_entry
from carecal.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Mapping

    from carecal.collection.entry_base import Entry

__all__ = ["OPTION_NAMES", "check_entry", "make_daily", "make_entry"]

OPTION_NAMES = {
    "weight_g": "weight",
    "ec_ms_cm": "ec",
    "ppm_n": "ppm",
    "size_cm": "size",
    "longest_mm": "longest",
    "newest_mm": "newest",
    "spike_mm": "spike",
    "again_days": "again",
    "shows_unknown": "shows",
}

E = TypeVar("E", bound="Entry")


def make_entry(model: type[E], /, **values: object) -> E:
    """Return an entry of a model; absent values are left out.

    Raises:
        Refused: A value is not allowed; names each with what is.
    """
    return check_entry(model, {key: value for key, value in values.items() if value is not None})


def make_daily(kind: Literal["done", "left", "excepted", "missed"], /, **values: object) -> Entry:
    """Return an entry of every day; its model is asked only where it is not plain that it takes the values.

    Raises:
        Refused: A value is not allowed; names each with what is.
    """
    plain = plain_entry(kind, values)
    if plain is not None:
        return cast("Entry", plain)  # the journal takes it as any other
    from carecal.collection import entries_care  # noqa: PLC0415 - as above

    models: dict[str, type[Entry]] = {
        "done": entries_care.Done,
        "left": entries_care.Left,
        "excepted": entries_care.Excepted,
        "missed": entries_care.Missed,
    }
    return make_entry(models[kind], **values)


def check_entry(model: type[E], values: Mapping[str, object]) -> E:
    """Return an entry of a model from its fields.

    Raises:
        Refused: A value is not allowed; names each with what is.
    """
    from pydantic import ValidationError  # noqa: PLC0415 - it takes longer than all else, and few entries need it

    try:
        return model.model_validate(dict(values))
    except ValidationError as error:
        from carecal.collection.entry_faults import sentences  # noqa: PLC0415 - needed for a fault alone

        faults = sentences(error, model, OPTION_NAMES)
        raise Refused("; ".join(f"{field}: {sentence}" for field, sentence in faults)) from error
