"""Pauses and absences as entries: they run by themselves, the last day included."""

from __future__ import annotations

from typing import TYPE_CHECKING, get_args

from carecal.app.command_context import CommandContext, one_of
from carecal.app.make_entries import make_entry
from carecal.collection.entries import AwayAdded, AwayEnded, Paused, Resumed
from carecal.collection.entry_base import PausedCare
from carecal.errors import Refused, option
from carecal.planning.pauses import pause_spans
from carecal.planning.spans import covers
from carecal.wording.dates import day_text, span_text

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.entries import Entry
    from carecal.collection.plants import PlantHistory

__all__ = ["PAUSED_CARES", "away_add", "away_end", "pause", "resume"]

PAUSED_CARES: tuple[str, ...] = get_args(PausedCare)
_EACH_CARE = tuple(care for care in PAUSED_CARES if care != "all")
LONGEST_YEARLY = 365  # [d]


def pause(
    collection: Collection,
    now: Now,
    care: str,
    ids: Sequence[str] = (),
    *,
    place: str | None = None,
    start: date | None = None,
    until: date | None = None,
    every_year: bool = False,
    start_month_day: str | None = None,
    until_month_day: str | None = None,
) -> list[Entry]:
    """Return the entry of a pause of plants, of a place, or of the whole collection.

    Args:
        collection: The collection.
        now: The moment of the command.
        care: The care, or all.
        ids: Ids of the plants; none: the whole collection, or all of a place.
        place: Only while a plant stands at this place.
        start: First day; None: today. It may lie behind if the span holds today.
        until: Last day, included; None: until it is resumed.
        every_year: Whether the two are month-day pairs of every year.
        start_month_day: The first pair as it was said, as '02-29'; None: that of `start`.
        until_month_day: The last one.

    Raises:
        UnknownName: A plant or the place is not known.
        Refused: The span lies behind, ends before it begins, or is no part of a year.
    """
    one_of("care", care, PAUSED_CARES)
    context = _context(collection, now, ids)
    if place is not None:
        context.place(place)
    first = start or now.day
    if until is not None and until < first:
        raise Refused(f"the last day {until} is before the first, {first}; the last day is included")
    if until is not None and until < now.day:
        raise Refused(f"{first} to {until} is past; allowed is a span that includes {now.day} or lies ahead")
    if every_year and until is None:
        raise Refused(f"a yearly pause needs its last day; give {option('until')}")
    if every_year and until is not None and (until - first).days >= LONGEST_YEARLY:
        raise Refused(f"{first} to {until} is a year or more; a yearly pause is shorter")
    plants = _named(context)
    _check_new_pause(context, care, place, first, until, every_year=every_year)
    return [
        make_entry(
            Paused,
            on=now.day,
            care=care,
            plants=plants,
            place=place,
            start=first,
            until=until,
            every_year=every_year,
            start_month_day=start_month_day,
            until_month_day=until_month_day,
        )
    ]


def resume(
    collection: Collection,
    now: Now,
    care: str,
    ids: Sequence[str] = (),
    *,
    place: str | None = None,
    on: date | None = None,
    for_good: bool = False,
) -> list[Entry]:
    """Return the entry that ends the pause which runs on a day, of a yearly one this year's.

    Args:
        collection: The collection.
        now: The moment of the command.
        care: The care, or all.
        ids: Ids of the plants; none: the whole collection, or all of a place.
        place: Only the plants of this place.
        on: First day on which the care goes on, also one ahead; None: today.
        for_good: Whether a yearly pause ends for all years.

    Raises:
        UnknownName: A plant or the place is not known.
        Refused: No such pause runs on that day.
    """
    one_of("care", care, PAUSED_CARES)
    context = _context(collection, now, ids)
    if place is not None:
        context.place(place)
    day = on or now.day
    cares = _EACH_CARE if care == "all" else (care,)
    lines = [line for line in context.lines if line.retired is None]
    if not any(_runs(context, line, each, day) for line in lines for each in cares) and not (
        for_good and any(p.every_year and p.care in {*cares, "all"} for p in context.timeline.facts.pauses)
    ):
        whom = ", ".join(context.ids) if context.ids else place or "the collection"
        raise Refused(f"no pause of {care} runs on {day} for {whom}", command="pause list")
    said, ahead = (now.day, day) if day > now.day else (day, None)
    return [
        make_entry(
            Resumed, on=said, care=care, plants=_named(context), place=place, for_good=for_good, day=ahead
        )
    ]


def _check_new_pause(
    context: CommandContext,
    care: str,
    place: str | None,
    first: date,
    until: date | None,
    *,
    every_year: bool,
) -> None:
    """Refuse a pause that stands already, word for word, and still runs or lies ahead."""
    facts = context.timeline.facts
    plants = None if context.ids is None else frozenset(line.number for line in context.lines)
    for pause in facts.pauses:
        same = (pause.care, pause.place, pause.start, pause.until, pause.every_year) == (
            care,
            place,
            first,
            until,
            every_year,
        )
        ended = any(r.entry > pause.entry and r.care in {care, "all"} for r in facts.resumes)
        if same and not ended and (None if pause.plants is None else frozenset(pause.plants)) == plants:
            span = span_text(first, until) if until else f"from {day_text(first)} on"
            raise Refused(f"that pause stands already: {care}, {span}; nothing was written")


def away_add(collection: Collection, now: Now, start: date, until: date, *, source: str = "") -> list[Entry]:
    """Return the entry of an absence, both days included.

    Raises:
        Refused: It ends before it begins, or stands there already.
    """
    if until < start:
        raise Refused(f"the last day {until} is before the first, {start}; the last day is included")
    for absence in CommandContext(collection, now, ()).timeline.facts.absences:
        if (absence.start, absence.until) == (start.toordinal(), until.toordinal()):
            raise Refused(f"you said already that nobody is there {span_text(start, until)}")
    return [make_entry(AwayAdded, on=now.day, start=start, until=until, source=source)]


def away_end(
    collection: Collection, now: Now, *, on: date | None = None, entry: int | None = None
) -> list[Entry]:
    """Return the entry that ends the absence which runs, or else the next one, the day before a day.

    Args:
        collection: The collection.
        now: The moment of the command.
        on: The day of return; None: today.
        entry: Which absence, by its entry; None: the one that runs, else the next.

    Raises:
        Refused: There is no such absence.
    """
    context = CommandContext(collection, now, ())
    day = context.fact_day(on)
    open_ones = [a for a in context.timeline.facts.absences if a.until >= day.toordinal()]
    if entry is not None:
        open_ones = [a for a in open_ones if a.entry == entry]
    if not open_ones:
        raise Refused(f"no absence runs or lies ahead on {day}" + (f" with entry {entry}" if entry else ""))
    return [make_entry(AwayEnded, on=day, entry=open_ones[0].entry)]


def _context(collection: Collection, now: Now, ids: Sequence[str]) -> CommandContext:
    return CommandContext(collection, now, ids or None)


def _named(context: CommandContext) -> tuple[str, ...] | None:
    """Return the ids that were named, each of a plant that is there; None: none was."""
    if context.ids is None:
        return None
    return tuple(line.id for line in context.alive(None)[1])


def _runs(context: CommandContext, line: PlantHistory, care: str, day: date) -> bool:
    today = day.toordinal()
    if line.entered > today:
        return False
    return covers(pause_spans(context.timeline.facts, line, care, line.entered, today), today)
