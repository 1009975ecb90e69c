"""How strong a feed is: what stage, kind, light, heat, water and label allow, the weakest of them (models F2)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.horticulture.nutrition import dose
from carecal.horticulture.water_quality import EC_MAX, feed_within_ec
from carecal.planning.rhythm.terms import profile_of
from carecal.planning.sick.crown import CROWNLESS, is_crownless
from carecal.planning.wettings.feeding import CALENDAR_FACTOR, light_class_of
from carecal.planning.wettings.heat import heat_factor

if TYPE_CHECKING:
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.situations import Situation
    from carecal.planning.wettings.feeding import Tally

__all__ = ["strength_of"]

AFTER_PAUSE_PPM = 35.0  # design §3 rule 16: the first feed after a pause has the lowest strength
DILUTE_PPM = 50.0  # trade-facts D19 side a and L6: 30-50 mg/L of N at each wetting


def strength_of(
    stretch: Situation,
    tally: Tally,
    day: int,
    context: PlanContext,
    *,
    after_pause: bool,
    each_time: bool,
    by_calendar: bool,
) -> float:
    """Return the strength of a feed [mg/L of N]: models F2; the lowest one after a pause.

    A feed factor of 0 means a shut gate; where that is open all the same, the feed is as weak as in spike. Who feeds at
    another strength than the kind asks for has said so, of the plant or of all. Water and feed together stay under the
    kind's feed_ec_max, so that salty water leaves less room.

    Args:
        stretch: The plant's situation.
        tally: What was fed before.
        day: The day (ordinal).
        context: The collection.
        after_pause: Whether it is the first feed after a pause.
        each_time: Whether it is fed at each wetting.
        by_calendar: Whether winter's feed goes by the calendar, not by light.

    Source: WANG1998 for the conductivity of water and feed together.
    """
    tables, supplies = context.catalog, context.supplies
    state, profile = stretch.state, profile_of(stretch.state, tables)
    stage = tables.stages[state.stage or "established"].feed_ppm_n
    factor = 1.0
    if state.flowering in tables.states:
        factor = tables.states[state.flowering].feed_factor or tables.states["in-spike"].feed_factor
    by_light = light_class_of(stretch, day, context).feed_factor or 1.0  # 0: no feed, unless a side is taken
    factor *= CALENDAR_FACTOR if by_calendar else by_light
    factor *= tables.states[CROWNLESS].feed_factor if is_crownless(state) else 1.0
    factor *= heat_factor(state, day, tally.last_feed, context)
    told = state.feed_ppm_n if state.feed_ppm_n is not None else supplies.told_ppm_n
    ppm = dose(stage, profile.feed_ppm_n if told is None else told, factor, supplies.label_ppm_n)
    limit = profile.feed_ec_max if profile.feed_ec_max is not None else EC_MAX
    ppm = feed_within_ec(ppm, supplies.water_ms_cm, supplies.ec_per_100_ppm, limit)
    if after_pause:
        ppm = min(ppm, AFTER_PAUSE_PPM)
    if each_time:
        ppm = min(ppm, DILUTE_PPM)
    return float(round(ppm))  # nobody mixes a tenth of it
