"""Steps between places: out into summer by stages, in again before it is too cold."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.plan.model import Reason
from carecal.planning.places.safe_starts import Limits, cold_runs, mild_starts
from carecal.planning.spans import covers
from carecal.planning.steps.case import Case, Verdict, Window, held_since, told

if TYPE_CHECKING:
    from carecal.collection.plants import PlantState
    from carecal.planning.spans import Span

__all__ = ["hardening", "moving_in", "moving_out"]

GROWN = frozenset({"rooting-in", "established"})
FLOWERING = frozenset({"in-spike", "in-bloom"})


def moving_out(case: Case) -> Verdict | None:
    """Return when a plant may summer outdoors: once two weeks of mild nights follow (models W3)."""
    context, state = case.context, case.state
    outdoors = [name for name in sorted(context.facts.places) if context.is_outdoors(name, case.day)]
    outdoors = [name for name in outdoors if context.has_climate(name, case.day)]
    if not outdoors or state.mother is not None or context.is_outdoors(case.place, case.day):
        return None
    if case.side("outdoors-in-summer") == "b":
        return None
    announced = next(
        (a.place for a in case.line.announced if a.kind == "moving" and a.place in outdoors), None
    )
    place, row = announced or outdoors[0], case.row("moving-out")
    limit = case.profile.out_night_c
    starts = mild_starts(context, place, limit, row.weeks_after, case.day)
    firm = mild_starts(context, place, limit + row.ok_margin_c, row.weeks_after, case.day)
    name = context.facts.places[place].spec_at(case.day).name
    window = (
        None
        if starts is None
        else Window(
            starts, firm, Limits(None, limit, row.weeks_after), f"the air at {name}", "mild nights follow"
        )
    )
    since = case.since(_may_go_out)
    blocked = _stays_in(case, state)
    text = "in shade and under a roof at first: leaves that are not hardened burn"
    if since is None:
        text = "asks for a plant that is rooting in or established, out of its wrap and out of quarantine"
    return Verdict(
        "moving-out",
        f"Move {case.name} out to {name}",
        since,
        not blocked and since is not None,
        (Reason("shade" if since is not None else "stage", text),),
        window,
        blocked=blocked,
        unknown="" if state.stage is not None else "say its stage, or count roots and leaves",
    )


def hardening(case: Case) -> Verdict | None:
    """Return the fortnight after moving out in which light is stepped up."""
    context, day = case.context, case.day
    days = round(7 * case.row("hardening").weeks_after)
    since = held_since(case.line, day, lambda s: context.is_outdoors(s.place, day))
    if since is None or since <= case.line.entered or not day < since + days:
        return None
    text = f"shade first, then step by step up to its place's light over {days // 2} to {days} days"
    return Verdict(
        "hardening",
        f"Harden {case.name} to the light outdoors",
        since,
        because=(Reason("moved-out", text, float(days), "d"),),
        last=since + days - 1,
    )


def moving_in(case: Case) -> Verdict | None:
    """Return when a plant comes in: a week before the first night under its limit, today where it is urgent."""
    context, place, day = case.context, case.place, case.day
    if place is None or not context.has_climate(place, day) or case.state.mother is not None:
        return None
    title, since = f"Bring {case.name} in", case.since(lambda s: s.place == place) or case.line.entered
    urgent = _first_from(_urgent_runs(case, place), day)
    if urgent is not None and urgent[0] <= day:
        reason = Reason(
            "urgent",
            _cold_text(max(urgent[0], since), case.profile.urgent_below_c),
            case.profile.urgent_below_c,
            "°C",
        )
        return Verdict("moving-in", title, max(urgent[0], since), urgent=reason)
    kind = context.catalog.place_kinds[context.facts.places[place].spec_at(day).place_kind]
    limit = case.profile.in_night_c
    if kind.heated and not kind.outdoors:
        if urgent is None:
            return None
        limit, run = case.profile.urgent_below_c, urgent
    else:
        cold = _first_from(cold_runs(context, place, limit, day), day)
        if cold is None:
            text = f"nights stay at {limit:g} °C and more"
            return Verdict(
                "moving-in", title, None, wanted=False, because=(Reason("night", text, limit, "°C"),)
            )
        run = cold
    opens = max(run[0] - 1 - int(case.row("moving-in").ok_margin_days), since)
    reason = Reason("night", _cold_text(max(run[0], since), limit), limit, "°C")
    if run[0] <= day:
        return Verdict("moving-in", title, opens, urgent=reason)
    return Verdict("moving-in", title, opens, because=(reason,), last=max(run[0] - 1, opens))


def _urgent_runs(case: Case, place: str) -> list[Span]:
    """Return the days on which the medium or the air is colder than the kind bears at all, by normals or readings."""
    below, container = case.profile.urgent_below_c, case.state.container
    runs = list(cold_runs(case.context, place, below, case.day))
    if container in case.context.catalog.containers:
        runs.extend(cold_runs(case.context, place, below, case.day, container))
    return sorted(runs)


def _first_from(runs: list[Span] | tuple[Span, ...], day: int) -> Span | None:
    return next((span for span in sorted(runs) if covers([span], day)), None) or next(
        (span for span in sorted(runs) if span[0] > day), None
    )


def _cold_text(first: int, limit: float) -> str:
    return f"nights under {limit:g} °C from {told(first)}"


def _may_go_out(state: PlantState) -> bool:
    return state.stage in GROWN and not state.is_wrapped and state.quarantine_since is None


def _stays_in(case: Case, state: PlantState) -> str:
    if state.flowering in FLOWERING:
        return f"{state.flowering.replace('-', ' ')}: moving drops buds; say so if it may go out all the same"
    clean = case.row("moving-out").clean_days
    if state.last_find is not None and case.day - state.last_find < clean:
        return f"a find on {told(state.last_find)}: {clean} clean days first"
    return ""
