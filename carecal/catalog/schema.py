"""Pydantic models of the rows, built from their named tuples, and faults in words; it reads no files."""

from __future__ import annotations

import functools
import types
import typing
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field, ValidationError, create_model

from carecal.catalog import ranges
from carecal.catalog.names import near
from carecal.errors import Fault

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["allowed", "checked_row", "hints_of", "shown", "unknown_key"]

_CONFIG = ConfigDict(strict=True, extra="forbid", frozen=True)
# One line of text: no control characters, no line separators, not blank.
_LINE = (
    r"^[^\x00-\x1f\x7f-\x9f\u{2028}\u{2029}]*[^\s\x00-\x1f\x7f-\x9f][^\x00-\x1f\x7f-\x9f\u{2028}\u{2029}]*$"
)
_LONGEST_TEXT = 1000


@dataclass(frozen=True, slots=True)
class _LeftOut:
    """What a number is where a row leaves it out."""

    value: float


def hints_of(row: type[Any]) -> dict[str, Any]:
    """Types of the columns of a row, ranges and what counts for a number left out included, by column."""
    known = {**vars(ranges), "Mapping": Mapping, "Literal": Literal}
    hints = typing.get_type_hints(row, localns=known, include_extras=True)
    left_out: dict[str, Any] = row._field_defaults
    return {
        name: Annotated[hint, _LeftOut(left_out[name])] if name in left_out else hint
        for name, hint in hints.items()
    }


def allowed(hint: Any) -> str:
    """What a column of this type may hold, in words."""
    origin, arguments = get_origin(hint), get_args(hint)
    if origin is Annotated:
        return f"a {'whole ' if arguments[0] is int else ''}number {arguments[1]}"
    if origin is Literal:
        return " or ".join(f"'{choice}'" for choice in arguments)
    if origin in (Union, types.UnionType):
        return " or ".join(allowed(part) for part in arguments if part is not type(None))
    if origin is tuple:
        return f"a list, each {allowed(arguments[0])}"
    if origin is Mapping:
        return f"a table, each value {allowed(arguments[1])}"
    return {bool: "true or false", str: "one line of text"}[hint]


def shown(value: object) -> str:
    """A value as it stands in the file, shortened."""
    text = {True: "true", False: "false"}.get(value, repr(value)) if isinstance(value, bool) else repr(value)
    if not isinstance(value, (str, int, float, list, dict)):
        text = str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def unknown_key(key: str, known: Iterable[str]) -> str:
    """Sentence on a key that is not known, with the near ones or else all that are."""
    alike = near(key, known)
    return (
        f"unknown key; did you mean {' or '.join(alike)}"
        if alike
        else f"unknown key; known are {', '.join(known)}"
    )


def checked_row(
    raw: object, hints: Mapping[str, Any], file: str, key: str
) -> tuple[dict[str, Any] | None, list[Fault]]:
    """Values of a row by column, or all its faults.

    Args:
        raw: The row as read.
        hints: Types of its columns.
        file: Name of the file, for the faults.
        key: Dotted key of the row, empty for the file itself.
    """
    if not isinstance(raw, dict):
        return None, [Fault(file, key, f"{shown(raw)} is not a table of values")]
    try:
        model = _model(tuple(hints.items())).model_validate(raw)
    except ValidationError as error:
        return None, list(_faults(error, raw, hints, file, key))
    return {name: getattr(model, name) for name in hints}, []


@functools.cache
def _model(hints: tuple[tuple[str, Any], ...]) -> type[BaseModel]:
    columns: dict[str, Any] = {name: (_checked(hint), _default(hint)) for name, hint in hints}
    return create_model("Row", __config__=_CONFIG, **columns)


def _checked(hint: Any) -> Any:
    origin, arguments = get_origin(hint), get_args(hint)
    if origin is Annotated:
        return Annotated[arguments[0], Field(ge=arguments[1].low, le=arguments[1].high)]
    if origin in (Union, types.UnionType):
        return Union[tuple(_checked(part) for part in arguments)]  # noqa: UP007 (a union of computed types)
    if origin is tuple:
        return Annotated[tuple[_checked(arguments[0]), ...], Field(strict=False)]  # type: ignore[misc] # a computed type
    if origin is Mapping:
        return dict[str, _checked(arguments[1])]  # type: ignore[misc] # a computed type
    if hint is str:
        return Annotated[str, Field(pattern=_LINE, max_length=_LONGEST_TEXT)]
    return hint


def _default(hint: Any) -> Any:
    left_out = next((part for part in get_args(hint) if isinstance(part, _LeftOut)), None)
    if left_out is not None:
        return left_out.value
    if type(None) in get_args(hint):
        return None
    if get_origin(hint) is tuple:
        return ()
    return Field(default_factory=dict) if get_origin(hint) is Mapping else ...


def _faults(
    error: ValidationError, raw: dict[str, Any], hints: Mapping[str, Any], file: str, key: str
) -> Iterable[Fault]:
    places = {name: place for place, name in enumerate(raw)}
    found: dict[str, tuple[int, Fault]] = {}
    for entry in error.errors(include_url=False, include_context=False):
        column = str(entry["loc"][0])
        inner = (
            [str(entry["loc"][1])]
            if get_origin(hints.get(column)) is Mapping and len(entry["loc"]) > 1
            else []
        )
        dotted = ".".join([*([key] if key else []), column, *inner])
        value = raw.get(column)
        if inner and isinstance(value, dict):
            value = value.get(inner[0])
        message = _message(entry["type"], column, value, hints, bool(inner))
        found.setdefault(dotted, (places.get(column, len(places)), Fault(file, dotted, message)))
    return [fault for _, fault in sorted(found.values(), key=lambda item: item[0])]


def _message(kind: str, column: str, value: object, hints: Mapping[str, Any], is_inner: bool) -> str:
    if kind == "extra_forbidden":
        return unknown_key(column, hints)
    if kind == "missing":
        return f"missing; give {allowed(hints[column])}"
    hint = get_args(hints[column])[1] if is_inner else hints[column]
    return f"{shown(value)} is not {allowed(hint)}"
