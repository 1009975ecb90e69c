"""Away: absences typed or read from the grower's own calendar, what will not keep, and who looks after the plants."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from carecal.app.actions import spans as actions_spans
from carecal.app.documents import spans
from carecal.app.people import sitters
from carecal.app.people.away_read import read_absences
from carecal.collection.dates import parse_span
from carecal.errors import Refused
from carecal.web.pages.calendars import address_of, code_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from starlette.responses import Response

    from carecal.web.visit import Visit

__all__ = ["AWAY_ACTS", "FILE_BYTES", "act_away", "show_away"]

FILE_BYTES = 2_000_000  # our choice, because a calendar of many years has less [B]
SOURCE_CHARACTERS = 80


def show_away(visit: Visit) -> Response:
    """Show the absences and the sitters, with the forms that add one."""
    collection, now = visit.collection, visit.now
    return visit.page(
        "away.html",
        absences=[(a["entry"], spans.absence_words(a)) for a in spans.absences(collection, now.day)],
        sitters=sitters.sitters_of(collection, now),
    )


def act_away(visit: Visit) -> Response:
    """Take one of the page's forms."""
    did = visit.need("do")
    if did not in AWAY_ACTS:
        raise Refused(f"form '{did[:80]}' is not known")
    return AWAY_ACTS[did](visit)


def _away(visit: Visit) -> Response:
    collection, now = visit.here
    first, last = parse_span(visit.text("start"), visit.need("until"), today=now.day, may_be_past=True)
    entries = actions_spans.away_add(collection, now, first, last or first)
    left = spans.will_not_keep(collection, now, entries, last or first)
    return visit.written(
        visit.write(*entries), _title("Absence written down", left), "/away", tuple(left), loud=True
    )


def _title(text: str, left: Sequence[str]) -> str:
    """Return the title of an absence: first of all that something will not keep."""
    many = f"{len(left)} plants" if len(left) > 1 else "One plant"
    return f"{many} will not keep. {text}" if left else text


def _back(visit: Visit) -> Response:
    entries = actions_spans.away_end(*visit.here, entry=visit.count("entry"))
    return visit.written(visit.write(*entries), "Absence ended", "/away")


def _read(visit: Visit) -> Response:
    """Read a calendar and show its absences to choose from; nothing is written yet."""
    address, data = visit.text("source"), visit.upload("file")
    matching = visit.text("matching") or ""
    if data is not None:
        if len(data) > FILE_BYTES:
            raise Refused(f"the file has {len(data)} bytes; allowed are up to {FILE_BYTES}")
        with tempfile.TemporaryDirectory(prefix="carecal-") as folder:
            file = Path(folder) / "calendar.ics"
            file.write_bytes(data)
            found = read_absences(*visit.here, str(file), matching=matching)
    elif address is None:
        raise Refused("neither an address nor a file was sent; give one of them")
    elif not address.startswith(("https://", "webcal://")):  # a path would be one of the server's own files
        raise Refused("the address of a calendar begins with https:// or webcal://")
    else:
        found = read_absences(*visit.here, address, matching=matching)
    return visit.page("pages_absences.html", found=found, remarks=found.remarks())


def _spans(visit: Visit) -> Response:
    """Write the absences that were chosen."""
    source = (visit.text("source") or "")[:SOURCE_CHARACTERS]
    chosen = visit.texts("span")
    if not chosen:
        raise Refused("no absence was chosen; choose one, or go back")
    entries = []
    for text in chosen:
        first, last = parse_span(*_two(text), today=visit.real.day, may_be_past=True)
        entries += actions_spans.away_add(*visit.here, first, last or first, source=source)
    left = spans.will_not_keep(
        *visit.here, entries, max(getattr(e, "until", visit.real.day) for e in entries)
    )
    return visit.written(
        visit.write(*entries), _title("Absences written down", left), "/away", tuple(left), loud=True
    )


def _two(text: str) -> tuple[str, str]:
    first, _, last = text.partition("/")
    return first, last or first


def _sitter(visit: Visit) -> Response:
    """Give somebody an address for some days and show it this once."""
    name = visit.need("name")
    first, last = parse_span(visit.text("start"), visit.need("until"), today=visit.real.day)
    path = sitters.add_sitter(*visit.here, name, first, last or first)
    address = address_of(visit, path)
    page = visit.page(
        "pages_sitter.html",
        name=name,
        address=address,
        code=code_of(address),
        first=first,
        last=last or first,
    )
    page.headers["Cache-Control"] = "no-store"
    return page


def _sitter_end(visit: Visit) -> Response:
    sitters.end_sitter(*visit.here, visit.need("name"))
    return visit.say("The sitter's address no longer answers", "/away")


AWAY_ACTS: dict[str, Callable[[Visit], Response]] = {
    "away": _away,
    "back": _back,
    "read": _read,
    "spans": _spans,
    "sitter": _sitter,
    "sitter-end": _sitter_end,
}
