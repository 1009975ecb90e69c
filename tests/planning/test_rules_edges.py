"""Rules of meaning at their edges, each counted by hand: a year without seasons, days one can count on fingers."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from carecal.catalog.tables import Catalog
from carecal.collection.entries import (
    Done,
    Entry,
    Left,
    Missed,
    MonthRow,
    Paused,
    PlaceAdded,
    Readings,
    ReadingsDay,
    SettingChanged,
    SupplyWater,
)
from carecal.collection.plants import PlantState
from carecal.horticulture.windows import gate_states
from carecal.planning.pours import litres_of
from tests.app.diary import DAY, DUE, START, Diary, even_year
from tests.bench import Bench
from tests.planning.step_situations import START as BEGAN
from tests.planning.step_situations import build, desk_on, step_of

GROWN = {"medium": "bark", "container": "plastic", "size_cm": 12, "stage": "established", "roots": 5,
         "longest_mm": 120, "tips": 2, "leaves": 4, "potted": "2025-03-01"}  # fmt: skip


@pytest.mark.parametrize(
    ("values", "rising", "is_open", "why"),
    [
        ([16, 15.5, 15, 14.9], True, [1, 1, 1, 0], "open down to 15, shut under it"),
        ([14.9, 15, 15.9, 16], True, [0, 0, 0, 1], "once shut it takes 16 to open"),
        ([15.5, 14.9, 15.5], True, [1, 0, 0], "begun within the band: open (models W4)"),
        ([16, 15.5, 16, 15.5, 16], True, [1, 1, 1, 1, 1], "a swing within the band opens and shuts nothing"),
        (
            [15, 16, 16.1, 15.5],
            False,
            [1, 1, 0, 0],
            "turned round, as against heat: shut beyond 16, open at 15",
        ),
        ([16.1, 15.5, 15], False, [0, 0, 1], "turned round, shut first"),
    ],
)
def test_a_gate_keeps_its_state_within_the_band(
    values: list[float], rising: bool, is_open: list[int], why: str
) -> None:
    """It opens at one end of its band and shuts past the other; oracle: by hand (models W4)."""
    opens, shuts = (16, 15) if rising else (15, 16)
    assert gate_states(values, opens, shuts, is_upper=not rising) == [bool(flag) for flag in is_open], why


def seasons(low_c: float, high_c: float) -> tuple[MonthRow, ...]:
    """Return a year that swings evenly from a cold January to a warm July, night as day."""
    steps = [0, 1, 2, 3, 4, 5, 6, 5, 4, 3, 2, 1]
    return tuple(
        MonthRow(month=m, day_c=t, night_c=t, rh_pct=95, air="still", light_mol_m2_d=4)
        for m, t in enumerate((low_c + (high_c - low_c) * step / 6 for step in steps), 1)
    )


@pytest.mark.parametrize(
    ("gate", "climate", "opens_at", "shuts_past", "sign"),
    [
        (
            "medium-temperature",
            seasons(8, 26),
            16.0,
            15.0,
            1,
        ),  # night_min_c 15.6, rounded up; a degree of hysteresis
    ],
)
def test_a_temperature_gate_opens_and_shuts_at_its_two_ends(
    catalog: Catalog, gate: str, climate: tuple[MonthRow, ...], opens_at: float, shuts_past: float, sign: int
) -> None:
    """Shut until the coming 14 days reach one limit, open until they pass the other; oracle: feeding_gates.toml."""
    bench = build(catalog, {"sill": climate}, GROWN, place="sill")
    as_of = date(2026, 1, 15) if sign > 0 else date(2026, 7, 15)
    plant_planner = desk_on(bench, as_of)
    (found,) = (g for g in plant_planner.gate_report() if g.gate == gate)
    assert not found.open
    assert found.opens is not None
    assert found.last_safe is not None
    air = plant_planner.context.air("sill", as_of.toordinal())
    assert air is not None
    ahead = air.medium_ahead("plastic") if sign > 0 else air.day_ahead()

    def at(day: date) -> float:
        return sign * ahead[day.toordinal() - air.origin]

    assert at(found.opens) >= sign * opens_at > at(found.opens - DAY)
    assert at(found.last_safe) >= sign * shuts_past > at(found.last_safe + DAY)
    assert found.because[0].value == opens_at


def test_the_heat_gate_shuts_by_the_days_ahead_and_opens_a_week_after_the_spell(catalog: Catalog) -> None:
    """Shut once the coming 14 days pass 33 °C; open 7 days after three days under 31 (weather_limits.toml)."""
    bench = build(catalog, {"sill": seasons(16, 40)}, GROWN, place="sill")
    plant_planner = desk_on(bench, date(2026, 7, 15))
    (found,) = (g for g in plant_planner.gate_report() if g.gate == "heat")
    assert not found.open
    assert found.opens is not None
    assert found.last_safe is not None
    air = plant_planner.context.air("sill", date(2026, 7, 15).toordinal())
    assert air is not None
    days, ahead = air.values("day_c"), air.day_ahead()
    last_cool = found.opens.toordinal() - 8 - air.origin  # the third day under 31 °C
    assert max(days[last_cool - 2 : last_cool + 1]) < 31 <= days[last_cool - 3]
    shut = found.last_safe.toordinal() + 1 - air.origin
    assert ahead[shut] > 33 >= ahead[shut - 1]


READ = date(2025, 5, 1)


@pytest.mark.parametrize(
    ("read", "days_later", "shift_c", "why"),
    [
        ({0: 31.0}, 1, 10.0, "the day after: 31 against normals of 21"),
        ({0: 31.0}, 14, 10.0, "the 14th day after still sees it"),
        ({0: 31.0}, 15, None, "the 15th does not"),
        ({0: 31.0, 10: 25.0}, 12, 7.0, "the mean of 10 and 4"),
        ({0: 31.0, 10: 25.0}, 15, 4.0, "the older one has left the 14 days"),
        ({0: 31.0}, 0, None, "a day does not see its own reading"),
    ],
)
def test_readings_count_for_fourteen_days(
    bench: Bench, read: dict[int, float], days_later: int, shift_c: float | None, why: str
) -> None:
    """The mean deviation of the last 14 days; oracle: models B6, by hand."""
    bench.place("sill", even_year(), BEGAN)
    days = tuple(ReadingsDay(day=READ + timedelta(days=at), temp_mean_c=value) for at, value in read.items())
    bench.write(Readings(on=READ + timedelta(days=20), place="sill", days=days))
    seen = READ + timedelta(days=days_later)
    air = bench.planner(READ + timedelta(days=30)).context.air("sill", seen.toordinal())
    assert air is not None
    shift = air.shift_on(seen.toordinal())
    assert (None if shift is None else pytest.approx(shift.day_c)) == shift_c, why


@pytest.mark.parametrize(("day_c", "status"), [(31.5, "now"), (32.0, "now"), (32.5, "wait"), (39.0, "wait")])
@pytest.mark.parametrize(
    ("step", "plant"),
    [
        ("potting-on", {}),
        ("new-medium-due", {"potted": "2023-03-01"}),
        ("taking-the-plug-out", {"potted": "2024-10-01", "came": "2024-11-01", "plug": True}),
    ],
)
def test_nothing_is_repotted_in_great_heat(
    catalog: Catalog, step: str, plant: dict[str, Any], day_c: float, status: str
) -> None:
    """Never while the day's normal lies above 32 °C; oracle: steps.toml never_when of the three steps."""
    bench = build(catalog, {"sill": even_year(day_c)}, {**GROWN, **plant}, place="sill")
    found = step_of(bench.planner(date(2026, 6, 20)), step)
    assert found is not None
    assert (found.status, found.opens is None) == (status, status == "wait")


