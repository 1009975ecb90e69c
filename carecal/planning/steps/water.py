"""Steps of water and air at the roots: the first feed, a reservoir filled and emptied, a wrap opened."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.plan.model import Reason
from carecal.planning.forecasts.gates import with_forecasts
from carecal.planning.places.safe_starts import cold_runs
from carecal.planning.sick.wraps import CLOSED, begun_on, is_grown, setback_days, stage_on
from carecal.planning.spans import day_of, next_covered, run_end
from carecal.planning.steps.case import Case, Verdict, told
from carecal.planning.steps.potting import rot_since
from carecal.wording.numbers import counted
from carecal.wording.weak import usual_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.catalog.tables import Wrap
    from carecal.planning.steps.case import Window

__all__ = ["WRAP_STAGE", "emptying", "filling", "first_feed", "opening_further", "opening_wrap"]

WRAP_STAGE = "wrap-stage-"  # and its number, from 2 on: the first is the opening itself
GROWN = frozenset({"rooting-in", "established"})


def first_feed(case: Case) -> Verdict | None:
    """Return when a plant that was never fed may be: on the first day on which all gates of feeding are open."""
    state = case.state
    fed = any(e.kind == "wet" and e.care == "feeding" for e in case.line.told)
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
    """Return when a wrap is opened by stages: a new root of 20 mm and a tip, or at once where it moulds or rots.

    A root that was there before the wrapping or potting never opens it. The later stages are `opening_further`'s.

    Source: wraps.toml.
    """
    state = case.state
    if not state.is_wrapped:
        return None
    title, row = f"Open the wrap of {case.name} by stages", case.context.catalog.wraps[CLOSED]
    stop = _stop(case, row)
    if stop is not None:
        return stop
    opened = _opened(case, row)
    if opened is not None and opened <= case.day:
        stage = stage_on(case.line, opened, case.day, row)
        return _stage(case, row, opened, 0) if not stage else None
    grown = case.since(lambda s: s.is_wrapped and is_grown(s, row))
    tips = counted(row.open_tips, "tip")
    asked = (
        f"asks for a new root of {row.open_newest_mm:g} mm with {row.open_tips} growing {tips.split()[-1]}"
    )
    seen = state.newest_mm is not None
    because = (
        ()
        if grown is not None
        else (Reason("newest-root", asked, row.open_newest_mm, "mm"), *_usual(case, row))
    )
    return Verdict(
        "opening-the-wrap",
        title,
        grown,
        because=because,
        window=_wrap_window(case),
        unknown=""
        if seen or not _is_time(case, row)
        else "look for a new root, grown since: how long in mm?",
    )


def opening_further(case: Case) -> Iterator[Verdict]:
    """Yield the later stages of the hardening, from the present one on, each on its day (wraps.toml hardening_days)."""
    if not case.state.is_wrapped:
        return
    row = case.context.catalog.wraps[CLOSED]
    opened = _opened(case, row)
    if opened is None or _stop(case, row) is not None:
        return
    now = stage_on(case.line, opened, case.day, row) if opened <= case.day else 0
    for stage in range(max(now, 1), len(row.hardening_days)):
        yield _stage(case, row, opened, stage)


def _opened(case: Case, row: Wrap) -> int | None:
    """Return the first day of the hardening: warm enough, and with a new root; None while no root is told."""
    grown, window = case.since(lambda s: s.is_wrapped and is_grown(s, row)), _wrap_window(case)
    if grown is None or window is None:
        return None
    asked = max(case.day, grown)
    run = window.starts.run_of(asked) or window.starts.next_run(asked)
    return max(run[0], grown) if run is not None else None


def _stage(case: Case, row: Wrap, opened: int, stage: int) -> Verdict:
    hours, last = row.hardening_hours[stage], len(row.hardening_days) - 1
    longer = {1: "for an hour a day", 12: "by day, shut it at night"}.get(
        int(hours), f"for {hours:g} hours a day"
    )
    title = (
        f"Take {case.name} out of its wrap for good"
        if stage == last
        else f"Open the wrap of {case.name} {longer}"
    )
    text = f"stage {stage + 1} of {last + 1}; back one stage if its leaves soften"
    because = (Reason("stages", text, row.hardening_days[stage], "d"),)
    if not stage:
        return Verdict("opening-the-wrap", title, opened, because=because, window=_wrap_window(case))
    day = opened + int(row.hardening_days[stage]) + setback_days(case.line, opened, case.day, row)
    return Verdict(f"{WRAP_STAGE}{stage + 1}", title, day, because=because)


def _stop(case: Case, row: Wrap) -> Verdict | None:
    """Return the emergency of a wrapped plant: mould or rot, or leaves lost soon after it went in."""
    state, title = case.state, f"Open the wrap of {case.name} now"
    rot = rot_since(state, frozenset({"root", "crown", "leaf", "stem", None}), case.context.catalog)
    if rot is not None:
        reason = Reason("rot", "mould or rot: open at once and clean")
        return Verdict("opening-the-wrap", title, rot, urgent=reason)
    begun = begun_on(state)
    if begun is None:
        return None
    counted_on = [(on, s.leaves) for on, s in case.line.counts if s.leaves is not None]
    before = [leaves for on, leaves in counted_on if on <= begun]
    inside = [(on, leaves) for on, leaves in counted_on if begun < on <= begun + row.stop_days]
    if not inside or not before or before[-1] - inside[-1][1] < row.stop_leaves:
        return None
    text = f"{before[-1] - inside[-1][1]} leaves lost within {row.stop_days:g} days: take it out and look for rot"
    return Verdict("opening-the-wrap", title, inside[-1][0], urgent=Reason("urgent", text))


def _usual(case: Case, row: Wrap) -> Iterator[Reason]:
    """Yield when new roots usually show, until then (wraps.toml typical_days); no date is reckoned from it."""
    begun = begun_on(case.state)
    if begun is None or case.state.newest_mm or case.day > begun + row.typical_days_high:
        return
    first, last = (day_of(begun + int(days)) for days in (row.typical_days_low, row.typical_days_high))
    yield Reason("usual", usual_text(first, last))


def _is_time(case: Case, row: Wrap) -> bool:
    """Return whether new roots are looked for by now: not in the first weeks, in which looking only disturbs."""
    begun = begun_on(case.state)
    return begun is None or case.day - begun >= row.first_look_days


def _wrap_window(case: Case) -> Window | None:
    container = case.state.container
    return case.window("opening-the-wrap", "plastic" if container in {None, "bag"} else container or "")
