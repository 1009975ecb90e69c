"""Single plants in trouble, each from the find to the end as it is said and read; calendars by a second library."""

from __future__ import annotations

from datetime import date, timedelta

from tests.cli.cli_run import refused, typed
from tests.stories.telling import BEGUN, calendar, said, start


def test_a_stem_rots_twice_and_is_over_after_two_clean_weeks(home: object) -> None:
    """Cut, found again, cut again: the days count anew each time, and the end is read off the list itself."""
    assert home
    start()
    said("settings", "ticking", "none", on=BEGUN)
    found, again = date(2026, 3, 10), date(2026, 3, 13)
    said("observe", "tide", "--seen", "rot", "--where", "stem", on=found)
    urgent = said("today", on=found)
    assert "Tuesday 10 March 2026 – nothing else to do" in urgent
    said("treat", "tide", "--did", "cut", "--against", "rot", on=found)
    said("observe", "tide", "--seen", "rot", "--where", "stem", on=again)
    assert "Cut again today" in said("today", on=again)
    said("treat", "tide", "--did", "cut", "--against", "rot", on=again)
    told = calendar(again, 60)
    looks = {day for day, text in told if "rot again?" in text}
    assert {again + timedelta(days=n) for n in range(1, 8)} <= looks
    assert not [text for day, text in told if day < again + timedelta(days=14) and "count" in text]
    for days in (1, 2, 3, 5, 7, 10, 13):
        said("done", "inspection", "tide", on=again + timedelta(days=days))
    over = again + timedelta(days=14)
    assert "on watch" not in said("why", "tide", on=over)
    assert "rot" not in said("today", on=over).split("Changed", 1)[0]
    fed = [day for day, text in calendar(over, 60) if "ppm" in text]
    assert min(fed) >= again + timedelta(days=28)


def test_rotten_roots_are_potted_in_november_and_kept_dry(home: object) -> None:
    """No season holds it back; five dry days after the potting, and no feed for 28."""
    assert home
    start(container="clear-plastic", potted="2025-04-10")
    found = date(2026, 11, 10)
    said("observe", "tide", "--seen", "rot", "--where", "root", on=found)
    assert "rot at the roots" in said("today", on=found)
    assert "Repot Tide: now" in said("steps", "tide", on=found)
    said(
        "pot",
        "tide",
        "--medium",
        "bark",
        "--container",
        "clear-plastic",
        "--size",
        "11",
        "--pruned",
        "--watered",
        "no",
        on=found,
    )
    assert "No water before 15 November" in said("today", on=found)
    told = calendar(found, 60)
    wet = [day for day, text in told if "water if dry" in text]
    assert min(wet) >= found + timedelta(days=5)
    assert not [day for day, text in told if "ppm" in text and day < found + timedelta(days=28)]


def test_a_newcomer_with_mealybugs_stays_apart_until_they_are_over(home: object) -> None:
    """Asked for pests though its stage is unknown; a find moves the end past the pest's own days."""
    assert home
    start()
    came, found = date(2026, 4, 1), date(2026, 4, 10)
    said(
        "plant",
        "add",
        "wreck",
        "--place",
        "sill",
        "--medium",
        "bark",
        "--container",
        "clear-plastic",
        "--size",
        "12",
        "--leaves",
        "5",
        on=came,
    )
    said("quarantine", "wreck", on=came)
    looks = [text for _, text in calendar(came, 10) if "Wreck" in text]
    assert "any pest, on both sides of the leaves" in looks[0]
    said("observe", "wreck", "--stage", "established", "--seen", "mealybug", on=found)
    end = [day for day, text in calendar(found, 120) if "End the quarantine of Wreck" in text]
    assert found + timedelta(days=50) <= end[0] <= found + timedelta(days=70)  # 667 day-degrees and a week
    assert "to feed all the same" not in said("why", "wreck", on=found)
    for days in (20, 40, 55):
        said("done", "inspection", "wreck", on=found + timedelta(days=days))
    assert "End the quarantine of Wreck: now" in said("steps", "wreck", on=end[0])
    assert "in quarantine" in said("why", "wreck", on=end[0])
    said("quarantine", "wreck", "--end", on=end[0])
    assert "in quarantine" not in said("why", "wreck", on=end[0])


