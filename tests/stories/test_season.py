"""A rest, a cold snap, a hot spell, each as a grower says and reads it; calendars are read by a second library."""

from __future__ import annotations

from datetime import date, timedelta

import recurring_ical_events
from icalendar import Calendar

from tests.cli.cli_run import done, refused, typed

BEGAN = date(2026, 8, 1)


def said(*words: str, on: date) -> str:
    """Say a command on a day and return what it prints."""
    return done(*words, as_of=on.isoformat()).out


def house(*plants: str, kind: str = "phalaenopsis", winter: str = "12/7") -> None:
    """Begin a collection with a porch and a sill, and plants of a kind on the porch."""
    said("init", "Quay", "--latitude", "54.3", "--longitude", "10", "--timezone", "Europe/Berlin", on=BEGAN)
    said("settings", "ticking", "none", on=BEGAN)
    said("place", "add", "porch", "--kind", "patio", "--winter", winter, "--summer", "24/15", on=BEGAN)
    said("place", "add", "sill", "--kind", "warm-sill", "--aspect", "E", on=BEGAN)
    for plant in plants:
        said(
            *typed(
                f"plant add {plant} --profile {kind} --medium bark --container plastic --size 12 "
                "--place porch --stage established --watered 2026-07-30"
            ),
            on=BEGAN,
        )


def told(first: date, last: date, on: date) -> list[tuple[date, str]]:
    """Return day and words of each event of the calendar between two days, as a second library expands it."""
    calendar = Calendar.from_ical(said("calendar", "write", on=on))
    events = recurring_ical_events.of(calendar).between(first, last + timedelta(days=1))
    return sorted((event.start, f"{event['SUMMARY']} {event.get('DESCRIPTION', '')}") for event in events)


def test_a_nobile_rests_is_asked_and_wakes(home: object) -> None:
    """Flushed before October, a little water inside, asked from 30 November, awake on the day its buds swell."""
    assert home
    house("mast", kind="dendrobium-nobile")
    before = told(date(2026, 9, 17), date(2026, 9, 30), BEGAN)
    assert len([text for _, text in before if "lush" in text]) == 1
    inside = told(date(2026, 10, 1), date(2027, 2, 28), BEGAN)
    assert not [text for _, text in inside if "lush" in text or "ppm" in text]
    assert [text for _, text in inside if "a sip" in text or "a little" in text]
    asked = [day for day, text in inside if "is its rest over (buds swell on the nodes, not keikis)?" in text]
    assert date(2026, 11, 30) <= asked[0] <= date(2026, 12, 16)
    winter = date(2026, 12, 20)
    assert "Rests since 1 October 2026, until the plant shows it is over" in said("why", "mast", on=winter)
    said("observe", "mast", "--rest", "goes-on", on=winter)
    buds = date(2027, 2, 14)
    assert "its rest is over" in said("observe", "mast", "--rest", "over", on=buds)
    assert "Rests since" not in said("why", "mast", on=buds)
    awake = told(buds, date(2027, 5, 30), buds)
    assert not [text for _, text in awake if "rest over" in text]
    wet = [(day, text) for day, text in awake if text.startswith(("Look at Mast – water", "Water Mast"))]
    assert all(
        "a little only" in text for day, text in wet if day < date(2027, 3, 1)
    )  # its medium is still cold
    assert [text for day, text in wet if day >= date(2027, 5, 1) and "a little" not in text]
    assert "Its rest is over" in said("log", on=buds)


def test_silence_gives_water_half_way_back_and_says_so(home: object) -> None:
    """Nobody answers by 11 April: on the 12th the round says what changed and why, and the look says it before."""
    assert home
    house("mast", kind="dendrobium-nobile")
    spring = date(2027, 3, 20)
    assert "unanswered, its water goes half-way back on 12 April" in said("today", "--days", "20", on=spring)
    turned = said("today", on=date(2027, 4, 12))
    assert "nobody has said whether its rest is over, so water is half-way back" in turned
    assert "water has been half-way back since 12 April 2027" in said("why", "mast", on=date(2027, 5, 1))
    asked = "".join(said("today", on=date(2027, 4, 13 + day)) for day in range(15))
    assert "unanswered, its water has been half-way back since 12 April" in asked
    assert "goes half-way back" not in asked


def test_a_kind_without_a_rest_has_none_to_tell(home: object) -> None:
    """A moth orchid never rests: the word is refused in one line."""
    assert home
    house("tide")
    line = refused("observe", "tide", "--rest", "over", as_of="2026-08-02")
    assert line.startswith("Phalaenopsis has no rest")


