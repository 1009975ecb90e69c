"""What people read: one sentence a task, one line a plant. Oracle: sentences written by hand from the interface."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from carecal.calendars.options import CalendarOptions
from carecal.plan.model import Can, FeedMix
from carecal.planning.piece import Piece
from carecal.wording.tasks import can_line, heads_joined, pot_line, task_line, task_summary, verb
from tests.calendars.calendar_plans import (
    AS_OF,
    fact,
    look,
    plan_of,
    plant,
    round_of,
    rounds_plan,
    waterings,
    wetting,
    written,
)
from tests.calendars.calendar_readers import components, descriptions

CAUTIONS = {
    "crown-dry": "No water left in the crown or axils overnight.",
    "moss-gloves": "Gloves and long sleeves.",
}


@pytest.mark.parametrize(
    ("changes", "sentence", "line"),
    [
        ({}, "Water Tide – drench", "water – drench"),
        ({"certain": False}, "Look at Tide – water if dry", "look – water if dry"),
        ({"technique": "pour-through"}, "Water Tide – pour through", "water – pour through"),
        (
            {"care": "refilling", "technique": "fill-and-drain"},
            "Refill Tide – fill and drain",
            "refill – fill and drain",
        ),
        ({"care": "refilling", "certain": False}, "Look at Tide – refill if dry", "look – refill if dry"),
        ({"care": "feeding"}, "Feed Tide, 60 ppm N", "feed, 60 ppm N"),
        ({"care": "feeding", "ppm_n": None}, "Feed Tide", "feed"),
        (
            {"care": "feeding", "certain": False},
            "Look at Tide – feed if dry, 60 ppm N",
            "look – feed if dry, 60 ppm N",
        ),
        ({"care": "flushing"}, "Flush Tide – pour through", "flush – pour through"),
        (
            {"care": "moistening", "aid": "moss-collar", "technique": "mist"},
            "Moisten the moss collar of Tide – mist",
            "moisten the moss collar – mist",
        ),
        (
            {"care": "moistening", "technique": "surface", "certain": False},
            "Look at Tide – moisten the surface if it has dried",
            "look – moisten the surface if it has dried",
        ),
        ({"care": "inspection", "technique": "look", "certain": False}, "Look over Tide", "look over"),
        (
            {"care": "inspection", "technique": "look", "asks": "count tips"},
            "Look over Tide",
            "look over (count tips)",
        ),
        ({"care": "step", "step": "potting-on", "technique": ""}, "Tide: potting on", "potting on"),
        (
            {"status": "overdue", "due": AS_OF - timedelta(days=3)},
            "Water Tide – drench",
            "water – drench, due 22 November",
        ),
    ],
)
def test_a_task_is_one_sentence(changes: dict[str, Any], sentence: str, line: str) -> None:
    """The verb tells the certainty; nothing is left dangling where a word is unknown."""
    task = wetting(1, AS_OF, **changes)
    assert task_summary(task, plant()) == sentence
    assert task_line(task, plant()) == line


def test_an_emptied_reservoir_is_said_wherever_the_plant_stands() -> None:
    """Design 3.8: EMPTY ON PURPOSE in sentence, round, rule and to-do."""
    winch = plant(name="Winch", reservoir="empty")
    task = wetting(1, AS_OF, technique="pour-through")
    assert task_summary(task, winch) == "Water Winch – pour through; EMPTY ON PURPOSE"
    other = replace(look(1, AS_OF), id="look/7/2")
    for body in (
        written(rounds_plan([task, other], plants=[winch])).body,
        written(plan_of(waterings(AS_OF, 9, AS_OF + timedelta(days=30)), plants=[winch])).body,
        written(plan_of(tasks=[task], plants=[winch]), CalendarOptions(grouping="each", form="todos")).body,
    ):
        (item,) = components(body)
        assert "EMPTY ON PURPOSE" in item["SUMMARY"]
        assert "EMPTY ON PURPOSE" in item["DESCRIPTION"]


def test_a_wrapped_plant_is_opened_and_looked_at() -> None:
    """Design 3.9: 'open and look' instead of wettings."""
    assert task_summary(look(1, AS_OF), plant(states=("wrapped",))) == "Open the wrap of Tide and look"
    assert verb(look(1, AS_OF)) == "look over"


def test_the_can_says_plain_water_first() -> None:
    """Litres, strength and grams; 0.38 g is half a gram for 0.5 / 0.303 = 1.65 L; nothing for a dry round."""
    mix = FeedMix(60.0, 0.303, 1.24, ("a",), "Harbour 20-20-20")
    assert (
        can_line(Can(3.16, (mix,)))
        == "Can: 3.2 L plain, then 1.2 L feed at 60 ppm N (0.5 g of Harbour 20-20-20 in 1.7 L, pour 0.4 L away)"
    )
    assert can_line(Can(0.0, (replace(mix, g_per_l=None),))) == "Can: 1.2 L feed at 60 ppm N"
    assert can_line(Can()) == ""


def test_a_pot_is_described_by_what_is_known() -> None:
    """Unknown medium, container, size and place leave no gap."""
    assert pot_line(plant()) == "Bark, 12 cm clear plastic, East sill"
    assert pot_line(plant(medium="none", container="mount", size_cm=None)) == "Mount, East sill"
    assert pot_line(plant(medium=None, container=None, size_cm=None, place=None)) == ""


def test_a_long_round_reads_on_a_phone() -> None:
    """Counts in the summary; can, plants in order, one line each, cautions once below."""
    views = [plant(n, f"P{n}") for n in range(1, 31)]
    cares = ["watering"] * 15 + ["feeding"] * 5 + ["flushing"] * 2 + ["watering"] * 8
    tasks = [
        wetting(n, AS_OF, n, care, certain=n < 23, cautions=("crown-dry",)) for n, care in enumerate(cares, 1)
    ]
    tasks.insert(3, look(1, AS_OF, 3, asks="count tips", joined_to=tasks[2].id, cautions=("moss-gloves",)))
    of = rounds_plan(tasks, views, rounds=(round_of(AS_OF, tasks, cautions=("crown-dry", "moss-gloves")),))
    body = written(of, cautions=CAUTIONS).body
    (event,) = components(body)
    assert str(event["SUMMARY"]) == "Water 15, feed 5, flush 2, look at 8, look over 1"
    lines = str(event["DESCRIPTION"]).split("\n")
    assert lines[0] == "Can: 7.5 L plain, then 1.5 L feed at 60 ppm N (0.5 g in 1.7 L, pour 0.2 L away)"
    assert lines[1:5] == [
        "P1 (East sill): water – drench, 0.3 L",
        "P2 (East sill): water – drench, 0.3 L",
        "P3 (East sill): water – drench, 0.3 L; look over (count tips)",
        "P4 (East sill): water – drench, 0.3 L",
    ]
    assert lines[31:] == list(CAUTIONS.values())
    assert set(descriptions(body).values()) == {str(event["DESCRIPTION"])}
    assert event["CATEGORIES"].cats == ["FEEDING", "FLUSHING", "INSPECTION", "WATERING"]


def test_a_round_of_one_plant_names_it() -> None:
    """One task is its own sentence; several of one plant stand in its line."""
    one = written(rounds_plan([wetting(1, AS_OF)])).body
    two = written(rounds_plan([wetting(1, AS_OF), look(1, AS_OF)])).body
    assert str(components(one)[0]["SUMMARY"]) == "Water Tide – drench"
    assert str(components(two)[0]["SUMMARY"]) == "Tide: water – drench; look over"
    assert str(components(two)[0]["X-CARECAL-PLANT"]) == "tide"


def test_a_selected_round_has_its_own_can_and_length() -> None:
    """One place of a round: litres and minutes of its tasks alone."""
    views = [plant(), plant(8, "Gable", place="North shelf"), plant(9, "Pebble")]
    tasks = [wetting(1, AS_OF), wetting(2, AS_OF, 8, "feeding", litres=0.5), wetting(3, AS_OF, 9, "feeding")]
    of = rounds_plan(tasks, views)
    (event,) = components(written(of, CalendarOptions(place="East sill")).body)
    first = str(event["DESCRIPTION"]).split("\n")[0]
    stock = "0.5 g in 0.1 L of water, 18 mL of that into the can, pour the other 82 mL away"
    assert first == f"Can: 0.3 L plain, then 0.3 L feed at 60 ppm N ({stock})"
    (event,) = components(written(of, CalendarOptions(care="watering")).body)
    assert str(event["DESCRIPTION"]).split("\n")[0] == "Can: 0.3 L plain"


def test_a_quarantined_plant_is_marked_in_the_list() -> None:
    """Healthy plants first is the planner's; the mark is the list's."""
    views = [plant(), plant(8, "Gable", states=("quarantine", "settling"))]
    (event,) = components(written(rounds_plan([wetting(1, AS_OF), wetting(1, AS_OF, 8)], views)).body)
    assert (
        str(event["DESCRIPTION"]).split("\n")[-1] == "Gable (East sill): water – drench, 0.3 L; in quarantine"
    )


def test_records_say_what_was_done() -> None:
    """A record has its own tick, the day, and what was noted."""
    facts = (fact(1, AS_OF, care="flushing", text="felt right; EC out 0.6 mS/cm"), fact(2, AS_OF))
    views = [plant(name="Pebble")]
    each = components(written(plan_of(facts=facts, plants=views)).body)
    assert {str(event["SUMMARY"]) for event in each} == {"✓ Flushed Pebble", "✓ Watered Pebble"}
    assert "Done 25 November; felt right; EC out 0.6 mS/cm." in {str(event["DESCRIPTION"]) for event in each}
    (day,) = components(written(rounds_plan([], facts=facts, plants=views)).body)
    assert str(day["SUMMARY"]) == "✓ Watered 1, flushed 1"
    assert str(day["DESCRIPTION"]) == "Pebble: flushed; felt right; EC out 0.6 mS/cm\nPebble: watered"


def test_an_unworded_caution_is_said_by_its_name() -> None:
    """A caution is never lost because its text is missing."""
    body = written(rounds_plan([wetting(1, AS_OF, cautions=("cold-water",))])).body
    assert str(components(body)[0]["DESCRIPTION"]).split("\n")[-1] == "cold water"


def test_no_text_depends_on_the_day_of_writing() -> None:
    """The same plan seen a day later words its coming days alike."""
    tasks = [wetting(1, AS_OF + timedelta(days=5), certain=False), look(1, AS_OF + timedelta(days=5))]
    for make in (plan_of, rounds_plan):
        today, tomorrow = (
            components(written(make(tasks=tasks, as_of=AS_OF + timedelta(days=n))).body) for n in (0, 1)
        )
        assert [(e["SUMMARY"], e["DESCRIPTION"]) for e in today] == [
            (e["SUMMARY"], e["DESCRIPTION"]) for e in tomorrow
        ]


def test_what_is_special_comes_first() -> None:
    """Overdue since when and a reservoir that is empty on purpose stand before the can."""
    views = [plant(), plant(9, "Winch", reservoir="empty")]
    late = wetting(1, AS_OF, status="overdue", due=AS_OF - timedelta(days=2))
    (event,) = components(written(rounds_plan([late, wetting(2, AS_OF, 9)], views)).body)
    assert str(event["DESCRIPTION"]).split("\n")[:3] == [
        "OVERDUE: Tide since 23 November",
        "EMPTY ON PURPOSE: Winch",
        "Can: 0.6 L plain",
    ]


def test_a_caution_stands_in_a_months_first_week_or_while_it_is_new() -> None:
    """Watered before, its caution is said from the 1st to the 7th; one of a care never done is said each time."""
    days = [date(2026, 11, 26), date(2026, 12, 1), date(2026, 12, 7), date(2026, 12, 8), date(2026, 12, 20)]
    known = [wetting(n, day, cautions=("crown-dry",)) for n, day in enumerate(days, 1)]
    new = look(9, date(2026, 12, 20), cautions=("moss-gloves",))
    tide = Piece()
    tide.tasks, tide.facts = [*known, new], [fact(1, AS_OF - timedelta(days=7))]
    of = rounds_plan(tide.tasks, facts=tuple(tide.facts), warned=frozenset(tide.warned()))
    told = {}
    for event in components(written(of, cautions=CAUTIONS).body):
        lines = str(event["DESCRIPTION"]).split("\n")
        told[event["DTSTART"].dt] = [code for code, text in CAUTIONS.items() if text in lines]
    assert [told[day] for day in days] == [[], ["crown-dry"], ["crown-dry"], [], ["moss-gloves"]]


def test_several_tasks_make_one_short_head() -> None:
    """How each is done stands apart; one task alone keeps it; the same is said once."""
    assert heads_joined(["look over", "flush – pour through", "water – drench"]) == "look over, flush, water"
    assert heads_joined(["flush – pour through"]) == "flush – pour through"
    assert heads_joined(["look over", "look over"]) == "look over"
