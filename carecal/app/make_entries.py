"""Entries made from plain arguments: what a model refuses becomes one line for people."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from pydantic import ValidationError

from carecal.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Mapping

    from carecal.collection.entry_base import Entry

__all__ = ["OPTION_NAMES", "check_entry", "make_entry"]

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


def check_entry(model: type[E], values: Mapping[str, object]) -> E:
    """Return an entry of a model from its fields.

    Raises:
        Refused: A value is not allowed; names each with what is.
    """
    try:
        return model.model_validate(dict(values))
    except ValidationError as error:
        from carecal.collection.entry_faults import sentences  # noqa: PLC0415 - needed for a fault alone

        faults = sentences(error, model, OPTION_NAMES)
        raise Refused("; ".join(f"{field}: {sentence}" for field, sentence in faults)) from error