@pytest.mark.parametrize(("clean_looks", "is_over"), [(0, False), (1, False), (6, False), (7, True)])
def test_rot_is_over_after_seven_clean_looks(catalog: Catalog, clean_looks: int, is_over: bool) -> None:
    """Until then it comes out of the medium now, whatever the season; oracle: pests.toml rot, looks = 7."""
    seen = date(2026, 1, 10)
    then = [("observed", seen, {"seen": "rot", "where": "root"})]
    then += [("done", seen + n * DAY, {"care": "inspection"}) for n in range(1, clean_looks + 1)]
    bench = build(catalog, {"sill": even_year()}, GROWN, then, place="sill")
    step = step_of(bench.planner(seen + 8 * DAY), "potting-on")
    assert step is not None
    assert any(reason.code == "rot" for reason in step.because) is not is_over


@pytest.mark.parametrize("rootless_days", [30, 60])
def test_the_count_of_flushing_begins_with_new_tips(catalog: Catalog, rootless_days: int) -> None:
    """Bark without feed is flushed three times 30 days after the first tips, not after the entry; models I6."""
    begun = BEGAN + timedelta(days=rootless_days)
    bare = {**GROWN, "stage": None, "roots": 0, "longest_mm": 0, "tips": 0, "potted": None}
    then = [
        ("observed", begun, {"roots": 1, "longest_mm": 10, "tips": 1}),
        ("done", begun, {"care": "watering"}),
    ]
    plant_planner = desk_on(build(catalog, {"sill": even_year()}, bare, then, place="sill"), begun)
    assert (plant_planner.line.states[0].stage, plant_planner.line.latest.stage) == ("rootless", "new-tips")
    first = next(slot.due for slot in plant_planner.slots_ahead("each") if slot.care == "flushing")
    assert first == (begun + timedelta(days=90)).toordinal()  # the 18th wetting, 5 days apart


