"""What must hold for every journal: replay, undo, one plant alone, calendar equals plan, same bytes, SEQUENCE."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from functools import cache
from typing import Any, cast

import icalendar
import recurring_ical_events
from hypothesis import given, settings
from hypothesis import strategies as st

from carecal.calendars.ledger import Ledger
from carecal.calendars.options import CalendarOptions
from carecal.calendars.write import Rendered
from carecal.catalog.load import load_catalog
from carecal.catalog.tables import Catalog
from carecal.collection.entries import (
    AidSet,
    Done,
    Entry,
    FeedStrengthSet,
    Forecast,
    Left,
    Moved,
    Observed,
    Paused,
    PlaceShaded,
    PlantAdded,
    Potted,
    StoodBeside,
    Treated,
    Tried,
    Undone,
)
from carecal.plan.model import Grouping, Plan
from tests.bench import Bench, demo_climates
from tests.calendars.calendar_plans import new_ledger, written

START = date(2025, 3, 1)
CAME = START - timedelta(days=40)  # of the last plant, so that notes from before its entry are drawn too
PLANTS = ("tide", "gable", "winch")
PLACES = ("bedroom-sill", "living-room")
POTS = (("bark", "plastic"), ("moss", "clear-plastic"), ("lava", "net"), ("expanded-clay", "reservoir"))


DAYS = 120  # of each plan: enough for several rhythms, and short enough for many stories


@cache
def _catalog() -> Catalog:
    return load_catalog()


def _plan(bench: Bench, day: date, grouping: Grouping, *, plants: set[int] | None = None) -> Plan:
    return bench.planner(day, START + timedelta(days=150 + DAYS)).plan(grouping, plants=plants)


def _begun(*, places: tuple[str, ...] = PLACES) -> Bench:
    """Return three plants on two sills, entered on the first day."""
    bench = Bench(_catalog(), START)
    climates = demo_climates()
    for place in places:
        bench.place(place, climates[place], START)
    for number, plant in enumerate(PLANTS):
        medium, container = POTS[number]
        stage = ("established", "rooting-in", "new-tips")[number]
        bench.write(
            PlantAdded(
                on=START,
                plant=plant,
                medium=medium,
                container=container,
                size_cm=9 + 3 * number,
                place=PLACES[number % 2],
                stage=cast("Any", stage),
                watered=START - timedelta(days=2),
                came=CAME if plant == "winch" else None,
            )
        )
    return bench


SPOTS = ("crown", "stem", "leaf", "root")


def _entry(plant: str, kind: int, day: date, spice: int) -> Entry:
    """Return one of the things a grower says of a plant on a day."""
    medium, container = POTS[spice % 4]
    cares = ("watering", "feeding", "flushing", "inspection")
    return (
        Done(
            on=day, plant=plant, care=cast("Any", cares[spice % 4]), felt="right" if spice % 3 == 0 else None
        ),
        Done(on=day, plant=plant, care="watering"),
        Left(on=day, plant=plant, care="watering"),
        Observed(on=day, plant=plant, roots=spice % 7, longest_mm=10.0 * spice, leaves=spice % 5),
        Observed(on=day, plant=plant, seen="scale" if spice % 2 else None, flowering="in-spike"),
        Potted(on=day, plant=plant, medium=medium, container=container, size_cm=9, watered=spice % 2 == 0),
        Moved(on=day, plant=plant, place=PLACES[spice % 2]),
        AidSet(on=day, plant=plant, aid="cloth", off=spice % 2 == 0),
        Paused(
            on=day,
            care="feeding" if spice % 2 else "watering",
            plants=(plant,),
            start=day,
            until=day + timedelta(days=5 + spice),
        ),
        Observed(on=day, plant=plant, seen="rot", where=cast("Any", SPOTS[spice % 4])),
        Observed(
            on=day,
            plant=plant,
            firmness=cast("Any", ("firm", "soft", "wrinkled", "folded", "limp")[spice % 5]),
            newest_mm=5.0 * spice,
            crown="lost" if spice == 11 else None,
        ),
        Treated(
            on=day, plant=plant, did="wiped" if spice % 2 else "cut", against="scale" if spice % 2 else "rot"
        ),
        Tried(on=day, plant=plant, what="warmer" if spice % 2 else None),
        FeedStrengthSet(on=day, plant=plant, ppm_n=50 if spice % 2 else None),
        Forecast(on=day, place=PLACES[spice % 2], day=day + timedelta(days=spice % 3), night_c=float(spice)),
        PlaceShaded(on=day, place=PLACES[spice % 2], to="up" if spice % 3 else "down"),
        StoodBeside(
            on=day,
            plant=plant,
            pest="mealybug" if spice % 2 else "rot",
            where="leaf" if spice % 2 == 0 else None,
        ),
        Done(
            on=CAME + timedelta(days=spice),
            plant="winch",
            care="watering",
            felt="damp" if spice % 2 else None,
        ),
        Observed(on=CAME + timedelta(days=spice), plant="winch", longest_mm=10.0 * spice, leaves=spice % 5),
    )[kind]


steps = st.tuples(st.sampled_from(PLANTS), st.integers(0, 18), st.integers(0, 9), st.integers(0, 12))


def _play(bench: Bench, story: list[tuple[str, int, int, int]]) -> date:
    """Write a story, each step some days after the one before; return its last day."""
    day = START
    for plant, kind, gap, spice in story:
        day += timedelta(days=gap)
        bench.write(_entry(plant, kind, day, spice))
    return day


def _calendar(plan: Plan, ledger: Ledger, grouping: Grouping) -> Rendered:
    return written(plan, CalendarOptions(grouping=grouping), ledger)


def _sequences(body: bytes) -> dict[str, tuple[int, str]]:
    """Return SEQUENCE of each UID, and its content without the three properties that tell of a change.

    Read as plain lines (RFC 5545 3.1: unfolded), which is quick; the test above reads the same with a library.
    """
    found = {}
    for event in body.decode().replace("\r\n ", "").split("BEGIN:VEVENT\r\n")[1:]:
        lines = event.partition("END:VEVENT")[0].splitlines()
        told = dict(line.split(":", 1) for line in lines if line.startswith(("UID:", "SEQUENCE:")))
        rest = [line for line in lines if not line.startswith(("SEQUENCE:", "DTSTAMP", "LAST-MODIFIED"))]
        found[told["UID"]] = (int(told["SEQUENCE"]), "\n".join(rest))
    return found


@settings(max_examples=25)
@given(st.lists(steps, max_size=14))
def test_a_change_of_one_plant_moves_only_that_plant(story: list[tuple[str, int, int, int]]) -> None:
    """After one more entry of one plant every task of the others is as it was (design section 3, rule 11)."""
    bench = _begun()
    day = _play(bench, story)
    before = _plan(bench, day, "rounds")
    bench.write(Done(on=day, plant="tide", care="watering"))
    after = _plan(bench, day, "rounds")
    others = [[task for task in plan.tasks if task.plant != 1] for plan in (before, after)]
    assert others[0] == others[1]
    assert [r for r in before.rhythms if r.plant != 1] == [r for r in after.rhythms if r.plant != 1]


@settings(max_examples=25)
@given(st.lists(steps, min_size=1, max_size=12), steps)
def test_undoing_a_command_restores_the_plan(
    story: list[tuple[str, int, int, int]], last: tuple[str, int, int, int]
) -> None:
    """The plan after an entry and its undo is the plan without it (design section 3, rule 15)."""
    bench = _begun()
    day = _play(bench, story)
    before = _plan(bench, day, "each")
    bench.write(_entry(last[0], last[1], day, last[3]))
    bench.write(Undone(on=day, command=bench.records[-1].command))
    after = _plan(bench, day, "each")
    assert (after.tasks, after.series, after.rhythms) == (before.tasks, before.series, before.rhythms) or [
        (t.id, t.on, t.care) for t in after.tasks
    ] == [(t.id, t.on, t.care) for t in before.tasks]


@settings(max_examples=20)
@given(st.lists(steps, max_size=14), st.integers(0, 20))
def test_planning_of_a_part_equals_planning_of_all(
    story: list[tuple[str, int, int, int]], later: int
) -> None:
    """A plant's plan does not depend on which other plants were read with it."""
    bench = _begun()
    day = _play(bench, story) + timedelta(days=later)
    whole = _plan(bench, day, "rounds")
    alone = _plan(bench, day, "rounds", plants={2})
    assert [t for t in whole.tasks if t.plant == 2] == list(alone.tasks)


