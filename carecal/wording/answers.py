"""What a command is answered with, in plant words: what was done, what comes next, what changed. It decides nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from carecal.wording.dates import MONTHS, listed, spoken
from carecal.wording.entries import entry_sentence
from carecal.wording.numbers import counted_word

__all__ = [
    "did",
    "feeding_change",
    "feeding_held",
    "next_task",
    "no_longer",
    "paced",
    "paced_otherwise",
    "taken_back",
    "turned",
]

MOST_NAMED = 4  # our choice, because a line of a phone holds so many names
_ACTS = frozenset({"done", "left", "excepted"})
_PLAIN = {
    "feeding": ("feed", "feeds"),
    "watering": ("plain watering", "plain waterings"),
    "flushing": ("flush", "flushes"),
    "refilling": ("refill", "refills"),
    "moistening": ("moistening", "moistenings"),
}
_BECAME = {"feeding": "feeds", "watering": "plain water", "flushing": "flushes", "refilling": "plain refills"}


def did(names: Sequence[str], entry: Mapping[str, Any], on: date, today: date) -> str:
    """Return what was done to plants, as 'Rose watered.' or 'Tide: potted into bark in 12 cm plastic.'.

    Args:
        names: Names of the plants; none: the whole collection is meant.
        entry: An entry as a line of the journal has it.
        on: The day it is of.
        today: The day of the command.
    """
    said = entry_sentence(entry)
    if not names:
        return f"{said}."
    who = listed(names) if len(names) <= MOST_NAMED else f"{len(names)} plants"
    when = "" if on == today else f", {spoken(on, today)}"
    return f"{who}{' ' if entry['kind'] in _ACTS and not entry.get('aid') else ': '}{said[:1].lower()}{said[1:]}{when}."


def taken_back(lines: Sequence[str]) -> str:
    """Return what an undo took back, from the sentences of what had been done."""
    shown = [f"{line[:-1]}" for line in lines[:MOST_NAMED]]
    more = f" and {len(lines) - MOST_NAMED} more" if len(lines) > MOST_NAMED else ""
    return f"Taken back: {'; '.join(shown)}{more}."


def next_task(name: str, verb: str, on: date, today: date, *, is_exact: bool) -> str:
    """Return what is to be done next, as 'Next: look about Wednesday 2 December.'.

    Args:
        name: Of the plant, where several were meant; else ''.
        verb: The verb of the task.
        on: Its day.
        today: The day of the command.
        is_exact: Whether it has that day alone.
    """
    when = "today" if on <= today else f"{'' if is_exact else 'about '}{spoken(on, today)}"
    who = f"{name}, " if name else ""
    return f"Next: {who}{verb} {when}."


def turned(care: str, became: str, days: Sequence[date]) -> str:
    """Return that tasks became others on their days, as 'Two feeds of December became plain water.'."""
    one, many = _PLAIN.get(care, (care, care))
    count = len(days)
    first, last = min(days), max(days)
    months = MONTHS[first.month - 1]
    if (first.year, first.month) != (last.year, last.month):
        far = f" {last.year}" if last.year != first.year else ""
        months = f"{months} to {MONTHS[last.month - 1]}{far}"
    into = _BECAME.get(became, became)
    if count == 1 and became in _PLAIN and became != "watering":
        into = f"a {_PLAIN[became][0]}"
    return f"{counted_word(count)} {one if count == 1 else many} of {months} became {into}."


def paced(name: str, care: str, days: int, former: int, because: str) -> str:
    """Return that a rhythm changed, as 'Rose: watering every 9 days now, not 11: you felt it damp on 12 November.'."""
    what = f"{name}: {care} every {'day' if days == 1 else f'{days} days'} now, not {former}"
    return f"{what}{': ' if because else ''}{because}."


def feeding_held(names: Sequence[str], why: str, opens: date | None, today: date, *, is_open: bool) -> str:
    """Return that feeding is held back now, or no longer, with the reason."""
    who = listed(names) if len(names) <= MOST_NAMED else f"{len(names)} plants"
    if is_open:
        return f"{who}: feeding may go on: {why}."
    until = f" until {spoken(opens, today)}" if opens is not None else " for now"
    return f"{who}: no feed{until}: {why}."


def feeding_change(why: str, *, is_open: bool) -> str:
    """Return that a plant is fed no longer, or again, as the round of the day tells it."""
    return f"{'fed again' if is_open else 'no feed'}{': ' if why else ''}{why}"


def paced_otherwise(name: str, care: str, days: int, former: str) -> str:
    """Return that a plant is wetted otherwise from now on."""
    return f"{name}: {care} every {'day' if days == 1 else f'{days} days'} now, instead of {former}."


def no_longer(name: str, care: str) -> str:
    """Return that a care has no rhythm any more."""
    return f"{name}: no {care} for now."
