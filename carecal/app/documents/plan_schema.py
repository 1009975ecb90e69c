"""The shape of the plan's document as a JSON schema (draft 2020-12); it checks nothing itself."""

from __future__ import annotations

from typing import Any

__all__ = ["plan_schema"]

_DATE = {"type": "string", "format": "date"}
_TEXT = {"type": "string"}
_NUMBER = {"type": "number"}
_WHOLE = {"type": "integer"}
_FLAG = {"type": "boolean"}
_STATUS = ("planned", "open", "overdue", "done", "assumed", "left", "skipped")


def _or_null(schema: dict[str, Any]) -> dict[str, Any]:
    return {"anyOf": [schema, {"type": "null"}]}


def _one_of(*words: str) -> dict[str, Any]:
    return {"enum": list(words)}


def _list(schema: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": schema}


def _object(**properties: dict[str, Any]) -> dict[str, Any]:
    """Return an object that has all of the keys and no other; a key that Python keeps for itself ends in '_'."""
    named = {key.removesuffix("_"): value for key, value in properties.items()}
    return {"type": "object", "properties": named, "required": list(named), "additionalProperties": False}


def plan_schema() -> dict[str, Any]:
    """Return the JSON schema of `carecal --json plan`."""
    body = _object(
        carecal={"const": 1},
        collection=_object(id=_TEXT, name=_TEXT, timezone=_TEXT),
        as_of=_DATE,
        from_=_DATE,
        until=_DATE,
        grouping=_one_of("rounds", "each"),
        plants=_list(_plant()),
        moments=_list(_object(key=_TEXT, place=_TEXT, on=_DATE, plants=_list(_TEXT), text=_TEXT)),
        rhythms=_list(_rhythm()),
        series=_list(_series()),
        tasks=_list(_task()),
        rounds=_list(_round()),
        gates=_list(_gate()),
        steps=_list(_step()),
        extra_wettings_percent=_or_null(_NUMBER),
    )
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "carecal plan",
        "description": "What a collection of orchids needs, from one day on; dates in the collection's time zone.",
        **body,
    }


def _plant() -> dict[str, Any]:
    factor = _object(value=_NUMBER, low=_NUMBER, high=_NUMBER, entries=_WHOLE)
    return _object(
        id=_TEXT,
        name=_TEXT,
        profile=_TEXT,
        medium=_or_null(_TEXT),
        container=_or_null(_TEXT),
        size_cm=_or_null(_NUMBER),
        place=_or_null(_TEXT),
        stage=_or_null(_TEXT),
        flowering=_TEXT,
        aids=_list(_TEXT),
        states=_list(_TEXT),
        reservoir=_or_null(_one_of("filled", "empty")),
        came=_or_null(_DATE),
        potted=_or_null(_DATE),
        on_watch=_FLAG,
        factor=factor,
    )


def _rhythm() -> dict[str, Any]:
    reason = _object(code=_TEXT, text=_TEXT, value=_or_null(_NUMBER), unit=_or_null(_TEXT))
    return _object(
        plant=_TEXT,
        care=_one_of("watering", "refilling", "moistening"),
        from_=_DATE,
        until=_DATE,
        days=_WHOLE,
        raw_days=_NUMBER,
        reasons=_list(reason),
    )


def _series() -> dict[str, Any]:
    return _object(
        uid={"type": "string", "format": "uuid"},
        plant=_TEXT,
        care=_TEXT,
        technique=_TEXT,
        first=_DATE,
        every_days=_WHOLE,
        until=_DATE,
        except_=_list(_DATE),
    )


def _task() -> dict[str, Any]:
    return _object(
        id=_TEXT,
        plant=_TEXT,
        care=_TEXT,
        technique=_TEXT,
        slot=_WHOLE,
        earliest=_DATE,
        due=_DATE,
        latest=_DATE,
        on=_DATE,
        status=_one_of(*_STATUS),
        joined_to=_or_null(_TEXT),
        cautions=_list(_TEXT),
    )


def _round() -> dict[str, Any]:
    feed = _object(ppm_n=_NUMBER, g_per_l=_or_null(_NUMBER), litres=_NUMBER, tasks=_list(_TEXT))
    return _object(on=_DATE, tasks=_list(_TEXT), can=_object(plain_l=_NUMBER, feeds=_list(feed)))


def _because() -> dict[str, Any]:
    return _list(_object(code=_TEXT, text=_TEXT))


def _gate() -> dict[str, Any]:
    return _object(
        plant=_TEXT,
        care=_TEXT,
        open=_FLAG,
        opens=_or_null(_DATE),
        last_safe=_or_null(_DATE),
        because=_because(),
    )


def _step() -> dict[str, Any]:
    return _object(
        plant=_TEXT,
        step=_TEXT,
        status=_one_of("now", "wait", "missed", "unknown"),
        opens=_or_null(_DATE),
        last_safe=_or_null(_DATE),
        margin_days=_or_null(_WHOLE),
        because=_because(),
    )
