"""A plant that comes to a brighter window is shaded less and less; a list for the bench says what to have ready."""

from __future__ import annotations

from typing import Any

import icalendar
import pytest

from tests.cli.cli_run import done, plant, start, typed

MAY, JUNE = "2026-05-10", "2026-06-01"

pytestmark = pytest.mark.usefixtures("home")


@pytest.fixture(autouse=True)
def _house(home: object) -> None:
    assert home
    start(as_of=MAY)
    done("place", "add", "north", "--kind", "stair", "--aspect", "N", as_of=MAY)
    done("place", "add", "south", "--kind", "warm-sill", "--aspect", "S", as_of=MAY)
    told = typed(
        "--stage established --roots 6 --longest 120 --tips 2 --leaves 4 --came 2025-05-01 "
        "--potted 2023-03-01 --watered 2026-05-08"
    )
    plant("rose", *told, place="north", as_of=MAY)


def test_three_times_the_light_is_stepped_up_over_six_days(tmp_path: object) -> None:
    """HOU2010: twice at most every three days, so 3.1 times takes two rises, and all of it from the 7th of June."""
    assert tmp_path
    done("move", "rose", "south", as_of=JUNE)
    said = done("steps", "rose", as_of=JUNE).out
    assert "Get Rose used to the brighter light: all of it from 7 June: now" in said
    assert "3.1 times the light it is used to" in said
    assert "from 1 June" in said
    assert "from 4 June" in said
    assert (
        "Get Rose used to the brighter light: all of it from 7 June" in done("today", as_of="2026-06-03").out
    )
    body = done("calendar", "write", as_of=JUNE).out
    events: list[Any] = icalendar.Calendar.from_ical(body).walk("VEVENT")
    days = [str(event["DTSTART"].dt) for event in events if "brighter light" in str(event["SUMMARY"])]
    assert days == ["2026-06-01"]
    assert "brighter light" not in done("steps", "rose", as_of="2026-06-07").out


def test_the_way_back_and_an_easy_rise_need_nothing() -> None:
    """Less light, and up to half as much again, bear no step (our choice: spring rises as much)."""
    done(
        "move", "rose", "sill", as_of=JUNE
    )  # an east sill: 1.25 and 0.6 of a window's light, by sill_aspects.toml
    first = done("steps", "rose", as_of=JUNE).out
    done("move", "rose", "south", as_of="2026-07-01")
    assert "brighter light" not in done("steps", "rose", as_of="2026-07-01").out
    done("move", "rose", "north", as_of="2026-08-01")
    assert "brighter light" not in done("steps", "rose", as_of="2026-08-01").out
    assert "brighter light" in first


def test_the_bench_list_names_what_to_have_ready() -> None:
    """Bark of three years is due; in June it is safe now, in November it waits for the day that is named."""
    said = done("bench", as_of=JUNE).out.splitlines()
    assert any(line.startswith("[ ] ") and "Rose" in line and "safe now" in line for line in said)
    assert "Have ready, if each goes into what it stands in: 1 plastic of 12 cm, bark for 1" in said
    assert said[-1].startswith("! One clean blade for each plant")
    later = done("bench", as_of="2026-11-25").out
    assert "safe now" not in later
    assert "from 14 April 2027" in later  # six weeks of 17 C in the medium, by this cool stair
    document = done("--json", "bench", as_of=JUNE).json
    assert {row["plant"] for row in document["rows"]} == {"rose"}
    done("plant", "retire", "rose", "--because", "given-away", as_of=JUNE)
    assert done("bench", as_of=JUNE).out == "Nothing waits for the bench.\n"
