"""Rests: begun by month or sign, ended by a sign alone, water by the nights; oracle: rests.toml, YAMA, OCNZ."""

from __future__ import annotations

import itertools
from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any, cast

import pytest

from carecal.catalog.tables import Catalog
from carecal.collection.entries import MonthRow, Observed, PlantAdded, SettingChanged, SideTaken
from carecal.plan.model import Plan, Task
from carecal.planning.planner import Planner
from carecal.planning.rhythm.resting import Resting
from carecal.planning.wettings.feeding import Tally
from carecal.planning.wettings.seasonal import flushes_before_rest, is_clear_water
from tests.bench import Bench

START = date(2026, 8, 1)
OCTOBER = date(2026, 10, 1)  # the first day of a nobile's months (YEN2008)
FEBRUARY = date(2027, 2, 28)  # and the last one
HALF = date(
    2027, 4, 12
)  # six weeks after it: 28 February + 42 days = 11 April, water is half-way back on the next day
WETTINGS = frozenset({"watering", "feeding", "flushing"})


def months(night_c: float) -> tuple[MonthRow, ...]:
    """Return a place of the same nights all year, with days of 20 °C and much light."""
    return tuple(
        MonthRow(month=m, day_c=20, night_c=night_c, rh_pct=60, air="room", light_mol_m2_d=8)
        for m in range(1, 13)
    )


def resting(
    catalog: Catalog,
    *told: Observed,
    kind: str = "dendrobium-nobile",
    night_c: float = 12,
    latitude: float = 54.3,
) -> Bench:
    """Return a plant entered on 1 August, watered then, at a place of even nights, with what was told of it."""
    bench = Bench(catalog, START, latitude=latitude)
    bench.place("porch", months(night_c), START)
    bench.write(SettingChanged(on=START, key="weekdays", value="none"))
    bench.write(SettingChanged(on=START, key="ticking", value="none"))
    bench.write(
        PlantAdded(
            on=START,
            plant="mast",
            profile=kind,
            medium="bark",
            container="plastic",
            size_cm=12,
            place="porch",
            stage="established",
            watered=START,
            roots=6,
            longest_mm=90,
        )
    )
    return bench.write(*told) if told else bench


def seen(on: date, **values: Any) -> Observed:
    """Return what was seen of the plant."""
    return Observed(on=on, plant="mast", **values)


def planned(bench: Bench, on: date = START) -> Plan:
    """Return the plan of a day."""
    return bench.planner(on, date(2027, 8, 1)).plan("each")


def wettings(plan: Plan, first: date, last: date) -> list[Task]:
    """Return the wettings due from one day to another."""
    return [t for t in plan.tasks if t.care in WETTINGS and first <= t.due <= last]


def spans(planner: Planner) -> list[tuple[date, date, str]]:
    """Return the runs of days on which the plant rests, with how deep."""
    found: list[tuple[date, date, str]] = []
    for stretch in planner.plant_planners[1].stretches:
        first, last = date.fromordinal(stretch.start), date.fromordinal(stretch.until)
        if found and found[-1][2] == stretch.rest and found[-1][1] == first - timedelta(days=1):
            found[-1] = (found[-1][0], last, stretch.rest)
        else:
            found.append((first, last, stretch.rest))
    return [run for run in found if run[2]]


@pytest.mark.parametrize(
    ("kind", "sign", "ends"),
    [
        ("dendrobium-nobile", {"rest": "over"}, True),
        ("dendrobium-nobile", {"flowering": "in-spike"}, True),  # YAMA: buds on the nodes swell
        ("dendrobium-nobile", {"tips": 3}, False),
        ("cattleya", {"tips": 1}, True),  # OCNZ: new root tips
        ("oncidium", {"tips": 2}, True),
        ("vanda", {"tips": 2}, True),  # green root tips again
        ("cattleya", {"leaves": 6}, False),
        ("cymbidium", {"tips": 2}, False),
        ("cattleya", {"rest": "goes-on"}, False),
    ],
)
def test_a_sign_ends_a_rest_and_nothing_else_does(
    catalog: Catalog, kind: str, sign: dict[str, Any], ends: bool
) -> None:
    """Seen on 20 February the plant is awake from that day; otherwise March finds it at rest (OBRIEN)."""
    day = date(2027, 2, 20)
    planner = resting(catalog, seen(day, **sign), kind=kind).planner(day, date(2027, 8, 1))
    last = spans(planner)[0][1]
    assert (last == day - timedelta(days=1)) is ends
    assert ends or last > FEBRUARY


