"""Collection: the one door to a grower's plants for command line, page and Python."""

from __future__ import annotations

from datetime import date
from functools import cached_property
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, Self

from carecal.app.lazy import LazyModule
from carecal.app.now import Now, real_now
from carecal.app.store import cached, keep, secret, zone_of
from carecal.collection.journal import Journal
from carecal.errors import StorageError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from collections.abc import Collection as Set
    from types import TracebackType

    from carecal.app import engine
    from carecal.app.near import shelf as near
    from carecal.catalog.tables import Catalog
    from carecal.collection.entries import CollectionStarted, Entry
    from carecal.collection.records import Record
    from carecal.collection.timeline import Timeline
    from carecal.plan.model import Grouping, Plan
    from carecal.planning.planner import Planner
else:
    engine = LazyModule("carecal.app.engine")
    near = LazyModule("carecal.app.near.shelf")

__all__ = ["Collection", "Outcome"]

CATALOG_KEY = "catalog"
ANSWERED, TRIED = 2, 5  # our choice: lines on what changes, of a command and of a trial


class Outcome(NamedTuple):
    """What a writing command did: its records, and what they changed in the coming plan, in words.

    Attributes:
        records: What was written.
        consequences: What it changed, summed by cause.
        is_written: Whether it was; else it was a trial.
        said: What was done and comes next, in plant words.
        changes: What changed for the plants, in plant words, the weightiest first.
    """

    records: tuple[Record, ...]
    consequences: tuple[str, ...]
    is_written: bool
    said: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()

    @property
    def changed(self) -> list[str]:
        """The weightiest changes, the last line with how many more there are: a trial is asked for them."""
        most = ANSWERED if self.is_written else TRIED
        shown = list(self.changes[:most])
        if len(self.changes) > most:
            shown[-1] += f" ({len(self.changes) - most} more such)"
        return shown

    @property
    def following(self) -> list[str]:
        """What comes next and what changed most, for a page whose heading says what was done."""
        return [*(line for line in self.said if line.startswith("Next:")), *self.changed]

    @property
    def command(self) -> int:
        """Number of the command."""
        return self.records[0].command


