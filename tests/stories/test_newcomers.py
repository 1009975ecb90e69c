"""What nobody knows yet of a plant costs it no water, and what stands for weeks is not said each day; by hand."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.cli.cli_run import done, refused, start, typed

FEEL = "feel its medium, water if it is dry"
CAME = date(2026, 3, 2)


def said(*words: str, on: date) -> str:
    """Say a command on a day and return what it prints."""
    return done(*words, as_of=on.isoformat()).out


@pytest.fixture
def newcomer(home: object) -> date:
    """A plant of which nobody has said its stage, in a house of two plants; the day it came."""
    assert home
    start(as_of=CAME.isoformat())
    said(
        "plant",
        "add",
        "stern",
        "--medium",
        "bark",
        "--container",
        "plastic",
        "--size",
        "12",
        "--place",
        "sill",
        "--watered",
        "today",
        on=CAME,
    )
    return CAME


def test_each_look_at_a_plant_without_a_stage_says_to_feel_it(newcomer: date) -> None:
    """Common practice: a plant is felt for water at every look; its first weeks here are no exception."""
    days = [said("today", on=newcomer + timedelta(days=days)) for days in range(1, 41)]
    looks = [line for told in days for line in told.splitlines() if "Stern [sill]" in line]
    assert len(looks) >= 9  # every four days, on the days of a round that lie nearest
    assert all(f"look over ({FEEL}; say its stage)" in line for line in looks)


def test_a_newcomer_with_a_pest_is_looked_over_for_it(newcomer: date) -> None:
    """The find is asked for at its looks, whatever else is not known; nothing of it when it is not there."""
    found = newcomer + timedelta(days=10)
    assert "mealybug" not in said("today", on=found)
    said("observe", "stern", "--seen", "mealybug", on=found)
    asked = [said("today", on=found + timedelta(days=days)) for days in range(1, 9)]
    assert any("mealybug again?" in told and FEEL in told for told in asked)


def test_nothing_is_watered_by_feel_while_rot_is_to_dry(newcomer: date) -> None:
    """Three days without water after rot at the crown (rot_courses.toml dry_days, common practice)."""
    found = newcomer + timedelta(days=4)
    said("observe", "stern", "--seen", "rot", "--where", "crown", on=found)
    dry = [said("today", on=found + timedelta(days=days)) for days in range(3)]
    assert all(FEEL not in told for told in dry)
    later = [said("today", on=found + timedelta(days=days)) for days in range(3, 9)]
    assert any(FEEL in told for told in later)


def test_a_look_waits_for_who_comes_home_but_water_and_pests_do_not(newcomer: date) -> None:
    """Of an absence only that is said which cannot wait: water, and looks at a plant with a pest; dates as spoken."""
    said(
        *typed(
            "plant add bug --medium bark --container plastic --size 12 --place sill --stage "
            "established --watered today"
        ),
        on=newcomer,
    )
    told = said("away", "add", "--from", "2026-03-04", "--until", "2026-03-20", "--try", on=newcomer)
    assert "Stern will not keep" not in told
    assert "Bug will not keep: look – feed if dry, 100 ppm N, due 9 March" in told
    said("observe", "stern", "--seen", "mealybug", on=newcomer)
    told = said("away", "add", "--from", "2026-03-04", "--until", "2026-03-20", "--try", on=newcomer)
    assert "Stern will not keep: look over" in told


def test_cautions_of_a_step_are_said_while_it_is_new_and_in_a_months_first_week(newcomer: date) -> None:
    """What is asked from 12 March on says its cautions until 18 March and from 1 to 7 April, not between."""
    said(
        *typed(
            "plant add bud --medium bark --container plastic --size 12 --place sill --stage "
            "established --watered today"
        ),
        on=newcomer,
    )
    said("observe", "bud", "--flowering", "in-spike", on=date(2026, 3, 12))
    days = {day: said("today", on=day) for day in (date(2026, 3, 12) + timedelta(days=n) for n in range(30))}
    asked = {day for day, told in days.items() if "spike of Bud" in told}
    warned = {day for day in asked if "clean blade" in days[day]}
    assert {day for day in asked if day <= date(2026, 3, 18) or day.day <= 7} == warned
    assert warned != asked


def test_a_day_with_nothing_to_tick_is_said_as_such(newcomer: date) -> None:
    """The day is spoken, not written as a number."""
    said("done", "look", "stern", on=newcomer)
    assert refused("done", "--round", as_of="2026-03-03") == "nothing is to be done on Tuesday 3 March"


def test_one_look_a_plant_and_day_answers_all_that_is_asked(newcomer: date) -> None:
    """A plant whose look stands open when a pest is found beside it is not on the list twice that day."""
    said(
        *typed(
            "plant add mate --medium bark --container plastic --size 12 --place sill --stage "
            "established --watered today"
        ),
        on=newcomer,
    )
    said("observe", "mate", "--flowering", "in-spike", "--spike", "20", on=newcomer)
    days = [newcomer + timedelta(days=after) for after in range(1, 20)]
    found = next(
        day for day in days if any(", due" in line and "look over" in line for line in _of_mate(day))
    )
    said("observe", "stern", "--seen", "mealybug", on=found)
    assert "mealybug was found beside it" in "".join(_of_mate(found))
    assert sum("look over" in line for line in _of_mate(found)) == 1


def _of_mate(day: date) -> list[str]:
    return [line for line in said("today", on=day).splitlines() if "Mate [sill]" in line]
