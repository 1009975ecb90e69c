"""Pauses and absences as spans of days for one plant and care (design §3, rules 16 and 18)."""

from __future__ import annotations

from calendar import monthrange
from datetime import date
from typing import TYPE_CHECKING

from carecal.planning.spans import FOREVER, Span, cut, intersect, merge

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.collection.facts import CollectionFacts, Pause, Resume
    from carecal.collection.plants import PlantHistory

__all__ = ["absences", "pause_spans", "stays"]


def stays(line: PlantHistory, place: str, last: int) -> list[Span]:
    """Return the days up to `last` on which a plant stands at a place."""
    found = []
    for state, later in zip(line.states, [*line.states[1:], None], strict=True):
        if state.place == place:
            found.append((state.day, later.day - 1 if later else last))
    return merge(found)


def absences(facts: CollectionFacts) -> list[Span]:
    """Return the days on which nobody is there."""
    return merge((absence.start, absence.until) for absence in facts.absences)


def pause_spans(facts: CollectionFacts, line: PlantHistory, care: str, first: int, last: int) -> list[Span]:
    """Return the days from first to last on which a care of one plant is paused, resumed ones taken off."""
    found: list[Span] = []
    for pause in facts.pauses:
        if pause.care not in {care, "all"} or (pause.plants is not None and line.number not in pause.plants):
            continue
        for span in _occurrences(pause, last):
            ended = _ended(facts, pause, span, line, care)
            if ended is None:
                continue
            spans = cut([ended[0]], first, last)
            found.extend(intersect(spans, stays(line, pause.place, last)) if pause.place else spans)
            if ended[1]:
                break  # resumed for good
    return merge(found)


def _occurrences(pause: Pause, last: int) -> Iterator[Span]:
    until = pause.until.toordinal() if pause.until else FOREVER
    yield pause.start.toordinal(), until
    if not pause.every_year or pause.until is None:
        return
    for year in range(1, date.fromordinal(last).year - pause.start.year + 1):
        first = _shift(pause.start, pause.start_month_day, year)
        yield first.toordinal(), _shift(pause.until, pause.until_month_day, year).toordinal()


def _shift(day: date, month_day: str, years: int) -> date:
    """Move a month-day pair by years; a 29 February is the last of February."""
    year = day.year + years
    month, of_month = (int(part) for part in month_day.split("-")) if month_day else (day.month, day.day)
    return date(year, month, min(of_month, monthrange(year, month)[1]))


def _ended(
    facts: CollectionFacts, pause: Pause, span: Span, line: PlantHistory, care: str
) -> tuple[Span, bool] | None:
    """Return the span with its resumption, and whether it ended for good; None: it never ran for this plant."""
    for resume in facts.resumes:
        if (
            resume.entry > pause.entry
            and span[0] <= resume.day <= span[1]
            and _frees(resume, line, care, pause)
        ):
            rest = (span[0], resume.day - 1)
            return rest, resume.for_good or not pause.every_year
        if (
            resume.for_good
            and resume.entry > pause.entry
            and resume.day < span[0]
            and _frees(resume, line, care, pause)
        ):
            return None
    return span, False


def _frees(resume: Resume, line: PlantHistory, care: str, pause: Pause) -> bool:
    named = resume.plants is None or line.number in resume.plants
    placed = (
        resume.place is None or resume.place == pause.place or line.state_at(resume.day).place == resume.place
    )
    return named and placed and resume.care in {care, "all"}
