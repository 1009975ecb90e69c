"""Hindsight on pots: conversions and pottings at the wrong time, reservoirs full in the cold."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.hindsight.case import Departure, Past, on
from carecal.planning.places.safe_starts import medium_on, warm_starts
from carecal.planning.steps.potting import rot_since

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["cold_reservoir", "late_conversion", "potted_in_flower", "unsafe_potting"]

FLOWERING = frozenset({"in-spike", "in-bloom"})


def late_conversion(past: Past) -> Iterator[Departure]:
    """Yield conversions to a reservoir after which too few warm weeks of the medium followed."""
    for event in past.events("potted"):
        if not _is_conversion(past, event.day):
            continue
        state, former = past.state(event.day), past.before(event.day)
        late = _late(past, "converting-to-a-reservoir", event.day)
        if late is not None:
            days, said = late
            text = f"the conversion to a reservoir on {on(event.day)} may have come at the wrong time: {said}"
            yield past.departure("conversion-too-late", 8 + days / 30, [event.day], text, [event.entry])
        if former.stage == "rootless" or not (former.tips or 0):
            text = (
                f"the conversion on {on(event.day)} may have come before new roots started: "
                f"{state.stage or 'stage unknown'}, {former.tips or 0} tips counted; "
                "old roots do not make the transition"
            )
            yield past.departure("conversion-without-tips", 5, [event.day], text, [event.entry])


def unsafe_potting(past: Past) -> Iterator[Departure]:
    """Yield pottings after which the medium did not stay warm for six weeks, or too soon after the one before."""
    apart = past.context.catalog.steps["potting-on"].apart_days
    for event in past.events("potted"):
        former = past.before(event.day)
        if (
            _is_conversion(past, event.day)
            or rot_since(former, frozenset({"root", "crown", None}), past.context.catalog) is not None
        ):
            continue
        late = _late(past, "potting-on", event.day)
        if late is not None and former.stage != "rootless":
            days, said = late
            text = f"the potting on {on(event.day)} may have come at the wrong time: {said}"
            yield past.departure("potting-too-late", 5 + days / 30, [event.day], text, [event.entry])
        if former.potted is not None and event.day - former.potted < apart and former.stage != "rootless":
            after = event.day - former.potted
            text = f"potted again on {on(event.day)}, after {after} days: roots may have been torn anew"
            yield past.departure("potted-too-soon", 4, [event.day], text, [event.entry])


def potted_in_flower(past: Past) -> Iterator[Departure]:
    """Yield pottings in spike or bloom."""
    for event in past.events("potted"):
        flowering = past.before(event.day).flowering
        if flowering in FLOWERING:
            how = flowering.replace("-", " ")
            text = f"potted {how} on {on(event.day)}: flowers and new roots may have been too much"
            yield past.departure("potted-in-flower", 4, [event.day], text, [event.entry])


def cold_reservoir(past: Past) -> Iterator[Departure]:
    """Yield reservoirs that stood full while the nights of the medium were too cold, or before roots were long."""
    cold: list[int] = []
    lowest = 99.0
    for day in past.days:
        state = past.state(day)
        if state.reservoir != "filled" or state.place is None or state.container is None:
            continue
        limit = past.limits("emptying-the-reservoir", day).night_c or 0.0
        medium = medium_on(past.context, state.place, state.container, day, day)
        if medium is not None and medium[1] < limit:
            cold.append(day)
            lowest = min(lowest, medium[1])
    if cold:
        limit = past.limits("emptying-the-reservoir", cold[0]).night_c or 0.0
        text = (
            f"the reservoir stood full on {len(cold)} days whose medium fell to {lowest:.1f} °C at night, under "
            f"{limit:.3g}: cold wet stones may have rotted its roots"
        )
        yield past.departure(
            "cold-reservoir",
            4 + len(cold) / 30 + (limit - lowest) / 2,
            cold,
            text,
            [_filled_by(past, cold[0])],
        )
    yield from _filled_early(past)


def _filled_early(past: Past) -> Iterator[Departure]:
    asked = past.context.catalog.steps["filling-the-reservoir"].longest_mm
    for day in past.days:
        state, before = past.state(day), past.before(day)
        if state.reservoir != "filled" or before.reservoir == "filled" or state.longest_mm is None:
            continue
        if state.longest_mm < asked:
            text = (
                f"the reservoir was filled on {on(day)} with a longest root of {state.longest_mm:g} mm, not "
                f"{asked:g}: roots may have stood in air, then in water"
            )
            yield past.departure("filled-early", 4, [day], text, [state.entry])


def _filled_by(past: Past, day: int) -> int:
    """Return the entry since which the reservoir was full on a day."""
    entry = past.state(day).entry
    for state in reversed([s for s in past.line.states if s.day <= day]):
        if state.reservoir != "filled":
            break
        entry = state.entry
    return entry


def _is_conversion(past: Past, day: int) -> bool:
    rows = past.context.catalog.containers
    into, out_of = past.state(day).container, past.before(day).container
    has, had = (name is not None and name in rows and rows[name].has_reservoir for name in (into, out_of))
    return has and not had


def _late(past: Past, step: str, day: int) -> tuple[int, str] | None:
    """Return by how many days a start missed the safe ones, and what was safe; None: it was safe, or nobody knows."""
    state = past.state(day)
    starts = (
        warm_starts(past.context, state.place or "", state.container or "", past.limits(step, day), day)
        if state.place in past.context.facts.places
        else None
    )
    if starts is None or starts.run_of(day) is not None:
        return None
    limits = past.limits(step, day)
    asks = (
        f"{limits.weeks:g} weeks of {limits.mean_c:.3g} °C in the medium"
        if limits.mean_c is not None
        else "warmth"
    )
    former, coming = starts.former_run(day), starts.next_run(day)
    if former is None and coming is None:
        return 60, f"{asks} never follow at {state.place}"
    if former is None or (coming is not None and coming[0] - day < day - former[1]):
        first = coming[0] if coming is not None else day
        return (
            first - day,
            f"{first - day} days before the first safe start, {on(first)}; {asks} are asked for",
        )
    return day - former[
        1
    ], f"{day - former[1]} days after the last safe start, {on(former[1])}; {asks} are asked for"
