"""Whole files in and out: the journal as JSON Lines, the start file, the plant list; it writes no file itself."""

from __future__ import annotations

from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from carecal.app.command_context import one_of
from carecal.app.door import Collection
from carecal.app.files.care_notes import notes_of
from carecal.app.files.upkeep import journal_faults
from carecal.app.setup.places import climate_doubt
from carecal.app.setup.plants import check_added
from carecal.app.setup.settings import setting_doubt, zone_named
from carecal.catalog.files import read_toml
from carecal.catalog.load import load_catalog
from carecal.catalog.names import near
from carecal.collection.care_notes import NEEDED, is_care_notes
from carecal.collection.columns import simple_name
from carecal.collection.database import FILE_NAME
from carecal.collection.entries import CollectionStarted, PlaceAdded, PlantAdded, SettingChanged
from carecal.collection.entry_limits import doubts
from carecal.collection.exporting import plant_list, start_file
from carecal.collection.journal import Journal
from carecal.collection.journal_lines import journal_lines, read_journal
from carecal.collection.plant_list import COLUMNS as PLANT_COLUMNS
from carecal.collection.plant_list import id_from_name, read_plant_list
from carecal.collection.record_faults import record_faults
from carecal.collection.start_file import read_start_file
from carecal.collection.text_files import read_table
from carecal.errors import DataFault, Fault, Refused, StorageError, option

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from datetime import date

    from carecal.app.door import Outcome
    from carecal.app.now import Now
    from carecal.catalog.tables import Catalog
    from carecal.collection.entries import Entry
    from carecal.collection.records import Record
    from carecal.collection.text_files import Table

__all__ = ["FORMATS", "Imported", "exported", "import_file"]

FORMATS = ("jsonl", "toml", "csv")
MOST_NAMED = 8  # so that a refusal stays one line
_SUFFIXES = {
    ".jsonl": "jsonl",
    ".ndjson": "jsonl",
    ".toml": "toml",
    ".csv": "csv",
    ".tsv": "csv",
    ".txt": "csv",
}


class Imported(NamedTuple):
    """What an import did: entries written, those that were there, and the outcome where a plan tells it."""

    entries: int
    known: int
    outcome: Outcome | None


def exported(collection: Collection, now: Now, kind: str) -> str:
    """Return the collection as a file of a kind: the whole journal, a start file, or the plant list.

    Raises:
        Refused: The kind is none of them.
    """
    one_of("format", kind, FORMATS)
    if kind == "jsonl":
        return "".join(f"{line}\n" for line in journal_lines(collection.journal.records()))
    timeline = collection.timeline(now.day)
    return start_file(timeline) if kind == "toml" else plant_list(timeline)


def import_file(
    folder: Path,
    file: Path,
    now_of: Callable[[str | None], Now],
    *,
    mapping: Mapping[str, str] | None = None,
    by: str = "owner",
    dry: bool = False,
    sure: bool = False,
) -> Imported:
    """Read a file into a collection; a journal or a start file also makes one that is not there yet.

    Args:
        folder: The collection's folder.
        file: Its suffix tells what it is.
        now_of: Returns the moment of the command in a time zone; None: the collection's.
        mapping: Our column for each heading of a plant list or of notes of care.
        by: Who says so.
        dry: Only tell what would be written.
        sure: Whether what is unusual in notes of care was confirmed.

    Raises:
        DataFault: The file has faults; all of them.
        Refused: The file is of no known kind, or does not fit the collection; nothing is written.
        StorageError: A file cannot be read or written.
    """
    kind = _SUFFIXES.get(file.suffix.casefold())
    if kind is None:
        raise Refused(f"{file.name} is not of a known kind; allowed are {', '.join(_SUFFIXES)}")
    if mapping and kind != "csv":
        raise Refused(
            f"{option('map')} belongs to a plant list (.csv) or notes of care; {file.name} is neither"
        )
    if kind == "jsonl":
        return _import_journal(folder, file, dry=dry)
    is_there = (folder / FILE_NAME).is_file()
    if kind == "csv":
        table = read_table(file)
        if is_care_notes(table, mapping or {}):
            return _import_notes(folder, table, now_of, mapping or {}, by=by, dry=dry, sure=sure)
        if not {simple_name(name) for name in (*table.headings, *(mapping or {}).values())} & {
            *PLANT_COLUMNS
        }:
            raise Refused(
                f"{file.name} is neither a plant list (id or name and more) nor notes of care ({', '.join(NEEDED)});"
                f" say which heading is which by {option('map')}"
            )
    if kind == "csv" or is_there:
        with Collection.open(folder) as collection:
            return _import_entries(collection, file, now_of(None), mapping, by=by, dry=dry)
    return _import_new(folder, file, now_of, by=by, dry=dry)


