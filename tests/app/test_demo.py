"""The example collection: the same day writes the same log, the log makes sense, and today is alive."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest

from carecal.app import Collection
from carecal.app.demo.example import STORIES, write_demo
from carecal.app.demo.story import latest_day
from carecal.app.documents.why import steps
from carecal.app.people.sitter_sheet import sheet_lines, sitter_sheet
from carecal.app.people.sitters import Sitter
from carecal.app.sense import nonsense
from carecal.collection.entries import Potted
from carecal.errors import Refused
from carecal.plan.model import Plan
from carecal.planning.hindsight.departures import hindsight
from tests.app.demo_plays import DAY, moment, play

DAYS = [  # Sunday to Saturday, turns of the year and of seasons, the leap day
    date(2026, 9, 6),
    date(2026, 6, 1),
    date(2028, 2, 29),
    date(2026, 6, 3),
    date(2026, 1, 1),
    date(2026, 6, 5),
    date(2027, 4, 17),
]


@pytest.fixture(scope="module")
def quay(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Collection]:
    """Return the example as it is written on `DAY`; tests only read it."""
    with play(tmp_path_factory.mktemp("demo")) as home:
        yield home


@pytest.fixture(scope="module")
def plan(quay: Collection) -> Plan:
    """Return the plan of the day after the last entry."""
    return quay.plan(DAY)


def test_the_same_moment_writes_the_same_journal(quay: Collection, tmp_path: Path) -> None:
    """Two folders, one moment: equal records (oracle: the other folder)."""
    with play(tmp_path) as again:
        assert again.journal.records() == quay.journal.records()
        assert again.id != quay.id


def test_the_same_moment_writes_the_same_small_journal(tmp_path: Path) -> None:
    """So does the small example of the south, the only other one."""
    assert set(STORIES) == {"harbour-house", "south"}
    with play(tmp_path / "a", which="south") as one, play(tmp_path / "b", which="south") as two:
        assert one.journal.records() == two.journal.records()


def test_the_log_runs_two_years_and_ends_yesterday(quay: Collection) -> None:
    """Days and written instants never step back, and nothing is dated or written today or later."""
    records = quay.journal.records()
    written = [record.written for record in records]
    assert [record.n for record in records] == list(range(1, len(records) + 1))
    assert [record.on for record in records] == sorted(record.on for record in records)
    assert written == sorted(written)
    assert all(record.written[:10] == record.on.isoformat() for record in records)
    assert records[-1].on == DAY - timedelta(days=1)
    assert timedelta(days=730) <= records[-1].on - records[0].on <= timedelta(days=760)


def test_one_round_is_one_command(quay: Collection) -> None:
    """All care of a day stands in one command, as `done --round` writes it."""
    cares = [record for record in quay.journal.records() if record.kind in {"done", "left"}]
    assert len({record.on for record in cares}) == len({record.command for record in cares})
    assert len(cares) > 1500


def test_waterings_fall_mostly_on_the_preferred_weekdays(quay: Collection) -> None:
    """Wednesdays and Saturdays hold far more of the waterings than the two sevenths that chance would give."""
    days = Counter(
        r.on.weekday()
        for r in quay.journal.records()
        if r.kind == "done" and r.data["care"] in {"watering", "feeding"}
    )
    assert (days[2] + days[5]) / days.total() > 0.6


def test_no_round_of_the_year_mixes_two_strengths(plan: Plan) -> None:
    """One can a round; whose feed waits has plain water on that day and is fed later on."""
    fed = [r for r in plan.rounds if r.can.feeds]
    assert len(fed) > 50
    assert all(len({mix.ppm_n for mix in r.can.feeds}) == 1 for r in fed)
    held = [task for r in plan.rounds for task in r.other if task.ppm_n is None]
    assert {task.care for task in held} <= {"watering", "refilling"}
    assert all(task.feed_waits for task in held)
    for task in held:
        later = [t for t in plan.tasks if t.plant == task.plant and t.on > task.on]
        assert any(t.care == "feeding" for t in later) or not later


def test_fifteen_days_of_the_example_are_few_visits_with_plain_water(quay: Collection) -> None:
    """At most six days of fifteen; nothing is mixed, counted, looked over or asked; oracle: what a sitter can do."""
    start, until = DAY + timedelta(days=3), DAY + timedelta(days=17)
    sheet = sitter_sheet(quay, moment(DAY), Sitter(1, "Ada", start, until))
    planner = quay.planner(DAY)
    rows = [row for found in sheet["days"] for row in found["tasks"]]
    assert 3 <= len(sheet["days"]) <= 6
    assert {row["care"] for row in rows} <= {"watering", "refilling", "moistening"}
    assert not any(found["can"]["feeds"] for found in sheet["days"])
    text = "\n".join(line for line in sheet_lines(sheet) if line.startswith("  [ ]"))
    assert not re.search(r"count|feed|flush|ppm|look over|open the wrap", text)
    wetted = {row["plant"] for row in rows}
    due = {
        line.id
        for line in planner.timeline.living()
        for slot in planner.plant_planners[line.number].slots_ahead("rounds")
        if start.toordinal() <= slot.earliest and slot.latest <= until.toordinal() - 3
    }
    assert due <= wetted  # nobody whose wetting falls into these days is left out


def test_every_entry_of_the_log_makes_sense(quay: Collection) -> None:
    """No entry names a place or plant that is not there, lies before its plant came or after it left."""
    assert nonsense(quay.journal.records(), quay.timeline(DAY), quay.catalog) == {}


def test_twenty_four_plants_live_and_two_were_lost(quay: Collection) -> None:
    """The scenario's numbers."""
    lines = quay.timeline(DAY).plants.values()
    assert sum(line.retired is None for line in lines) == 24
    assert sorted(line.id for line in lines if line.retired_because == "lost") == ["ferry", "herring"]


