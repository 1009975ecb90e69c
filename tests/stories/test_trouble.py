"""Plants in trouble told through the command line, from the find to the end; calendars are read by a second library."""

from __future__ import annotations

from datetime import date, timedelta

from tests.cli.cli_run import refused
from tests.stories.telling import BEGUN, calendar, said, start


def test_a_cut_answers_a_find_and_counts_anew(home: object) -> None:
    """The cut takes the find off the top; three days dry from it, fed no sooner than 28 days after it."""
    assert home
    start()
    found, cut = date(2026, 3, 10), date(2026, 3, 14)
    said("observe", "tide", "--seen", "rot", "--where", "leaf", on=found)
    assert said("today", on=found).startswith("! Tide: rot on a leaf, found 10 March")
    said("treat", "tide", "--did", "cut", "--against", "rot", on=cut)
    after = said("today", on=cut)
    assert "! Tide" not in after
    assert "No water before 17 March, then from below." in after
    told = calendar(cut, 60)
    watered = [day for day, text in told if "from below" in text]
    assert watered, [t[1][:90] for t in told]
    assert min(watered) >= date(2026, 3, 17)
    assert not [day for day, text in told if "ppm" in text and day < date(2026, 4, 11)]
    again = date(2026, 3, 20)
    said("observe", "tide", "--seen", "rot", "--where", "leaf", on=again)
    assert "Cut again today" in said("today", on=again).splitlines()[1]


def test_a_lost_crown_waits_for_a_shoot_and_asks_after_a_year(home: object) -> None:
    """Crownless from the word on: no forecast of leaves or a spike, no potting; asked after a year."""
    assert home
    start(potted="2023-05-01")
    assert "not known to be lost" in refused("observe", "tide", "--crown", "shoot", as_of="2026-03-02")
    lost = date(2026, 4, 1)
    assert "leaves not before" in said("why", "tide", on=lost)
    said("observe", "tide", "--crown", "lost", on=lost)
    assert "already" in refused("observe", "tide", "--crown", "lost", as_of="2026-04-02")
    why = said("why", "tide", on=lost)
    assert "crownless" in why
    assert "waits for one shoot from the base" in why
    assert "leaves not before" not in why
    assert "is expected" not in why
    assert "Repot" not in said("steps", "tide", on=lost)
    looks = [day for day, text in calendar(lost, 60) if "one shoot from the base" in text]
    assert looks
    assert min(looks) >= lost + timedelta(days=14)
    year = date(2027, 4, 2)
    assert "go on with Tide, or give it up?" in said("today", on=year)
    said("tried", "tide", "--go-on", on=year)
    assert "go on with Tide" not in said("today", on=year)
    said("observe", "tide", "--crown", "shoot", on=date(2027, 5, 1))
    assert "crownless" not in said("why", "tide", on=date(2027, 5, 1))


def test_the_shoot_that_replaces_a_crown_is_never_parted(home: object) -> None:
    """What a note says decides nothing; the shoot told after the loss does."""
    assert home
    start()
    said(
        "plant",
        "add",
        "pebble",
        "--on-mother",
        "tide",
        "--leaves",
        "2",
        "--roots",
        "3",
        "--longest",
        "80",
        "--note",
        "basal",
        on=BEGUN,
    )
    assert "stays on" not in said("steps", "pebble", on=BEGUN)
    said("observe", "tide", "--crown", "lost", on=date(2026, 3, 5))
    said("observe", "tide", "--crown", "shoot", on=date(2026, 7, 5))
    said(
        "plant",
        "add",
        "winch",
        "--on-mother",
        "tide",
        "--leaves",
        "2",
        "--roots",
        "3",
        "--longest",
        "80",
        on=date(2026, 7, 5),
    )
    assert "a shoot from the base stays on" in said("steps", "winch", on=date(2026, 7, 5))


def test_what_was_wiped_is_wiped_again_and_the_neighbours_are_looked_over(home: object) -> None:
    """Mealybug: the neighbours at once, wiping every 7 to 10 days in the calendar, roots at the next potting."""
    assert home
    start(potted="2023-05-01")
    found = date(2026, 4, 10)
    said("observe", "tide", "--seen", "mealybug", on=found)
    assert "look over the others at sill too" in said("today", on=found).lower()
    said("treat", "tide", "--did", "washed", "--against", "mealybug", on=found)
    again = sorted(day for day, text in calendar(found, 40) if "again, as last time" in text)
    assert found + timedelta(days=7) <= again[0] <= found + timedelta(days=10)
    assert len(again) >= 3
    listed = said("today", on=again[0])
    assert "rinsed with tepid water" in listed
    assert "crown" in listed.split("rinsed with tepid water", 1)[1]
    assert "mealybug was found on 10 April" in said("steps", "tide", on=found)


def test_no_gate_is_told_open_for_who_is_not_fed(home: object) -> None:
    """With rot, in quarantine or without roots `why` says that feeding is shut, and not when it opens or how."""
    assert home
    start()
    on = date(2026, 3, 5)
    said("observe", "tide", "--flowering", "in-bloom", on=on)
    assert "flowers last until" in said("why", "tide", on=on).split("SHUT", 1)[1]
    said("quarantine", "tide", on=on)
    shut = [line for line in said("why", "tide", on=on).splitlines() if "SHUT" in line or "opens" in line]
    assert shut
    assert not [line for line in shut if "flowers last" in line or ("SHUT" in line and "opens" in line)]


def test_a_count_stays_open_where_only_water_was_ticked(home: object) -> None:
    """Roots in a clear pot are counted after six weeks; who waters is asked still, who counts is not."""
    assert home
    start(container="clear-plastic", roots="3", longest="60", stage="rooting-in", potted="2026-01-05")
    last, day = date(2026, 4, 8), date(2026, 4, 22)
    said("done", "watering", "tide", on=last)
    said("observe", "tide", "--firmness", "firm", on=last)
    assert "count" in said("today", on=day)
    said("done", "watering", "tide", on=day)
    assert "count" in said("today", on=day)
    said("observe", "tide", "--roots", "4", "--tips", "2", "--longest", "75", on=day)
    assert "count" not in said("today", on=day)


def test_what_to_look_for_is_said(home: object) -> None:
    """A look at a rooted plant names where to look: both sides of its leaves and the axils (stage_looks.toml)."""
    assert home
    start()
    assert "leaves on both sides, axils, crown, stem base" in said("today", "--days", "40", on=BEGUN)
    looks = [text for _, text in calendar(BEGUN, 40) if "ook over" in text]
    assert looks
    assert all("leaves on both sides, axils, crown, stem base" in text for text in looks)
    said("settings", "ticking", "none", on=BEGUN)
    said("sitter", "add", "Wren", "--from", "2026-03-25", "--until", "2026-04-20", on=BEGUN)
    assert "look over" not in said(
        "sitter", "sheet", "Wren", on=BEGUN
    )  # what can wait is not asked of a sitter