def _import_notes(
    folder: Path, table: Table, now_of: Callable[[str | None], Now], mapping: Mapping[str, str], *, by: str,
    dry: bool, sure: bool,
) -> Imported:  # fmt: skip
    """Take in a notebook of care: all of it that is new, as one command, or nothing."""
    with Collection.open(folder) as collection:
        now = now_of(None)
        found = notes_of(collection, now, table, mapping, sure=sure)
        if not found.entries:
            return Imported(0, found.known, None)
        outcome = collection.record(*found.entries, now=now, by=by, dry=dry)
        return Imported(len(outcome.records), found.known, outcome)


def _import_entries(
    collection: Collection, file: Path, now: Now, mapping: Mapping[str, str] | None, *, by: str, dry: bool
) -> Imported:
    facts = collection.timeline(now.day, plants=set()).facts
    check = _check(collection.catalog, now.day, {*facts.places, *_places_in(file)})
    if mapping is not None and file.suffix.casefold() != ".toml":
        entries: list[Entry] = list(read_plant_list(file, mapping, on=now.day, check=check))
    else:
        entries = [
            entry
            for entry in read_start_file(file, on=now.day, check=check)
            if not _is_same_collection(entry, collection, now.day)
        ]
    _check_new(file, entries, collection, set(facts.places))
    if not entries:
        return Imported(0, 1, None)
    outcome = collection.record(*entries, now=now, by=by, dry=dry)
    return Imported(len(outcome.records), 0, outcome)


def _import_new(
    folder: Path, file: Path, now_of: Callable[[str | None], Now], *, by: str, dry: bool
) -> Imported:
    """Make a collection from a start file."""
    catalog = load_catalog(folder if folder.is_dir() else None)
    now = now_of(_zone_in(file))
    entries = read_start_file(file, on=now.day, check=_check(catalog, now.day, _places_in(file)))
    begin = next((entry for entry in entries if isinstance(entry, CollectionStarted)), None)
    if begin is None:
        raise Refused(
            f"no collection in {folder} and no [collection] in {file.name}",
            command="init",
            how="make one with carecal",
        )
    if dry:
        return Imported(len(entries), 0, None)
    rest = [entry for entry in entries if entry is not begin]
    with _whole_or_none(folder), Collection.start(folder, begin, now, by=by) as collection:
        if rest:
            collection.record(*rest, now=now, by=by)
    return Imported(len(entries), 0, None)


def _import_journal(folder: Path, file: Path, *, dry: bool) -> Imported:
    records = read_journal(file)
    faults = [*record_faults(records), *_of_settings(records)]
    faults = faults or journal_faults(records, load_catalog(folder if folder.is_dir() else None))
    if faults:
        raise DataFault([Fault(file.name, f"line {number}", text) for number, text in faults])
    is_there = (folder / FILE_NAME).is_file()
    if dry:
        known = 0
        if is_there:
            with Journal.open(folder, readonly=True) as journal:
                known = journal.head()
        return Imported(max(0, len(records) - known), min(known, len(records)), None)
    with _whole_or_none(folder), Journal.open(folder) if is_there else Journal.create(folder) as journal:
        added = journal.restore_records(records)
    return Imported(added, len(records) - added, None)


