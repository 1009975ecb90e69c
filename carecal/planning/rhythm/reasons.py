"""Why a rhythm has its days and why they change, with the numbers; the sentences are in `wording.rhythm`."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from carecal.horticulture.rounding import significant
from carecal.plan.model import Reason
from carecal.planning.rhythm.beats import reading_days
from carecal.planning.rhythm.terms import FULL
from carecal.wording import rhythm as say

if TYPE_CHECKING:
    from carecal.collection.plants import PlantHistory
    from carecal.planning.places.climates import PlaceAir
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.beats import Beat

__all__ = ["change_of", "change_text", "reasons_of"]

TOLD_K, TOLD_PCT = (
    1,
    5,
)  # our choice, because less is not felt: change of a temperature [K], of a humidity [%]
TOLD_LIGHT = 1.25  # our choice, because a change of light by less than a quarter is not seen [-]
AIR = ("day_c", "night_c", "rh_pct", "light_mol")


def reasons_of(beat: Beat, former: Beat | None, context: PlanContext, because: str) -> tuple[Reason, ...]:
    """Return why a rhythm has its days: former days, what changed, and each term with its number.

    Args:
        beat: The rhythm.
        former: The one before; None: it is the first.
        context: What plants share.
        because: What changed its days, as `change_of` says it.
    """
    found = []
    if former is not None and former.days != beat.days:
        text = say.changed(beat.days, former.days, date.fromordinal(beat.start), because)
        found.append(Reason("changed", text, float(former.days), "d"))
    terms, state = beat.terms, beat.situation.state
    stands = None if terms.technique == "surface" else (state.medium, state.container, state.size_cm)
    days = significant(terms.reference_days)
    found.append(Reason("reference", say.reference(stands, terms.reference_days), days, "d"))
    air = context.air(terms.place, beat.start)
    if air is not None:
        means = [air.mean(name, *reading_days(beat.start)) for name in AIR]
        found.append(Reason("demand", say.air(air.spec.name, means, beat.demand), significant(beat.demand)))
    found.extend(Reason(code, say.factor(code, factor), factor) for code, factor in terms.factors)
    if beat.factor != 1:
        found.append(Reason("taught", say.shown(beat.factor), significant(beat.factor)))
    if beat.held:
        bound = float(terms.max_days if beat.held == "ceiling" else terms.min_days)
        found.append(Reason(f"held-at-{beat.held}", say.held(beat.held, bound), bound, "d"))
    water = beat.situation.rest_water
    if water is not None and beat.situation.rest == FULL:
        found.append(Reason("rest-water", say.rest_water(water), water.night_from_c, "°C"))
    return tuple(found)


def change_of(beat: Beat, former: Beat | None, context: PlanContext, line: PlantHistory) -> str:
    """Return what changed the days of a rhythm, in words; '' where they are the former ones, or the first."""
    if former is None or former.days == beat.days:
        return ""
    return change_text(beat, former, context, line)


def change_text(beat: Beat, former: Beat, context: PlanContext, line: PlantHistory) -> str:
    """Return what changed from one rhythm to the next, in words with numbers: an answer as whoever gave it said it."""
    if beat.cause == "taught":
        return _heard(line, beat.start)
    if beat.cause == "gap":
        return say.STARTS_AGAIN
    by_air = _climate_text(
        context.air(former.terms.place, former.start), context.air(beat.terms.place, beat.start), beat, former
    )
    if beat.cause == "terms":
        return _terms_text(beat, former) or by_air or say.place_changed(beat.terms.place)
    if by_air or beat.factor == former.factor:
        return by_air  # its own winter moves with the light: no answer of long ago did that
    return _heard(line, beat.start, since=former.start)


def _heard(line: PlantHistory, day: int, since: int = 0) -> str:
    """Return the answer after one day and up to another that a plant's own pace rests on."""
    for event in reversed(line.told):
        is_told = event.aid is None and (event.felt or event.weight_g is not None)
        if since < event.day <= day and is_told:
            return say.heard(
                event.felt, event.weight_g, date.fromordinal(event.day), is_own=event.by == "owner"
            )
    return say.SHOWN


def _terms_text(beat: Beat, former: Beat) -> str:
    new, old, parts = beat.situation.state, former.situation.state, []
    if new.potting != old.potting:
        parts.append(say.REPOTTED)
    if (new.medium, new.container, new.size_cm) != (old.medium, old.container, old.size_cm):
        parts.append(say.pot(new.medium, new.container, new.size_cm))
    if new.place != old.place:
        parts.append(say.moved(new.place))
    if new.stage != old.stage:
        parts.append(say.stage_now(new.stage))
    if beat.situation.is_settling != former.situation.is_settling:
        parts.append(say.settling(beat.situation.is_settling))
    if beat.situation.rest != former.situation.rest:
        parts.append(say.resting(beat.situation.rest))
    elif beat.situation.rest_water != former.situation.rest_water:
        parts.append(say.REST_NIGHTS)
    if new.reservoir != old.reservoir and new.reservoir:
        parts.append(say.reservoir(new.reservoir))
    if new.aid_names != old.aid_names and _of_aids(beat) != _of_aids(former):
        parts.append(say.aids(new.aid_names))
    buds = [any(code == "buds" for code, _ in each.terms.factors) for each in (former, beat)]
    if buds[0] != buds[1]:
        parts.append(say.buds(begins=buds[1]))
    return ", ".join(parts)


def _of_aids(beat: Beat) -> tuple[float, tuple[tuple[str, float], ...]]:
    """Return what aids make of an interval: the light they let pass, and their factors."""
    return beat.terms.light_factor, tuple(each for each in beat.terms.factors if each[0].startswith("aid-"))


def _climate_text(before: PlaceAir | None, after: PlaceAir | None, beat: Beat, former: Beat) -> str:
    if before is None or after is None:
        return ""
    old, new = reading_days(former.start), reading_days(beat.start)
    parts = []
    for name, least in (("night_c", TOLD_K), ("day_c", TOLD_K), ("rh_pct", TOLD_PCT)):
        a, b = round(before.mean(name, *old)), round(after.mean(name, *new))
        if abs(b - a) >= least:
            parts.append(say.air_change(name, a, b))
    light = before.mean("light_mol", *old), after.mean("light_mol", *new)
    if light[0] > 0 and not 1 / TOLD_LIGHT <= light[1] / light[0] <= TOLD_LIGHT:
        parts.append(say.light_change(*light))
    return ", ".join(parts)
