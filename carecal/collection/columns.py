"""Numbers and dates in columns that spreadsheets and loggers wrote: settled once for a whole column, or refused."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Literal

from carecal.collection.dates import parse_day
from carecal.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

__all__ = ["DateOrder", "date_order", "date_reader", "numeric_day", "plain_number", "simple_name"]

DateOrder = Literal["ymd", "dmy", "mdy"]
_PARTS = re.compile(r"(\d{1,4})([./-])(\d{1,2})\2(\d{1,4})", re.ASCII)
_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?", re.ASCII)
_THOUSANDS = re.compile(r"[+-]?\d{1,3}[.,]\d{3}", re.ASCII)


def simple_name(text: str) -> str:
    """Return a heading as plain words: small letters and digits, parted by one underscore."""
    return re.sub(r"[^0-9a-z%°]+", "_", text.casefold()).strip("_")


def date_order(texts: Iterable[str]) -> DateOrder:
    """Return the one order of day, month and year in which all dates of a column can be read.

    Raises:
        Refused: When a text is no date, or two orders would read them all, so that nobody can tell.
    """
    possible: set[DateOrder] = {"ymd", "dmy", "mdy"}
    seen = 0
    for text in texts:
        allowed = {order for order in possible if numeric_day(text, order) is not None}
        if not allowed:
            raise Refused(f"'{text}' is not a date, or not in the order of those before; write 2026-11-25")
        possible, seen = allowed, seen + 1
    if seen and len(possible) > 1:
        raise Refused("day and month cannot be told apart in any date; say the order, or write 2026-11-25")
    return min(possible) if seen else "ymd"


def date_reader(texts: Iterable[str]) -> Callable[[str, date], date]:
    """Return what reads the dates of a column: by its one order of digits where it has one, else in our own words.

    Args:
        texts: All its cells; what is no date of digits says nothing of the order.

    Returns:
        Takes a cell and the day from which words count; it raises Refused for what cannot be read.
    """
    later: tuple[DateOrder, ...] = ("dmy", "mdy")  # a year that stands first leaves no doubt
    digits = [text for text in dict.fromkeys(texts) if any(numeric_day(text, order) for order in later)]
    possible = [order for order in later if all(numeric_day(text, order) for text in digits)]

    def read(text: str, on: date) -> date:
        found = numeric_day(text, "ymd")
        if found is None and text in digits and len(digits) > 1 and len(possible) > 1:
            raise Refused(
                "day and month cannot be told apart in any date of this column; write them as 2026-11-25"
            )
        if found is None and len(possible) == 1:
            found = numeric_day(text, possible[0])
        return found or parse_day(text, today=on)

    return read


def numeric_day(text: str, order: DateOrder) -> date | None:
    """Return a date of digits read in an order, or None; a year of two digits stands last and is of this century."""
    match = _PARTS.fullmatch(text)
    if not match:
        return None
    parts = dict(zip(order, (match[1], match[3], match[4]), strict=True))
    year = parts["y"] if len(parts["y"]) == 4 else "20" + parts["y"]
    if (
        len(year) != 4
        or (order == "ymd" and year != parts["y"])
        or len(parts["d"]) > 2
        or len(parts["m"]) > 2
    ):
        return None
    try:
        return date(int(year), int(parts["m"]), int(parts["d"]))
    except ValueError:
        return None


def plain_number(text: str) -> float:
    """Return a single number, with a point or a comma before its decimals.

    Raises:
        Refused: When it is none, or may be thousands as well as decimals.
    """
    if not _NUMBER.fullmatch(text):
        raise Refused(f"'{text}' is not a number")
    if "," in text and _THOUSANDS.fullmatch(text):
        plain = text.replace(",", "")
        raise Refused(f"'{text}' may be {plain} or {text.replace(',', '.')}; write it without a comma")
    return float(text.replace(",", "."))
