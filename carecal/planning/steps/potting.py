"""Steps at the potting bench: potting on, new medium, a nursery plug out, conversion to a reservoir."""

from __future__ import annotations

from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING

from carecal.horticulture.daylight import declination
from carecal.plan.model import Reason
from carecal.planning.places.climates import spans_where
from carecal.planning.places.weather import spells_of
from carecal.planning.rhythm.situations import situation_at
from carecal.planning.rhythm.terms import FULL
from carecal.planning.spans import Span, intersect, merge
from carecal.planning.steps.announced import announced, container_of, has_reservoir, plan_reason
from carecal.planning.steps.bridging import EQUATOR_DEG, dark_months, life_of, still_wet
from carecal.planning.steps.case import Case, Verdict, months_after, told
from carecal.wording.numbers import counted
from carecal.wording.weak import reservoir_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.catalog.tables import Catalog
    from carecal.catalog.tables import Step as StepRow
    from carecal.collection.plants import PlantState
    from carecal.planning.places.climates import PlaceAir

__all__ = [
    "converting", "held_back", "life_months", "never_convert", "new_medium_due", "no_repotting", "plug", "potting_on",
    "potting_season", "ready_day", "rot_since",
]  # fmt: skip

FLOWERING = frozenset({"in-spike", "in-bloom"})


def life_months(case: Case) -> tuple[float, float] | None:
    """Return from when a medium is looked at and when it is due anew, by the sides taken; None: it does not rot."""
    return life_of(case.state, case.line.number, case.context)


def rot_since(state: PlantState, where: frozenset[str | None], catalog: Catalog) -> int | None:
    """Return since when rot is seen at one of some spots and not yet gone, or None."""
    looks = catalog.pests["rot"].looks
    days = [w.since for w in state.pests if w.pest == "rot" and w.where in where and w.clean_looks < looks]
    days = [day for day in days if state.potted is None or day >= state.potted]
    return min(days, default=None)


def potting_on(case: Case) -> Verdict | None:
    """Return when a plant goes into fresh medium: wanted by age, plug or plan, with an active tip."""
    state = case.state
    if not _is_potted(state):
        return None
    title = f"Repot {case.name}"
    rot = rot_since(state, frozenset({"root", None}), case.context.catalog)
    if rot is not None:
        reason = Reason("rot", "rot at the roots: out of the medium now, whatever the season, then warmth")
        return Verdict("potting-on", title, rot, urgent=reason)
    sour = _sour(case)
    if sour is not None:
        return sour
    wet = _still_wet(case)
    if wet is not None:
        return Verdict("potting-on", title, wet[0], urgent=Reason("medium-too-wet", wet[1]))
    wants = list(_wants(case))
    tips_since = case.since(lambda s: (s.tips or 0) >= 1)
    ready = ready_day([*(day for day, _ in wants), tips_since], case)
    because = tuple(reason for _, reason in wants)
    if state.tips is not None and tips_since is None:
        because, ready = (*because, Reason("tips", "no active root tip yet", 0.0)), None
    return Verdict(
        "potting-on",
        title,
        ready,
        bool(wants),
        because,
        case.window("potting-on", _goes_into(case), within=potting_season(case, "potting-on")),
        blocked=no_repotting(state) or held_back(case),
        bridges=True,
        unknown="" if state.tips is not None else "count its active root tips",
        ready_then=lambda day: (case.line.state_at(day).tips or 0) >= 1 and all(on <= day for on, _ in wants),
    )


def new_medium_due(case: Case) -> Verdict | None:
    """Return when a medium that rots has reached the end of its life."""
    life, state = life_months(case), case.state
    if life is None or not _is_potted(state):
        return None
    title = f"New {state.medium} for {case.name}"
    if state.potted is None:
        return Verdict("new-medium-due", title, None, wanted=False, unknown="say when it was last repotted")
    low, high = (months_after(state.potted, months) for months in life)
    rested = state.potted + case.row("new-medium-due").apart_days
    text = f"{state.medium} since {told(state.potted)}: looked at from {told(low)}, due {told(high)}"
    return Verdict(
        "new-medium-due",
        title,
        max(high, rested),
        high <= case.day,
        (Reason("life-of-medium", text, life[1], "months"),),
        case.window("new-medium-due", _goes_into(case), within=potting_season(case, "new-medium-due")),
        blocked=no_repotting(state) or held_back(case),
        bridges=True,
        ready_then=lambda day: high <= day,
    )