@pytest.mark.parametrize(
    ("plant", "attribute", "value"),
    [
        ("tide", "stage", "established"),
        ("tide", "container", "clear-plastic"),
        ("pebble", "container", "bag"),
        ("keel", "stage", "rootless"),
        ("kelp", "stage", "new-tips"),
        ("sluice", "stage", "rooting-in"),
        ("sluice", "medium", "lava"),
        ("winch", "reservoir", "filled"),
        ("capstan", "reservoir", "empty"),
        ("gull", "container", "mount"),
        ("bollard", "container", "terracotta"),
        ("jetty", "flowering", "terminal-spike"),
        ("lantern", "flowering", "in-spike"),
        ("gable", "flowering", "in-bloom"),
        ("kelp", "aids", ("cloth",)),
        ("sluice", "aids", ("moss-collar",)),
        ("barnacle", "aids", ("wrap",)),
        ("dinghy", "mother", "hawser"),
        ("shackle", "profile", "cattleya"),
    ],
)
def test_each_situation_of_the_scenario_is_there(
    quay: Collection, plan: Plan, plant: str, attribute: str, value: object
) -> None:
    """No two plants are alike: each of the scenario's situations is played by one."""
    assert getattr(plan.plant(quay.number_of(plant)), attribute) == value


@pytest.mark.parametrize(
    ("plant", "state"), [("cleat", "quarantine"), ("creel", "pest-watch"), ("keel", "settling")]
)
def test_plants_on_watch_are_there(quay: Collection, plan: Plan, plant: str, state: str) -> None:
    """Quarantine, pest-watch and settling each have their plant."""
    view = plan.plant(quay.number_of(plant))
    assert state in view.states
    assert view.on_watch


@pytest.mark.parametrize("day", DAYS)
def test_today_is_alive_on_every_day(tmp_path: Path, day: date) -> None:
    """Something is open today; few plants are overdue, and each of these is on watch."""
    with play(tmp_path, day) as home:
        plan = home.plan(day)
        today = [task for task in plan.tasks if task.status in {"open", "overdue"}]
        overdue = {task.plant for task in today if task.status == "overdue"}
        assert sum(task.status == "open" for task in today) >= 1
        assert 1 <= len(overdue) <= 4
        assert all(plan.plant(number).on_watch for number in overdue)