def test_web_mites_are_over_in_a_month_and_flat_mites_in_three(home: object) -> None:
    """Two rows for two mites (D31): the watch ends after 28 days and three clean looks, or after 90."""
    assert home
    start(watered="2026-02-27")
    said(
        *typed(
            "plant add oar --place sill --medium bark --container plastic --size 12 --roots 5 "
            "--longest 120 --leaves 4 --watered 2026-02-27"
        ),
        on=BEGUN,
    )
    assert "mite" in refused("observe", "tide", "--seen", "spider", as_of="2026-05-01")
    found = date(2026, 5, 1)
    said("observe", "tide", "--seen", "mite", on=found)
    said("observe", "oar", "--seen", "flat-mite", on=found)
    said("treat", "tide", "--did", "washed", "--against", "mite", on=found)
    told = calendar(found, 40)
    assert [text for _, text in told if "against mite again" in text]
    assert [text for _, text in told if "flat-mite again?" in text]
    for days in (14, 28, 35):
        for plant in ("tide", "oar"):
            said("done", "inspection", plant, on=found + timedelta(days=days))
    after = found + timedelta(days=36)
    assert "on watch" not in said("why", "tide", on=after)
    assert "on watch" in said("why", "oar", on=after)
    assert not [text for _, text in calendar(after, 40) if "against mite again" in text]


def test_out_for_the_summer_and_in_before_the_cold(home: object) -> None:
    """In before nights of 13 °C, looked over before it comes in; from then on the sill's own days."""
    assert home
    start(potted="2026-02-10")
    said("place", "add", "yard", "--kind", "patio", "--winter", "6/2", "--summer", "24/15", on=BEGUN)
    out = date(2026, 6, 25)
    assert "moved to yard" in said("move", "tide", "yard", "--yes", on=out)
    assert "Harden Tide to the light outdoors" in said("today", on=out + timedelta(days=1))
    came = [(day, text) for day, text in calendar(out, 120) if "Bring Tide in" in text]
    assert date(2026, 8, 20) <= came[0][0] <= date(2026, 9, 10)
    assert "ook it over before it comes in: axils" in came[0][1]
    late = date(2026, 9, 15)
    assert said("today", on=late).startswith("! Tide at yard: bring it in before the night")
    said("move", "tide", "sill", on=late)
    inside = said("today", on=late + timedelta(days=1))
    assert "bring it in" not in inside
    assert "Bring Tide in" not in inside


def test_a_reservoir_is_emptied_for_the_winter_and_never_filled_in_it(home: object) -> None:
    """One order a day: while the step says 'empty it', wettings pour through; filled again in spring, if asked."""
    assert home
    start(medium="expanded-clay", container="reservoir", size="13", reservoir="filled", potted="2025-04-01")
    said("settings", "ticking", "none", on=BEGUN)
    autumn, winter = date(2026, 10, 20), date(2026, 12, 10)
    told = calendar(autumn, 130)
    emptied = [day for day, text in told if "Empty the reservoir of Tide" in text]
    assert date(2026, 11, 1) <= emptied[0] <= date(2026, 11, 30)
    cold = [(day, text) for day, text in told if date(2026, 12, 1) <= day <= date(2027, 2, 20)]
    assert [text for _, text in cold if "water" in text.lower()]
    assert not [text for _, text in cold if "efill" in text]
    said("reservoir", "tide", "empty", on=winter)
    assert "EMPTY ON PURPOSE" in said("today", "--days", "20", on=winter)
    fill = [
        line
        for line in said("steps", "tide", on=winter).splitlines()
        if line.startswith("Fill the reservoir")
    ]
    assert "wait – opens 18 April 2027" in fill[0]