class Collection:
    """One grower's plants, places, journal and settings: one folder on disk.

    Args:
        journal: The open journal of the folder.
    """

    def __init__(self, journal: Journal) -> None:
        self.journal = journal
        self._known = _head_of(journal)  # newest entry that what is said here rests on

    @classmethod
    def open(cls, folder: str | Path, *, readonly: bool = False) -> Self:
        """Open the collection of a folder.

        Raises:
            StorageError: there is none, it is newer, locked or damaged.
        """
        return cls(Journal.open(Path(folder), readonly=readonly))

    @classmethod
    def start(
        cls, folder: str | Path, entry: CollectionStarted, now: Now | None = None, *, by: str = "owner"
    ) -> Self:
        """Make a collection in a folder and write its first entry; one that was cut off before it is taken up.

        Raises:
            Refused: a collection stands there already.
            StorageError: the folder cannot be written.
        """
        moment = now or real_now(entry.timezone)
        journal = Journal.begin(Path(folder))
        journal.append([entry], by=by, written=moment.written, clock=moment.clock)
        return cls(journal)

    def close(self) -> None:
        """Close the files."""
        self.journal.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def folder(self) -> Path:
        """The collection's folder."""
        return self.journal.folder

    @cached_property
    def id(self) -> str:
        """Random id of the collection; names of calendar events are made in it."""
        return secret(self.journal.connection, "namespace") or ""

    @cached_property
    def catalog(self) -> Catalog:
        """Profiles and tables, the grower's own included; kept checked under the digest of the files."""
        digest = engine.files_digest(self.folder)
        kept = cached(self.journal.connection, CATALOG_KEY, digest)
        if kept is not None:
            try:
                return engine.catalog_from_json(kept)
            except ValueError:
                pass  # written by a version with other columns: read the files anew
        load = import_module("carecal.catalog.load").load_catalog  # pydantic: only when a file has changed
        catalog: Catalog = load(self.folder)
        keep(self.journal.connection, CATALOG_KEY, digest, engine.catalog_to_json(catalog))
        return catalog

    def number_of(self, plant: str) -> int:
        """Return the number of a plant by its present id.

        Raises:
            UnknownName: no plant has it; names the near ones.
        """
        return self.journal.number_of(plant)

    def timeline(
        self, as_of: date, *, plants: Set[int] | None = None, records: Sequence[Record] | None = None
    ) -> Timeline:
        """Return the journal's fold on a day, of all plants or of some.

        Args:
            as_of: The day.
            plants: Plant numbers; None: all.
            records: Records to fold instead of the journal's own.
        """
        stages = sorted(self.catalog.stages.values(), key=lambda stage: stage.order)
        reservoirs = frozenset(name for name, row in self.catalog.containers.items() if row.has_reservoir)
        return engine.fold(
            records if records is not None else self.journal.records(plants), as_of, stages, reservoirs
        )

    def planner(
        self,
        as_of: date,
        *,
        until: date | None = None,
        plants: Set[int] | None = None,
        records: Sequence[Record] | None = None,
        progress: Callable[[int], None] | None = None,
    ) -> Planner:
        """Return the planner of a day; its plant planners hold the parts a plan is made of."""
        timeline = self.timeline(as_of, plants=plants, records=records)
        came = [self.journal.first_day(), *(r.on for r in records or () if r.kind == "added")]
        first = min((day for day in came if day is not None and day <= as_of), default=as_of)
        return engine.Planner(timeline, self.catalog, self.id, until, progress, first)

    def plan(
        self,
        as_of: date | None = None,
        *,
        until: date | None = None,
        start: date | None = None,
        grouping: Grouping = "rounds",
        plants: Set[int] | None = None,
        progress: Callable[[int], None] | None = None,
    ) -> Plan:
        """Return the plan of a day.

        Args:
            as_of: The day; None: today in the collection's zone.
            until: Last day; None: the last day of the twelfth month after as_of's month.
            start: First day that tasks and rounds tell, also in the past; None: as_of.
            grouping: 'rounds' or 'each'.
            plants: Plant numbers; None: all.
            progress: Called after each plant with how many are done.
        """
        day = as_of or self.now().day
        horizon = engine.horizon_of(day)
        last = until or horizon
        planner = self.planner(day, until=max(last, horizon), plants=plants, progress=progress)
        whole = planner.plan(grouping, start=min(start, day) if start is not None else None)
        return (
            whole if last >= horizon and (start or day) <= day else engine.narrowed(whole, start or day, last)
        )

    def now(self) -> Now:
        """Return the present moment in the collection's zone."""
        return real_now(zone_of(self.journal.connection))

    def record(
        self,
        *entries: Entry,
        now: Now | None = None,
        by: str = "owner",
        dry: bool = False,
        apart: bool = False,
        progress: Callable[[int], None] | None = None,
    ) -> Outcome:
        """Write entries as one command, or each as its own, and say what they change in the coming plan.

        Args:
            entries: At least one entry.
            now: The moment; None: the real one.
            by: Who says so.
            dry: Only tell what would change; nothing is written.
            apart: Whether each entry is a command of its own, to be taken back alone; all are written, or none.
            progress: Called with how many plans of a plant are made; each plant is planned twice.

        Raises:
            AlreadyDone: somebody else has said the same since this collection was opened, or last written to;
                nothing is written.
            Refused: an entry names something unknown or contradicts what is known; nothing is written.
            StorageError: the file cannot be written.
        """
        moment = now or self.now()
        entries = self._taught(entries)
        trial = self.journal.preview(entries, by=by, written=moment.written, clock=moment.clock)
        self._check_once(trial, moment)
        plants = self.journal.concerned(trial)
        before = self.journal.records(plants)
        old = self._planned(before, moment.day, progress)
        former = old.plan("rounds", plants=plants) if old is not None else None
        done = len(former.plants) if former is not None else 0
        onward = None if progress is None else lambda count: progress(done + count)
        new = self._planned([*before, *trial], moment.day, onward)
        if old is not None and new is not None:
            new.context.share_air(old.context)
        later = new.plan("rounds", plants=plants) if new is not None else None  # else nothing is written
        told = tuple(engine.consequences(former, later))
        said, changed = map(tuple, engine.answer(trial, before, former, later))
        if dry:
            return Outcome(trial, told, is_written=False, said=said, changes=changed)
        made = self.journal.append(
            entries,
            by=by,
            written=moment.written,
            clock=moment.clock,
            apart=apart,
            check=lambda records: self._check_once(records, moment),
        )
        self._known = made[-1].n
        if new is not None and plants is not None and made[-1].n == trial[-1].n:
            near.follow(self, moment.day, engine.Planned(new, plants, [*before, *trial]))
        return Outcome(made, told, is_written=True, said=said, changes=changed)

    def _check_once(self, made: tuple[Record, ...], now: Now) -> None:
        """Refuse what others have said since what it rests on was read; whoever insists may say it once more.

        Raises:
            AlreadyDone: Somebody was first.
        """
        others = [record for record in self.journal.since(self._known) if record.n < made[0].n]
        if not others:
            return
        found = engine.said_already(made, others)
        if found is not None:
            self._known = others[-1].n
            raise engine.already(
                self.journal, *found, now, is_one=len({record.plant for record in made}) == 1
            )

    def _taught(self, entries: Sequence[Entry]) -> tuple[Entry, ...]:
        """Return the entries, a coming, potting or move with what neighbours have taught (models K4)."""
        if not any(entry.kind in engine.TAUGHT_KINDS for entry in entries):
            return tuple(entries)
        return tuple(engine.with_priors(entries, self.planner, self.number_of))

    def _planned(
        self, records: Sequence[Record], day: date, progress: Callable[[int], None] | None
    ) -> Planner | None:
        if not any(record.kind == "collection" and record.on <= day for record in records):
            return None
        return self.planner(day, records=records, progress=progress)


def _head_of(journal: Journal) -> int:
    try:
        return journal.head()
    except StorageError:
        return 0  # whoever reads of it is told what is wrong