def test_the_two_losses_are_explained(quay: Collection) -> None:
    """The conversion too late in the year and the rootless plant kept wet and fed come out as the heaviest."""
    plant_planners = quay.planner(DAY).plant_planners
    ferry = [d.code for d in hindsight(plant_planners[quay.number_of("ferry")]).departures]
    herring = [d.code for d in hindsight(plant_planners[quay.number_of("herring")]).departures]
    assert ferry[:2] == ["conversion-too-late", "cold-reservoir"]
    assert herring[0] in {"too-wet", "wet-without-roots"}
    assert any(code.startswith("fed-") for code in herring[:4])


def test_what_is_safe_now_names_no_plant_whose_feeding_is_held_back(quay: Collection) -> None:
    """One shut gate holds feeding back: plants without roots and those in a cold medium are left out."""
    safe = {gate["plant"] for gate in steps(quay, DAY, only_open=True)["gates"]}
    held = {gate["plant"] for gate in steps(quay, DAY)["gates"] if not gate["open"]}
    assert {"keel", "pebble", "capstan"} <= held
    assert "winch" in safe
    assert not safe & held


def test_repotting_one_plant_moves_no_other(quay: Collection, plan: Plan) -> None:
    """`pot tide` into lava in a net pot changes the tasks of Tide alone."""
    tide = Potted(on=DAY, plant="tide", medium="lava", container="net", size_cm=9)
    trial = quay.journal.preview([tide], by="owner", written=moment(DAY).written, clock=moment(DAY).clock)
    after = quay.planner(DAY, records=[*quay.journal.records(), *trial]).plan("rounds")
    changed = {task.plant for task in set(plan.tasks) ^ set(after.tasks)}
    assert changed == {quay.number_of("tide")}


def test_the_summer_is_spent_on_the_balcony(quay: Collection) -> None:
    """The Cattleya stands outside in July and back in the living room in October of both years."""
    shackle = quay.timeline(DAY).plants[quay.number_of("shackle")]
    for year in (2025, 2026):
        assert shackle.state_at(date(year, 7, 15).toordinal()).place == "glazed-balcony"
        assert shackle.state_at(date(year, 10, 15).toordinal()).place == "living-room"


def test_no_feed_was_given_in_last_winters_pause(quay: Collection) -> None:
    """From 2 December to 10 February the pause held; only Herring's grower of habit fed on."""
    number = quay.number_of("herring")
    fed = [
        r
        for r in quay.journal.records()
        if r.kind == "done" and r.data["care"] == "feeding" and date(2025, 12, 2) <= r.on <= date(2026, 2, 10)
    ]
    assert {record.plant for record in fed} == {number}


@pytest.mark.parametrize(
    ("today", "margin", "is_south", "expected"),
    [
        (date(2026, 4, 17), 1, False, date(2026, 4, 16)),
        (date(2026, 4, 16), 1, False, date(2025, 4, 16)),
        (date(2026, 4, 16), 0, False, date(2026, 4, 16)),
        (date(2026, 11, 25), 1, True, date(2026, 10, 16)),
        (date(2026, 3, 1), 1, True, date(2025, 10, 16)),
    ],
)
def test_a_day_of_the_year_is_its_latest_return(
    today: date, margin: int, is_south: bool, expected: date
) -> None:
    """16 April as the north has it, counted by hand; six months later in the south."""
    assert latest_day("04-16", today, margin, is_south=is_south) == expected


def test_an_unknown_example_is_refused(tmp_path: Path) -> None:
    """The refusal names what there is, and nothing is written."""
    with pytest.raises(Refused, match="example 'west' is not there; allowed are harbour-house, south"):
        write_demo(tmp_path / "quay", moment(DAY), which="west")
    assert not (tmp_path / "quay").exists()


def test_a_latitude_beyond_the_polar_circle_is_refused(tmp_path: Path) -> None:
    """The refusal names value and range."""
    with pytest.raises(Refused, match="latitude 70 is out of range; allowed are -66 to 66 degrees"):
        write_demo(tmp_path / "quay", moment(DAY), latitude=70)


def test_a_folder_that_holds_a_collection_is_refused(tmp_path: Path) -> None:
    """The collection that stands there keeps its journal."""
    with play(tmp_path, which="south") as home:
        head = home.journal.head()
        with pytest.raises(Refused, match="a collection stands in"):
            write_demo(home.folder, moment(DAY))
        assert home.journal.head() == head