def test_old_moss_found_in_november_waits_for_spring(home: object) -> None:
    """Half the feed, a look every fortnight, potting from the window's first day; still wet, it is changed now."""
    assert home
    start(medium="moss", container="clear-plastic", potted="2024-03-20", watered="2026-02-25")
    said("settings", "ticking", "none", on=BEGUN)
    found = date(2026, 11, 3)
    told = calendar(found, 110)
    looks = [day for day, text in told if "old medium, let it dry further: brown roots at the wall" in text]
    assert len([day for day in looks if day < date(2027, 1, 31)]) >= 5
    assert {
        text for day, text in told if "ppm" in text and day < date(2027, 1, 31) and "100 ppm" in text
    } == set()
    assert min(day for day, text in told if "New moss for Tide" in text) >= date(2027, 2, 1)
    watered = date(2026, 11, 20)
    said("done", "watering", "tide", on=watered)
    said("leave", "tide", on=watered + timedelta(days=35))
    late = said("steps", "tide", on=watered + timedelta(days=35))
    assert (
        "Repot Tide: now – old moss still damp 35 days after water: changed now, whatever the season" in late
    )


def test_limp_and_dry_gets_water_and_no_feed(home: object) -> None:
    """Found three weeks dry with limp leaves: plain water at once, no feed for four weeks or until they are firm."""
    assert home
    start(watered="2026-02-05")
    assert "feed if dry" in said("today", on=BEGUN)
    said("observe", "tide", "--firmness", "limp", on=BEGUN)
    now = said("today", on=BEGUN)
    assert "water if dry" in now
    assert "feed" not in now
    said("done", "watering", "tide", "--felt", "parched", on=BEGUN)
    fed = [day for day, text in calendar(BEGUN, 60) if "ppm" in text]
    assert min(fed) >= BEGUN + timedelta(days=28)
    assert "leaves soft or lost: feed is no remedy" in said("why", "tide", on=BEGUN + timedelta(days=1))
    firm = BEGUN + timedelta(days=12)
    said("observe", "tide", "--firmness", "firm", on=firm)
    assert "feed is no remedy" not in said("why", "tide", on=firm)


def test_a_keiki_is_counted_on_its_mother_and_parted_when_ready(home: object) -> None:
    """Its roots hang in the air and are asked for; nobody is told how to feed it; parted, it is a plant of its own."""
    assert home
    start()
    said(
        "plant",
        "add",
        "pip",
        "--on-mother",
        "tide",
        "--leaves",
        "2",
        "--roots",
        "1",
        "--longest",
        "15",
        on=BEGUN,
    )
    assert [
        text for _, text in calendar(BEGUN, 40) if "count its roots; how long is the longest in mm?" in text
    ]
    why = said("why", "pip", on=BEGUN)
    assert "fed through her" in why
    assert "to feed all the same" not in why
    grown = date(2026, 5, 20)
    said("observe", "pip", "--leaves", "3", "--roots", "3", "--longest", "60", "--tips", "2", on=grown)
    assert "Part Pip from its mother" in said("today", on=grown + timedelta(days=1))
    said("part", "pip", "--medium", "bark", "--container", "clear-plastic", "--size", "7", on=grown)
    assert "on its mother" not in said("why", "pip", on=grown)


def test_a_bag_in_the_sun_is_told_on_the_day_it_is_closed(home: object) -> None:
    """Closed over a plant on a bright sill: too light, never sun; a new root is looked for from day 21 on."""
    assert home
    start(medium="moss", container="net", size="8", roots="0", tips="0", longest="0", potted="2026-02-27")
    closed = date(2026, 3, 2)
    said("aid", "tide", "wrap", on=closed)
    assert "in a wrap or without roots 1.5 at most" in said("today", on=closed)
    assert "count its active root tips" not in said("steps", "tide", on=closed)
    looks = [text for _, text in calendar(closed, 40) if "Open the wrap" in text]
    assert "a new root? its length in mm and the tips" in looks[-1]
