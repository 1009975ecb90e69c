"""A round with two strengths asked for, as its grower lives it: read, ticked, read again. Oracle: worked by hand.

Both pots are due on 6 March (tests/app/diary.py). Tide, established, asks for 100 mg/L of N; Gable sits in a bare room
for 35, as it is told. 100 is more than twice 35, so Tide's feed waits.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from carecal.app.actions.care import done
from carecal.app.actions.whole_round import done_round
from carecal.app.documents.today import today
from carecal.app.documents.why import why
from carecal.app.publish.calendars import render_calendar
from carecal.calendars.options import CalendarOptions
from carecal.collection.entries import FeedStrengthSet, SupplyFertiliser
from carecal.wording.today import can_text, today_lines
from carecal.wording.why import why_lines
from tests.app.diary import DAY, DUE, EVERY, START, Diary, at

if TYPE_CHECKING:
    from datetime import date

WAITS = "look – water if dry; its feed waits for the next round"


@pytest.fixture
def pair(diary: Diary) -> Diary:
    """Return a house of two that are due on one day, fed at 100 and at 35."""
    diary.plant("tide")
    diary.plant("gable")
    diary.writes(START, FeedStrengthSet(on=START, plant="gable", ppm_n=35))
    diary.writes(START, SupplyFertiliser(on=START, name="Green 20", n_pct=20, p2o5_pct=20, k2o_pct=20))
    return diary


def lines(pair: Diary, day: date) -> dict[str, str]:
    """Return the text of each plant in the round of a day."""
    rounds = [r for r in today(pair.collection, day)["rounds"] if r["on"] == day.isoformat()]
    return {row["plant"]: row["text"] for r in rounds for row in r["tasks"]}


def test_a_round_feeds_one_strength_and_says_whose_feed_waits(pair: Diary) -> None:
    """35 in 0.432 L of 20 % are 0.0756 g: 15 % of half a gram, 15 mL of 100; Tide's 0.432 L are plain."""
    assert lines(pair, DUE) == {"tide": WAITS, "gable": "look – feed if dry, 35 ppm N"}
    document = today(pair.collection, DUE)
    assert can_text(document["rounds"][0]["can"], "metric") == (
        "Can: 0.4 L plain, then 0.4 L feed at 35 ppm N "
        "(0.5 g of Green 20 in 0.1 L of water, 15 mL of that into the can, pour the other 85 mL away)"
    )
    assert any(WAITS in line for line in today_lines(document))


def test_plan_calendar_and_why_say_the_same(pair: Diary) -> None:
    """Nobody reads 'feed' in one place and 'water' in another."""
    plan = pair.plan(DUE)
    (waits,) = next(r.other for r in plan.rounds if r.on == DUE)
    assert plan.poured(waits.id) is waits
    assert (waits.care, waits.feed_waits, waits.ppm_n) == ("watering", True, None)
    body = render_calendar(pair.collection, CalendarOptions(), at(DUE)).body.decode().replace("\r\n ", "")
    assert "Tide (sill): look – water if dry\\, 0.4 L\\; its feed waits for the next round" in body
    assert any(WAITS in line for line in why_lines(why(pair.collection, DUE, "tide")))


def test_a_round_ticked_as_a_whole_writes_what_was_poured_and_feeds_the_other_next(pair: Diary) -> None:
    """Tide was watered, not fed; six days on its feed is asked for, at its own strength, before any other."""
    outcome = pair.says(DUE, done_round, felt="right")
    assert {(r.plant, r.data["care"]) for r in outcome.records} == {(1, "watering"), (2, "feeding")}
    following = pair.next(DUE + DAY)
    assert (following.care, following.ppm_n, following.waits_since) == ("feeding", 100, DUE)
    assert lines(pair, following.on)["tide"] == "feed, 100 ppm N"
    assert "Its feed has waited since 6 March: its strength is mixed next" in [
        line.strip() for line in why_lines(why(pair.collection, DUE + DAY, "tide"))
    ]


def test_a_tick_in_the_middle_of_the_round_does_not_change_the_can(pair: Diary) -> None:
    """Gable was fed first: Tide still takes plain water on that day, in words and on the plan."""
    pair.says(DUE, done, "feeding", ["gable"])
    assert lines(pair, DUE) == {"tide": WAITS}
    plan = pair.plan(DUE)
    assert plan.poured(pair.next(DUE).id).feed_waits


def test_of_two_that_wait_as_long_the_weaker_is_mixed(pair: Diary) -> None:
    """Both got plain water on their day of feed: six days on 35 is mixed, and Tide's feed goes on waiting."""
    pair.says(DUE, done, "watering", ["tide", "gable"])
    on = pair.next(DUE + DAY).on
    assert on == DUE + EVERY
    told = {"tide": "water – drench; its feed waits for the next round", "gable": "feed, 35 ppm N"}
    assert lines(pair, on) == told
    pair.says(on, done_round)
    assert pair.next(on + DAY).waits_since == DUE