@settings(max_examples=15)
@given(st.lists(steps, max_size=12), st.integers(0, 15))
def test_the_calendar_read_back_is_the_plan(story: list[tuple[str, int, int, int]], later: int) -> None:
    """Each care day of each plant and care stands in the calendar, expanded by recurring-ical-events, and no other."""
    bench = _begun()
    day = _play(bench, story) + timedelta(days=later)
    plan = _plan(bench, day, "each")
    body = _calendar(plan, new_ledger(), "each").body
    read = recurring_ical_events.of(icalendar.Calendar.from_ical(body)).between(
        day, plan.until + timedelta(days=1)
    )
    found = sorted(
        (str(e["X-CARECAL-PLANT"]), str(e["CATEGORIES"].cats[0]), e["DTSTART"].dt)
        for e in read
        if "DONE" not in [str(c) for c in e["CATEGORIES"].cats] and str(e["CATEGORIES"].cats[0]) != "STEP"
    )
    planned = sorted((plan.plant(t.plant).id, t.care.upper(), t.on) for t in plan.tasks if t.care != "step")
    assert found == planned


@settings(max_examples=15)
@given(st.lists(steps, min_size=1, max_size=10), st.sampled_from(["rounds", "each"]))
def test_sequence_rises_exactly_when_the_content_changed(
    story: list[tuple[str, int, int, int]], grouping: Grouping
) -> None:
    """Over a growing journal a component's SEQUENCE rises by one if its content differs, else it stays to the byte."""
    bench, ledger, day = _begun(), new_ledger(), START
    former: dict[str, tuple[int, str]] = {}
    known: dict[str, int] = {}
    for plant, kind, gap, spice in story:
        day += timedelta(days=gap)
        bench.write(_entry(plant, kind, day, spice))
        body = _calendar(_plan(bench, day, grouping), ledger, grouping).body
        now = _sequences(body)
        wrong = [
            uid
            for uid, (sequence, content) in now.items()
            if (uid in former and sequence != former[uid][0] + (content != former[uid][1]))
            or (uid in known and uid not in former and sequence <= known[uid])
        ]
        assert not wrong
        former = now
        known.update((uid, sequence) for uid, (sequence, _) in now.items())
    is_same = _calendar(_plan(bench, day, grouping), ledger, grouping).body == body
    assert is_same