def test_a_cold_night_is_forecast(home: object) -> None:
    """Who must come in stands on top with the numbers, on the round and the sitter's sheet; its water waits."""
    assert home
    house("winch", "oar")
    said("move", "oar", "sill", on=BEGAN)
    eve, night = date(2026, 9, 9), date(2026, 9, 10)
    said("sitter", "add", "Wren", "--from", "2026-09-09", "--until", "2026-09-14", on=eve)
    entered = said("place", "forecast", "porch", "--night", "6", "--on", "2026-09-10", on=eve)
    assert "Winch at porch" in entered
    assert "Air 6 °C in the night of 10 September" in entered
    assert "Air 6 °C tonight" not in said("today", on=eve)
    first = said("today", on=night).splitlines()[0]
    assert first.startswith("! Winch at porch: bring it where it is warm today")
    assert "Air 6 °C tonight, medium " in first
    assert first.endswith("its limit is 10 °C")
    assert "Oar" not in first
    assert first in said("sitter", "sheet", "Wren", on=night)
    assert not [
        text for day, text in told(night, night, night) if "ater Winch" in text or "water if dry" in text
    ]
    assert "No water now until 10 September 2026: its medium falls under 10 °C" in said(
        "why", "winch", on=night
    )
    assert "has passed" in refused(
        "place", "forecast", "porch", "--night", "6", "--on", "2026-09-08", as_of="2026-09-10"
    )


def test_a_winter_on_the_porch_offers_a_little_on_mild_days(home: object) -> None:
    """Nothing is wetted for months; on a dry plant's mild day by the forecast a little tepid water is offered."""
    assert home
    house("winch")
    frost = date(2027, 2, 10)
    assert "little tepid water" not in said("today", on=frost)
    said("place", "forecast", "porch", "--day", "17", on=frost)
    offered = said("today", on=frost)
    assert (
        "! Winch at porch is held back for the cold and has dried, and today is mild: a little tepid water"
        in offered
    )
    said("done", "watering", "winch", on=frost)
    assert "little tepid water" not in said("today", on=frost)
    assert not [
        text for _, text in told(frost + timedelta(days=1), date(2027, 3, 20), frost) if "ater Winch" in text
    ]


def test_a_hot_spell(home: object) -> None:
    """36 °C forecast: shade, the coolest room, clear water and no moving out; a flush and half a feed after it."""
    assert home
    house("winch")
    day = date(2026, 8, 12)
    said("done", "feeding", "winch", on=date(2026, 8, 8))
    said("place", "forecast", "porch", "--day", "36", "--on", "2026-08-14", on=day)
    early = said("today", on=day)
    assert "! Heat at porch, 36 °C 14 August: shade and moving air" in early
    assert "to the coolest room; mist at dawn so that it is dry by night. For Winch" in early
    assert "Heat at porch, 36 °C today" in said("today", on=date(2026, 8, 14))
    assert "Heat at porch" not in said("today", on=date(2026, 8, 16))
    events = told(day, date(2026, 9, 30), day)
    fed = [(on, text) for on, text in events if "ppm N" in text]
    assert min(on for on, _ in fed) >= date(2026, 8, 25)  # cool on 15, 16 and 17 August, 7 days more
    assert "50 ppm N" in fed[0][1]
    flushed = [on for on, text in events if "lush" in text.splitlines()[0]]
    assert date(2026, 8, 17) < flushed[0] < fed[0][0]


def test_a_shrivelled_nobile_is_offered_one_wetting_in_its_coldest_rest(home: object) -> None:
    """Nights of 2 °C: none, and why says so; once its leaves wrinkle the round offers one wetting, no feed (YAMA)."""
    assert home
    house("mast", kind="dendrobium-nobile", winter="8/4")
    day = date(2027, 1, 20)
    assert "nights under 5 °C in its dry rest; once it shrivels, one wetting about noon" in said(
        "why", "mast", on=day
    )
    assert "shrivelled" not in said("today", on=day)
    said("observe", "mast", "--firmness", "wrinkled", on=day)
    assert "! Mast at porch has shrivelled in its cold rest: one wetting about noon" in said("today", on=day)


def test_who_ends_a_rest_by_the_month_is_told_so(home: object) -> None:
    """Side a of rest-end: over with February, and nobody asks."""
    assert home
    house("mast", kind="dendrobium-nobile")
    said("side", "rest-end", "a", on=BEGAN)
    assert "until the usual months are over" in said("why", "mast", on=date(2027, 2, 20))
    assert "Rests since" not in said("why", "mast", on=date(2027, 3, 1))