def plug(case: Case) -> Verdict | None:
    """Return when a nursery plug is taken out: at the next unpotting, at once if the roots fail."""
    state = case.state
    noted = state.plug is True
    potted_before = state.potted is None or (state.came is not None and state.potted < state.came)
    unpotted = state.potting == 1 and potted_before
    if not _is_potted(state) or not unpotted or state.plug is False or life_months(case) is None:
        return None
    title = f"Take the nursery plug out of {case.name}"
    failing = case.since(lambda s: s.is_soft and s.stage in {"rootless", "new-tips"})
    if failing is not None and noted:
        text = "limp and nearly without roots: the plug comes out now, whatever the season"
        reason = Reason("roots-failing", text)
        return Verdict("taking-the-plug-out", title, failing, urgent=reason)
    if noted and case.side("plug-now-or-later") == "a":
        reason = Reason("side", "plug-now-or-later: at once on arrival")
        return Verdict("taking-the-plug-out", title, case.line.entered, urgent=reason)
    text = "a plug was seen" if noted else "never repotted here: a plug is possible"
    since = case.since(lambda s: s.flowering == "spent" or (s.tips or 0) >= 1)
    return Verdict(
        "taking-the-plug-out",
        title,
        since,
        noted,
        (Reason("plug", f"{text}; after bloom or at new tips"),),
        case.window(
            "taking-the-plug-out", _goes_into(case), within=potting_season(case, "taking-the-plug-out")
        ),
        blocked=no_repotting(state) or held_back(case),
        bridges=True,
        ready_then=lambda day: (case.line.state_at(day).tips or 0) >= 1,
    )


def converting(case: Case) -> Verdict | None:
    """Return when a plant may go over a reservoir: new tips, and warm weeks of the medium in the reservoir pot."""
    state, tables = case.state, case.context.catalog
    if state.mother is not None or state.container is None or has_reservoir(case, state.container):
        return None
    reservoir = next((name for name in tables.containers if has_reservoir(case, name)), None)
    if reservoir is None:
        return None
    plan = announced(case, lambda a: a.kind == "potting" and has_reservoir(case, container_of(a)))
    title = f"Convert {case.name} to a reservoir"
    as_rescue = case.side("convert-as-rescue") == "a"
    row = case.row("converting-to-a-reservoir")
    since = case.since(lambda s: as_rescue or _may_convert(s, row))
    because = [] if plan is None else [plan_reason(plan)]
    if since is None and state.tips is not None:
        asked = f"new roots of {row.longest_mm:g} mm at most or {counted(row.tips, 'tip')}"
        because.append(Reason("tips", f"asks for an active tip, and {asked}", row.longest_mm, "mm"))
    return Verdict(
        "converting-to-a-reservoir",
        title,
        since,
        plan is not None,
        tuple(because),
        case.window("converting-to-a-reservoir", container_of(plan) if plan is not None else reservoir),
        blocked=reservoir_text() if state.is_wrapped else never_convert(state, as_rescue=as_rescue),
        unknown=""
        if state.tips is not None or as_rescue or state.is_wrapped
        else "count its active root tips",
        ready_then=lambda day: _may_convert(case.line.state_at(day), row),
    )


def _is_potted(state: PlantState) -> bool:
    return (
        state.mother is None
        and state.medium not in {None, "none"}
        and state.container not in {None, "mount", "bag"}
        and not state.is_wrapped
    )


def no_repotting(state: PlantState) -> str:
    """Return why a plant is not repotted whatever the season, '' for nothing."""
    return f"{state.flowering.replace('-', ' ')}: no repotting" if state.flowering in FLOWERING else ""


def _sour(case: Case) -> Verdict | None:
    """Return the emergency of a plant without roots in an old medium, or the question whether it is sour."""
    state, life = case.state, life_months(case)
    since = case.since(lambda s: s.stage == "rootless")
    if life is None or since is None:
        return None
    title = f"Repot {case.name}"
    if state.potted is None:
        ask = "no roots: smell the medium and say when it was repotted; a sour one is changed now, whatever the season"
        return Verdict("potting-on", title, None, unknown=ask)
    old = months_after(state.potted, life[0])
    if old > case.day:
        return None
    text = f"no roots, in {state.medium} of {told(state.potted)}: changed now, whatever the season"
    return Verdict("potting-on", title, max(since, old), urgent=Reason("rootless-in-sour-medium", text))


def _still_wet(case: Case) -> tuple[int, str] | None:
    """Return since when an old medium is wet for too long in the dark months, and that in words."""

    def interval(day: int) -> float:
        beat = case.plant_planner.beats.at(day)
        return beat.days if beat is not None else 0.0

    return still_wet(case.line, case.day, interval, case.context)


def _wants(case: Case) -> Iterator[tuple[int, Reason]]:
    """Yield why a plant is to be repotted, each with the day since when; the end of life is a step of its own."""
    state, life = case.state, life_months(case)
    if life is not None and state.potted is not None:
        low, high = (months_after(state.potted, months) for months in life)
        if low <= case.day < high:
            text = f"{state.medium} since {told(state.potted)}: looked at after {life[0]:g} months"
            yield low, Reason("life-of-medium", text, float(life[0]), "months")
    plan = announced(case, lambda a: a.kind == "potting" and not has_reservoir(case, container_of(a)))
    if plan is not None:
        yield date.fromisoformat(plan.written[:10]).toordinal(), plan_reason(plan)


