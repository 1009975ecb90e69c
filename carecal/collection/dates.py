"""Dates as people type them, in a closed grammar: what may be read in two ways is refused, never guessed.

Read are `2026-11-25`, `today`, `yesterday`, `tomorrow`, `3 days ago`, `2 weeks ago`, `in 3 days`, `in 2 weeks`,
`next friday`, `last friday` (never today), `1 November`, `November 1`, both also with a year; `21.9.`, `21/9/2026`
where the other reading is no date; of what happened, `3 months ago`, `2 years ago` and `September 2024`, its middle.
"""

from __future__ import annotations

import re
from calendar import isleap, monthrange
from datetime import date, timedelta
from typing import Literal, NamedTuple

from carecal.collection.entry_limits import FIRST_YEAR, LAST_YEAR
from carecal.errors import Refused

__all__ = ["Use", "YearlySpan", "parse_day", "parse_span", "parse_yearly_span"]

Use = Literal["on", "ahead", "from", "until"]
FORMS = (
    "write 2026-11-25, 25 November, 25 November 2026, today, yesterday, tomorrow, 3 days ago, in 2 weeks,"
    " last friday or next friday"
)
_MONTHS = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_NEAR_DAYS = {"today": 0, "yesterday": -1, "tomorrow": 1}
_ISO = re.compile(r"(\d{4})-(\d{2})-(\d{2})", re.ASCII)
_AGO = re.compile(r"(\d{1,4}) (day|week)s? ago", re.ASCII)
_LONG_AGO = re.compile(r"(\d{1,3}|an?) (month|year)s? ago", re.ASCII)
_MONTH_YEAR = re.compile(r"([a-z]+) (\d{4})", re.ASCII)
LAST_MONTH = 12
MIDDLE = 15  # our choice, because a month alone is off by half a month at most then
_IN = re.compile(r"in (\d{1,4}) (day|week)s?", re.ASCII)
_WEEKDAY = re.compile(r"(next|last) ([a-z]+)")
_DAY_MONTH = re.compile(r"(\d{1,2}) ([a-z]+)(?:,? (\d{4}))?", re.ASCII)
_MONTH_DAY = re.compile(r"([a-z]+) (\d{1,2})(?:,? (\d{4}))?", re.ASCII)
_NUMBERS = re.compile(r"(\d{1,2})[/.-] ?(\d{1,2})(?:[/.-] ?(\d{2}|\d{4})?)?", re.ASCII)


class _MonthDay(NamedTuple):
    """A day without a year."""

    month: int
    day: int

    def in_year(self, year: int) -> date:
        if self == _MonthDay(2, 29) and not isleap(year):
            raise Refused(f"there is no 29 February {year}; write 28 February or 1 March")
        return date(year, self.month, self.day)

    def behind(self, day: date) -> date:
        """Return the newest such day that is not after a day."""
        return self.in_year(day.year - ((self.month, self.day) > (day.month, day.day)))

    def ahead(self, day: date) -> date:
        """Return the first such day that is not before a day."""
        return self.in_year(day.year + ((self.month, self.day) < (day.month, day.day)))

    def nearest(self, day: date) -> date:
        """Return the nearest such day, of two equally near the one ahead."""
        behind, ahead = self.behind(day), self.ahead(day)
        return behind if day - behind < ahead - day else ahead


def parse_day(text: str, *, today: date, use: Use = "on", span_from: date | None = None) -> date:
    """Return the day that a text names.

    Args:
        text: What was typed.
        today: The day from which words count.
        use: What the day is for, which decides the year where none is written: `on` takes the newest such day
            up to today, `ahead` the first from today on, `from` (of an open span) the nearest, `until` the first
            from `span_from` on.
        span_from: The first day of the span that `until` ends; today when it is None.

    Raises:
        Refused: When the text has none of the forms, may be read in two ways, or names no possible day.
    """
    found = (_long_ago(text, today) if use == "on" else None) or _parse(text, today)
    if isinstance(found, date):
        return found
    if use == "on":
        return found.behind(today)
    if use == "from":
        return found.nearest(today)
    return found.ahead(span_from if use == "until" and span_from is not None else today)


