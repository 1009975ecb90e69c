"""Templates of the pages: one environment that escapes everything and refuses names it does not know."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from jinja2 import Environment, PackageLoader, StrictUndefined

from carecal.web.static import address_of
from carecal.wording.dates import FAR_DAYS, MONTHS, WEEKDAY_NAMES
from carecal.wording.tasks import sentence
from carecal.wording.today import can_head, can_text, grams_text, litres_text

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["day_long", "day_seen", "day_short", "day_year", "environment", "listed", "month_year", "words"]

_SHORT_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def environment() -> Environment:
    """Return the environment of all pages."""
    env = Environment(
        loader=PackageLoader("carecal.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.filters.update(
        day=day_short,
        day_seen=day_seen,
        day_month=day_month,
        day_brief=day_brief,
        sentence=sentence,
        day_long=day_long,
        month_year=month_year,
        day_year=day_year,
        words=words,
        listed=listed,
        without_place=without_place,
        litres=litres_text,
        grams=grams_text,
    )
    env.globals.update(asset=address_of, can_head=can_head, can_text=can_text)
    return env


def day_short(day: date | str | None) -> str:
    """Return a day as 'Wed 25 November'; '–' for none."""
    if day is None:
        return "–"
    found = date.fromisoformat(day) if isinstance(day, str) else day
    return f"{_SHORT_DAYS[found.weekday()]} {found.day} {MONTHS[found.month - 1]}"


def day_seen(day: date | str, today: date) -> str:
    """Return a day that lies behind as 'Wed 25 November', one of more than half a year ago with its year."""
    found = date.fromisoformat(day) if isinstance(day, str) else day
    return day_year(found) if (today - found).days >= FAR_DAYS else day_short(found)


def day_month(day: date | str) -> str:
    """Return a day as '25 Nov', where a line is short."""
    found = date.fromisoformat(day) if isinstance(day, str) else day
    return f"{found.day} {MONTHS[found.month - 1][:3]}"


def day_brief(day: date | str) -> str:
    """Return a day as 'Wed 25 Nov', where a line is short."""
    found = date.fromisoformat(day) if isinstance(day, str) else day
    return f"{_SHORT_DAYS[found.weekday()]} {day_month(found)}"


def day_long(day: date | str) -> str:
    """Return a day as 'Wednesday 25 November'."""
    found = date.fromisoformat(day) if isinstance(day, str) else day
    return f"{WEEKDAY_NAMES[found.weekday()]} {found.day} {MONTHS[found.month - 1]}"


def day_year(day: date | str | None) -> str:
    """Return a day as '25 November 2026'; '–' for none."""
    if day is None:
        return "–"
    found = date.fromisoformat(day) if isinstance(day, str) else day
    return f"{found.day} {MONTHS[found.month - 1]} {found.year}"


def month_year(day: date) -> str:
    """Return a day's month as 'November 2026'."""
    return f"{MONTHS[day.month - 1]} {day.year}"


def words(name: str | None) -> str:
    """Return a name of the tables as words, as 'clear plastic'."""
    return (name or "").replace("-", " ")


def without_place(pot: str, place: str | None) -> str:
    """Return a pot's line without the place at its end, where that is told beside it anyway."""
    return "" if pot.casefold() == place else pot.removesuffix(f", {place}")


def listed(names: Sequence[str]) -> str:
    """Return names as people list them, as 'Tide, Gable and Winch'."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}" if names else ""
