"""Files as people hand them in, and what goes wrong with them: bytes flipped, cut, doubled, hostile words put in."""

from __future__ import annotations

import io
import json
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

from PIL import Image

__all__ = ["HOSTILE", "WAYS", "Way", "mutated", "seed_of"]

START = """[collection]
name = "Quay"
latitude = 54.3
longitude = 10.1
timezone = "Europe/Berlin"

[[place]]
name = "Sill"
kind = "warm-sill"
winter = "20/16"

[[plant]]
id = "pebble"
medium = "bark"
container = "plastic"
size = 12
place = "sill"
came = 2026-10-01
aid = ["cloth"]
note = "from the harbour"
"""
_HEAD = {"on": "2026-11-20", "written": "2026-11-20T18:03:00Z", "by": "owner"}
_ENTRIES: list[tuple[str, dict[str, Any]]] = [
    (
        "collection",
        {"name": "Quay", "latitude": 54.3, "longitude": 10.1, "timezone": "Europe/Berlin"},
    ),
    ("place", {"place": "sill", "place_kind": "warm-sill", "winter_day_c": 20, "winter_night_c": 16}),
    ("setting", {"key": "weekdays", "value": "wed,sat"}),
    (
        "added",
        {"plant": "tide", "medium": "bark", "container": "plastic", "size_cm": 12, "place": "sill"},
    ),
    ("done", {"plant": "tide", "care": "watering", "felt": "damp"}),
    ("observed", {"plant": "tide", "roots": 4, "note": "two\nlines"}),
    ("paused", {"care": "feeding", "plants": ["tide"], "start": "2026-11-20", "until": "2026-12-20"}),
    ("amended", {"of_entry": 6, "changes": {"roots": 5}}),
    ("undone", {"of_command": 5}),
]
JOURNAL = "".join(
    json.dumps({"entry": n, "command": n, "kind": kind, **_HEAD, **fields}) + "\n"
    for n, (kind, fields) in enumerate(_ENTRIES, 1)
)
PLANTS = (
    "id,name,medium,container,size_cm,place,came\n"
    "pebble,Pebble,bark,plastic,12,sill,2026-10-01\nebb,,moss,plastic,9,,\n"
)
CLIMATE = "month,day_c,night_c,rh_pct,air,light_mol_m2_d\n" + "".join(
    f"{m},{18 + m % 6},14,60,room,6\n" for m in range(1, 13)
)
LOGGER = "time,temperature,humidity\n" + "".join(
    f"2026-11-{day:02d} {hour:02d}:00,{18 + hour / 10:.1f},{60 - hour}\n"
    for day in (18, 19)
    for hour in range(24)
)
AWAY = "\r\n".join(
    ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//x//y//EN", "BEGIN:VEVENT", "UID:a", "SUMMARY:Voyage",
     "DTSTART;VALUE=DATE:20261220", "DTEND;VALUE=DATE:20261228", "RRULE:FREQ=YEARLY;COUNT=2", "END:VEVENT",
     "BEGIN:VEVENT", "UID:b", "SUMMARY:Coast", "DTSTART;TZID=Europe/Berlin:20270110T080000",
     "DTEND;TZID=Europe/Berlin:20270112T200000", "EXDATE;VALUE=DATE:20270110", "END:VEVENT", "END:VCALENDAR", ""]
)  # fmt: skip

HOSTILE = (
    b"\x00", b"\xff\xfe", b"\xed\xa0\x80", "\u2028".encode(), "\u202e".encode(), b"\\ud800", b"\\u0000", b"\r", b"\n",
    b'"', b"'", b"{", b"[" * 3000, b"[" * 60, b'{"a":' * 2000, b"9" * 5000, b"9" * 4000, b"1e999", b"NaN", b"-Infinity",
    b"nan", b"-0", b"0x1F", b"9999-12-31", b"0001-01-01", b"2026-02-30", b"99991231", b"00010101", b"T99:99:99Z",
    b"Mars/Sea", b"../../etc/passwd", b"RRULE:\r\n", b"RRULE:FREQ=DAILY;COUNT=999999999\r\n", b"RDATE:\r\n",
    b"DTSTART;VALUE=DATE:99991231\r\n", b"DURATION:P99999999999D\r\n", b"EXDATE:00010101T000000\r\n",
    b"BEGIN:VEVENT\r\n", b"END:VCALENDAR\r\n", b"RECURRENCE-ID:99991231T235959Z\r\n", b"null", b"true", b"[]", b"{}",
    b",,,,,,", b";", b"\t", b"=1+1", b"x" * 70000, b"[[plant]]\n", b"[collection]\n", b"a.b.c.d = 1\n", b'"""', b"'''",
)  # fmt: skip


@dataclass(frozen=True)
class Way:
    """A way in.

    Args:
        name: What it is called in the table.
        suffix: End of the file's name.
        seed: A sound file.
        words: The command line, FILE standing for the file.
        is_new: Whether it makes a collection where there is none.
    """

    name: str
    suffix: str
    seed: bytes
    words: tuple[str, ...]
    is_new: bool = False


def _picture() -> bytes:
    out = io.BytesIO()
    picture = Image.new("RGB", (64, 48), (40, 90, 60))
    picture.save(out, "JPEG")
    return out.getvalue()


WAYS = (
    Way("journal, new", ".jsonl", JOURNAL.encode(), ("import", "FILE"), is_new=True),
    Way("start file, new", ".toml", START.encode(), ("import", "FILE"), is_new=True),
    Way(
        "start file",
        ".toml",
        START[START.index("[[plant]]") :].encode(),
        ("import", "FILE"),
    ),
    Way("plant list", ".csv", PLANTS.encode(), ("import", "FILE")),
    Way(
        "climate",
        ".csv",
        CLIMATE.encode(),
        ("place", "add", "loft", "--kind", "warm-sill", "--climate", "FILE"),
    ),
    Way("readings", ".csv", LOGGER.encode(), ("place", "readings", "sill", "FILE")),
    Way("absences", ".ics", AWAY.encode(), ("away", "read", "FILE", "--yes")),
    Way("picture", ".jpg", _picture(), ("observe", "gull", "--photo", "FILE")),
    Way("backup", ".zip", b"", ("restore", "FILE"), is_new=True),
)


def seed_of(way: Way, backup: Path) -> bytes:
    """Return a sound file of a way; that of a backup is one that was made."""
    return way.seed or backup.read_bytes()


def mutated(seed: bytes, chance: Random) -> bytes:
    """Return a file with one to four things wrong."""
    content = bytearray(seed)
    for _ in range(chance.choice((1, 1, 1, 2, 4))):
        at = chance.randrange(len(content) + 1)
        kind = chance.randrange(6)
        if kind == 0 and content:
            content[min(at, len(content) - 1)] ^= 1 << chance.randrange(8)
        elif kind == 1:
            del content[at : at + chance.choice((1, 2, 9, 70))]
        elif kind == 2:
            content[at:at] = chance.choice(HOSTILE)
        elif kind == 3:
            content[at : at + chance.choice((1, 4, 8, 10))] = chance.choice(HOSTILE)
        elif kind == 4:
            piece = content[at : at + chance.choice((8, 60, 400))]
            content[at:at] = piece * chance.choice((1, 2, 30))
        else:
            _swap(content, chance)
    return bytes(content)


def _swap(content: bytearray, chance: Random) -> None:
    """Put something hostile in the place of a whole word."""
    words = [i for i, sign in enumerate(content) if sign in b' ",:=;\n']
    if len(words) > 1:
        place = chance.randrange(len(words) - 1)
        content[words[place] + 1 : words[place + 1]] = chance.choice(HOSTILE)