def parse_span(
    start: str | None, until: str | None, *, today: date, may_be_past: bool = False
) -> tuple[date, date | None]:
    """Return the first and last day of a span, both included; without years the span that holds today, else the next.

    Args:
        start: First day as typed; None for today.
        until: Last day as typed; None for a span without end.
        today: The day from which words count.
        may_be_past: Whether the span may lie wholly behind.

    Raises:
        Refused: When a day cannot be read, the last lies before the first, or the span behind today.
    """
    if until is None:
        return (today if start is None else parse_day(start, today=today, use="from")), None
    first = today if start is None else _parse(start, today)
    last = _parse(until, today)
    if isinstance(first, _MonthDay):
        first = _first_day(first, last, today)
    if isinstance(last, _MonthDay):
        last = last.ahead(first)
    _check_span(first, last, today, may_be_past=may_be_past)
    return first, last


class YearlySpan(NamedTuple):
    """A span of every year by its first occurrence; the pairs keep a 29 February where the year has none."""

    start: date
    until: date
    start_month_day: str  # as '11-01'
    until_month_day: str


def parse_yearly_span(start: str | None, until: str, *, today: date) -> YearlySpan:
    """Return a span of every year: the occurrence that holds today, else the next; 29 February is the last of February.

    Raises:
        Refused: When a day cannot be read, the last lies before the first, or they are a year or more apart.
    """
    first = today if start is None else _parse(start, today)
    last = _parse(until, today)
    pairs = [f"{day.month:02d}-{day.day:02d}" for day in (first, last)]
    begin = _begin_of_yearly(first, last, today)
    end = _at_or_after(last, begin) if isinstance(last, _MonthDay) else last
    _check_span(begin, end, today, may_be_past=False)
    if (end - begin).days >= 365:
        raise Refused(f"{begin} to {end} is a year or more; a yearly pause is shorter")
    return YearlySpan(begin, end, pairs[0], pairs[1])


def _begin_of_yearly(first: date | _MonthDay, last: date | _MonthDay, today: date) -> date:
    if isinstance(first, date):
        return first
    if isinstance(last, date):
        return _softened(first, last.year - ((first.month, first.day) > (last.month, last.day)))
    for year in (today.year - 1, today.year):
        begin = _softened(first, year)
        if _at_or_after(last, begin) >= today:
            return begin
    return _softened(first, today.year + 1)


def _softened(day: _MonthDay, year: int) -> date:
    return date(year, day.month, min(day.day, monthrange(year, day.month)[1]))


def _at_or_after(day: _MonthDay, begin: date) -> date:
    found = _softened(day, begin.year)
    return found if found >= begin else _softened(day, begin.year + 1)


def _first_day(first: _MonthDay, last: date | _MonthDay, today: date) -> date:
    if isinstance(last, date):
        return first.behind(last)
    begin = first.behind(today)
    return begin if last.ahead(begin) >= today else first.ahead(today)


def _check_span(first: date, last: date, today: date, *, may_be_past: bool) -> None:
    if last < first:
        raise Refused(f"the last day {last} is before the first, {first}; the last day is included")
    if last < today and not may_be_past:
        raise Refused(f"{first} to {last} is past; allowed is a span that includes {today} or lies ahead")


def _single_spaced(text: str) -> str:
    return " ".join(text.split())


def _parse(text: str, today: date) -> date | _MonthDay:
    text = _single_spaced(text)
    words = text.casefold()
    for read in (_iso, _relative, _weekday):
        found = read(text, words, today)
        if found is not None:
            return found
    month_day = _month_day(text, words) or _by_numbers(text, words)
    if month_day is not None:
        return month_day
    raise Refused(_why_not(text, words))


def _iso(text: str, words: str, _: date) -> date | None:
    match = _ISO.fullmatch(words)
    return _day(text, *map(int, match.groups())) if match else None


def _relative(text: str, words: str, today: date) -> date | None:
    if words in _NEAR_DAYS:
        return today + timedelta(days=_NEAR_DAYS[words])
    for pattern, sign in ((_AGO, -1), (_IN, 1)):
        match = pattern.fullmatch(words)
        if match:
            days = int(match[1]) * (7 if match[2] == "week" else 1)
            return _in_range(text, today + sign * timedelta(days=days))
    return None


