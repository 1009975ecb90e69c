"""A notebook of care as entries: each row is held against its plant as a command would be. It writes nothing."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import TYPE_CHECKING, Any, NamedTuple

from carecal.app.actions.care import WETTINGS, aid_of, check_care
from carecal.app.actions.corrections import amend
from carecal.app.actions.looks import check_length, check_trouble
from carecal.app.actions.sick import check_treatment
from carecal.app.command_context import CommandContext
from carecal.app.make_entries import make_entry
from carecal.catalog.names import near
from carecal.collection.care_notes import read_care_notes
from carecal.collection.columns import simple_name
from carecal.collection.entries import Observed, Treated
from carecal.collection.entries_care import Done, Left
from carecal.collection.note_words import REPOTTED
from carecal.collection.plant_list import id_from_name
from carecal.collection.records import effective
from carecal.errors import DataFault, Fault, Refused, UnknownName
from carecal.wording.notes import came_by_notes, more_of_it, others_like, others_wrong

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.care_notes import CareNote, RowFault
    from carecal.collection.entries import Entry
    from carecal.collection.plants import PlantHistory
    from carecal.collection.text_files import Table

__all__ = ["Noted", "notes_of"]

EVERYBODY = frozenset({"all", "all plants", "everything"})
MOST_FAULTS = 20  # our choice, because a screen holds so many lines
_NAMES_NOTHING = frozenset({"task", "unseen"})


class Noted(NamedTuple):
    """What a notebook comes to: entries not written yet, by day, and how many of its rows are known already."""

    entries: list[Entry]
    known: int


class _Row(NamedTuple):
    """One row for one plant."""

    note: CareNote
    line: PlantHistory


def notes_of(
    collection: Collection, now: Now, table: Table, mapping: Mapping[str, str], *, sure: bool = False
) -> Noted:
    """Return the entries of a notebook; what is in the journal already is left out.

    Args:
        collection: The collection.
        now: The moment of the command.
        table: The notebook.
        mapping: Our column for each heading.
        sure: Whether it was confirmed that a plant came by its first row, and that lengths jump.

    Raises:
        DataFault: Rows are wrong; all of them, each with its line.
    """
    book = _Book(collection, now, sure=sure)
    notes, faults = read_care_notes(table, mapping, on=now.day, name_fault=book.name_fault)
    made = book.entries_of(notes)
    faults += [(line, name, text) for line, name, text in book.faults]
    if faults:
        raise DataFault(_shown(table.file, faults), is_list=True)
    return _new_ones(collection, made)


def _shown(file: str, faults: list[RowFault]) -> list[Fault]:
    """Return the faults by line: one that many rows share is told once, and after so many only how many more."""
    alike: dict[tuple[str, str], list[int]] = defaultdict(list)
    for line, name, text in sorted(faults):
        alike[name, text].append(line)
    shown = [
        Fault(file, f"line {lines[0]}, {name}", text + others_like(lines[1:]))
        for (name, text), lines in list(alike.items())[:MOST_FAULTS]
    ]
    rest = [line for lines in list(alike.values())[MOST_FAULTS:] for line in lines]
    return shown + ([Fault(file, f"line {min(rest)}", others_wrong(len(set(rest))))] if rest else [])


class _Book:
    """Turns rows into entries and keeps what is wrong with them: line, column and what is allowed."""

    def __init__(self, collection: Collection, now: Now, *, sure: bool) -> None:
        self.collection, self.now, self.sure = collection, now, sure
        self.context = CommandContext(collection, now, None)
        self.plants = sorted(self.context.timeline.plants.values(), key=lambda line: line.number)
        self.names: dict[str, list[PlantHistory]] = {}
        for line in self.plants:
            for name in {line.id, simple_name(line.id), line.name.casefold(), id_from_name(line.name)}:
                self.names.setdefault(name, []).append(line)
        self.faults: list[RowFault] = []
        self.asks_came = False
        self.came: list[_Row] = []  # the first row of each plant that is said to have been there by then

    def entries_of(self, notes: Iterable[CareNote]) -> list[Entry]:
        """Return the entries of all rows that have no fault, by day, those of a day in the order of their lines."""
        rows = self._alive([row for note in notes for row in self._rows(note)])
        rows.sort(key=lambda row: (row.note.on, row.note.line))
        felt, wetted = _felt_with_water(rows)
        lengths: dict[int, list[tuple[int, float]]] = {
            line.number: [(on, mm) for on, what, mm in line.measured if what == "longest_mm"]
            for line in self.plants
        }
        made: list[Entry] = []
        for row in rows:
            try:
                made += self._entries(row, felt, wetted, lengths)
            except Refused as refusal:
                self.faults.append((row.note.line, "value", refusal.typed))
        came = [entry for row in self.came for entry in self._put_right(row, "came")]
        return [*came, *made, *self._repotted(rows)]

    def _rows(self, note: CareNote) -> Iterator[_Row]:
        """Yield a row for each plant that it names."""
        if note.plant.casefold() not in EVERYBODY:
            yield _Row(note, self._named(note.plant)[0])
            return
        there = [line for line in self.plants if _is_there(line, note.on)]
        if not there:
            self.faults.append((note.line, "plant", f"no plant is known to have been there on {note.on}"))
        yield from (_Row(note, line) for line in there)

    def _named(self, text: str) -> list[PlantHistory]:
        name = text.casefold()
        forms = (name, simple_name(name), id_from_name(name))
        return next((self.names[form] for form in forms if form in self.names), [])

    def name_fault(self, text: str) -> str:
        """Return what is wrong with a plant as it is written; '' where it names one, or all."""
        found = self._named(text)
        if text.casefold() in EVERYBODY or len(found) == 1:
            return ""
        if found:
            return f"'{text}' may be {', '.join(line.id for line in found)}; write the id"
        return str(UnknownName("plant", text, near(text.casefold(), [line.id for line in self.plants])))

    def _alive(self, rows: list[_Row]) -> list[_Row]:
        """Return the rows of days on which their plant was there; days too early are told once for each plant."""
        alive, early = [], defaultdict(list)
        first: dict[int, _Row] = {}
        for row in rows:
            day = row.note.on
            try:
                self.context.fact_day(day)
                self.context.check_life(row.line, day, historic=True)
            except Refused as refusal:
                if self.sure and day.toordinal() < row.line.entered and row.line.states[0].came is None:
                    alive.append(row)
                    first[row.line.number] = min(
                        first.get(row.line.number, row), row, key=lambda r: r.note.on
                    )
                elif day.toordinal() < row.line.entered:
                    early[row.line.number].append(row)
                else:
                    self.faults.append((row.note.line, "day", refusal.typed))
            else:
                alive.append(row)
        self.came = list(first.values())
        for found in sorted(early.values(), key=lambda rows: rows[0].note.line):
            self._too_early(min(found, key=lambda row: row.note.on), len(found) - 1)
        return alive

    def _too_early(self, first: _Row, more: int) -> None:
        try:
            self.context.check_life(first.line, first.note.on, historic=True)
        except Refused as refusal:
            text = f"{refusal.typed}{more_of_it(more)}"
            if first.line.states[0].came is None and not self.asks_came:
                text += came_by_notes()
                self.asks_came = True
            self.faults.append((first.note.line, "day", text))

    def _entries(
        self, row: _Row, felt: Mapping[tuple[int, date], str], wetted: set[tuple[int, date]],
        lengths: dict[int, list[tuple[int, float]]],
    ) -> list[Entry]:  # fmt: skip
        note, line = row
        values, key = dict(note.told.values), (line.number, note.on)
        if note.told.word == "felt":
            return self._felt(row, key in wetted)
        if note.told.model is None:
            return []
        if note.told.model is Done:
            care, state = str(values["care"]), line.state_then(note.on.toordinal())
            if care in WETTINGS:
                values["felt"] = values.get("felt") or felt.get(key)
            values["aid"] = aid_of(care, state, None, None)
            check_care(care, line, state, None, None)
        elif note.told.model is Treated:
            check_treatment(str(values["did"]), _text(values.get("against")), self.context.catalog)
        elif note.told.model is Observed:
            check_trouble(values, self.context.catalog)
            if values.get("longest_mm") is not None:
                self._length(
                    line, note.on.toordinal(), float(str(values["longest_mm"])), lengths[line.number]
                )
        return [make_entry(note.told.model, on=note.on, plant=line.id, **values)]

    def _felt(self, row: _Row, is_wetted: bool) -> list[Entry]:
        """Return what a row tells of the medium alone: with water of its day it stands there, else it was left."""
        note, line = row
        said = _text(note.told.values.get("note"))
        noted: list[Entry] = [make_entry(Observed, on=note.on, plant=line.id, note=said)] if said else []
        if is_wetted:
            return noted
        if note.told.values["felt"] != "damp":
            raise Refused(
                f"felt {note.told.values['felt']}, and no row of that day says watered; add one, or leave this out"
            )
        check_care("watering", line, line.state_then(note.on.toordinal()), None, None)
        return [make_entry(Left, on=note.on, plant=line.id, care="watering", felt="damp"), *noted]

    def _length(self, line: PlantHistory, day: int, mm: float, known: list[tuple[int, float]]) -> None:
        """Ask about a root that has become a tenth or ten times as long."""
        before = max(((on, old) for on, old in known if on <= day), default=None)
        known.append((day, mm))
        if before is not None and not self.sure:
            check_length(line.id, before[1], mm)

    def _repotted(self, rows: list[_Row]) -> Iterator[Entry]:
        """Yield the day of each plant's last repotting, that into the pot it was entered in; others are notes."""
        last: dict[int, _Row] = {}
        for row in rows:
            if row.note.told.word == REPOTTED:
                former = last.get(row.line.number)
                if former is not None:
                    yield self._as_note(former)
                last[row.line.number] = row
        for row in last.values():
            try:
                yield from self._potted_on(row)
            except Refused as refusal:
                self.faults.append((row.note.line, "what", refusal.typed))

    def _potted_on(self, row: _Row) -> Iterator[Entry]:
        state, day = row.line.states[0], row.note.on
        if day.toordinal() >= row.line.entered:
            raise Refused(
                f"{row.line.id} was repotted after it was entered: say into what",
                command="pot",
                how="with carecal",
            )
        if state.potted is None or state.potted < day.toordinal():
            yield from self._put_right(row, "potted")
        elif state.potted > day.toordinal():
            yield self._as_note(row)

    def _put_right(self, row: _Row, field: str) -> list[Entry]:
        """Return the entry that gives a plant the day of a row as the one on which it came or was potted."""
        day = row.note.on.isoformat()
        return amend(self.collection, self.now, row.line.states[0].entry, {field: day})

    def _as_note(self, row: _Row) -> Entry:
        text = ": ".join(part for part in (REPOTTED, _text(row.note.told.values.get("note"))) if part)
        return make_entry(Observed, on=row.note.on, plant=row.line.id, note=text)


