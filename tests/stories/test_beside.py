"""What is found on one plant is looked for on those beside it: twice, by their own tasks, taken back with the find."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import icalendar
import pytest

from carecal.app.actions import beside
from tests.cli.cli_run import done, plant, start

FIND = date(2026, 6, 8)  # a Monday, on which no care day lies
NEW = "2026-05-20"

pytestmark = pytest.mark.usefixtures("home")


@pytest.fixture(autouse=True)
def _house(home: object) -> None:
    assert home
    start(as_of=NEW)
    done("place", "add", "stair", "--kind", "stair", as_of=NEW)
    for name, place in (("tide", "sill"), ("winch", "sill"), ("gull", "sill"), ("gable", "stair")):
        plant(
            name,
            "--stage",
            "established",
            "--roots",
            6,
            "--tips",
            2,
            "--watered",
            NEW,
            place=place,
            as_of=NEW,
        )


def _asked(plant_id: str, day: date, days: int = 60) -> list[str]:
    """Return the days on which a plant is looked over for what was found beside it."""
    found = done("--json", "today", "--days", days, as_of=day.isoformat()).json
    told = [(r["on"], t) for r in found["rounds"] for t in r["tasks"]]
    return [on for on, task in told if task["plant"] == plant_id and "found beside it" in task["text"]]


def test_the_neighbours_of_a_mealybug_are_looked_over_now_and_after_a_week() -> None:
    """Weekly for mealybugs (SAOS-QA); the plant of another place is left alone; oracle: pest_cycles, two looks."""
    said = done("observe", "tide", "--seen", "mealybug", as_of=FIND.isoformat()).out
    assert "Winch" in said
    assert _asked("winch", FIND)[0] == FIND.isoformat()
    assert not _asked("gable", FIND)
    done("done", "inspection", "winch", as_of=FIND.isoformat())
    again = _asked("winch", FIND + timedelta(days=1))
    assert [abs((date.fromisoformat(on) - FIND).days - 7) <= 3 for on in again] == [True]
    body = done("calendar", "write", "--grouping", "each", as_of=FIND.isoformat()).out
    events: list[Any] = icalendar.Calendar.from_ical(body).walk("VEVENT")
    told = [e for e in events if "found beside it" in str(e.get("DESCRIPTION", ""))]
    assert {str(e["X-CARECAL-PLANT"]) for e in told} == {"winch", "gull"}
    done("done", "inspection", "winch", as_of=again[0])
    assert not _asked("winch", date.fromisoformat(again[0]) + timedelta(days=1))


def test_of_rot_too_and_undo_takes_it_all_back() -> None:
    """Rot at a leaf: neighbours now and after a week (rot_courses neighbour_days 0 and 7); one undo for all."""
    before = _asked("gull", FIND)
    done("observe", "tide", "--seen", "rot", "--where", "leaf", as_of=FIND.isoformat())
    assert _asked("gull", FIND)[0] == FIND.isoformat()
    assert "Stood beside rot: to be looked over twice" in done("log", as_of=FIND.isoformat()).out
    done("undo", as_of=FIND.isoformat())
    assert _asked("gull", FIND) == before == []


def test_a_find_that_was_none_takes_the_looks_of_the_neighbours_along() -> None:
    """A mealybug that was a crumb of perlite: put right, nobody is looked over for it; a find put right anew is one."""
    done("observe", "tide", "--seen", "mealybug", as_of=FIND.isoformat())
    entry = next(
        row["entry"]
        for row in done("--json", "log", as_of=FIND.isoformat()).json
        if row["kind"] == "observed"
    )
    day = FIND.isoformat()
    done("amend", entry, "note=a crumb", as_of=day)
    assert _asked("gull", FIND)[0] == day
    done("amend", entry, "seen=", as_of=day)
    assert not _asked("gull", FIND)
    assert not _asked("winch", FIND)
    assert "Put right: nothing was found beside it" in done("log", as_of=day).out
    done("amend", entry, "seen=scale", as_of=day)
    assert "scale was found beside it" in done("today", as_of=day).out
    assert _asked("winch", FIND)[0] == day
    done("undo", as_of=day)
    assert not _asked("gull", FIND)


def test_a_find_put_right_to_another_day_or_only_then_is_looked_for_there() -> None:
    """Seen two days earlier: the looks begin then; a look told without its find gets its neighbours with it."""
    day, earlier = FIND.isoformat(), (FIND - timedelta(days=2)).isoformat()
    done("observe", "tide", "--leaves", 4, as_of=day)
    entry = next(row["entry"] for row in done("--json", "log", as_of=day).json if row["kind"] == "observed")
    done("amend", entry, "seen=rot", "where=leaf", as_of=day)
    assert _asked("gull", FIND)[0] == day
    done("undo", as_of=day)
    done("amend", entry, "seen=mealybug", f"on={earlier}", as_of=day)
    assert "mealybug was found beside it on 6 June" in done("why", "gull", as_of=day).out


def test_who_has_it_itself_or_was_told_on_that_day_is_not_told_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two finds of a day write each neighbour once; a whole greenhouse is no neighbour; a virus asks for no looks."""
    done("observe", "tide", "--seen", "scale", as_of=FIND.isoformat())
    done("observe", "winch", "--seen", "scale", as_of=FIND.isoformat())
    kinds = [line for line in done("log", as_of=FIND.isoformat()).out.splitlines() if "beside" in line]
    assert len(kinds) == 2  # winch and gull by the first find, nobody by the second
    assert not _asked("winch", FIND)
    done("observe", "gull", "--seen", "virus", "--where", "leaf", as_of=FIND.isoformat())
    assert "beside virus" not in done("log", as_of=FIND.isoformat()).out
    monkeypatch.setattr(beside, "MOST", 1)
    done("observe", "tide", "--seen", "thrips", as_of=FIND.isoformat())
    assert "beside thrips" not in done("log", as_of=FIND.isoformat()).out


def test_a_find_again_begins_the_looks_of_the_neighbours_anew() -> None:
    """The clock restarts at any find: one question, the second look a week after the newer one."""
    done("observe", "tide", "--seen", "mealybug", as_of=FIND.isoformat())
    later = FIND + timedelta(days=2)
    done("observe", "tide", "--seen", "mealybug", as_of=later.isoformat())
    asked = done("today", as_of=later.isoformat()).out
    assert asked.count("Winch [sill]: look over (mealybug was found beside it on 10 June: ") == 1
    assert "found beside it on 8 June" not in asked
    done("done", "inspection", "winch", as_of=later.isoformat())
    assert [abs((date.fromisoformat(on) - later).days - 7) <= 2 for on in _asked("winch", later)] == [True]


def test_a_plant_written_down_on_the_day_of_the_find_is_looked_over_all_the_same() -> None:
    """It was not looked over for the find: on the next day it is."""
    plant("bell", "--stage", "established", "--watered", FIND.isoformat(), as_of=FIND.isoformat())
    done("observe", "tide", "--seen", "mealybug", as_of=FIND.isoformat())
    assert _asked("bell", FIND)[0] == (FIND + timedelta(days=1)).isoformat()
