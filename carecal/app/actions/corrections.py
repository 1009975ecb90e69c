"""Corrections as entries: a whole command taken back, or fields of one entry put right."""

from __future__ import annotations

from datetime import UTC, date
from typing import TYPE_CHECKING, Any, get_args

from carecal.app.actions.beside import besides_put_right
from carecal.app.actions.pots import check_pair
from carecal.app.command_context import named
from carecal.app.make_entries import OPTION_NAMES, check_entry, make_entry
from carecal.app.sense import nonsense
from carecal.collection.entries import KINDS, Amended, Observed, Undone
from carecal.collection.entry_limits import doubts
from carecal.collection.records import Record, effective, taken_back
from carecal.collection.references import map_plants
from carecal.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.entries import Entry

__all__ = ["amend", "undo"]

_FIELDS = {option: field for field, option in OPTION_NAMES.items()}
_FIXED = frozenset({"undone", "amended"})
_MOST_NAMED = 5


def undo(
    collection: Collection, now: Now, entry: int | None = None, *, with_later: bool = False
) -> list[Entry]:
    """Return the entries that take back the last command, or the one that wrote an entry.

    Args:
        collection: The collection.
        now: The moment of the command.
        entry: Number of an entry; None: the last command that still counts.
        with_later: Whether later commands that need it are taken back too.

    Raises:
        UnknownName: There is no such entry.
        Refused: There is nothing to take back, it was taken back already, or later entries need it.
    """
    records = collection.journal.records()
    command = collection.journal.last_command() if entry is None else collection.journal.command_of(entry)
    if command is None:
        raise Refused("there is nothing to undo")
    if command in taken_back(records):
        raise Refused(f"entry {entry} was taken back already")
    if any(record.kind == "collection" for record in records if record.command == command):
        raise Refused("the beginning of the collection cannot be taken back; remove its folder instead")
    commands = [command]
    before = _nonsense(collection, records)
    while True:
        faults = _nonsense(
            collection, [*records, *(_undoing(c, records, now, i) for i, c in enumerate(commands))]
        )
        new = {n: why for n, why in faults.items() if n not in before}
        if not new:
            break
        if not with_later:
            raise Refused(_needed(new, records), command="--with-later", how="say so by")
        later = {record.command for record in records if record.n in new} - set(commands)
        if not later:
            raise Refused(_needed(new, records))
        commands.extend(sorted(later, reverse=True))
    return [make_entry(Undone, on=now.day, command=c) for c in sorted(commands, reverse=True)]


def amend(collection: Collection, now: Now, entry: int, changes: Mapping[str, str]) -> list[Entry]:
    """Return the entry that puts fields of an earlier one right; an empty value takes a field out.

    Args:
        collection: The collection.
        now: The moment of the command.
        entry: Number of the entry.
        changes: New values by the name of the field or option, `on` for the day.

    Raises:
        UnknownName: There is no such entry, or a name in it is not known.
        Refused: A value is not allowed, or later entries would make no sense.
    """
    records = collection.journal.records()
    collection.journal.record(entry)
    counted = effective(records, date.max)
    found = next((r for r in counted if r.n == entry), None)
    if found is None or found.kind in _FIXED or found.kind not in KINDS:
        raise Refused(f"entry {entry} cannot be amended; undo it, or amend one that counts")
    if not changes:
        raise Refused("nothing was said; give at least one FIELD=VALUE")
    model = KINDS[found.kind]
    given = {
        _FIELDS.get(name.replace("-", "_"), name.replace("-", "_")): text for name, text in changes.items()
    }
    if found.kind == "collection" and "on" in given:
        raise Refused("the day on which the collection began stays; amend its name, place or time zone")
    if "plant" in given:
        raise Refused("the plant of an entry cannot be amended; undo the entry and write it anew")
    old = _fields_of(collection, found)
    entry_now = check_entry(model, {**old, **{key: _parsed(model, key, text) for key, text in given.items()}})
    for field, doubt in doubts(entry_now):
        raise Refused(f"{field}: {doubt}")
    if entry_now.on > now.day:
        raise Refused(f"{entry_now.on} lies ahead; what happened is dated up to today, {now.day}")
    new = entry_now.model_dump(mode="json", exclude={"on", "plant"})
    changed = {key: new[key] for key in given if key in new and new[key] != old.get(key)}
    on_day = entry_now.on if entry_now.on != found.on else None
    if not changed and on_day is None:
        raise Refused(f"entry {entry} says so already; nothing changes")
    _check_names(collection, now, {**new})
    amended = make_entry(Amended, on=now.day, entry=entry, changes=changed, on_day=on_day)
    _check_sense(collection, records, amended, now)
    if not isinstance(entry_now, Observed):
        return [amended]
    return [amended, *besides_put_right(collection, now, counted, found, entry_now)]


