"""Date words, by hand from a calendar: 25 November 2026 is a Wednesday, 2028 a leap year."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.collection.dates import parse_day, parse_span, parse_yearly_span
from carecal.errors import Refused

TODAY = date(2026, 11, 25)

READ = [
    ("2026-11-20", "2026-11-20", "ISO"),
    (" 2026-11-20 ", "2026-11-20", "blanks around"),
    ("today", "2026-11-25", "the day itself"),
    ("Today", "2026-11-25", "case does not count"),
    ("yesterday", "2026-11-24", "one back"),
    ("tomorrow", "2026-11-26", "one ahead"),
    ("1 day ago", "2026-11-24", "singular"),
    ("3 days ago", "2026-11-22", "plural"),
    ("0 days ago", "2026-11-25", "none is today"),
    ("2 weeks ago", "2026-11-11", "weeks"),
    ("in 1 day", "2026-11-26", "ahead"),
    ("in 3 weeks", "2026-12-16", "weeks ahead"),
    ("next friday", "2026-11-27", "two days ahead"),
    ("next wednesday", "2026-12-02", "never today"),
    ("next tue", "2026-12-01", "short name"),
    ("last wednesday", "2026-11-18", "never today"),
    ("last thursday", "2026-11-19", "six days back"),
    ("last  monday", "2026-11-23", "two blanks"),
    ("1 November 2025", "2025-11-01", "with a year"),
    ("november 1, 2025", "2025-11-01", "month first, with a comma"),
    ("29 February 2028", "2028-02-29", "a leap day that is"),
    ("21.9.2026", "2026-09-21", "numbers of which one alone is a month"),
]

LONG_AGO = [
    ("2 years ago", "2024-11-25", "the same day"),
    ("a year ago", "2025-11-25", "one of them"),
    ("3 months ago", "2026-08-25", "months"),
    ("9 months ago", "2026-02-25", "over no year's end"),
    ("September 2024", "2024-09-15", "the middle of a month"),
    ("nov 2026", "2026-11-15", "this month's middle, which lies behind"),
]

WITHOUT_A_YEAR = [
    ("21.9.", "on", None, "2026-09-21", "day and month, 21 being no month"),
    ("21. 9.", "on", None, "2026-09-21", "with a blank"),
    ("9/21", "on", None, "2026-09-21", "month first, 21 being no month"),
    ("4/4", "on", None, "2026-04-04", "the same either way"),
    ("25/11", "ahead", None, "2026-11-25", "today is ahead"),
    ("1 November", "on", None, "2026-11-01", "behind, this year"),
    ("November 1", "on", None, "2026-11-01", "month first"),
    ("25 November", "on", None, "2026-11-25", "today is behind"),
    ("26 nov", "on", None, "2025-11-26", "tomorrow's day lies a year behind"),
    ("26 November", "ahead", None, "2026-11-26", "ahead, this year"),
    ("25 November", "ahead", None, "2026-11-25", "today is ahead"),
    ("1 May", "ahead", None, "2027-05-01", "ahead, next year"),
    ("1 November", "from", None, "2026-11-01", "of an open span the nearest, behind"),
    ("1 December", "from", None, "2026-12-01", "of an open span the nearest, ahead"),
    ("28 February", "until", None, "2027-02-28", "the first from today on"),
    ("28 February", "until", date(2027, 11, 1), "2028-02-28", "the first from the span's first day on"),
    ("1 November", "until", date(2027, 11, 1), "2027-11-01", "a span of one day"),
    ("29 February", "until", date(2027, 11, 1), "2028-02-29", "a leap day that is"),
]

REFUSED = [
    ("3/4", "may be 3 April or 4 March", "two readings"),
    ("3.4.2026", "may be 3 April or 4 March", "two readings with a year"),
    ("03-04-26", "may be 3 April or 4 March", "two readings, two-digit year"),
    ("25/13", "cannot be read", "no month"),
    ("25.11.26", "cannot be read", "a year of two digits"),
    ("12", "cannot be read", "a bare number"),
    ("friday", "cannot be read", "which friday"),
    ("this friday", "cannot be read", "which friday"),
    ("next month", "no weekday", "not a weekday"),
    ("20260501", "cannot be read", "compact ISO"),
    ("2026-W48-3", "cannot be read", "week date"),
    ("2026-11-25T08:00", "cannot be read", "an instant is not a day"),
    ("2026-02-30", "no such day", "impossible"),
    ("2026-13-01", "no such day", "no such month"),
    ("31 April", "no such day", "impossible without a year"),
    ("29 February 2027", "no such day", "no leap year"),
    ("29 February", "there is no 29 February 2026", "behind lies a year without one"),
    ("0 November", "no such day", "day 0"),
    ("1 Novembre", "cannot be read", "another language"),
    ("1 no", "cannot be read", "two letters are no month"),
    ("1849-01-01", "1950 to 2150", "too far behind"),
    ("9999 weeks ago", "1950 to 2150", "too far behind"),
    ("-3 days ago", "cannot be read", "a sign"),
    ("３ days ago", "cannot be read", "other digits"),
    ("", "cannot be read", "nothing"),
    ("\x07" + "x" * 99, "cannot be read", "control characters are shown escaped"),
]


@pytest.mark.parametrize(("text", "expected", "reason"), READ)
@pytest.mark.parametrize("use", ["on", "ahead", "from", "until"])
def test_a_date_word_means_one_day_whatever_it_is_for(
    text: str, expected: str, reason: str, use: str
) -> None:
    """A form that fixes its year reads the same for every option."""
    assert parse_day(text, today=TODAY, use=use).isoformat() == expected, reason  # type: ignore[arg-type]  # the table


@pytest.mark.parametrize(("text", "expected", "reason"), LONG_AGO)
def test_what_happened_long_ago_is_said_as_it_is_remembered(text: str, expected: str, reason: str) -> None:
    """Months, years and a month alone; of a day ahead they say nothing."""
    assert parse_day(text, today=TODAY).isoformat() == expected, reason
    with pytest.raises(Refused, match="cannot be read"):
        parse_day(text, today=TODAY, use="ahead")


@pytest.mark.parametrize(("text", "use", "span_from", "expected", "reason"), WITHOUT_A_YEAR)
def test_a_day_without_a_year_takes_the_year_its_use_gives(
    text: str, use: str, span_from: date | None, expected: str, reason: str
) -> None:
    """The year is behind for what happened and follows the span for its ends."""
    found = parse_day(text, today=TODAY, use=use, span_from=span_from)  # type: ignore[arg-type]  # the table
    assert found.isoformat() == expected, reason


@pytest.mark.parametrize(("text", "message", "reason"), REFUSED)
def test_what_is_no_date_or_two_dates_is_refused_on_one_line(text: str, message: str, reason: str) -> None:
    """A refusal says what is wrong on one printable line."""
    with pytest.raises(Refused, match=message) as caught:
        parse_day(text, today=TODAY)
    assert str(caught.value).isprintable(), reason


def test_a_refusal_names_the_forms() -> None:
    """What cannot be read is answered with what can."""
    with pytest.raises(
        Refused, match=r"write 2026-11-25, 25 November, .* 3 days ago, in 2 weeks, last friday"
    ):
        parse_day("soon", today=TODAY)


SPANS = [
    ("1 November", "28 February", "2026-11-01", "2027-02-28", "2026-11-25", "holds today"),
    ("1 November", "28 February", "2026-11-01", "2027-02-28", "2027-02-28", "holds its last day"),
    ("1 November", "28 February", "2027-11-01", "2028-02-28", "2027-03-01", "over, so the next ahead"),
    ("1 November", "28 February", "2026-11-01", "2027-02-28", "2026-10-31", "the next ahead"),
    ("20 November", "1 December", "2026-11-20", "2026-12-01", "2026-11-25", "within one year"),
    ("1 March", "1 April", "2027-03-01", "2027-04-01", "2026-11-25", "ahead within one year"),
    ("2026-11-10", "1 December", "2026-11-10", "2026-12-01", "2026-11-25", "first day fixed"),
    ("1 November", "2027-02-10", "2026-11-01", "2027-02-10", "2026-11-25", "last day fixed"),
    ("tomorrow", "in 2 weeks", "2026-11-26", "2026-12-09", "2026-11-25", "words"),
    (None, "next friday", "2026-11-25", "2026-11-27", "2026-11-25", "no first day is today"),
    (None, "25 November", "2026-11-25", "2026-11-25", "2026-11-25", "today alone"),
    ("1 December", "1 December", "2026-12-01", "2026-12-01", "2026-11-25", "one day"),
    ("1 November", None, "2026-11-01", None, "2026-11-25", "open"),
    (None, None, "2026-11-25", None, "2026-11-25", "open from today"),
]


@pytest.mark.parametrize(("start", "until", "first", "last", "today", "reason"), SPANS)
def test_a_span_without_years_holds_today_or_is_the_next(
    start: str | None, until: str | None, first: str, last: str | None, today: str, reason: str
) -> None:
    """Both ends are included and follow each other."""
    found = parse_span(start, until, today=date.fromisoformat(today))
    assert found == (date.fromisoformat(first), date.fromisoformat(last) if last else None), reason


@pytest.mark.parametrize(
    ("start", "until", "message"),
    [
        ("2026-12-02", "2026-12-01", "2026-12-01 is before the first, 2026-12-02"),
        ("2026-11-01", "2026-11-24", "is past; allowed is a span that includes 2026-11-25"),
        (None, "yesterday", "is before the first"),
        ("1 November", "29 February", "there is no 29 February 2027"),
        ("1/2", "2026-12-01", "may be 1 February or 2 January"),
    ],
)
def test_an_impossible_span_is_refused(start: str | None, until: str, message: str) -> None:
    """A span runs forward and does not lie behind."""
    with pytest.raises(Refused, match=message):
        parse_span(start, until, today=TODAY)


def test_a_span_that_may_lie_behind_is_read() -> None:
    """An absence may be told afterwards."""
    assert parse_span("2026-11-01", "2026-11-05", today=TODAY, may_be_past=True) == (
        date(2026, 11, 1),
        date(2026, 11, 5),
    )


YEARLY = [
    ("1 November", "28 February", "2026-11-01", "2027-02-28", ("11-01", "02-28"), "over New Year"),
    ("1 November", "29 February", "2026-11-01", "2027-02-28", ("11-01", "02-29"), "the last of February"),
    ("29 February", "30 April", "2027-02-28", "2027-04-30", ("02-29", "04-30"), "from the last of February"),
    ("1 June", "31 August", "2027-06-01", "2027-08-31", ("06-01", "08-31"), "ahead"),
    ("2026-11-01", "28 February", "2026-11-01", "2027-02-28", ("11-01", "02-28"), "first day fixed"),
    ("1 November", "2028-02-29", "2027-11-01", "2028-02-29", ("11-01", "02-29"), "last day fixed"),
    (None, "31 January", "2026-11-25", "2027-01-31", ("11-25", "01-31"), "from today"),
]


@pytest.mark.parametrize(("start", "until", "first", "last", "pairs", "reason"), YEARLY)
def test_a_yearly_span_keeps_its_month_days(
    start: str | None, until: str, first: str, last: str, pairs: tuple[str, str], reason: str
) -> None:
    """The first occurrence has dates, and the pairs remember a 29 February."""
    found = parse_yearly_span(start, until, today=TODAY)
    assert (found.start.isoformat(), found.until.isoformat()) == (first, last), reason
    assert (found.start_month_day, found.until_month_day) == pairs, reason


def test_a_yearly_span_of_a_year_or_more_is_refused() -> None:
    """Two occurrences never overlap."""
    with pytest.raises(Refused, match="a year or more"):
        parse_yearly_span("2026-11-01", "2027-11-01", today=TODAY)


@given(st.dates(date(1951, 1, 1), date(2149, 12, 31)), st.dates(date(2000, 1, 1), date(2000, 12, 31)))
def test_on_never_lies_ahead_and_until_never_before_its_first_day(today: date, day: date) -> None:
    """Whatever the day of the year: `on` is at most 366 days behind, `until` at most 366 ahead."""
    text = f"{day.day} {day:%B}"
    if text == "29 February":
        return
    on = parse_day(text, today=today)
    until = parse_day(text, today=today, use="until", span_from=today)
    assert 0 <= (today - on).days < 366
    assert 0 <= (until - today).days < 366


@given(st.text(max_size=30))
def test_any_other_text_is_refused_or_read_never_an_accident(text: str) -> None:
    """Nothing but a day or a refusal comes out of any text."""
    told = ""
    try:
        parse_day(text, today=TODAY)
    except Refused as refusal:
        told = str(refusal)
    assert told == "" or told.isprintable()
