"""Readers of calendars written for other programs, each asked by a small program of its own in `outside/`.

They come from the system (libical, KDE's KCalendarCore, iCal::Parser) or from npm (ical.js); what is missing is said
in one line. tests/README.md names the packages.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from datetime import date, datetime
from functools import cache
from hashlib import sha256
from pathlib import Path
from zoneinfo import ZoneInfo

from tests.calendars.calendar_readers import Occurrence

__all__ = ["OUTSIDE", "as_told", "found_by", "missing"]

OUTSIDE = ("libical", "kcalendarcore", "kcalendarcore by days", "iCal::Parser", "ical.js")
_HERE = Path(__file__).with_name("outside")
_SYSTEM_PYTHON = "/usr/bin/python3"


@cache
def missing(reader: str, built: Path) -> str:
    """Return why a reader cannot be asked here, else nothing; what must be compiled is kept in a folder."""
    if reader == "ical.js":
        return "" if os.environ.get("ICAL_JS") else "ICAL_JS names no folder with ical.js"
    if reader == "libical":
        asked = "import gi; gi.require_version('ICalGLib', '3.0')"
        return "" if _runs(_SYSTEM_PYTHON, "-c", asked) else "libical has no bindings for the system's Python"
    if reader == "iCal::Parser":
        return "" if _runs("perl", "-MiCal::Parser", "-e", "1") else "perl has no iCal::Parser"
    return "" if _kde(built) else "KCalendarCore cannot be compiled against"


def found_by(reader: str, body: bytes, zone: str, span: tuple[date, date], built: Path) -> list[Occurrence]:
    """Return what a reader finds from the first day of a span to its last, that not included."""
    first, last = (day.isoformat() for day in span)
    short = [day.replace("-", "") for day in (first, last)]
    command = {
        "ical.js": ["node", f"{_HERE}/icaljs.mjs", os.environ.get("ICAL_JS", "")],
        "libical": [_SYSTEM_PYTHON, f"{_HERE}/libical.py", *(f"{day}T000000Z" for day in short)],
        "iCal::Parser": ["perl", f"{_HERE}/ical_parser.pl", *short, zone],
        "kcalendarcore": [str(_kde(built)), first, last, zone, "spans"],
        "kcalendarcore by days": [str(_kde(built)), first, last, zone, "days"],
    }[reader]
    at_home = {**os.environ, "TZ": zone}  # KDE's takes whole days by the machine's own zone
    ran = subprocess.run(command, input=body, capture_output=True, check=True, env=at_home)
    found = [line.split(" ", 1) for line in ran.stdout.decode().splitlines()]
    cut = 10 if reader.endswith("by days") else None
    return sorted((uid, at[:cut]) for uid, at in found if first <= at[:10] < last)


def as_told(reader: str, wanted: list[Occurrence], zone: str) -> list[Occurrence]:
    """Return days and UTC times as a reader tells them: one tells days alone, one the time of the clock on the wall."""
    if reader == "iCal::Parser":
        return sorted((uid, _wall(at, zone)) for uid, at in wanted)
    if reader == "kcalendarcore by days":
        return sorted((uid, _wall(at, zone)[:10]) for uid, at in wanted)
    return sorted(wanted)


def _wall(at: str, zone: str) -> str:
    """Return a day or UTC time as the clock on the wall of a zone shows it."""
    when = datetime.fromisoformat(at)
    local = when.astimezone(ZoneInfo(zone)) if when.tzinfo else when
    return local.replace(tzinfo=None).isoformat()


def _runs(*command: str) -> bool:
    """Return True if a command is there and ends well."""
    if shutil.which(command[0]) is None:
        return False
    return subprocess.run(command, capture_output=True, check=False).returncode == 0


@cache
def _kde(built: Path) -> Path | None:
    """Return the program that asks KCalendarCore, compiled once for each text of it; None without the library."""
    source = _HERE / "kcalendarcore.cpp"
    program = built / f"kcalendarcore-{sha256(source.read_bytes()).hexdigest()[:16]}"
    if program.exists():
        return program
    if shutil.which("pkg-config") is None or (compiler := shutil.which("g++")) is None:
        return None
    for release, gui in (("KF6CalendarCore", "Qt6Gui"), ("KF5CalendarCore", "Qt5Gui")):
        asked = subprocess.run(
            ["pkg-config", "--cflags", "--libs", release, gui], capture_output=True, text=True, check=False
        )
        if asked.returncode == 0:
            part = program.with_suffix(f".{os.getpid()}")
            flags = ["-O0", "-fPIC", "-std=c++17", str(source), "-o", str(part), *asked.stdout.split()]
            if _runs(compiler, *flags):
                return part.replace(program)
    return None
