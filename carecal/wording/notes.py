"""What is said of a notebook of care that was taken in. It decides nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.wording.dates import spoken

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

__all__ = [
    "came_by_notes",
    "more_of_it",
    "notes_known",
    "notes_taken",
    "nothing_new",
    "others_like",
    "others_wrong",
]

MOST_LINES = 4  # our choice, because whoever mends a file looks for the word then


def notes_taken(count: int, plants: int, first: date, last: date, today: date) -> str:
    """Return how much was taken in, as '412 notes of 10 plants, from Tuesday 3 March to Sunday 30 August'."""
    who = f"{plants} plant{'' if plants == 1 else 's'}"
    return f"{count} notes of {who}, from {spoken(first, today)} to {spoken(last, today)}"


def notes_known(count: int, file: str) -> tuple[str, ...]:
    """Return that some rows of a file stood in the journal already; nothing where none did."""
    if not count:
        return ()
    was = "note was" if count == 1 else "notes were"
    return (f"{count} {was} there already, so {file} added only what is new.",)


def nothing_new(count: int, file: str) -> str:
    """Return that a file says nothing that is not known."""
    if not count:
        return f"{file} holds nothing new; nothing is written."
    all_of = "its one note" if count == 1 else f"all {count} notes of {file}"
    return f"{all_of[:1].upper()}{all_of[1:]} stand here already; nothing is written."


def came_by_notes() -> str:
    """Return how to say of all plants at once that they were there by their first note."""
    return "; --yes says so of every plant whose day is not known"


def more_of_it(count: int) -> str:
    """Return that so many more rows of a plant have the same fault."""
    return f" ({count} more row{'s' if count > 1 else ''} of it likewise)" if count else ""


def others_like(lines: Sequence[int]) -> str:
    """Return on which other lines the same fault stands, the first of them by number."""
    if not lines:
        return ""
    shown = ", ".join(map(str, lines[:MOST_LINES]))
    more = f" and {len(lines) - MOST_LINES} more" if len(lines) > MOST_LINES else ""
    return f" (also line{'s' if len(lines) > 1 else ''} {shown}{more})"


def others_wrong(rows: int) -> str:
    """Return how many rows with other faults follow."""
    return f"from here on {rows} more row{' is' if rows == 1 else 's are'} wrong; mend those above first"
