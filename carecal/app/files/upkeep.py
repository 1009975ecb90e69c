"""Whether a collection is sound from end to end, and how it stands; it repairs nothing."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from carecal import __version__
from carecal.app.command_context import clock_doubt
from carecal.app.sense import nonsense
from carecal.app.store import named_zone
from carecal.calendars import subscriptions
from carecal.calendars.ledger import HEAD
from carecal.catalog.load import load_catalog
from carecal.collection.chain import ledger_faults, link_faults
from carecal.collection.database import storage_errors
from carecal.collection.doubles import old_doubles
from carecal.collection.entries import KINDS
from carecal.collection.entry_limits import zone_doubt
from carecal.collection.journal_lines import journal_lines
from carecal.collection.record_faults import record_faults
from carecal.collection.records import effective
from carecal.collection.timeline import fold
from carecal.errors import CarecalError, DataFault
from carecal.planning.planner import Planner

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.catalog.tables import Catalog
    from carecal.collection.records import Record
    from carecal.collection.timeline import Timeline


__all__ = ["findings", "journal_faults", "status_of"]

DAMAGED = "file: damaged, "
_NAMES = (
    ("medium", "media"),
    ("container", "containers"),
    ("profile", "profiles"),
    ("place_kind", "place_kinds"),
    ("stage", "stages"),
    ("gate", "feeding_gates"),
)


def findings(collection: Collection, now: Now, *, progress: Callable[[int], None] | None = None) -> list[str]:
    """Return what is wrong with a collection, one line each; none when all is sound.

    Looked at are the file, the catalog, the journal, every plant's plan and every ledger.

    Args:
        collection: The collection.
        now: The moment of the command.
        progress: Called after each plant planned.
    """
    found = list(_of_file(collection))
    if any(line.startswith(DAMAGED) for line in found):
        return found  # whatever else is read of it may be anything
    connection = collection.journal.connection
    found += [f"entry {number}: {text}" for number, text in link_faults(connection)]
    found += ledger_faults(connection)
    try:
        catalog = load_catalog(collection.folder)
    except DataFault as fault:
        return [*found, *(str(one) for one in fault.faults)]
    if catalog != collection.catalog:
        found.append(
            "the catalog kept in the collection is not that of its files; it is read anew at the next change"
        )
    records = collection.journal.records()
    broken = list(record_faults(records))
    if broken:  # what cannot be read can neither be folded nor planned
        return [*found, *(f"entry {number}: {text}" for number, text in broken), *_of_ledgers(collection)]
    faults = journal_faults(records, catalog)
    found += [f"entry {number}: {text}" for number, text in faults]
    found += _of_doubles(records)
    found += _of_ids(collection)
    if not faults:
        found += _of_plans(collection, catalog, now, progress)
    return [*found, *_of_ledgers(collection)]


def _of_file(collection: Collection) -> Iterator[str]:
    connection = collection.journal.connection
    with storage_errors(connection):
        for (text,) in connection.execute("pragma integrity_check"):
            if text != "ok":
                yield f"{DAMAGED}{' '.join(str(text).split())}"
        for row in connection.execute("pragma foreign_key_check"):
            yield f"file: a row of {row[0]} points nowhere"


def journal_faults(records: Sequence[Record], catalog: Catalog) -> list[tuple[int, str]]:
    """Return by entry what of a journal cannot count: gaps in the numbers, unknown kinds and names, contradictions.

    Args:
        records: A whole journal by entry number.
        catalog: Profiles and tables.
    """
    found = [(r.n, f"its number should be {i}") for i, r in enumerate(records, 1) if r.n != i]
    found += [(r.n, f"kind '{r.kind}' is not known") for r in records if r.kind not in KINDS]
    if records and (records[0].kind != "collection"):
        found.append((records[0].n, "the first entry should begin the collection"))
    counting = effective(records, date.max)
    for record in counting:
        for key, table in _NAMES:
            name = record.data.get(key)
            if name is not None and name not in getattr(catalog, table):
                found.append((record.n, f"{key} '{name}' is in no table"))
    if found:
        return sorted(found)
    return list(nonsense(records, _fold(records, date.max, catalog), catalog).items())


def _fold(records: Iterable[Record], day: date, catalog: Catalog) -> Timeline:
    stages = sorted(catalog.stages.values(), key=lambda stage: stage.order)
    return fold(
        records, day, stages, frozenset(n for n, row in catalog.containers.items() if row.has_reservoir)
    )


def _of_doubles(records: Sequence[Record]) -> Iterator[str]:
    """Yield what was written twice by one tap that arrived twice."""
    for new, old in old_doubles(records):
        yield f"entry {new.n} says once more what entry {old.n} says; take one back: carecal undo {new.n}"


def _of_ids(collection: Collection) -> Iterator[str]:
    """Yield where the index of ids is not what the journal says, and where lines cannot be written out."""
    stored = {number: name for name, number in collection.journal.ids().items()}
    told = {number: line.id for number, line in collection.timeline(date.max).plants.items()}
    for number in sorted(stored.keys() | told.keys()):
        if stored.get(number) != told.get(number):
            index, journal = stored.get(number), told.get(number)
            yield f"plant {number}: its id is '{index}' in the index and '{journal}' in the journal"
    try:
        for _ in journal_lines(collection.journal.records()):
            pass
    except CarecalError as error:
        yield f"journal: {error}"


def _of_plans(
    collection: Collection, catalog: Catalog, now: Now, progress: Callable[[int], None] | None
) -> Iterator[str]:
    """Yield the plants whose plan cannot be computed, each in both groupings."""
    timeline = collection.timeline(now.day)
    for done, number in enumerate(sorted(timeline.plants), 1):
        name = timeline.plants[number].id
        try:
            planner = Planner(collection.timeline(now.day, plants={number}), catalog, collection.id)
            for grouping in ("rounds", "each"):
                planner.plan(grouping)
        except (CarecalError, ArithmeticError, LookupError, TypeError, ValueError) as error:
            yield f"plant {name}: no plan can be computed: {type(error).__name__} {error}"
        if progress is not None:
            progress(done)


def _of_ledgers(collection: Collection) -> Iterator[str]:
    """Yield what is wrong with the ledgers: rows without bytes or with those of another component."""
    connection = collection.journal.connection
    with storage_errors(connection):
        names = [
            row[0] for row in connection.execute("select distinct calendar from ledger order by calendar")
        ]
        known = {calendar.key for calendar in subscriptions.listing(connection) if calendar.is_live}
    for name in names:
        if name.startswith("name/") and name not in known:
            yield f"ledger {name}: its calendar was revoked"
        rows = connection.execute(
            "select uid, digest, sequence, body from ledger where calendar = ?", (name,)
        )
        for uid, digest, sequence, body in rows:
            fault = _ledger_fault(uid, sequence, body) if digest and uid != HEAD else ""
            if fault:
                yield f"ledger {name}: {uid}: {fault}"


def _ledger_fault(uid: str, sequence: int, body: bytes) -> str:
    unfolded = body.replace(b"\r\n ", b"")
    if f"\r\nUID:{uid}\r\n".encode() not in unfolded:
        return "its bytes are not those of this component"
    if f"\r\nSEQUENCE:{sequence}\r\n".encode() not in unfolded:
        return f"its bytes have another sequence than {sequence}"
    return ""


def status_of(collection: Collection, now: Now) -> dict[str, Any]:
    """Return how a collection stands: its size, its newest entry, its calendars, its clock."""
    journal = collection.journal
    timeline = collection.timeline(now.day)
    newest = journal.record(journal.head()) if journal.head() else None
    with storage_errors(journal.connection):
        version = int(journal.connection.execute("pragma user_version").fetchone()[0])
        calendars = [known for known in subscriptions.listing(journal.connection) if known.is_live]
        kept = {known.id: subscriptions.read_published(journal.connection, known.id) for known in calendars}
    shown = []
    for known in calendars:
        last = kept[known.id]
        shown.append(
            {
                "name": known.name,
                "published": last.validators.as_of.isoformat() if last else None,
                "fetched": known.fetched.isoformat() if known.fetched else None,
                "note": (last.note if last else "") or None,
            }
        )
    return {
        "collection": {
            "id": collection.id,
            "name": timeline.facts.name,
            "timezone": named_zone(journal.connection),
        },
        "folder": str(collection.folder),
        "program": __version__,
        "format": version,
        "as_of": now.day.isoformat(),
        "plants": len(timeline.living()),
        "left": len(timeline.plants) - len(timeline.living()),
        "places": len(timeline.facts.places),
        "entries": journal.head(),
        "newest": {"entry": newest.n, "written": newest.written, "by": newest.by} if newest else None,
        "size_mb": round(sum(p.stat().st_size for p in collection.folder.glob("collection.db*")) / 1e6, 2),
        "calendars": shown,
        "clock": zone_doubt(named_zone(journal.connection)) or clock_doubt(collection, now) or None,
    }
