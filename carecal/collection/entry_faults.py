"""What is wrong with an entry, in words: field, value and what is allowed; it checks nothing itself."""

from __future__ import annotations

import types
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from carecal.catalog.schema import shown, unknown_key
from carecal.collection.entry_base import PlantId

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pydantic import ValidationError
    from pydantic_core import ErrorDetails

__all__ = ["allowed_values", "sentences"]

_ID_PATTERN = get_args(PlantId)[1].metadata[0].pattern
_ID = "an id of small letters, digits and hyphens, at most 40"
_UNITS = {
    "_c": "°C",
    "_cm": "cm",
    "_mm": "mm",
    "_pct": "%",
    "_g": "g",
    "_ms_cm": "mS/cm",
    "_days": "days",
    "_m": "m",
    "_g_per_l": "g/L",
    "_ppfd": "µmol/m²/s",
    "_hours": "h",
    "_mol_m2_d": "mol/m²/d",
    "_mg_l": "mg/L",
    "ppm_n": "mg/L N",
}
_NUMBERS: dict[Any, str] = {float: "a number", int: "a whole number"}
_PLAIN: dict[Any, str] = {
    **_NUMBERS,
    bool: "true or false",
    str: "one line of text",
    date: "a date as 2026-11-25",
}


def sentences(
    error: ValidationError, model: type[BaseModel], names: Mapping[str, str] | None = None
) -> list[tuple[str, str]]:
    """Return each fault as its field and a sentence, in the order in which pydantic found them.

    Args:
        error: What pydantic raised.
        model: The model that refused.
        names: What people call a field where they wrote it, by field; others keep their names.
    """
    called = names or {}
    told: dict[str, str] = {}
    for detail in error.errors(include_url=False):
        location = [str(part) for part in detail["loc"]]
        field = location[0] if location else ""
        name = ".".join([called.get(field, field), *location[1:]])
        told.setdefault(name, _sentence(detail, model, called))
    return list(told.items())


def _sentence(detail: ErrorDetails, model: type[BaseModel], called: Mapping[str, str]) -> str:
    kind, context = detail["type"], detail.get("ctx", {})
    owner, last = _owner(model, detail["loc"])
    if kind == "extra_forbidden":
        return unknown_key(last, [called.get(name, name) for name in owner.model_fields])
    allowed = allowed_values(owner, last)
    if kind == "missing":
        return f"missing; give {allowed}"
    if kind == "value_error":
        return str(context.get("error", detail["msg"]))
    if kind in {"string_too_long", "too_long"}:
        return f"{shown(detail['input'])} is too long; at most {context['max_length']} characters are allowed"
    if kind in {"string_too_short", "too_short"}:
        return f"{shown(detail['input'])} is too short; at least one character is needed"
    if isinstance(detail["loc"][-1], int):
        allowed = allowed.removeprefix("a list, each ")
    return f"{shown(detail['input'])} is not {allowed}"


def _owner(model: type[BaseModel], location: Sequence[int | str]) -> tuple[type[BaseModel], str]:
    """The model of the innermost named field, a row within an entry included."""
    owner, last = model, ""
    for part in location:
        if not isinstance(part, str):
            continue
        if last in owner.model_fields:
            owner = _row_of(owner.model_fields[last].annotation) or owner
        last = part
    return owner, last


def _row_of(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((row for part in get_args(annotation) if (row := _row_of(part)) is not None), None)


def allowed_values(model: type[BaseModel], field: str) -> str:
    """Return what a field of an entry may hold, in words with range and unit."""
    info = model.model_fields.get(field)
    if info is None:
        return "what the entry allows"
    annotation: Any = Annotated[info.annotation, info] if info.metadata else info.annotation
    return _words(annotation, _unit(field))


def _unit(field: str) -> str:
    found = [suffix for suffix in _UNITS if field.endswith(suffix)]
    return f" [{_UNITS[max(found, key=len)]}]" if found else ""


def _words(hint: Any, unit: str) -> str:
    origin, arguments = get_origin(hint), get_args(hint)
    if origin is Annotated:
        return _annotated(arguments[0], arguments[1:], unit)
    if origin is Literal:
        return " or ".join(f"'{choice}'" for choice in arguments)
    if origin in (Union, types.UnionType):
        return " or ".join(_words(part, unit) for part in arguments if part is not type(None))
    if origin is tuple:
        return f"a list, each {_words(arguments[0], unit)}"
    if _row_of(hint) is not None:
        return "a table of values"
    return _PLAIN.get(hint, "a table of values")


def _annotated(inner: Any, notes: Sequence[Any], unit: str) -> str:
    limits = [limit for note in notes for limit in (note.metadata if isinstance(note, FieldInfo) else [note])]
    if inner not in _NUMBERS:
        is_id = any(getattr(limit, "pattern", None) == _ID_PATTERN for limit in limits)
        return _ID if is_id else _words(inner, unit)
    ends = [
        words.format(format(value, "g"))
        for words, name in (("from {}", "ge"), ("above {}", "gt"), ("to {}", "le"), ("below {}", "lt"))
        for limit in limits
        if (value := getattr(limit, name, None)) is not None
    ]
    return " ".join([_NUMBERS[inner], *ends]) + unit