def _felt_with_water(rows: list[_Row]) -> tuple[dict[tuple[int, date], str], set[tuple[int, date]]]:
    """Return how the medium felt, by plant and day, where a row of its own says so, and the days of water."""
    felt, wetted = {}, set()
    for note, line in rows:
        if note.told.word == "felt":
            felt[line.number, note.on] = str(note.told.values["felt"])
        elif note.told.model is Done and note.told.values.get("care") in WETTINGS:
            wetted.add((line.number, note.on))
    return felt, wetted


def _is_there(line: PlantHistory, day: date) -> bool:
    came = line.states[0].came
    first = line.entered if came is None else min(came, line.entered)
    return first <= day.toordinal() and (line.retired is None or day.toordinal() < line.retired)


def _text(value: object) -> str | None:
    return str(value) if value else None


def _new_ones(collection: Collection, made: list[Entry]) -> Noted:
    """Leave out what the journal has already: as much on the same day of the same plant, or more."""
    numbers = {
        plant: collection.number_of(plant) for plant in {str(getattr(e, "plant", "")) for e in made} - {""}
    }
    there: dict[tuple[object, ...], list[dict[str, Any]]] = defaultdict(list)
    for record in effective(collection.journal.records(set(numbers.values())), date.max):
        there[record.plant, record.on, record.kind].append(_said(record.data))
    new: list[Entry] = []
    for entry in made:
        plant = getattr(entry, "plant", None)
        said = _said(entry.model_dump(mode="json", exclude={"on", "plant"}))
        same = there[numbers.get(str(plant)), entry.on, entry.kind]
        if plant is not None and any(said.items() <= old.items() for old in same):
            continue
        same.append(said)
        new.append(entry)
    return Noted(new, len(made) - len(new))


def _said(data: Mapping[str, Any]) -> dict[str, Any]:
    return {k: v for k, v in data.items() if k not in _NAMES_NOTHING and v not in (None, False, "", [], ())}
