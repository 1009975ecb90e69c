"""Which wettings carry feed and which are flushes (models I6): every one rides on a slot, none has its own clock."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.rhythm.resting import EQUATOR_DEG
from carecal.planning.spans import covers

if TYPE_CHECKING:
    from carecal.catalog.tables import LightClass
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.situations import Situation
    from carecal.planning.spans import Span

__all__ = [
    "PLAIN",
    "CareRules",
    "Tally",
    "care_of_slot",
    "counted",
    "is_fed_by_calendar",
    "light_class_of",
    "takes",
    "waits_since",
]

FEEDS_BEFORE_FLUSH = 2  # models I6: a flush falls due once at least two feeds have gone in
PLAIN = frozenset({"watering", "refilling"})
FLUSH_WITHOUT_FEED = 3  # models I6: else after three times its days, for the salts of the water alone


WINTER = frozenset({11, 12, 1, 2})  # our choice, because these four months are the darkest in the north
CALENDAR_FACTOR = 0.5  # OCNZ: half strength with every second watering all winter


class Tally(NamedTuple):
    """What has gone in since: last flush, last feed, feeds since the flush, fed wettings running, salts.

    `salt_ms_cm` is the strength in the medium at capacity after the last wetting [mS/cm]; None: void, as after a
    potting. `wetted` is the day of that wetting.
    """

    last_flush: int
    last_feed: int | None = None
    feeds_since_flush: int = 0
    fed_running: int = 0
    salt_ms_cm: float | None = None
    is_salt_measured: bool = False
    wetted: int | None = None
    wettings_since_flush: int = 0


class CareRules(NamedTuple):
    """What holds for one slot: its own days and gates; `feed_days` 0 means no feed, `flush_days` 0 no flush."""

    flush_days: int
    feed_days: int
    feed_run_max: int
    may_flush: bool
    may_feed: bool
    flush_due_by_salt: bool = False
    every_nth_flush: int = 0  # the other side of flush-rhythm: every n-th wetting
    flush_by_days_alone: bool = False  # the same for clay: whatever was fed


def light_class_of(stretch: Situation, day: int, context: PlanContext) -> LightClass:
    """Return the class of a day's light at the leaf (light_classes.toml).

    Source: the same for all kinds: our choice, because no paper tells other kinds apart.
    """
    classes = context.catalog.light_classes
    air = context.air(stretch.state.place, day)
    light = air.at("light_mol", day) if air is not None else 0.0
    for name in stretch.state.aid_names if stretch.state.aids else ():
        light *= context.catalog.aids[name].light_factor
    return max((row for row in classes.values() if row.from_mol <= light), key=lambda row: row.from_mol)


def is_fed_by_calendar(stretch: Situation, day: int, context: PlanContext, plant: int) -> bool:
    """Return whether a day lies in the winter of a grower who feeds in it by the calendar, with every second wetting.

    Six months later south of the equator, never within its 10 degrees.

    Source: OCNZ and ESSEX by side a of winter-feed (trade-facts D26).
    """
    latitude = context.facts.latitude
    if abs(latitude) < EQUATOR_DEG or context.side("winter-feed", stretch.state, plant) == "b":
        return False
    month = date.fromordinal(day).month
    return (month if latitude > 0 else (month + 5) % 12 + 1) in WINTER


def takes(slot: int, next_slot: int, due: int) -> bool:
    """Return whether a slot takes a date: at least as near to it as the next slot, or past it."""
    return slot >= due or due - slot <= abs(next_slot - due)


def care_of_slot(slot: int, next_slot: int, tally: Tally, rules: CareRules) -> str:
    """Return flushing, feeding or '' (plain) for the wetting due on a day.

    Args:
        slot: Its due day (ordinal).
        next_slot: Due day of the wetting after it.
        tally: What has gone in before it.
        rules: Days and gates that hold on its day.

    Source: models I6.
    """
    if rules.may_flush and rules.flush_days > 0 and _is_flush(slot, next_slot, tally, rules):
        return "flushing"
    if rules.may_feed and rules.feed_days > 0 and tally.fed_running < rules.feed_run_max:
        due = slot if tally.last_feed is None else tally.last_feed + rules.feed_days
        if takes(slot, next_slot, due):
            return "feeding"
    return ""


def _is_flush(slot: int, next_slot: int, tally: Tally, rules: CareRules) -> bool:
    """Return whether a slot is a flush by salts, by count of wettings where that is the rule, or by its days."""
    if rules.flush_due_by_salt:
        return True
    if rules.every_nth_flush:
        return tally.wettings_since_flush + 1 >= rules.every_nth_flush
    fed = rules.flush_by_days_alone or tally.feeds_since_flush >= FEEDS_BEFORE_FLUSH
    return takes(slot, next_slot, tally.last_flush + rules.flush_days * (1 if fed else FLUSH_WITHOUT_FEED))


def counted(tally: Tally, care: str, day: int, *, assumed: bool = False) -> Tally:
    """Return the tally after a wetting, salts aside; an assumed flush counts as plain water."""
    flush, feed, feeds, running, salt, is_measured, wetted, wettings = tally
    if care == "flushing" and not assumed:
        return Tally(day, feed, 0, 0, salt, is_measured, wetted, 0)
    if care == "feeding":
        return Tally(flush, day, feeds + 1, running + 1, salt, is_measured, wetted, wettings + 1)
    return Tally(flush, feed, feeds, 0, salt, is_measured, wetted, wettings + 1)


def follows_pause(paused: list[Span], last_feed: int | None, slot: int) -> bool:
    """Return whether a pause of feeding lay between the last feed and a slot."""
    since = last_feed if last_feed is not None else 0
    return any(start > since and until < slot for start, until in paused) and not covers(paused, slot)


def waits_since(before: int | None, asked: str, given: str, day: int) -> int | None:
    """Return since when a feed that was asked for waits, after a wetting; None: none waits.

    Args:
        before: The same before it.
        asked: The care that was asked for.
        given: The care that was carried out.
        day: Its day (ordinal).
    """
    if given == "feeding":
        return None
    return before or day if asked == "feeding" else before
