"""The past of a calendar: what really was done, 60 days back. Assumed and missed cares are not drawn."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from carecal.calendars.content import Content, Part
from carecal.calendars.selection import Selection, newest
from carecal.calendars.uids import done_key, entry_key
from carecal.plan.model import Fact
from carecal.wording.clean import clean_line
from carecal.wording.dates import day_text
from carecal.wording.tasks import done_count, done_summary, done_word, joined, name_of

__all__ = ["by_day", "categories", "day_content", "day_parts", "entry_parts", "fact_line", "shown_facts"]


def shown_facts(selection: Selection) -> list[Fact]:
    """Return the facts of the last 60 days that the options let through, by (day, entry)."""
    since, as_of, is_filtered = selection.since, selection.plan.as_of, selection.options.is_filtered
    facts = [
        fact
        for fact in selection.plan.facts
        if since <= fact.on <= as_of
        and selection.knows(fact.plant)
        and (not is_filtered or selection.shows(fact.plant, fact.care))
    ]
    return sorted(facts, key=lambda fact: (fact.on, fact.entry))


def entry_parts(selection: Selection) -> Iterator[Part]:
    """Yield one event an entry, for the grouping `each`."""
    for fact in shown_facts(selection):
        view = selection.plan.plant(fact.plant)
        content = Content(
            kind="VEVENT",
            summary=done_summary(fact.care, name_of(view)),
            start=fact.on,
            description="; ".join(part for part in (f"Done {day_text(fact.on)}", fact.text) if part) + ".",
            categories=(*categories([fact]), "DONE"),
            plant=view.id,
            url=selection.plant_url(view),
        )
        yield Part(entry_key(fact.entry), content, fact.written)


def categories(facts: Sequence[Fact]) -> list[str]:
    """Return the cares of facts in capitals, sorted; what was looked at and left was an inspection."""
    return sorted({"INSPECTION" if fact.care == "left" else fact.care.upper() for fact in facts})


def by_day(facts: list[Fact]) -> list[list[Fact]]:
    """Return facts sorted by day as one list a day."""
    days: list[list[Fact]] = []
    for fact in facts:
        if days and days[-1][0].on == fact.on:
            days[-1].append(fact)
        else:
            days.append([fact])
    return days


def day_parts(selection: Selection) -> Iterator[Part]:
    """Yield one event a day, for the grouping `rounds`."""
    for facts in by_day(shown_facts(selection)):
        yield selection.made.record(facts, partial(_day_part, selection))


def _day_part(selection: Selection, facts: Sequence[Fact]) -> Part:
    content, basis = day_content(selection, facts), newest(fact.written for fact in facts)
    return Part(done_key(facts[0].on), content, basis, content.digest(selection.plan.timezone))


def day_content(selection: Selection, facts: Sequence[Fact]) -> Content:
    """Return the record of one day."""
    plants = {fact.plant for fact in facts}
    only = selection.plan.plant(facts[0].plant) if len(plants) == 1 else None
    summary = done_count(fact.care for fact in facts)
    if only is not None and len(facts) == 1:
        summary = done_summary(facts[0].care, name_of(only))
    return Content(
        kind="VEVENT",
        summary=summary,
        start=facts[0].on,
        description=joined(fact_line(selection, fact) for fact in facts),
        categories=(*categories(facts), "DONE"),
        plant=only.id if only else "",
        url=selection.round_url(),
    )


def fact_line(selection: Selection, fact: Fact) -> str:
    """Return one fact as a line, as 'Tide: watered; felt right'."""
    text = clean_line(fact.text)
    done = f"{name_of(selection.plan.plant(fact.plant))}: {done_word(fact.care)}"
    return f"{done}; {text}" if text else done