@pytest.mark.parametrize(
    ("salt_ms_cm", "of_held", "why"),
    [
        (0.9, 2.31, "ln(0.4/0.1)/0.6"),
        (4.0, 5.926, "ln(3.5/0.1)/0.6"),
        (5.0, 6.0, "ln(4.5/0.1)/0.6 is 6.34: more is a second flush another day"),
        (9.0, 6.0, "and so for all that is saltier"),
    ],
)
def test_a_flush_takes_six_times_the_water_held_at_most(
    catalog: Catalog, salt_ms_cm: float, of_held: float, why: str
) -> None:
    """Bark rinses at 0.6, water of 0.5 mS/cm, wanted 0.6 mS/cm; oracle: models S5 by hand."""
    bench = build(catalog, {"sill": even_year()}, GROWN, place="sill")
    bench.write(SupplyWater(on=BEGAN, name="tap", ec_ms_cm=0.5))
    held_l = 0.0005 * 12**3 * 0.35  # models D5
    litres = desk_on(bench, BEGAN).salting.flush_litres(salt_ms_cm, BEGAN.toordinal())
    assert litres == pytest.approx(of_held * held_l, rel=0.005), why


@pytest.mark.parametrize(
    ("stage", "medium", "weekdays", "due", "on", "why"),
    [
        ("established", "bark", "none", DUE, DUE, "6 days"),
        (
            "new-tips",
            "bark",
            "none",
            DUE - DAY,
            DUE - DAY,
            "0.85 of 6 days: short roots reach the upper layer only",
        ),
        ("rooting-in", "bark", "none", DUE + DAY, DUE + DAY, "1.1 of 6 days"),
        ("established", "bark", "thu,sat", DUE, DUE + DAY, "bark stays wet: of two days as near the later"),
        (
            "new-tips",
            "bark",
            "wed,fri",
            DUE - DAY,
            DUE - 2 * DAY,
            "new tips: of two days as near the earlier",
        ),
        ("established", "lava", "none", DUE - 2 * DAY, DUE - 2 * DAY, "4 days"),
    ],
)
def test_young_plants_are_wetted_earlier(
    diary: Diary, stage: str, medium: str, weekdays: str, due: date, on: date, why: str
) -> None:
    """The stage's share of the reference days, and a tie that goes to the earlier day; design §3 rule 11, models I1."""
    diary.plant(stage=stage, medium=medium)
    diary.writes(START, SettingChanged(on=START, key="weekdays", value=weekdays))
    task = diary.next(START)
    assert (task.due, task.on) == (due, on), why


@pytest.mark.parametrize(
    "told",
    [
        Left(on=START + 2 * DAY, plant="tide", care="moistening", aid="cloth"),
        Missed(on=START + 2 * DAY, plant="tide", care="moistening"),
        Left(on=START + 2 * DAY, plant="tide", care="inspection"),
    ],
)
def test_what_was_told_of_a_cloth_or_a_look_says_nothing_of_the_pot(diary: Diary, told: Entry) -> None:
    """Its wetting stays on its day, 6 days after the last one; design §3 rules 3 and 9."""
    diary.plant(aids=("cloth",))
    before = diary.next(START + 2 * DAY)
    diary.writes(START + 2 * DAY, told)
    after = diary.next(START + 2 * DAY)
    assert (after.id, after.due, after.on) == (before.id, before.due, before.on)
    assert after.due == DUE


@pytest.mark.parametrize(
    ("ticked", "became", "due"),
    [
        ([], {1: "done"}, 20),
        ([(12, 2)], {1: "assumed", 2: "done", 3: "done"}, 20),
    ],
)
def test_a_tick_of_what_was_assumed_takes_its_place(
    diary: Diary, ticked: list[tuple[int, int]], became: dict[int, str], due: int
) -> None:
    """On the 14th the wetting of the 6th is ticked: it was done then, unless one after it was; rule 2, by hand."""
    diary.plant()
    for day, number in [*ticked, (14, 1)]:
        on = date(2026, 3, day)
        diary.writes(on, Done(on=on, plant="tide", care="watering", task=f"task/1/1/wetting/{number}"))
    now = date(2026, 3, 14)
    assert diary.past(now) == {f"task/1/1/wetting/{number}": status for number, status in became.items()}
    assert diary.next(now).due == date(2026, 3, due)


