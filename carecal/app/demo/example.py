"""The example collection, written so that its log ends yesterday: same day, same entries (design §6)."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any
from zlib import crc32
from zoneinfo import ZoneInfo

from carecal.app.demo.grower import tend
from carecal.app.demo.story import STORIES, Story, read_story
from carecal.app.door import Collection
from carecal.app.now import Now
from carecal.catalog.load import load_catalog
from carecal.collection.entries import Entry, Observed, Readings, ReadingsDay
from carecal.collection.journal import stamp_of
from carecal.collection.records import Record
from carecal.collection.references import map_plants
from carecal.collection.timeline import fold
from carecal.planning.plan_context import PlanContext
from carecal.planning.rhythm.resting import rests_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from pathlib import Path

    from carecal.catalog.tables import Catalog
    from carecal.collection.timeline import Timeline

__all__ = ["STORIES", "write_demo"]

OWNER = "owner"
AHEAD_DAYS = 62  # windows and gates of yesterday look two months ahead [d]
MORNING, ROUND = time(8, 20), time(9, 0)  # what happened is said before the round of its day


def write_demo(
    folder: Path, now: Now, *, which: str = "harbour-house", latitude: float | None = None
) -> Collection:
    """Make a folder the example collection and return it; the same moment gives the same entries.

    Args:
        folder: The folder; no collection may stand in it.
        now: The moment of the command; the log ends the day before.
        which: 'harbour-house' or 'south'.
        latitude: Where it plays instead [degrees north]; its places then have the climate of their kinds.

    Raises:
        Refused: There is no such example, or a collection stands there already.
        StorageError: The folder cannot be written.
    """
    story = read_story(which, now.day, latitude)
    catalog = load_catalog()
    story.entries.extend(_rests_over(story, catalog))
    records = _records(story, [*story.entries, *_cares(story, catalog)])
    began = datetime.fromisoformat(records[0].written).astimezone(UTC)
    collection = Collection.start(folder, story.started, Now(records[0].on, began, began), by=OWNER)
    collection.journal.restore_records(records)
    return collection


def _rests_over(story: Story, catalog: Catalog) -> Iterator[Entry]:
    """Yield that each rest was seen to be over, on the day after the months in which its kind usually rests."""
    timeline = _fold(story, catalog)
    context = _scene(timeline, catalog, story.started.on, story.today)
    yesterday = story.today.toordinal() - 1
    for line in timeline.plants.values():
        last = yesterday if line.retired is None else min(yesterday, line.retired - 1)
        for rest in rests_of(line, context, line.entered, last):
            if not rest.is_told and rest.usual_end < last:
                yield Observed(on=date.fromordinal(rest.usual_end + 1), plant=line.id, rest="over")


def _cares(story: Story, catalog: Catalog) -> Iterator[Entry]:
    """Yield what the grower did for every plant, and what the logger read."""
    timeline = _fold(story, catalog)
    for line in timeline.plants.values():
        context = _scene(timeline, catalog, date.fromordinal(line.entered), story.today)
        yield from tend(line, context, story.habits[line.id], story.today)
    context = _scene(timeline, catalog, story.started.on, story.today)
    for row in story.readings:
        yield _readings(row, context, story.today)


def _fold(story: Story, catalog: Catalog) -> Timeline:
    stages = sorted(catalog.stages.values(), key=lambda stage: stage.order)
    reservoirs = frozenset(name for name, row in catalog.containers.items() if row.has_reservoir)
    return fold(_records(story, story.entries), story.today, stages, reservoirs)


def _scene(timeline: Timeline, catalog: Catalog, first: date, today: date) -> PlanContext:
    return PlanContext(timeline.facts, catalog, first, today + timedelta(days=AHEAD_DAYS))


def _readings(row: Mapping[str, Any], context: PlanContext, today: date) -> Entry:
    """Return a logger's days: the place's own climate, a little off."""
    days = []
    for back in range(int(row["days"]), 0, -1):
        day = today - timedelta(days=back)
        air = context.air(row["place"], day.toordinal())
        if air is None:
            continue
        wobble = crc32(day.isoformat().encode()) % 7 / 10 - 0.3  # [°C]
        high, low = (air.at(key, day.toordinal()) + row["warmer_c"] + wobble for key in ("day_c", "night_c"))
        rh = min(95.0, 55 + row["wetter_pct"] + 4 * wobble)
        days.append(
            ReadingsDay(
                day=day,
                temp_min_c=round(low, 1),
                temp_mean_c=round((high + low) / 2, 1),
                temp_max_c=round(high + 0.6, 1),
                rh_min_pct=round(rh - 5),
                rh_mean_pct=round(rh),
                rh_max_pct=round(rh + 6),
            )
        )
    return Readings(on=today - timedelta(days=1), place=row["place"], days=tuple(days))


def _records(story: Story, entries: Iterable[Entry]) -> list[Record]:
    """Return the journal of entries: by day, what happened before the round, each round one command."""
    zone = ZoneInfo(story.started.timezone)
    ordered = sorted(entries, key=lambda entry: (entry.on, _is_care(entry)))
    numbers: dict[str, int] = {}
    found: list[Record] = []
    counts: Counter[date] = Counter()
    command = 0
    for entry in [story.started, *ordered]:
        is_care = _is_care(entry)
        former = found[-1] if found else None
        if former is None or not is_care or former.on != entry.on or former.kind not in {"done", "left"}:
            command += 1
            counts[entry.on] += 1
        moment = datetime.combine(entry.on, ROUND if is_care else MORNING, zone)
        moment += timedelta(minutes=0 if is_care else counts[entry.on])
        if is_care:
            moment += timedelta(minutes=crc32(entry.on.isoformat().encode()) % 570)
        found.append(_record(len(found) + 1, command, entry, stamp_of(moment), numbers))
    return found


def _is_care(entry: Entry) -> bool:
    return entry.kind in {"done", "left"}


def _record(n: int, command: int, entry: Entry, written: str, numbers: dict[str, int]) -> Record:
    name = getattr(entry, "plant", None)
    fields = entry.model_dump(mode="json", exclude_none=True, exclude={"on", "plant"})
    data = map_plants(entry.kind, fields, numbers.__getitem__)
    if entry.kind == "added" and name is not None:
        numbers[name] = len(numbers) + 1
        data = {"id": name, **data}
    plant = None if name is None else numbers[name]
    return Record(n, command, entry.kind, plant, entry.on, written, OWNER, data)
