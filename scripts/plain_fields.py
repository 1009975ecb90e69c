"""What the models of entries of every day allow, as `carecal/collection/plain_entries.py` reads it."""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import date
from types import NoneType, UnionType
from typing import TYPE_CHECKING, Annotated, Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, MaxLen
from pydantic import AfterValidator
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from carecal.collection.entries_care import Done, Excepted, Left, Missed
from carecal.collection.entry_limits import one_line

if TYPE_CHECKING:
    from carecal.collection.entry_base import Entry

__all__ = ["MODELS", "plain_fields"]

MODELS: tuple[type[Entry], ...] = (Done, Left, Excepted, Missed)


def plain_fields() -> str:
    """Return the file's text: the fields of each model in their order; one that cannot be told so is never plain."""
    found = {model.kind: {name: _row(info) for name, info in model.model_fields.items()} for model in MODELS}
    return json.dumps(found, indent=1, ensure_ascii=False) + "\n"


def _row(info: FieldInfo) -> dict[str, Any]:
    row = _told(info.annotation, list(info.metadata))
    return row if info.default is PydanticUndefined else row | {"default": info.default}


def _told(annotation: Any, marks: list[Any]) -> dict[str, Any]:
    """Return what a type with its marks allows, as plain values."""
    origin, inner = get_origin(annotation), get_args(annotation)
    if origin in {Union, UnionType} and len(inner) == 2 and inner[1] is NoneType and not marks:
        return _told(inner[0], [])
    if origin is Annotated:
        return _told(inner[0], [*_flat(inner[1:]), *marks])
    if origin is Literal and all(isinstance(name, str) for name in inner) and not marks:
        return {"type": "name", "names": list(inner)}
    if origin is Literal and inner == (True,) and not marks:
        return {"type": "true"}
    if annotation is date and not marks:
        return {"type": "date"}
    if annotation in {int, float} and all(isinstance(mark, Ge | Gt | Le) for mark in marks):
        limits = {key: value for mark in marks for key, value in asdict(mark).items()}
        return {"type": "whole" if annotation is int else "number", **limits}
    if annotation is str:
        return _text(marks)
    return {"type": "left to the model"}


def _text(marks: list[Any]) -> dict[str, Any]:
    patterns = [mark.pattern for mark in marks if getattr(mark, "pattern", None)]
    if len(patterns) == len(marks) == 1:
        return {"type": "pattern", "pattern": patterns[0].removeprefix("^").removesuffix("$")}
    is_line = [mark.func is one_line for mark in marks if isinstance(mark, AfterValidator)] == [True]
    longest = [mark.max_length for mark in marks if isinstance(mark, MaxLen)]
    if is_line and len(longest) == 1 and len(marks) == 2:
        return {"type": "line", "longest": longest[0]}
    return {"type": "left to the model"}


def _flat(marks: tuple[Any, ...]) -> list[Any]:
    """Return marks with those inside the library's own."""
    return [each for mark in marks for each in (mark.metadata if isinstance(mark, FieldInfo) else [mark])]