def test_a_cymbidiums_rest_ends_with_its_spike(catalog: Catalog) -> None:
    """It is awake while it flowers and stays so when the spike is over (OCNZ)."""
    told = (seen(date(2027, 1, 5), flowering="in-spike"), seen(date(2027, 2, 10), flowering="spent"))
    planner = resting(catalog, *told, kind="cymbidium").planner(date(2027, 2, 12), date(2027, 8, 1))
    assert spans(planner) == [(date(2026, 11, 1), date(2027, 1, 4), "full")]


def test_a_rest_told_over_too_soon_begins_again_when_it_is_told(catalog: Catalog) -> None:
    """Over on 10 November, begun after all on the 20th: at rest again from that day, until its sign."""
    told = (seen(date(2026, 11, 10), rest="over"), seen(date(2026, 11, 20), rest="begun"))
    first, second = spans(resting(catalog, *told).planner(date(2026, 11, 21), date(2027, 2, 1)))
    assert (first[0], first[1]) == (OCTOBER, date(2026, 11, 9))
    assert (second[0], second[2]) == (date(2026, 11, 20), "full")


def test_root_tips_of_the_first_weeks_do_not_end_it(catalog: Catalog) -> None:
    """Tips of the growth that ripens are no sign: it is looked for from day 60 on (rests.toml)."""
    planner = resting(catalog, seen(date(2026, 11, 20), tips=2), kind="cattleya").planner(date(2026, 11, 21))
    assert spans(planner)[0][0] == date(2026, 11, 1)
    assert spans(planner)[0][1] > FEBRUARY


def test_it_begins_by_its_sign_before_the_month(catalog: Catalog) -> None:
    """Ripe canes of 10 September begin it three weeks before October."""
    told = seen(date(2026, 9, 10), rest="begun")
    planner = resting(catalog, told).planner(told.on, date(2027, 8, 1))
    assert spans(planner)[0][0] == told.on


@pytest.mark.parametrize(("days_before", "begins_by_it"), [(120, True), (121, False)])
def test_a_sign_counts_from_120_days_before_the_months(
    catalog: Catalog, days_before: int, begins_by_it: bool
) -> None:
    """Told earlier it belongs to no rest yet, which begins with October; oracle: models H1, days by hand."""
    october = date(2027, 10, 1)
    told = seen(october - timedelta(days=days_before), rest="begun")
    planner = resting(catalog, seen(date(2027, 3, 1), rest="over"), told).planner(told.on, date(2028, 1, 1))
    starts = [first for first, _, _ in spans(planner) if first > date(2027, 4, 1)]
    assert starts[:1] == [told.on if begins_by_it else october]


@pytest.mark.parametrize(
    ("answers", "half"), [((), HALF), ((date(2027, 3, 20),), date(2027, 5, 2))]
)  # 20 March + 42 days = 1 May
def test_nobodys_silence_dries_it_out(catalog: Catalog, answers: tuple[date, ...], half: date) -> None:
    """Six weeks after its last month or the last answer water is half-way back; the rhythm says why (our choice)."""
    told = [seen(day, rest="goes-on") for day in answers]
    planner = resting(catalog, *told).planner(date(2027, 3, 25), date(2027, 8, 1))
    deep, shallow = spans(planner)
    assert (deep[1], shallow[0], shallow[2]) == (half - timedelta(days=1), half, "half")
    rhythm = next(r for r in planner.plan("each").rhythms if r.start == half)
    factor = next(reason for reason in rhythm.reasons if reason.code == "resting-half")
    assert factor.value == 2.0  # half of the way from 3 back to 1
    assert "nobody has said whether its rest is over" in rhythm.reasons[0].text


