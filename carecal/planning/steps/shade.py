"""Shade at a window: put up before the noon sun is high, taken down after it; one deed for all plants of the place."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.plan.model import Reason
from carecal.planning.places.shade import shade_row, shade_spans
from carecal.planning.steps.case import Verdict, held_since, short, told

if TYPE_CHECKING:
    from carecal.catalog.tables import SunShade
    from carecal.planning.spans import Span
    from carecal.planning.steps.case import Case

__all__ = ["OF_PLACE", "PUT_UP", "TAKE_DOWN", "putting_shade_up", "taking_shade_down"]

PUT_UP, TAKE_DOWN = "putting-up-shade", "taking-down-shade"
OF_PLACE = frozenset({PUT_UP, TAKE_DOWN})
"""Steps of a place: every plant that stands there has the same one, and it is told once."""
EARLY_DAYS = 60  # our choice, because shade that was put up so long before is this year's [d]
ASKED_DAYS = 14  # our choice, because who was silent for a fortnight has no shade to take down [d]


def putting_shade_up(case: Case) -> Verdict | None:
    """Return from when on the plant's window wants shade; None where it wants none, or was told of this season's.

    Source: sun_shades.toml (ROTTERDAM).
    """
    row, since = _window(case)
    if row is None:
        return None
    for span in _seasons(case):
        if span[1] >= case.day and _is_up(case, span) is None:
            return Verdict(
                PUT_UP,
                f"Put up shade at {_name(case)}{_until(span)}: {row.check}",
                max(span[0], since),
                because=(Reason("noon-sun", _high(case, row, span), row.noon_deg, "°"),),
            )
    return None


def taking_shade_down(case: Case) -> Verdict | None:
    """Return from when on the plant's window wants its light again; None where there is no shade to take down."""
    row, since = _window(case)
    if row is None:
        return None
    seasons = _seasons(case)
    for span in seasons:
        is_up = _is_up(case, span)
        if is_up is False or since > span[1] or _is_endless(span):
            continue
        if any(span[1] < later[0] <= case.day for later in seasons):
            continue  # in the next summer shade is asked for, not asked away
        if is_up is None and case.day > span[1] + ASKED_DAYS:
            continue
        why = (
            f"the noon sun stands under {row.noon_deg:g}°"
            if row.day_c is None
            else "the sun is lower or days are cooler"
        )
        text = f"from {told(span[1] + 1)} {why}: all the light is wanted again"
        return Verdict(
            TAKE_DOWN,
            f"Take the shade down at {_name(case)}",
            span[1] + 1,
            because=(Reason("noon-sun", text, row.noon_deg, "°"),),
        )
    return None


def _window(case: Case) -> tuple[SunShade | None, int]:
    """Return the row of the window at which the plant stands, None where it needs no shade, and since when it does."""
    place, day = case.state.place, case.day
    if place not in case.context.facts.places or place is None or case.state.mother is not None:
        return None, day
    row = shade_row(case.context, place, day)
    if row is None or not _is_tender(case, row):
        return None, day
    return row, held_since(case.line, day, lambda state: state.place == place) or case.line.entered


def _seasons(case: Case) -> list[Span]:
    """Return the last season of shade that is over, the one that runs, and the next one."""
    spans = shade_spans(case.context, str(case.state.place), case.day)
    over = [span for span in spans if span[1] < case.day]
    return [*over[-1:], *(span for span in spans if span[1] >= case.day)]


def _is_tender(case: Case, row: SunShade) -> bool:
    """Return whether noon sun through glass burns the plant: a shade plant, or one without roots or in a wrap."""
    state = case.state
    return case.profile.ppfd_high <= row.most_ppfd or state.stage == "rootless" or state.is_wrapped


def _is_up(case: Case, span: Span) -> bool | None:
    """Return whether shade is up by what was told of a season; None: nothing was.

    Shade put up shortly before a season is for it; what is taken down before it was the last one's.
    """
    place, day = str(case.state.place), case.day
    over = max((last for _, last in shade_spans(case.context, place, day) if last < span[0]), default=0)
    early = max(span[0] - EARLY_DAYS, over + 1)
    told_of = [
        is_up
        for on, is_up in case.context.facts.places[place].shades
        if on <= day and on >= (early if is_up else span[0])
    ]
    return told_of[-1] if told_of else None


def _name(case: Case) -> str:
    return case.context.facts.places[str(case.state.place)].spec_at(case.day).name


def _is_endless(span: Span) -> bool:
    return span[1] - span[0] > 2 * 366


def _until(span: Span) -> str:
    return "" if _is_endless(span) else f" until {short(span[1])}"


def _high(case: Case, row: SunShade, span: Span) -> str:
    when = "all year" if _is_endless(span) else f"from {told(span[0])} to {told(span[1])}"
    latitude = case.context.facts.latitude
    sun = f"the noon sun stands {row.noon_deg:g}° and higher"
    if row.day_c is not None:
        sun = f"the sun is high and days reach {row.day_c:g} °C"
    where = f"{abs(latitude):.0f}° {'north' if latitude >= 0 else 'south'}"
    remedy = "a thin curtain or a step back from the pane will do"
    return f"{when} {sun} at {where}: it burns leaves through glass; {remedy}"
