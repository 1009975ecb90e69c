"""Reasons of a rhythm in words and numbers: why so many days, and why they change on that day."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from carecal.horticulture.rounding import significant
from carecal.planning.day_words import MONTHS, day_month
from carecal.planning.model import Reason
from carecal.planning.rhythm import reading_days

if TYPE_CHECKING:
    from carecal.planning.climates import PlaceAir
    from carecal.planning.rhythm import Beat
    from carecal.planning.scene import Scene

__all__ = ["MONTHS", "change_text", "day_month", "reasons_of"]

FACTOR_TEXTS = {
    "profile": "its kind asks for",
    "settling": "settling in after potting",
    "resting": "its rest",
    "wait-until-empty": "waiting until the reservoir is empty",
    "moss-nearly-dry": "moss left until it is nearly dry",
}


def reasons_of(beat: Beat, former: Beat | None, scene: Scene) -> tuple[Reason, ...]:
    """Return why a rhythm has its days: former days, what changed, and each term with its number."""
    found = []
    if former is not None and former.days != beat.days:
        change = change_text(beat, former, scene)
        since = day_month(date.fromordinal(beat.start))
        text = f"every {_days(beat.days)} from {since}, was {_days(former.days)}" + (
            f": {change}" if change else ""
        )
        found.append(Reason("changed", text, float(former.days), "d"))
    terms = beat.terms
    surface = terms.technique == "surface"
    what = "a bare surface" if surface else f"{beat.situation.state.medium} in {_pot(beat)}"
    found.append(Reason("reference", f"{what}: {terms.reference_days:.3g} days in a room at 21 °C and 50 %",
                        significant(terms.reference_days), "d"))  # fmt: skip
    air = scene.air(terms.place, beat.start)
    if air is not None:
        found.append(_air_reason(air, beat))
    for code, factor in terms.factors:
        found.append(Reason(code, f"{_factor_text(code)}: ×{factor:g}", factor))
    if beat.factor != 1:
        found.append(
            Reason("taught", f"what this plant has shown: ×{beat.factor:.2f}", significant(beat.factor))
        )
    if beat.held:
        bound = terms.max_days if beat.held == "ceiling" else terms.min_days
        found.append(
            Reason(f"held-at-{beat.held}", f"held at {beat.held}: {bound:g} days", float(bound), "d")
        )
    return tuple(found)


def change_text(beat: Beat, former: Beat, scene: Scene) -> str:
    """Return what changed from one rhythm to the next, in words with numbers."""
    if beat.cause == "taught":
        return "what this plant has shown"
    if beat.cause == "gap":
        return "wetting starts again"
    if beat.cause == "terms":
        return _terms_text(beat, former)
    return _climate_text(
        scene.air(former.terms.place, former.start), scene.air(beat.terms.place, beat.start), beat, former
    )


def _terms_text(beat: Beat, former: Beat) -> str:
    new, old, parts = beat.situation.state, former.situation.state, []
    if new.potting != old.potting:
        parts.append("repotted")
    if (new.medium, new.container, new.size_cm) != (old.medium, old.container, old.size_cm):
        parts.append(f"{new.medium} in {_pot(beat)}")
    if new.place != old.place:
        parts.append(f"moved to {new.place}")
    if new.stage != old.stage:
        parts.append(f"now {new.stage}")
    if beat.situation.is_settling != former.situation.is_settling:
        parts.append("settling in" if beat.situation.is_settling else "settled")
    if beat.situation.is_resting != former.situation.is_resting:
        parts.append("its rest begins" if beat.situation.is_resting else "its rest is over")
    if new.reservoir != old.reservoir and new.reservoir:
        parts.append(f"reservoir {new.reservoir}")
    if new.aid_names != old.aid_names:
        parts.append(f"aids: {', '.join(sorted(new.aid_names)) or 'none'}")
    return ", ".join(parts) or f"{beat.terms.place} changed"


def _climate_text(before: PlaceAir | None, after: PlaceAir | None, beat: Beat, former: Beat) -> str:
    if before is None or after is None:
        return ""
    old, new = reading_days(former.start), reading_days(beat.start)
    parts = []
    for name, word, unit in (
        ("night_c", "nights", "°C"),
        ("day_c", "days", "°C"),
        ("rh_pct", "humidity", "%"),
    ):
        a, b = round(before.mean(name, *old)), round(after.mean(name, *new))
        if abs(b - a) >= (5 if unit == "%" else 1):
            parts.append(f"{word} {a} → {b} {unit}")
    light = before.mean("light_mol", *old), after.mean("light_mol", *new)
    if light[0] > 0 and not 0.8 <= light[1] / light[0] <= 1.25:
        parts.append(f"light {light[0]:.1f} → {light[1]:.1f} mol a day")
    return ", ".join(parts)


def _air_reason(air: PlaceAir, beat: Beat) -> Reason:
    span = reading_days(beat.start)
    means = [air.mean(name, *span) for name in ("day_c", "night_c", "rh_pct", "light_mol")]
    text = (
        f"{air.spec.name}: {means[0]:.0f} °C by day, {means[1]:.0f} °C by night, {means[2]:.0f} % humidity, "
        f"{means[3]:.1f} mol of light a day: dries {_pace(beat.demand)}"
    )
    return Reason("demand", text, significant(beat.demand))


def _pace(demand: float) -> str:
    if 0.95 <= demand <= 1.05:
        return "as fast as there"
    return f"{demand:.2f} times as fast as there"


def _factor_text(code: str) -> str:
    if code.startswith("stage-"):
        return f"stage {code.removeprefix('stage-')}"
    if code.startswith("aid-"):
        return f"with {code.removeprefix('aid-')}"
    return FACTOR_TEXTS.get(code, code)


def _pot(beat: Beat) -> str:
    state = beat.situation.state
    size = f"{state.size_cm:g} cm " if state.size_cm else ""
    return (
        f"a {size}{state.container} pot"
        if state.container not in {"mount", "bag"}
        else f"a {state.container}"
    )


def _days(days: int) -> str:
    return "day" if days == 1 else f"{days} days"
