"""Absences read from the grower's own calendar, a file or an address; expanding it is left to a process with limits."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from carecal.app.make_entries import make_entry
from carecal.app.people.away_child import CPU_SECONDS, MEMORY_BYTES, REFUSED
from carecal.app.store import zone_of
from carecal.calendars.addresses import parse_address
from carecal.calendars.web_client import LIMIT_BYTES, Client
from carecal.collection.entries import AwayAdded
from carecal.collection.records import effective
from carecal.errors import Refused, StorageError
from carecal.wording.clean import clean_line

if TYPE_CHECKING:
    from carecal.app.door import Collection
    from carecal.app.now import Now

__all__ = ["AwaySpan", "AwaysRead", "read_absences"]

AHEAD_DAYS = 400  # about the horizon of a plan
WAIT_SECONDS = CPU_SECONDS + 10
LONGEST_SOURCE = 80
_TOO_MUCH = {"refused": "reading it takes more time or memory than is allowed; allowed is a plainer calendar"}


@dataclass(frozen=True, slots=True)
class AwaySpan:
    """One absence of the calendar, both days included."""

    start: date
    until: date
    summary: str

    def __str__(self) -> str:
        """Return it in one line."""
        return f"{self.start} to {self.until}" + (f": {self.summary}" if self.summary else "")


@dataclass(frozen=True, slots=True)
class AwaysRead:
    """What a calendar says of absences.

    Args:
        source: The file's name or the host, without what may be secret in an address.
        new: Absences that the journal does not hold, by their first day.
        known: How many it holds already.
        left_out: Events that are no absence, by the reason.
    """

    source: str
    new: tuple[AwaySpan, ...]
    known: int
    left_out: dict[str, int] = field(default_factory=dict)

    def entries(self, now: Now) -> list[AwayAdded]:
        """Return the entries of the new absences."""
        return [
            make_entry(AwayAdded, on=now.day, start=s.start, until=s.until, source=self.source)
            for s in self.new
        ]

    def remarks(self) -> list[str]:
        """Return in words what is known already and what was left out."""
        told = [f"already in the journal: {self.known}"] if self.known else []
        return [*told, *(f"left out: {count}, {reason}" for reason, count in sorted(self.left_out.items()))]


def read_absences(
    collection: Collection,
    now: Now,
    source: str,
    *,
    matching: str = "",
    private: bool = False,
    client: Client | None = None,
) -> AwaysRead:
    """Return the absences that a calendar holds from today on; nothing is written.

    Args:
        collection: The collection.
        now: The moment of the command.
        source: A file, or an address of https.
        matching: Only events whose summary holds this text.
        private: Whether an address of the own network is meant.
        client: The client that fetches; None: one with the usual limits.

    Raises:
        Refused: The address is not allowed or does not answer, or the calendar is broken or asks for too much.
        StorageError: The file cannot be read.
    """
    body, shown = _read(source, client or Client(private=private))
    answer = _expanded(body, now.day, zone_of(collection.journal.connection), matching)
    if "refused" in answer:
        raise Refused(f"{shown}: {answer['refused']}")
    spans = _outermost(
        [AwaySpan(date.fromisoformat(a), date.fromisoformat(b), text) for a, b, text in answer["spans"]]
    )
    known = _known(collection, now.day)
    new = tuple(span for span in spans if not any(a <= span.start and span.until <= b for a, b in known))
    return AwaysRead(shown, new, len(spans) - len(new), answer["left_out"])


def _read(source: str, client: Client) -> tuple[bytes, str]:
    """Return the bytes of a file or an address, and how it is named in the journal."""
    if "://" in source or source.startswith("webcal:"):
        address = parse_address(source.replace("webcal://", "https://", 1))
        return client.fetch(address), address.host[:LONGEST_SOURCE]
    path = Path(source)
    try:
        with path.open("rb") as file:
            body = file.read(LIMIT_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise StorageError(f"{clean_line(source)[:LONGEST_SOURCE]}: {reason.lower()}") from error
    if len(body) > LIMIT_BYTES:
        raise Refused(f"{path.name} is larger than {LIMIT_BYTES / 1e6:g} MB; allowed is a smaller calendar")
    return body, clean_line(path.name)[:LONGEST_SOURCE]


def _expanded(body: bytes, day: date, zone: str, matching: str) -> dict[str, Any]:
    """Return what the process with limits makes of a calendar."""
    asked = {
        "from": day.isoformat(),
        "until": (day + timedelta(days=AHEAD_DAYS)).isoformat(),
        "zone": zone,
        "matching": matching,
        "seconds": CPU_SECONDS,
        "bytes": MEMORY_BYTES,
    }
    words = [sys.executable, "-P", "-m", "carecal.app.people.away_child"]
    given = json.dumps(asked).encode() + b"\n" + body
    try:
        ran = subprocess.run(words, input=given, capture_output=True, timeout=WAIT_SECONDS, check=False)  # noqa: S603 - our own module, and nothing of the calendar in its words
    except subprocess.TimeoutExpired:
        return dict(_TOO_MUCH)
    if ran.returncode < 0:  # the system ended it
        return dict(_TOO_MUCH)
    if ran.returncode not in (0, REFUSED):
        return {"refused": "it cannot be read; allowed is a plainer calendar"}
    found: dict[str, Any] = json.loads(ran.stdout)
    return found


def _outermost(spans: list[AwaySpan]) -> list[AwaySpan]:
    """Return the spans that lie in no other one, by their first day."""
    kept: list[AwaySpan] = []
    for span in sorted(spans, key=lambda s: (s.start, -s.until.toordinal(), s.summary)):
        if not kept or span.until > kept[-1].until:
            kept.append(span)
    return kept


def _known(collection: Collection, day: date) -> list[tuple[date, date]]:
    """Return the absences of the journal as they were entered: an early return is not undone by reading."""
    return [
        (date.fromisoformat(record.data["start"]), date.fromisoformat(record.data["until"]))
        for record in effective(collection.journal.records(), day)
        if record.kind == AwayAdded.kind
    ]