@pytest.mark.parametrize(
    ("night_c", "low", "high", "technique"),
    [(16, 12, 40, "a-little"), (12, 10, 15, "a-little"), (7, 10, 15, "a-sip")],
)
def test_a_nobile_is_wetted_by_its_nights(
    catalog: Catalog, night_c: float, low: int, high: int, technique: str
) -> None:
    """YAMA: 2-3 times a month below 10 °C and from 10 to 15, lightly when dry at 15; a little each time."""
    found = wettings(planned(resting(catalog, night_c=night_c)), OCTOBER, FEBRUARY)
    gaps = {(b.due - a.due).days for a, b in itertools.pairwise(found)}
    assert found
    assert {task.technique for task in found} == {technique}
    assert all(low <= gap <= high for gap in gaps)
    assert all(task.litres is not None and task.litres < 0.2 for task in found)


def test_below_five_degrees_a_nobile_gets_none(catalog: Catalog) -> None:
    """YAMA: below 5 °C none; what is due waits for the first warmer night or the end of the rest."""
    assert wettings(planned(resting(catalog, night_c=4)), OCTOBER, FEBRUARY) == []


def test_who_grows_a_hybrid_waters_all_year(catalog: Catalog) -> None:
    """Side a of nobile-rest (OAMORE): no rows of the dry rest, drenched as before."""
    bench = resting(catalog)
    bench.write(SideTaken(on=START, key="nobile-rest", side="a"))
    assert {t.technique for t in wettings(planned(bench), OCTOBER, FEBRUARY)} == {"drench"}


def test_one_flush_before_none_inside_and_clear_water_first_after(catalog: Catalog) -> None:
    """The flush falls 7 to 14 days before October, nothing is fed from it on, and the rest begins and ends clear."""
    over = date(2027, 3, 1)
    bench = resting(catalog, seen(over, rest="over"))
    plan, awake = planned(bench), bench.planner(over, date(2027, 8, 1)).plan("each")
    before = wettings(plan, OCTOBER - timedelta(days=14), OCTOBER - timedelta(days=1))
    assert [t.care for t in before].count("flushing") == 1
    flush = next(t for t in before if t.care == "flushing")
    assert 7 <= (OCTOBER - flush.due).days <= 14
    assert flush.because == "the flush before its rest"
    assert {t.care for t in wettings(plan, OCTOBER, FEBRUARY)} == {"watering"}
    assert [t.care for t in before if t.due > flush.due] == ["watering"] * (len(before) - 1)
    assert next(t for t in awake.tasks if t.care in WETTINGS).care in {"watering", "flushing"}
    assert "feeding" in {t.care for t in wettings(awake, over, date(2027, 4, 30))}


def test_looks_ask_for_the_sign_every_fortnight_from_day_sixty(catalog: Catalog) -> None:
    """60 days after 1 October it is 30 November; each answer leaves it in peace for 14 days (rests.toml)."""
    bench = resting(catalog, seen(date(2026, 12, 5), rest="goes-on"))
    looks = [t for t in planned(bench, date(2026, 12, 5)).tasks if t.care == "inspection"]
    asking = [t.due for t in looks if "is its rest over" in t.asks]
    assert asking[0] == date(2026, 12, 19)
    assert all(t.asks.count("is its rest over") <= 1 for t in looks)
    assert {(b - a).days for a, b in itertools.pairwise(asking)} <= set(
        range(10, 18)
    )  # a look rides on a wetting near it
    early = [t for t in planned(resting(catalog), date(2026, 10, 2)).tasks if "is its rest over" in t.asks]
    assert min(t.due for t in early) >= date(2026, 11, 30)
    assert "buds swell on the nodes, not keikis" in early[0].asks


