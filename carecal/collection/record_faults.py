"""What is wrong with records that stand in a journal already, or would come into it whole; it repairs nothing."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from carecal.collection.entries import KINDS
from carecal.collection.entry_faults import sentences
from carecal.collection.entry_limits import doubts, instant_doubt, signature_doubt
from carecal.collection.references import map_plants

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from carecal.collection.entries import Entry
    from carecal.collection.records import Record

__all__ = ["record_faults"]

_ANY_PLANT = "plant"  # stands for each plant of an entry whose ids are not at hand


def record_faults(records: Iterable[Record]) -> Iterator[tuple[int, str]]:
    """Yield by entry number what a way in would have refused: fields, days, zones, instants, names that sign.

    Whether entries agree with each other is looked at elsewhere; an amendment is held against the entry it changes.

    Args:
        records: A whole journal by entry number.
    """
    now: dict[int, tuple[type[Entry], dict[str, Any]]] = {}
    for record in records:
        found = [*_of_head(record)]
        model = KINDS.get(record.kind)
        if model is None:
            found.append(f"kind {record.kind!a} is not known")
        elif not isinstance(record.data, dict):
            found.append(f"its fields are no table of values but {type(record.data).__name__}")
        else:
            values = _values(record)
            entry, faults = _read(model, values)
            found += faults
            now[record.n] = (model, values)
            if entry is not None and record.kind == "amended":
                found += _of_amendment(record.data, now)
        yield from ((record.n, text) for text in found)


def _of_head(record: Record) -> Iterator[str]:
    for key, value in (("written", record.written), ("clock", record.clock or record.written)):
        if doubt := instant_doubt(value):
            yield f"{key}: {doubt}"
    if doubt := signature_doubt(record.by):
        yield f"by: {doubt}"


def _values(record: Record) -> dict[str, Any]:
    """Return the fields of a record as its model takes them, with a word for each plant."""
    fields = {key: value for key, value in record.data.items() if value is not None}
    values = _named(record.kind, fields)
    if record.kind == "added":
        values["plant"] = values.pop("id", None)
    elif record.plant is not None:
        values["plant"] = _ANY_PLANT
    return {**values, "on": record.on.isoformat()}


def _named(kind: str, fields: Mapping[str, Any]) -> dict[str, Any]:
    try:
        return map_plants(kind, fields, lambda number: _ANY_PLANT if isinstance(number, int) else number)
    except (TypeError, ValueError, AttributeError):
        return dict(fields)  # the model says what is wrong with them


def _read(model: type[Entry], values: Mapping[str, Any]) -> tuple[Entry | None, list[str]]:
    try:
        entry = model.model_validate_json(json.dumps(values), strict=True)
    except ValidationError as error:
        return None, [f"{field}: {sentence}" for field, sentence in sentences(error, model)]
    return entry, [f"{field}: {sentence}" for field, sentence in doubts(entry)]


def _of_amendment(data: Mapping[str, Any], now: dict[int, tuple[type[Entry], dict[str, Any]]]) -> list[str]:
    """Return what an entry would say wrong once it is amended; an amended one goes on from there."""
    if data["entry"] not in now:
        return [f"entry {data['entry']}, which it speaks of, is not there before it"]
    model, old = now[data["entry"]]
    changes = _named("", data.get("changes", {}))
    new = {key: value for key, value in {**old, **changes}.items() if value is not None}
    if data.get("on_day"):
        new["on"] = data["on_day"]
    _, faults = _read(model, new)
    if not faults:
        now[data["entry"]] = (model, new)
        return []
    _, before = _read(model, old)
    return [fault for fault in faults if fault not in before]