def ready_day(days: list[int | None], case: Case) -> int | None:
    """Return the last of some days, and of those that a plant is left in peace after its last potting."""
    known = [day for day in days if day is not None]
    if case.state.potted is not None:
        lately = case.context.catalog.repot_holds["unpotted-lately"].wait_days or 0
        known.append(case.state.potted + int(max(case.row("potting-on").apart_days, lately)))
    return max(known, default=None)


def _goes_into(case: Case) -> str:
    plan = announced(case, lambda a: a.kind == "potting" and not has_reservoir(case, container_of(a)))
    return container_of(plan) if plan is not None else case.state.container or "plastic"


def _may_convert(state: PlantState, row: StepRow) -> bool:
    tips, rooted = state.tips or 0, state.stage in {"new-tips", "rooting-in", "established"}
    short_enough = state.longest_mm is not None and state.longest_mm <= row.longest_mm
    return rooted and tips >= 1 and (short_enough or tips >= row.tips)


def never_convert(state: PlantState, *, as_rescue: bool) -> str:
    """Return why a plant is not converted whatever the season, '' for nothing."""
    if state.flowering in FLOWERING:
        return f"{state.flowering.replace('-', ' ')}: no conversion"
    if state.quarantine_since is not None:
        return "in quarantine: no conversion"
    if state.stage == "rootless" and not as_rescue:
        return "no roots: old roots do not make the transition, and it is no rescue"
    return ""


def potting_season(case: Case, step: str) -> list[Span] | None:
    """Return the days on which potting may begin besides warmth: not in great heat; spring by the other side."""
    air = case.context.air(case.place, case.day)
    if air is None:
        return None
    cool = intersect(air.days_up_to(case.row(step).day_most_c), _light_months(case, air))
    after_bloom = case.state.flowering == "spent"
    if case.side("repot-season") != "a" or after_bloom or abs(case.context.facts.latitude) < EQUATOR_DEG:
        return cool
    spring = _spring(case.context.facts.latitude, air.origin, air.last)
    return intersect(cool, spans_where(spring, air.origin))


def held_back(case: Case) -> str:
    """Return what holds a repotting back besides flowers and season: quarantine, rest, a place too dark for roots."""
    holds = case.context.catalog.repot_holds
    if case.state.quarantine_since is not None:
        return f"in quarantine: no repotting until {holds['quarantine'].until}"
    stretches = case.plant_planner.stretches
    if stretches and situation_at(stretches, case.day).rest == FULL:
        return f"at rest: no repotting until {holds['rest'].until}"
    heat = holds["heat"]
    hot = [s.until for s in spells_of(case.state, case.context) if s.day_from_c >= (heat.over_c or 0)]
    waits = [until + int(heat.wait_days or 0) for until in hot if until < case.day]
    if waits and case.day <= max(waits):
        return f"after days of {heat.over_c:g} °C: no repotting before {told(max(waits) + 1)}"
    air, least = case.context.air(case.place, case.day), holds["dark-place"].under_mol
    if air is not None and least is not None and max(air.values("light_mol")) < least:
        return f"under {least:g} mol of light a day all year: no repotting until it has {holds['dark-place'].until}"
    return ""


def _light_months(case: Case, air: PlaceAir) -> list[Span]:
    """Return the days outside the dark months; those too where it stays warm and as light as in summer.

    Source: repot_holds.toml dark-months; light enough: our choice, because a lamp knows no winter.
    """
    hold, dark = case.context.catalog.repot_holds["dark-months"], dark_months(case.context)
    if not dark:
        return [(air.origin, air.last)]
    container = case.state.container if case.state.container in case.context.catalog.containers else "plastic"
    days, light = air.values("day_c"), air.values("light_mol")
    medium = air.medium_ahead(container or "plastic")
    bright = case.context.catalog.light_classes["suits"].from_mol
    warm_c, medium_c = hold.open_day_c or 0.0, hold.open_medium_c or 0.0
    warm = [days[at] >= warm_c and medium[at] >= medium_c and light[at] >= bright for at in range(len(days))]
    weeks = round(7 * (hold.open_weeks or 0))
    runs = [run for run in spans_where(warm, air.origin) if run[1] - run[0] + 1 >= weeks]
    free = [date.fromordinal(air.origin + at).month not in dark for at in range(len(days))]
    return merge([*spans_where(free, air.origin), *runs])


def _spring(latitude: float, first: int, last: int) -> list[bool]:
    """Return whether each day lies between the equinox of spring and midsummer, by the height of the sun."""
    sign = 1 if latitude >= 0 else -1
    heights = [
        sign * declination(date.fromordinal(day).timetuple().tm_yday) for day in range(first, last + 2)
    ]
    return [now >= 0 and after > now for now, after in pairwise(heights)]