def test_near_the_equator_only_a_sign_begins_it(catalog: Catalog) -> None:
    """Rule 17: no months there; what the grower says begins it all the same, and it ends by its sign."""
    none = resting(catalog, latitude=1.0).planner(START, date(2027, 8, 1))
    told = resting(
        catalog, seen(date(2026, 9, 5), rest="begun"), seen(date(2026, 12, 1), rest="over"), latitude=1.0
    )
    assert spans(none) == []
    assert spans(told.planner(date(2026, 12, 1))) == [(date(2026, 9, 5), date(2026, 11, 30), "full")]


def test_a_plant_that_came_after_the_months_does_not_rest(catalog: Catalog) -> None:
    """Entered on 1 August, last winter's rest is none of its own."""
    assert spans(resting(catalog).planner(date(2026, 9, 1)))[0][0] == OCTOBER


def test_the_ceiling_of_the_medium_rises_in_a_rest_alone(catalog: Catalog) -> None:
    """Dim still damp air: bark 14 days at most, 18 (× 1.3) at rest, 16 half-way back; models I2, H2, by hand."""
    bench = Bench(catalog, START)
    dim = MonthRow(month=1, day_c=20, night_c=18, rh_pct=92, air="still", light_mol_m2_d=1)
    bench.place("porch", [dim.model_copy(update={"month": m}) for m in range(1, 13)], START)
    bench.write(
        PlantAdded(on=START, plant="mast", profile="cattleya", medium="bark", container="plastic", size_cm=15,
                   place="porch", stage="established", watered=START, roots=6, longest_mm=90)
    )  # fmt: skip
    desk = bench.planner(START, date(2027, 8, 1)).plant_planners[1]
    found = {}
    for stretch in desk.stretches:
        beat = desk.beats.at(stretch.until)
        assert beat is not None
        found[stretch.rest] = beat.days
    assert found == {"": 14, "full": 18, "half": 16}


def rest_of(start: int, until: int) -> Resting:
    """Return a rest of plain days."""
    return cast("Resting", SimpleNamespace(start=start, until=until))


@pytest.mark.parametrize(
    ("due", "last", "slow", "is_clear", "why"),
    [
        (185, 165, 0, False, "15 days before day 200: fed as ever"),
        (186, 165, 0, True, "within a fortnight of the rest of a kind that is not fed in it"),
        (199, 185, 0, True, "its last day before the rest"),
        (186, 165, 28, False, "a kind that is fed in its rest is fed before it too"),
        (310, 300, 28, True, "the first one after the rest, whose last day is 300"),
        (310, 290, 28, True, "wetted inside it before, the same"),
        (320, 310, 28, False, "the second one after it"),
        (300, 290, 28, False, "still inside"),
    ],
)
def test_water_is_clear_for_a_rests_sake(
    catalog: Catalog, due: int, last: int, slow: float, is_clear: bool, why: str
) -> None:
    """A rest from day 200 to day 300; oracle: models H4, rests.toml any, days by hand."""
    assert is_clear_water([rest_of(200, 300)], due, last, catalog, slow) is is_clear, why


@pytest.mark.parametrize(
    ("due", "following", "fed", "flushed", "is_flush", "why"),
    [
        (186, 193, 150, 100, True, "the first one within 14 days"),
        (185, 193, 150, 100, False, "15 days before it another one follows"),
        (180, 201, 150, 100, True, "the last one before the rest, where none falls into the fortnight"),
        (193, 201, 150, 186, False, "flushed already"),
        (193, 201, 150, 185, True, "flushed too early for it"),
        (186, 193, 140, 100, True, "fed 60 days before the rest"),
        (186, 193, 139, 100, False, "not fed for 61 days"),
        (186, 193, None, 100, False, "never fed"),
        (250, 260, 240, 100, False, "inside"),
    ],
)
def test_one_flush_before_a_rest_of_who_was_fed(
    catalog: Catalog, due: int, following: int, fed: int | None, flushed: int, is_flush: bool, why: str
) -> None:
    """A rest from day 200 on; oracle: models H4, rests.toml any, days by hand."""
    tally = Tally(last_flush=flushed, last_feed=fed)
    assert flushes_before_rest([rest_of(200, 300)], due, following, tally, catalog) is is_flush, why
