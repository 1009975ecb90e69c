"""Steps as single events: the day they open, and a fortnight before the last safe start. It judges no safety."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from carecal.calendars.content import Content, Part
from carecal.calendars.selection import Selection
from carecal.calendars.uids import place_step_key, step_key
from carecal.plan.model import PlantView, Step
from carecal.planning.steps.shade import OF_PLACE
from carecal.wording.dates import day_text
from carecal.wording.tasks import joined, name_of, sentence

__all__ = ["CLOSING_DAYS", "parts"]

CLOSING_DAYS = 14
"""So long before its last safe start a step is called again. [days] Source: our choice, because it holds a weekend."""


def parts(selection: Selection) -> Iterator[Part]:
    """Yield the events of the steps that are wanted; one that opens within a fortnight of its end is said once."""
    for step in selection.plan.steps:
        if not step.wanted or step.opens is None or step.status not in {"now", "wait"}:
            continue
        if not selection.shows(step.plant, "step"):
            continue
        opens = max(step.opens, selection.asked_from(step) or step.opens)
        if selection.shows_day(opens):
            yield _part(selection, step, opens, opens, "")
        closing = step.last_safe - timedelta(days=CLOSING_DAYS) if step.last_safe else None
        if closing is not None and closing > opens and selection.shows_day(closing):
            yield _part(selection, step, opens, closing, "/closes")


def _part(selection: Selection, step: Step, opens: date, on: date, closes: str) -> Part:
    """Return one event of a step."""
    view = selection.plan.plant(step.plant)
    if step.step in OF_PLACE and view.place is not None:
        return _of_place(selection, step, view, view.place, opens)
    title = sentence(step.title) or f"{name_of(view)}: {step.step.replace('-', ' ')}"
    last = f"Last safe start {day_text(step.last_safe)}." if step.last_safe else ""
    because = [sentence(reason.text) for reason in step.because]
    lines = [
        f"Safe from {day_text(opens)}. {last}".strip(),
        *because,
        *selection.pot_lines(view),
        *selection.step_caution_lines(step),
    ]
    if closes and step.last_safe:
        title = f"{title} – last safe start {day_text(step.last_safe)}"
    content = Content(
        kind="VEVENT",
        summary=title,
        start=on,
        description=joined(lines),
        categories=("STEP",),
        plant=view.id,
        url=selection.plant_url(view),
        alarm_minutes=selection.options.alarm_minutes,
    )
    return Part(step_key(step.plant, step.step, opens) + closes, content, view.basis)


def _of_place(selection: Selection, step: Step, view: PlantView, place: str, opens: date) -> Part:
    """Return the event of a step that all plants of a place share: each gives the same, and it is written once."""
    content = Content(
        kind="VEVENT",
        summary=sentence(step.title),
        start=opens,
        description=joined(sentence(reason.text) for reason in step.because),
        categories=("STEP",),
        url=selection.round_url(),
        alarm_minutes=selection.options.alarm_minutes,
    )
    return Part(place_step_key(place, step.step, opens), content, view.basis)