@settings(max_examples=15)
@given(st.lists(steps, max_size=10))
def test_a_day_later_without_an_entry_only_what_stands_on_the_day_moves(
    story: list[tuple[str, int, int, int]],
) -> None:
    """From one day to the next only open and overdue tasks, what became the past, and plants newly overdue change.

    Oracle: design section 2, last paragraph.
    """
    bench = _begun()
    day = _play(bench, story) + timedelta(days=1)
    if (day + timedelta(days=1)).day == 1:
        day += timedelta(days=1)
    first, second = (_plan(bench, when, "rounds") for when in (day, day + timedelta(days=1)))
    overdue = {t.plant for t in second.tasks if t.status == "overdue"}
    kept = {t.id: t for t in second.tasks}
    # an open flush that is now taken as done counts as plain water: the flush stays due (rule 2)
    unflushed = {
        t.plant for t in first.tasks if t.care == "flushing" and t.status == "open" and t.id not in kept
    }
    # an open wetting that a cold night overtook is not taken as done: the next one comes right after the cold
    later_planners = bench.planner(day + timedelta(days=1)).plant_planners
    overtaken = {
        number
        for number, each in later_planners.items()
        if any(slot.latest == day.toordinal() and slot.status == "skipped" for slot in each.chain.slots())
    }
    for task in first.tasks:
        if task.plant in unflushed | overtaken:
            continue
        if task.status != "planned" or task.on <= day + timedelta(days=1) or task.plant in overdue:
            continue
        later = kept.get(task.id)
        assert later is not None
        assert (later.on, later.care, later.status) == (task.on, task.care, "planned")


def test_written_instants_are_utc() -> None:
    """The bench's own instants read as the journal's do; a guard for the tests above."""
    assert datetime.fromisoformat(_begun().records[-1].written).utcoffset() == timedelta(0)