def _of_settings(records: Sequence[Record]) -> Iterator[tuple[int, str]]:
    for record in records:
        if record.kind == SettingChanged.kind:
            doubt = setting_doubt(str(record.data.get("key")), str(record.data.get("value")))
            if doubt:
                yield record.n, doubt


@contextmanager
def _whole_or_none(folder: Path) -> Iterator[None]:
    """Take a collection that was not there before away again when the block fails."""
    was_there = (folder / FILE_NAME).is_file()
    try:
        yield
    except BaseException:
        if not was_there:
            for end in ("", "-wal", "-shm"):
                (folder / f"{FILE_NAME}{end}").unlink(missing_ok=True)
        raise


def _check(catalog: Catalog, today: date, places: set[str]) -> Callable[[Entry], Iterator[tuple[str, str]]]:
    """Return what tells the faults of an entry that its own fields do not."""

    def check(entry: Entry) -> Iterator[tuple[str, str]]:
        yield from doubts(entry)
        if isinstance(entry, PlantAdded):
            for field, refusal in check_added(catalog, today, entry, places):
                yield field, str(refusal)
        elif isinstance(entry, PlaceAdded):
            if entry.place_kind not in catalog.place_kinds:
                hint = " or ".join(near(entry.place_kind, catalog.place_kinds) or catalog.place_kinds)
                yield "place_kind", f"no kind of place named '{entry.place_kind}'; did you mean {hint}?"
            elif doubt := climate_doubt(catalog, entry).replace("--", ""):
                yield "place_kind", doubt

    return check


def _tables_in(file: Path) -> dict[str, Any]:
    """Return the raw tables of a start file; none where it cannot be read, which is told elsewhere."""
    try:
        return read_toml(file.name, file)[0]
    except StorageError:
        return {}


def _places_in(file: Path) -> set[str]:
    """Return the ids of the places that a start file adds, in whatever order it names them."""
    rows = _tables_in(file).get("place")
    if not isinstance(rows, list):
        return set()
    return {
        str(row.get("id") or id_from_name(str(row.get("name", "")))) for row in rows if isinstance(row, dict)
    }


def _zone_in(file: Path) -> str:
    """Return the time zone that a start file names, UTC where it names none that exists."""
    table = _tables_in(file).get("collection")
    with suppress(Refused):
        return zone_named(str(table.get("timezone", "UTC")) if isinstance(table, dict) else "UTC")
    return "UTC"


def _is_same_collection(entry: Entry, collection: Collection, day: date) -> bool:
    """Return whether an entry says of the collection what is known; refuse one that says something else.

    Raises:
        Refused: It is the beginning of another collection.
    """
    if not isinstance(entry, CollectionStarted):
        return False
    facts = collection.timeline(day, plants=set()).facts
    theirs = (entry.name, entry.latitude, entry.longitude, entry.elevation_m, entry.timezone)
    if theirs != (facts.name, facts.latitude, facts.longitude, facts.elevation_m, facts.timezone):
        raise Refused(f"[collection] names '{entry.name}', but this is '{facts.name}'; leave the table out")
    return True


def _check_new(file: Path, entries: list[Entry], collection: Collection, places: set[str]) -> None:
    """Refuse a file that adds what is there already, all at once."""
    ids = collection.journal.ids()
    plants = [entry.plant for entry in entries if isinstance(entry, PlantAdded) and entry.plant in ids]
    there = [entry.place for entry in entries if isinstance(entry, PlaceAdded) and entry.place in places]
    for what, names in (("plants", plants), ("places", there)):
        if names:
            shown = ", ".join(names[:MOST_NAMED]) + (" …" if len(names) > MOST_NAMED else "")
            raise Refused(
                f"{file.name}: {len(names)} {what} are in the collection already, {shown}; leave them out"
            )
