"""Sentences on the sick: what was found, what to do now, how it is wetted meanwhile. It decides nothing."""

from __future__ import annotations

from datetime import date

from carecal.wording.dates import day_month, day_text

__all__ = [
    "CROWN_LOST",
    "PEST_FOUND",
    "POTTED",
    "PROBABLY_LOST",
    "beside_text",
    "coming_in_text",
    "crownless_text",
    "neighbours_text",
    "potted_text",
    "roots_too_text",
    "rot_head",
    "rot_place",
    "rot_text",
]

CROWN_LOST, PEST_FOUND, POTTED = "crown lost", "found lately", "freshly potted"
PROBABLY_LOST = "it is probably lost: look for a shoot from the base, not for a cure"


def rot_head(where: str, since: date) -> str:
    """Return what was found, where and when."""
    return f"rot {rot_place(where)}, found {day_text(since)}"


def rot_place(where: str) -> str:
    """Return where rot sits, as it is said in English."""
    return {"leaf": "on a leaf", "root": "at the roots"}.get(where, f"at the {where}")


def rot_text(does: str, dry_until: date | None, *, from_below: bool) -> str:
    """Return what rot asks for today, in whole sentences.

    Args:
        does: What is to be done now; '' once the days for it are over.
        dry_until: First day on which it may be wetted again, None where it may today.
        from_below: Whether it is wetted from below alone.
    """
    parts = [does] if does else []
    if dry_until is not None:
        parts.append(f"no water before {day_text(dry_until)}" + (", then from below" if from_below else ""))
    elif from_below:
        parts.append("water from below or at the edge, in the morning")
    return " ".join(f"{part[:1].upper()}{part[1:]}." for part in parts)


def neighbours_text(place: str, near_m: float) -> str:
    """Return that the plants around are looked over too."""
    return f"look over the others at {place} too: pot-mates, the same tray, all within {near_m:g} m, what stands below"


def beside_text(pest: str, on: str, look_for: str) -> str:
    """Return what is looked for on a plant that stood beside a find."""
    return f"{pest.replace('-', ' ')} was found beside it on {on}{': ' + look_for if look_for else ''}"


def crownless_text(since: date, *, is_asked: bool) -> str:
    """Return how a plant without a crown stands, and what is asked of the grower after a year."""
    waits = f"its crown was lost on {day_text(since)}: it waits for one shoot from the base"
    if is_asked:
        return (
            f"{waits}, and none was told in a year. Go on with it, or give it up? That is yours to say. "
            "A stem that is soft down to the roots is over."
        )
    return f"{waits}, which may take many months. Weak feed, no spike kept."


def roots_too_text(pest: str, on: date) -> str:
    """Return that a potting looks over the roots for a pest found lately."""
    return f"look over its roots: {pest.replace('-', ' ')} was found on {day_month(on)}"


def coming_in_text() -> str:
    """Return that a plant is looked over before it comes in."""
    return "look it over before it comes in: axils, leaves on both sides, drainage holes"


def potted_text(
    shade: str, light: tuple[float, float], wetting: tuple[str, date] | None, back: tuple[str, date]
) -> str:
    """Return what a freshly potted plant is kept from, in whole sentences.

    Args:
        shade: What is done at first.
        light: Light of its place, and what it bears at most. [mol m⁻² d⁻¹]
        wetting: The first wetting and its day, for one that was left dry.
        back: The way back to its light, and from when.
    """
    parts = [f"{shade}: {light[0]:.1f} mol a day here, {light[1]:g} at most"]
    parts += [f"{does} on {day_text(on)}" for does, on in ([wetting] if wetting is not None else [])]
    parts.append(f"from {day_text(back[1])} {back[0]}")
    return " ".join(f"{part[:1].upper()}{part[1:]}." for part in parts)