def _weekday(text: str, words: str, today: date) -> date | None:
    match = _WEEKDAY.fullmatch(words)
    if not match:
        return None
    weekday = _named(match[2], _WEEKDAYS)
    if weekday is None:
        raise Refused(f"'{text}' names no weekday; {FORMS}")
    ahead = (weekday - today.weekday() - 1) % 7 + 1
    behind = (today.weekday() - weekday - 1) % 7 + 1
    return today + timedelta(days=ahead if match[1] == "next" else -behind)


def _month_day(text: str, words: str) -> date | _MonthDay | None:
    match = _DAY_MONTH.fullmatch(words)
    day, name, year = match.groups() if match else ("", "", None)
    if not match:
        match = _MONTH_DAY.fullmatch(words)
        name, day, year = match.groups() if match else ("", "", None)
    month = _named(name, _MONTHS) if match else None
    if month is None:
        return None
    if year is not None:
        return _day(text, int(year), month + 1, int(day))
    _day(text, 2000, month + 1, int(day))  # a leap year, so that 29 February is a day
    return _MonthDay(month + 1, int(day))


def _by_numbers(text: str, words: str) -> date | _MonthDay | None:
    """Return the day of two numbers of which one alone can be the month, as 21.9.; what may be two is none."""
    match = _NUMBERS.fullmatch(words)
    if not match:
        return None
    a, b, year = int(match[1]), int(match[2]), match[3]
    if 1 <= a <= LAST_MONTH and 1 <= b <= LAST_MONTH and a != b:
        return None
    day, month = (a, b) if b <= LAST_MONTH else (b, a)
    if month > LAST_MONTH or (year is not None and len(year) == 2):
        return None
    if year is not None:
        return _day(text, int(year), month, day)
    _day(text, 2000, month, day)
    return _MonthDay(month, day)


def _long_ago(text: str, today: date) -> date | None:
    """Return the day of a time long ago, as somebody remembers it: months and years back, or the middle of a month."""
    words = _single_spaced(text).casefold()
    match = _LONG_AGO.fullmatch(words)
    if match:
        count = 1 if match[1].startswith("a") else int(match[1])
        months = today.year * 12 + today.month - 1 - count * (12 if match[2] == "year" else 1)
        year, month = months // 12, months % 12 + 1
        if year < 1:
            raise Refused(f"'{text}' is too far away; allowed are the years {FIRST_YEAR} to {LAST_YEAR}")
        return _in_range(text, date(year, month, min(today.day, monthrange(year, month)[1])))
    match = _MONTH_YEAR.fullmatch(words)
    named = _named(match[1], _MONTHS) if match else None
    if match is None or named is None:
        return None
    middle = _day(text, int(match[2]), named + 1, MIDDLE)
    same = (middle.year, middle.month) == (today.year, today.month)
    return min(middle, today) if same else middle


def _named(word: str, names: tuple[str, ...]) -> int | None:
    """The place of a name among others, also by its first three letters."""
    return next((i for i, name in enumerate(names) if word in {name, name[:3]}), None)


def _day(text: str, year: int, month: int, day: int) -> date:
    try:
        return _in_range(text, date(year, month, day))
    except ValueError as error:
        raise Refused(f"'{text}': there is no such day") from error


def _in_range(text: str, day: date) -> date:
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise Refused(f"'{text}' is too far away; allowed are the years {FIRST_YEAR} to {LAST_YEAR}")
    return day


def _why_not(text: str, words: str) -> str:
    match = _NUMBERS.fullmatch(words)
    shown = text if len(text) <= 40 and text.isprintable() else ascii(text[:40])[1:-1] + "…"
    if match:
        a, b = int(match[1]), int(match[2])
        if 1 <= a <= LAST_MONTH and 1 <= b <= LAST_MONTH and a != b:
            months = [name.capitalize() for name in _MONTHS]
            return f"'{shown}' may be {a} {months[b - 1]} or {b} {months[a - 1]}; {FORMS}"
    return f"'{shown}' cannot be read as a date; {FORMS}"
