"""Clocks that go wrong, zones that few think of, hours that are missing or come twice: nothing is assumed by them."""

from __future__ import annotations

import traceback
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random

import pytest
from icalendar import Calendar

from carecal.app.now import Now, real_now
from tests.battery.house import unsound, written
from tests.cli.cli_run import Said, carecal

__all__ = ["clocks"]

ZONES = (
    "Europe/Berlin", "Europe/Dublin", "Africa/Casablanca", "America/St_Johns", "America/Nuuk", "Asia/Kathmandu",
    "Australia/Lord_Howe", "Pacific/Apia", "Pacific/Kiritimati", "Pacific/Pago_Pago", "Antarctica/Troll", "UTC",
)  # fmt: skip
AROUND = (
    datetime(2026, 3, 29, 1, tzinfo=UTC),
    datetime(2026, 10, 25, 1, tzinfo=UTC),
    datetime(2026, 4, 4, 15, tzinfo=UTC),
    datetime(2026, 3, 8, 7, tzinfo=UTC),
    datetime(2026, 12, 31, 23, 59, 59, tzinfo=UTC),
    datetime(2028, 2, 29, 12, tzinfo=UTC),
    datetime(2038, 1, 19, 3, 14, 7, tzinfo=UTC),
)
JUMPS = (
    timedelta(seconds=1), timedelta(minutes=30), timedelta(hours=1), timedelta(hours=11), timedelta(days=1),
    timedelta(days=9), timedelta(days=200), timedelta(days=500), timedelta(days=4000), -timedelta(hours=1),
    -timedelta(hours=13), -timedelta(days=2), -timedelta(days=400), -timedelta(days=9000),
)  # fmt: skip
BEGIN: tuple[tuple[str, ...], ...] = (
    ("init", "Quay", "--latitude", "-33", "--longitude", "151", "--timezone", "ZONE"),
    ("place", "add", "sill", "--kind", "warm-sill", "--aspect", "E"),
    ("plant", "add", "tide", "--medium", "bark", "--container", "plastic", "--size", "12", "--place", "sill"),
)
COMMANDS: tuple[tuple[str, ...], ...] = (
    ("today",),
    ("status",),
    ("done", "watering", "tide", "--yes"),
    ("calendar", "write"),
    ("done", "--round"),
    ("calendar", "write", "--at", "02:30"),
    ("observe", "tide", "--note", "at an odd hour"),
    ("why", "tide"),
    ("calendar", "write", "--grouping", "each", "--at", "00:15", "--alarm", "30"),
)


def _fault(said: Said, is_doubtful: bool, gained: int, words: tuple[str, ...]) -> str:
    """Return what is wrong with what a command said; '' where nothing is."""
    told = f"{' '.join(words)}: {said.code} {said.err[:400]!r}"
    lines = said.err.splitlines()  # a doubt of the clock may stand above a refusal
    if said.code not in {0, 3} or len(lines) > 2 or (len(lines) == 2 and "clock" not in lines[0]):
        return told
    if is_doubtful and gained:
        return f"{told}, written by a clock that cannot be believed"
    if words[:2] == ("calendar", "write") and said.code == 0:
        Calendar.from_ical(said.out)
    return ""


def clocks(_stands: Path, work: Path, chance: Random) -> tuple[str, str]:
    """A collection lives through some jumps of its clock."""
    home, zone = work / "home", chance.choice(ZONES)
    moment = chance.choice(AROUND) + timedelta(seconds=chance.randint(-7200, 7200))
    refused = 0

    def at(name: str, as_of: date | None = None, *, clock: datetime | None = None) -> Now:
        return real_now(name, as_of, clock=clock or moment)

    with pytest.MonkeyPatch.context() as patch:
        for door in ("carecal.cli.context.real_now", "carecal.app.door.real_now"):
            patch.setattr(door, at)
        for words in BEGIN:
            said = carecal(*(zone if word == "ZONE" else word for word in words), as_of=None, home=home)
            if said.code:
                return "begun", f"{zone} {moment}: {words[0]}: {said.err}"
        newest = at(zone).day
        for _number in range(5):
            moment += chance.choice(JUMPS)
            days = (at(zone).day - newest).days
            for words in chance.sample(COMMANDS, 3):
                before = written(home)
                try:
                    said = carecal(*words, as_of=None, home=home)
                except Exception as error:  # noqa: BLE001 - what it is stands in the table
                    told = traceback.format_exception_only(error)[-1].strip()
                    return "jumped", f"{zone} {moment}: {words}: {told}"
                gained = written(home) - before
                newest = at(zone).day if gained else newest
                refused += said.code == 3
                broken = _fault(said, (days < 0 or days > 400) and newest != at(zone).day, gained, words)
                if broken:
                    return "jumped", f"{zone} {moment}: {broken}"
            if days < 0 or days > 400:
                if carecal("settings", "clock", "confirmed", as_of=None, home=home).code:
                    return "jumped", f"{zone} {moment}: the clock cannot be confirmed"
                newest = at(zone).day
    return ("some refused" if refused else "all taken"), unsound(home)
