"""Sentences on care days that fit together: what they spare, what they cost, who is brought over."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.wording.dates import WEEKDAY_NAMES, day_month

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = [
    "FIRST_WETTINGS",
    "burden_lines",
    "counted_days",
    "fit_lines",
    "fitting_asked",
    "relief_line",
    "twelve_known",
]

FIRST_WETTINGS = 12  # our choice, because by then most plants of a house were watered twice


def counted_days(days: int) -> str:
    """Return a number of days in words: '1 day', '12 days'."""
    return f"{days} day" if days == 1 else f"{days} days"


def twelve_known() -> str:
    """Return what a new collection is told once its first waterings are known."""
    return "You now have twelve waterings written down."


def fitting_asked(text: str) -> list[str]:
    """Return that question as lines, with the commands that answer it."""
    return [
        f"? {text} `carecal rounds suggest` shows days that fit them together.",
        "  yes: carecal rounds take   no: carecal rounds keep",
    ]


def fit_lines(fit: Mapping[str, Any], *, is_taken: bool = False) -> list[str]:
    """Return what care days that fit together mean, in lines for people.

    Args:
        fit: What they spare and cost, and who is brought over.
        is_taken: Whether they were just taken.
    """
    if fit["care_days"] >= fit["care_days_now"]:
        return ["no other dates make the year shorter"]
    more = fit["more_wettings"]
    if more:
        cost = f"{abs(more)} {'wetting' if abs(more) == 1 else 'wettings'} {'more' if more > 0 else 'fewer'}"
    else:
        cost = "no wetting more"
    lines = [
        f"care days that fit together: {counted_days(fit['care_days'])} with a wetting in the year planned "
        f"instead of {fit['care_days_now']}, {cost}"
    ]
    lines += [f"  {each['name'] or each['plant']} once early, on {_day(each['on'])}" for each in fit["early"]]
    if is_taken:
        return [
            *lines,
            "each plant goes by these days where its window holds one; take them back with: carecal undo",
        ]
    return [*lines, "take them with: carecal rounds take"]


def burden_lines(burdens: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return the plants that ask for days of their own, each with what would end that; none where nothing would."""
    lines = []
    for each in burdens:
        if each["ends"]:
            name = each["name"] or each["plant"]
            lines.append(f"{name} asks for about {counted_days(each['days_needed'])} a year of its own:")
            lines += [f"  {relief_line(end)}" for end in each["ends"]]
    return [*lines, "  (reckoned with care days taken anew: carecal rounds take)"] if lines else []


def relief_line(end: Mapping[str, Any]) -> str:
    """Return one change that would end a plant's own days, and when it may be made: 'in bark, net pot, 12 cm: ...'."""
    saved = f"about {counted_days(end['days_fewer'])} a year fewer"
    if end["kind"] == "place":
        return f"at {end['place_name']}: {saved}"
    size = f", {end['size_cm']:g} cm" if end["size_cm"] else ""
    pot = f"in {end['medium'].replace('-', ' ')}, {end['container'].replace('-', ' ')} pot{size}"
    when = "now" if end["opens"] is None else f"from {day_month(date.fromisoformat(end['opens']))}"
    until = f" until {day_month(date.fromisoformat(end['last_safe']))}" if end["last_safe"] else ""
    return f"{pot}: {saved}; safe to repot {when}{until}, with an active root tip"


def _day(text: str) -> str:
    day = date.fromisoformat(text)
    return f"{WEEKDAY_NAMES[day.weekday()]} {day_month(day)}"
