"""Steps of water and air at the roots: the first feed, a reservoir filled and emptied, a wrap opened."""

from __future__ import annotations

from carecal.plan.model import Reason
from carecal.planning.forecasts.gates import with_forecasts
from carecal.planning.places.safe_starts import cold_runs
from carecal.planning.spans import next_covered, run_end
from carecal.planning.steps.case import Case, Verdict, told
from carecal.planning.steps.potting import rot_since
from carecal.wording.numbers import counted

__all__ = ["emptying", "filling", "first_feed", "opening_wrap"]

GROWN = frozenset({"rooting-in", "established"})


def first_feed(case: Case) -> Verdict | None:
    """Return when a plant that was never fed may be: on the first day on which all gates of feeding are open."""
    state = case.state
    fed = any(e.kind == "wet" and e.care == "feeding" for e in case.line.events)
    if fed or state.mother is not None or state.is_wrapped or not case.plant_planner.stretches:
        return None
    title = f"First feed for {case.name}"
    if state.stage == "rootless":
        return Verdict("first-feed", title, None, wanted=False, blocked="no roots: nothing to take it up")
    spans = case.plant_planner.gates.open_spans
    held = tuple(
        reason if reason.code == "forecast" else reason._replace(code=gate.gate)
        for gate in with_forecasts(case.plant_planner, case.plant_planner.gates.report(case.day))
        if not gate.open
        for reason in gate.because
    )
    run = next((span for span in spans if span[0] <= case.day <= span[1]), None)
    opens = run[0] if run is not None else next_covered(spans, case.day)
    last = run_end(spans, opens) if opens is not None else None
    return Verdict(
        "first-feed",
        title,
        opens,
        state.stage == "new-tips",
        held or (Reason("gates", "all gates of feeding are open"),),
        last=last if last is not None and last < case.context.last_day else None,
    )


def filling(case: Case) -> Verdict | None:
    """Return when a reservoir that is empty on purpose may be filled: long roots, and a warm medium."""
    state = case.state
    if state.reservoir != "empty" or state.mother is not None or state.is_wrapped:
        return None
    title, row = f"Fill the reservoir of {case.name}", case.row("filling-the-reservoir")
    long_enough = case.since(
        lambda s: (s.longest_mm or 0) >= row.longest_mm or (s.longest_mm is None and s.stage in GROWN)
    )
    rested = state.potted + row.apart_days if state.potted is not None else None
    because = [Reason("reservoir", "empty on purpose; poured through instead")]
    if rested is not None and rested > case.day:
        text = f"not before {told(rested)}: {row.apart_days} days after potting"
        because.append(Reason("after-potting", text, float(row.apart_days), "d"))
    if long_enough is None and state.longest_mm is not None:
        text = f"longest root {state.longest_mm:g} mm, asks for {row.longest_mm:g}"
        because.append(Reason("longest-root", text, row.longest_mm, "mm"))
    unknown = "" if long_enough is not None or state.longest_mm is not None else "measure its longest root"
    ready = max(long_enough, rested or long_enough) if long_enough is not None else None
    emptied = case.since(lambda s: s.reservoir == "empty")
    ready = max(ready, emptied) if ready is not None and emptied is not None else ready
    return Verdict(
        "filling-the-reservoir",
        title,
        ready,
        because=tuple(because),
        unknown=unknown,
        window=case.window("filling-the-reservoir", state.container or "reservoir"),
    )


def emptying(case: Case) -> Verdict | None:
    """Return when a filled reservoir is emptied: a fortnight before the nights of its medium grow too cold."""
    state, place = case.state, case.place
    if state.reservoir != "filled" or place is None or state.container is None:
        return None
    limits = case.limits("emptying-the-reservoir")
    limit = limits.night_c or 0.0
    title = f"Empty the reservoir of {case.name} and pour through instead"
    if not case.context.has_climate(place, case.day):
        return Verdict("emptying-the-reservoir", title, None, wanted=False, unknown=f"{place} has no climate")
    runs = cold_runs(case.context, place, limit, case.day, state.container)
    run = next((span for span in runs if span[1] >= case.day), None)
    if run is None:
        text = f"the medium stays at {limit:.3g} °C and more in every night"
        return Verdict(
            "emptying-the-reservoir", title, None, wanted=False, because=(Reason("night", text, limit, "°C"),)
        )
    filled = case.since(lambda s: s.reservoir == "filled") or case.line.entered
    first = max(run[0], filled)
    text = f"nights of the medium fall under {limit:.3g} °C from {told(run[0])}: cold wet stones rot roots"
    reason = Reason("medium-night", text, limit, "°C")
    opens = max(run[0] - limits.days, filled)
    if run[0] <= case.day:
        return Verdict("emptying-the-reservoir", title, opens, urgent=reason)
    return Verdict("emptying-the-reservoir", title, opens, because=(reason,), last=first - 1)


def opening_wrap(case: Case) -> Verdict | None:
    """Return when a wrap is opened by stages: a root of 20 mm or two tips, or at once where it moulds or rots."""
    state = case.state
    if not state.is_wrapped:
        return None
    title, row = f"Open the wrap of {case.name} by stages", case.row("opening-the-wrap")
    rot = rot_since(state, frozenset({"root", "crown", "leaf", None}), case.context.catalog)
    if rot is not None:
        reason = Reason("rot", "mould or rot: open at once and clean")
        return Verdict("opening-the-wrap", title, rot, urgent=reason)
    grown = case.since(lambda s: (s.longest_mm or 0) >= row.longest_mm or (s.tips or 0) >= row.tips)
    stages = f"over {row.over_days} days: an hour, half a day, a day, then off"
    because = [Reason("stages", stages, float(row.over_days), "d")]
    into = "plastic" if state.container in {None, "bag"} else state.container or ""
    seen = state.longest_mm is not None or state.tips is not None
    if grown is None and seen:
        because.append(
            Reason(
                "longest-root",
                f"asks for a root of {row.longest_mm:g} mm or {counted(row.tips, 'tip')}",
                row.longest_mm,
                "mm",
            )
        )
    return Verdict(
        "opening-the-wrap",
        title,
        grown,
        because=tuple(because),
        window=case.window("opening-the-wrap", into),
        unknown="" if seen else "look for new roots: length of the longest, number of tips",
    )