def test_a_plant_without_roots_takes_the_earlier_of_two_days_as_near(diary: Diary) -> None:
    """Its surface dries 12 days in dim still air: the Friday, not the Sunday (design §3 rule 11)."""
    dim = MonthRow(month=1, day_c=19, night_c=19, rh_pct=80, air="still", light_mol_m2_d=0.5)
    year = tuple(dim.model_copy(update={"month": month}) for month in range(1, 13))
    diary.writes(START, PlaceAdded(on=START, place="shelf", place_kind="warm-sill", climate=year))
    diary.writes(START, SettingChanged(on=START, key="weekdays", value="fri,sun"))
    diary.plant(stage="rootless", medium="moss", place="shelf", watered=START)
    first = next(task for task in diary.plan(START).tasks if task.care == "moistening")
    assert (first.due, first.on) == (date(2026, 3, 14), date(2026, 3, 13))  # a Saturday


def test_the_most_fragile_come_first_in_a_place(diary: Diary) -> None:
    """Of one can and place new tips come before rooting-in before established; places come one by one (rule 12)."""
    diary.writes(START, Paused(on=START, care="feeding", start=START))
    diary.writes(START, PlaceAdded(on=START, place="alcove", place_kind="warm-sill", climate=even_year()))
    for name, stage, days, place in (
        ("gable", "established", 6, "sill"),
        ("tide", "rooting-in", 7, "sill"),
        ("winch", "new-tips", 5, "sill"),
        ("pebble", "established", 6, "alcove"),
    ):
        diary.plant(name, stage=stage, watered=DUE - timedelta(days=days), place=place)
    plan = diary.plan(START)
    (found,) = (r for r in plan.rounds if r.on == DUE)
    wetted = [plan.task(t) for t in found.tasks if plan.task(t).care == "watering"]
    assert [plan.plant(t.plant).id for t in wetted] == ["pebble", "winch", "tide", "gable"]


@pytest.mark.parametrize("missing", ["medium", "container", "size_cm", "place", "stage"])
def test_what_is_missing_is_asked_for_every_four_days(diary: Diary, missing: str) -> None:
    """At once, and again 4 days after each look; oracle: models I9."""
    values: dict[str, Any] = {missing: None}
    diary.plant(**values)
    assert diary.looks(START)[0].on == START
    diary.writes(START + DAY, Done(on=START + DAY, plant="tide", care="inspection"))
    assert [look.due for look in diary.looks(START + DAY)[:2]] == [START + 5 * DAY, START + 9 * DAY]


@pytest.mark.parametrize(
    ("technique", "medium", "size_cm", "litres", "why"),
    [
        ("drench", "bark", 9, 0.182, "half of 0.0005·9³"),
        ("drench", "bark", 15, 0.844, "half of 0.0005·15³"),
        ("fill-and-drain", "lava", 15, 0.759, "0.45 of it"),
        ("refill", "lava", 15, 0.338, "0.2 of it"),
        ("soak", "none", None, 0.864, "without a size as a pot of 12 cm: 0.0005·12³"),
        ("pour-through", "bark", 9, 0.281, "2.2 times what bark holds, 35 % of 0.0005·9³"),
        ("surface", "bark", 9, 0.03, "whatever the size"),
        ("mist", "none", None, 0.02, "whatever the size"),
    ],
)
def test_the_can_holds_what_a_technique_takes(
    catalog: Catalog, technique: str, medium: str, size_cm: float | None, litres: float, why: str
) -> None:
    """Litres of one plant by the size of its pot; oracle: models D5 and D6 by hand."""
    context = build(catalog, {"sill": even_year()}, GROWN, place="sill").planner(BEGAN).context
    state = PlantState(day=0, entry=0, written="", medium=medium, size_cm=size_cm)
    assert litres_of(technique, state, context) == pytest.approx(litres, abs=0.0006), why


def test_a_plant_is_wetted_before_it_is_looked_over(diary: Diary) -> None:
    """A look that rides on a wetting stands behind it in the round (design §3 rule 12, models I9)."""
    diary.plant(stage="new-tips", watered=DUE - timedelta(days=5))
    plan = diary.plan(START)
    ridden = [
        (r.tasks.index(str(plan.task(t).joined_to)), at)
        for r in plan.rounds
        for at, t in enumerate(r.tasks)
        if plan.task(t).joined_to in r.tasks
    ]
    assert len(ridden) > 20
    assert all(wetting < look for wetting, look in ridden)
