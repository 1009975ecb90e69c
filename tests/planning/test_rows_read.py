"""Rows of the sick and the season that a rule reads: after a potting, salty water, heat, winter; by hand, by table."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from carecal.catalog.tables import Catalog
from carecal.collection.entries import Forecast, MonthRow, Observed, Potted, SupplyWater, Treated, Tried
from carecal.planning.rhythm.season_ratio import season_ratio
from carecal.planning.sick.losing import next_try
from carecal.planning.sick.watch import remarks_of
from carecal.planning.wettings.feeding import salty_flushes
from tests.bench import Bench
from tests.planning.step_situations import build, desk_on, step_of

GROWN: dict[str, Any] = {
    "medium": "bark", "container": "plastic", "size_cm": 12, "stage": "established", "roots": 5,
    "longest_mm": 120, "tips": 2, "leaves": 5, "came": "2023-01-01", "potted": "2023-04-01",
}  # fmt: skip
FIRST = date(2025, 1, 1)


def room(light: float = 4, winter: tuple[float, float, float] | None = None) -> dict[str, Any]:
    """Return one place, 24 and 20 °C at 50 %, from November to March by other numbers where they are given."""
    rows = []
    for month in range(1, 13):
        day, night, rh = winter if winter and month in {11, 12, 1, 2, 3} else (24, 20, 50)
        rows.append(
            MonthRow(month=month, day_c=day, night_c=night, rh_pct=rh, air="room", light_mol_m2_d=light)
        )
    return {"room": tuple(rows)}


def potted(catalog: Catalog, light: float = 4, **values: Any) -> Bench:
    """Return a plant potted anew on the first of May."""
    bench = build(catalog, room(light), GROWN, place="room")
    day = date(2025, 5, 1)
    given = {"medium": "bark", "container": "plastic", "size_cm": 12, **values}
    return bench.write(Potted.model_validate({"on": day, "plant": "tide", **given}))


def told(bench: Bench, code: str, on: date) -> str:
    """Return what is said of the plant on a day by the code of its remark."""
    return "".join(r.text for r in remarks_of(desk_on(bench, on)) if r.code == code)


def test_the_freshly_potted_are_shaded_for_a_week(catalog: Catalog) -> None:
    """1 mol at most, back to light from day 7; left dry its first water on day 3, 5 with cut roots (after_potting)."""
    day = date(2025, 5, 1)
    wet = told(potted(catalog), "potted", day)
    assert wet.startswith("Shade and no wind for three days: 4.0 mol a day here, 1 at most.")
    assert "From 8 May to its usual light, by steps." in wet
    assert "irst wetting" not in wet
    assert "First wetting on 4 May." in told(potted(catalog, watered=False), "potted", day)
    assert "First wetting on 6 May." in told(potted(catalog, watered=False, pruned=True), "potted", day)
    assert told(potted(catalog), "potted", date(2025, 5, 7))
    assert not told(potted(catalog), "potted", date(2025, 5, 8))
    assert not told(potted(catalog, light=0.9), "potted", day)
    assert not told(build(catalog, room(), {**GROWN, "potted": "2024-12-31"}, place="room"), "potted", FIRST)


def test_six_weeks_after_a_potting_it_is_tugged_softly(catalog: Catalog) -> None:
    """Day 42 of after_potting.toml: asked at looks of the four weeks from then on, not before."""
    looks = [
        t for t in potted(catalog).planner(date(2025, 5, 2)).plan("each").tasks if t.care == "inspection"
    ]
    asked = [(t.due - date(2025, 5, 1)).days for t in looks if "a soft tug: does it hold" in t.asks]
    assert asked
    assert min(asked) >= 42
    assert max(asked) < 70


@pytest.mark.parametrize(("ec", "flushes"), [(0.3, (60, 0)), (0.4, (30, 0)), (0.5, (30, 0)), (0.6, (60, 4))])
def test_salty_water_flushes_oftener(catalog: Catalog, ec: float, flushes: tuple[int, int]) -> None:
    """Up to 0.3 mS/cm as the medium asks, to 0.5 monthly, above it every fourth wetting (water_limits.toml)."""
    bench = build(catalog, room(), GROWN, place="room")
    bench.write(SupplyWater(on=FIRST, name="tap", ec_ms_cm=ec))
    assert salty_flushes(60, desk_on(bench, FIRST).context) == flushes
    tasks = bench.planner(FIRST).plan("each").tasks
    days = [t.due for t in tasks if t.care == "flushing"]
    assert len(days) >= (8 if ec > 0.3 else 2)


def test_nobody_is_repotted_within_two_weeks_of_great_heat(catalog: Catalog) -> None:
    """35 °C on 10 July holds it to two weeks after the spell (repot_holds.toml heat); then it is free again."""
    old = {**GROWN, "potted": "2022-04-01"}
    bench = build(catalog, room(), old, place="room")
    bench.write(Forecast(on=date(2025, 7, 9), place="room", day=date(2025, 7, 10), day_c=36))
    for day, status in ((date(2025, 7, 8), "now"), (date(2025, 7, 20), "wait"), (date(2025, 8, 15), "now")):
        step = step_of(bench.planner(day), "new-medium-due")
        assert step is not None
        assert step.status == status
    step = step_of(bench.planner(date(2025, 7, 20)), "new-medium-due")
    assert step is not None
    assert "after days of 35 °C: no repotting before 2" in step.because[0].text


@pytest.mark.parametrize(("did", "again"), [("wiped", True), ("washed", False)])
def test_nothing_is_washed_over_a_crown_that_rots(catalog: Catalog, did: Any, *, again: bool) -> None:
    """What leaves leaves wet waits while rot is open; a cloth need not (treatments.toml wets)."""
    bench = build(catalog, room(), GROWN, place="room")
    bench.write(
        Observed(on=FIRST, plant="tide", seen="mealybug"),
        Treated(on=FIRST, plant="tide", did=did, against="mealybug"),
        Observed(on=FIRST + timedelta(days=1), plant="tide", seen="rot", where="crown"),
    )
    tasks = bench.planner(FIRST + timedelta(days=1)).plan("each").tasks
    asks = [t.asks for t in tasks if t.care == "inspection" and t.due < FIRST + timedelta(days=30)]
    assert any("again, as last time" in text for text in asks) is again


@pytest.mark.parametrize(
    ("winter", "found"),
    [((21, 18, 35), "heated"), ((17, 15, 55), "cool"), ((24, 20, 50), "")],
)
def test_winters_days_stand_beside_what_growers_see(
    catalog: Catalog, winter: tuple[float, float, float], found: str
) -> None:
    """Heated 1.0 to 1.5, cool 2.0 to 2.5 (ESSEX, SAOS-WINTER); a room that fits neither is told of by nobody."""
    ratio = season_ratio(desk_on(build(catalog, room(winter=winter), GROWN, place="room"), FIRST))
    assert (ratio.row.room if ratio is not None else "") == found
    if ratio is not None:
        assert (ratio.row.ratio_low, ratio.row.ratio_high) == (
            (1.0, 1.5) if found == "heated" else (2.0, 2.5)
        )
        assert 0.8 <= ratio.value <= 3


def test_more_light_is_worth_trying_by_its_numbers(catalog: Catalog) -> None:
    """'A little lighter' names the light it aims at: 1 to 1.5 mol (tries.toml)."""
    bench = build(catalog, room(0.7), {**GROWN, "tips": 0}, place="room")
    for after, word in ((2, "firm"), (9, "wrinkled")):
        bench.write(
            Observed.model_validate({"on": FIRST + timedelta(days=after), "plant": "tide", "firmness": word})
        )
    tries = dict(catalog.tries)
    rows = {name: row for name, row in tries.items() if name in {"look-at-the-base", "warmer"}}

    for n, name in enumerate(rows):
        bench.write(Tried(on=FIRST + timedelta(days=10 + 29 * n), plant="tide", what=name))
    day = FIRST + timedelta(days=75)
    bench.write(
        Observed.model_validate({"on": day - timedelta(days=3), "plant": "tide", "firmness": "firm"}),
        Observed.model_validate({"on": day, "plant": "tide", "firmness": "folded"}),
    )
    desk = desk_on(bench, day)
    worth = next_try(desk.line, day.toordinal(), desk.context)
    assert worth is not None
    assert worth.name == "more-light"
    assert "lighter, never sun: 1 to 1.5 mol a day" in told(bench, "losing", day)
