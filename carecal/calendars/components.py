"""A plan and options as the parts of a calendar, one after another; it builds no bytes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta

from carecal.calendars import each, records, rounds, steps, todos
from carecal.calendars.content import Content, Part
from carecal.calendars.made import MadeParts
from carecal.calendars.options import CalendarOptions
from carecal.calendars.selection import Selection
from carecal.calendars.uids import REFRESH
from carecal.plan.model import Plan
from carecal.wording.dates import day_text

__all__ = ["parts_of", "refresh_part"]

REFRESH_MONTHS, REFRESH_FROM = 2, 8
"""The warning stands on the first Monday from this day of the month that many months ahead. Source: our choice, because
a month's view shows a week of the month after it, and nobody needs a warning there while all is well."""


def parts_of(
    plan: Plan,
    options: CalendarOptions,
    *,
    public_url: str = "",
    cautions: Mapping[str, str] | None = None,
    look_for: Mapping[str, str] | None = None,
    made: MadeParts | None = None,
) -> Iterator[Part]:
    """Yield all parts of a calendar but the refresh event; where a key comes twice, the first one counts.

    Args:
        plan: The plan, of the options' grouping.
        options: What is shown and how.
        public_url: Address of the page; empty writes no links.
        cautions: Text of each caution by its code.
        look_for: What to look for at a plant, by its stage.
        made: What was written of days of the same with these options; taken up and brought up to date.

    Raises:
        ValueError: The plan is of another grouping than the options.
    """
    kept = made if made is not None else MadeParts()
    return _sources(
        Selection(plan, options, public_url.rstrip("/"), cautions or {}, look_for or {}, made=kept)
    )


def refresh_part(plan: Plan) -> Part:
    """Return the event that warns when refreshing stopped; it changes on Mondays only."""
    monday = plan.as_of - timedelta(days=plan.as_of.weekday())
    week = f"{day_text(monday)} {monday.year}"
    content = Content(
        kind="VEVENT",
        summary=f"This calendar has not been refreshed since the week of {week}",
        start=_warning_day(monday),
        description="What stands here may be out of date: look at the plants first, then see that refreshing runs.",
        categories=("REFRESH",),
    )
    return Part(REFRESH, content)


def _warning_day(monday: date) -> date:
    """Return the day of the warning: in no view of this month or the next."""
    months = monday.month - 1 + REFRESH_MONTHS
    first = date(monday.year + months // 12, months % 12 + 1, REFRESH_FROM)
    return first + timedelta(days=-first.weekday() % 7)


def _sources(selection: Selection) -> Iterator[Part]:
    """Yield the parts of the options' grouping and form."""
    match selection.options.form, selection.options.grouping:
        case "todos", "each":
            yield from todos.each_parts(selection)
        case "todos", _:
            yield from todos.round_parts(selection)
        case _, "each":
            yield from each.parts(selection)
            yield from steps.parts(selection)
            yield from records.entry_parts(selection)
        case _:
            yield from rounds.parts(selection)
            yield from steps.parts(selection)
            yield from records.day_parts(selection)
