"""What must be seen where a plant is shown: cautions of steps, emptied reservoirs, loans; read by a second library."""

from __future__ import annotations

from datetime import date, timedelta

import recurring_ical_events
from icalendar import Calendar

from tests.cli.cli_run import done, typed

BEGAN = date(2026, 5, 4)


def said(*words: str, on: date = BEGAN) -> str:
    """Say a command on a day and return what it prints."""
    return done(*words, as_of=on.isoformat()).out


def house() -> None:
    """Begin a collection with a light warm sill."""
    said("init", "Quay", "--latitude", "54.3", "--longitude", "10", "--timezone", "Europe/Berlin")
    said("place", "add", "sill", "--kind", "warm-sill", "--aspect", "E")


def add(plant: str, *words: str) -> None:
    """Add an established plant on the sill."""
    said(
        *typed(f"plant add {plant} --size 12 --place sill --roots 5 --longest 120 --tips 2 --leaves 4"),
        *words,
    )


def test_moss_past_its_life_at_entry_is_asked_for_with_its_cautions(home: object) -> None:
    """Moss of three years, entered today in May: the round asks for new moss with gloves and blade."""
    assert home
    house()
    add(
        "tide",
        "--medium",
        "moss",
        "--container",
        "plastic",
        "--potted",
        "2023-05-01",
        "--came",
        "2023-05-01",
        "--watered",
        "2026-05-01",
    )
    weeks = "".join(said("today", "--days", "7", on=BEGAN + timedelta(days=days)) for days in (0, 7))
    assert "New moss for Tide" in weeks
    cautions = [line for line in weeks.splitlines() if line.startswith("  ! ")]
    assert any("gloves" in line for line in cautions)
    assert any("blade" in line for line in cautions)
    calendar = Calendar.from_ical(said("calendar", "write"))
    events = recurring_ical_events.of(calendar).between(BEGAN, BEGAN + timedelta(days=30))
    step = next(str(event["DESCRIPTION"]) for event in events if "New moss" in str(event["SUMMARY"]))
    assert "A clean blade" in step


def test_an_emptied_reservoir_is_marked_wherever_the_plant_is_shown(home: object) -> None:
    """EMPTY ON PURPOSE on show and list, not for a filled one."""
    assert home
    house()
    add("oar", "--medium", "expanded-clay", "--container", "reservoir", "--watered", "2026-05-01")
    assert "EMPTY ON PURPOSE" not in said("plant", "list")
    said("reservoir", "oar", "empty")
    assert "EMPTY ON PURPOSE" in said("plant", "list")
    assert "EMPTY ON PURPOSE" in said("plant", "show", "oar")


def test_a_wrapped_plant_is_offered_no_reservoir(home: object) -> None:
    """Nothing is wetted in a wrap, so nothing is filled."""
    assert home
    house()
    add("oar", "--medium", "expanded-clay", "--container", "reservoir", "--watered", "2026-05-01")
    said("reservoir", "oar", "empty")
    assert "Fill the reservoir" in said("steps", "oar")
    said("aid", "oar", "wrap")
    assert "Fill the reservoir" not in said("steps", "oar")


def test_a_lent_plant_is_left_in_peace(home: object) -> None:
    """At a friend's nothing is planned, looked at or too cold; why says that it is lent, and it is back as before."""
    assert home
    house()
    add("tide", "--medium", "bark", "--container", "plastic", "--watered", "2026-05-01")
    said("place", "add", "friend", "--kind", "elsewhere")
    lent = BEGAN + timedelta(days=10)
    said("move", "tide", "friend", on=lent)
    why = said("why", "tide", on=lent)
    assert "Lent: it stands at friend" in why
    assert "too cold" not in why
    assert "No rhythm" not in why
    for days in (1, 30, 90):
        assert "nothing to do" in said("today", on=lent + timedelta(days=days))
    calendar = Calendar.from_ical(said("calendar", "write", on=lent + timedelta(days=1)))
    events = recurring_ical_events.of(calendar).between(lent + timedelta(days=1), lent + timedelta(days=200))
    assert [str(event["SUMMARY"]) for event in events if "Tide" in str(event["SUMMARY"])] == []
    back = lent + timedelta(days=100)
    said("move", "tide", "sill", on=back)
    assert "Lent" not in said("why", "tide", on=back)


def test_nights_are_cold_from_the_day_it_came_not_from_before(home: object) -> None:
    """A plant entered on a cold porch in January is told of no nights before that."""
    assert home
    began = date(2026, 1, 12)
    said("init", "Quay", "--latitude", "54.3", "--longitude", "10", "--timezone", "Europe/Berlin", on=began)
    said("place", "add", "porch", "--kind", "patio", "--winter", "6/1", "--summer", "24/15", on=began)
    said(
        "plant",
        "add",
        "winch",
        "--medium",
        "bark",
        "--container",
        "plastic",
        "--size",
        "12",
        "--place",
        "porch",
        "--stage",
        "established",
        on=began,
    )
    assert "nights under 10 °C from 12 January 2026" in said("why", "winch", on=began + timedelta(days=5))