def _fields_of(collection: Collection, record: Record) -> dict[str, Any]:
    """Return the fields of a record as its model takes them, plants by their ids."""
    names = collection.journal.added_ids() | {
        number: name for name, number in collection.journal.ids().items()
    }
    fields = map_plants(record.kind, record.data, lambda number: names[number])
    fields = {key: value for key, value in fields.items() if key != "id"}
    if record.plant is not None:
        fields["plant"] = names[record.plant]
    return {**fields, "on": record.on.isoformat()}


def _parsed(model: type[Entry], key: str, text: str) -> object:
    """Return a value as the model takes it: nothing for an empty text, a list for a field of several."""
    if not text.strip():
        return None
    info = model.model_fields.get(key)
    hints = str(info.annotation) if info is not None else ""
    if "tuple" in hints:
        return tuple(part.strip() for part in text.split(","))
    if info is not None and bool in (info.annotation, *get_args(info.annotation)):
        return {"yes": True, "no": False}.get(text.strip().lower(), text)
    return text


def _check_names(collection: Collection, now: Now, fields: Mapping[str, Any]) -> None:
    catalog = collection.catalog
    if fields.get("medium") and fields.get("container"):
        check_pair(catalog, fields["medium"], fields["container"])
    if fields.get("profile"):
        named("profile", fields["profile"], catalog.profiles)
    if fields.get("place") and "place_kind" not in fields:
        named("place", fields["place"], collection.timeline(now.day, plants=set()).facts.places)


def _check_sense(collection: Collection, records: list[Record], amended: Amended, now: Now) -> None:
    data = amended.model_dump(mode="json", exclude={"on"})
    data["changes"] = map_plants("", data["changes"], collection.number_of)
    trial = Record(
        records[-1].n + 1, records[-1].command + 1, "amended", None, amended.on, _stamp(now), "", data
    )
    before, after = _nonsense(collection, records), _nonsense(collection, [*records, trial])
    new = {n: why for n, why in after.items() if n not in before}
    if new:
        raise Refused(_needed(new, records))


def _undoing(command: int, records: list[Record], now: Now, offset: int) -> Record:
    n = records[-1].n + 1 + offset
    return Record(n, records[-1].command + 1, "undone", None, now.day, _stamp(now), "", {"command": command})


def _nonsense(collection: Collection, records: list[Record]) -> dict[int, str]:
    return nonsense(records, collection.timeline(date.max, records=records), collection.catalog)


def _needed(faults: Mapping[int, str], records: Sequence[Record]) -> str:
    kinds = {record.n: record.kind for record in records}
    told = [f"entry {n} ({kinds[n]}): {why}" for n, why in list(faults.items())[:_MOST_NAMED] if n in kinds]
    more = f" and {len(faults) - _MOST_NAMED} more" if len(faults) > _MOST_NAMED else ""
    return f"later entries need it: {'; '.join(told)}{more}; take them back too"


def _stamp(now: Now) -> str:
    return now.written.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
