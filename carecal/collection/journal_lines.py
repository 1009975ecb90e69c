"""The journal as JSON Lines, one entry a line: written so that reading it back gives the same records."""

from __future__ import annotations

import json
from datetime import date
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from carecal.catalog.schema import shown
from carecal.collection.entries import KINDS
from carecal.collection.entry_faults import sentences
from carecal.collection.entry_limits import doubts, instant_doubt, misread_days, signature_doubt
from carecal.collection.identifiers import Names
from carecal.collection.records import Record
from carecal.collection.references import map_plants
from carecal.collection.text_files import read_text
from carecal.errors import DataFault, Fault, Refused

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from pathlib import Path

    from carecal.collection.entries import Entry

__all__ = ["journal_lines", "read_journal"]

_HEAD = ("entry", "command", "kind", "on", "written", "by", "clock", "plant")
_NEEDED = ("entry", "command", "kind", "on", "written", "by")
_OF = "of_"  # before a field that bears the name of one of the head's: 'of_command' of an undone


def journal_lines(records: Iterable[Record]) -> Iterator[str]:
    """Yield each record as one line of JSON without its line end; plants by the id they had then.

    Args:
        records: A whole journal by entry number.
    """
    names = Names()
    for record in records:
        if record.kind == "added":
            names.take(record)
            yield _line(record, names.ids)
        else:
            yield _line(record, names.ids)
            names.take(record)


def _line(record: Record, ids: Mapping[int, str]) -> str:
    data = map_plants(record.kind, record.data, lambda number: ids.get(number, number))
    values: dict[str, Any] = {
        "entry": record.n,
        "command": record.command,
        "kind": record.kind,
        "on": record.on.isoformat(),
        "written": record.written,
        "by": record.by,
    }
    if record.clock:
        values["clock"] = record.clock
    if record.plant is not None:
        values["plant"] = ids.get(record.plant, record.plant)
    if record.kind == "added":
        values["plant"] = data.pop("id")
    values.update((f"{_OF}{key}" if key in _HEAD else key, value) for key, value in data.items())
    return json.dumps(values, ensure_ascii=False, allow_nan=False)


def read_journal(path: Path) -> list[Record]:
    """Return the records of a file of JSON Lines, as `Journal.restore_records` takes them.

    Raises:
        DataFault: With every fault of the file: no JSON, unknown kinds and keys, values out of range, numbers out
            of order, plants that were never added.
        StorageError: When the file cannot be read.
    """
    reader = _Reader(path.name)
    for number, line in enumerate(read_text(path).split("\n"), 1):
        if line.strip():
            reader.take(number, line)
    if not reader.records and not reader.faults:
        reader.fault(1, "the file is empty; allowed is one entry a line")
    if reader.faults:
        raise DataFault(reader.faults)
    return reader.records


class _Reader:
    def __init__(self, file: str) -> None:
        self.file, self.names = file, Names()
        self.records: list[Record] = []
        self.faults: list[Fault] = []
        self._next, self._command, self._plant = 1, 0, 1

    def fault(self, line: int, message: str) -> None:
        self.faults.append(Fault(self.file, f"line {line}", message))

    def take(self, line: int, text: str) -> None:
        """Read one line; what is wrong with it is kept as faults, and the next one is read all the same."""
        before = len(self.faults)
        values = self._values(line, text)
        if values is None:
            return
        self._check_order(line, values)
        entry = self._entry(line, values)
        if entry is None or len(self.faults) > before:
            return
        try:
            record = self._record(values)
            self.names.take(record)
        except Refused as refusal:
            self.fault(line, str(refusal))
            return
        self.records.append(record)

    def _values(self, line: int, text: str) -> dict[str, Any] | None:
        try:
            values = json.loads(text, parse_constant=_no_constant)
            json.dumps(values, ensure_ascii=False).encode()  # a lone surrogate is no text
        except UnicodeEncodeError as error:
            sign = ord(str(error.object)[error.start])
            self.fault(line, f"not JSON: U+{sign:04X} alone is half a character; write whole ones")
            return None
        except (ValueError, RecursionError) as error:
            self.fault(line, f"not JSON: {error}".split("\n")[0])
            return None
        if not isinstance(values, dict):
            self.fault(line, f"{shown(values)} is not an object; allowed is one entry a line")
            return None
        missing = [key for key in _NEEDED if values.get(key) is None]
        if missing:
            self.fault(line, f"missing {', '.join(missing)}; each entry has {', '.join(_NEEDED)}")
            return None
        return values

    def _check_order(self, line: int, values: Mapping[str, Any]) -> None:
        entry, command = values["entry"], values["command"]
        if type(entry) is not int or entry != self._next:
            self.fault(line, f"entry {shown(entry)} is out of order; allowed is {self._next}")
        if type(command) is not int or not self._command <= command <= self._command + 1 or command < 1:
            allowed = f"{self._command} or {self._command + 1}" if self._command else "1"
            self.fault(line, f"command {shown(command)} is out of order; allowed is {allowed}")
        self._next += 1
        self._command = command if type(command) is int else self._command
        for key in ("written", "clock"):
            value = values.get(key, "2000-01-01T00:00:00Z")
            if doubt := instant_doubt(value if isinstance(value, str) else shown(value)):
                self.fault(line, f"{key}: {doubt}")
        by = values["by"]
        if doubt := signature_doubt(by) if isinstance(by, str) else f"{shown(by)} is not a name":
            self.fault(line, f"by: {doubt}")

    def _entry(self, line: int, values: Mapping[str, Any]) -> Entry | None:
        model = KINDS.get(values["kind"]) if isinstance(values["kind"], str) else None
        if model is None:
            self.fault(line, f"unknown kind {shown(values['kind'])}; known are {', '.join(KINDS)}")
            return None
        head = {key: values[key] for key in ("on", "plant") if key in values}
        called = {key: f"{_OF}{key}" for key in model.model_fields if f"{_OF}{key}" in _OF_KEYS}
        said = {**head, **_fields(values)}
        try:
            entry = model.model_validate_json(json.dumps(said), strict=True)
        except ValidationError as error:
            for name, sentence in sentences(error, model, called):
                self.fault(line, f"{name}: {sentence}")
            return None
        for name, sentence in (*doubts(entry), *misread_days(entry, said)):
            self.fault(line, f"{called.get(name, name)}: {sentence}")
        return entry

    def _record(self, values: Mapping[str, Any]) -> Record:
        data = map_plants(values["kind"], _fields(values), self._number)
        plant: int | None = None
        if values["kind"] == "added":
            plant, data = self._plant, {"id": values["plant"], **data}
            self._plant += 1
        elif values.get("plant") is not None:
            plant = self._number(values["plant"])
        head = (values["entry"], values["command"], values["kind"], plant, date.fromisoformat(values["on"]))
        return Record(*head, values["written"], values["by"], data, values.get("clock", ""))

    def _number(self, name: object) -> int:
        if name not in self.names.numbers:
            raise Refused(f"no plant named {shown(name)} by then; allowed are those added on lines before")
        return self.names.numbers[str(name)]


_OF_KEYS = frozenset(f"{_OF}{key}" for key in _HEAD)


def _fields(values: Mapping[str, Any]) -> dict[str, Any]:
    """The entry's own fields, under their own names; a null is an absent one."""
    own = (
        (key.removeprefix(_OF) if key in _OF_KEYS else key, value)
        for key, value in values.items()
        if key not in _HEAD
    )
    return {key: value for key, value in own if value is not None}


def _no_constant(text: str) -> object:
    raise ValueError(f"{text} is not a number")
