"""Feeding by the day's light and repotting by the season; oracle: the numbers of the sources named beside each row."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest

from carecal.catalog.tables import Catalog
from carecal.collection.entries import MonthRow, Observed, QuarantineSet
from carecal.planning.forecasts.spike import spike_of
from tests.planning.step_situations import build, desk_on, step_of

GROWN = {"medium": "bark", "container": "plastic", "size_cm": 12, "stage": "established", "roots": 5,
         "longest_mm": 120, "tips": 2, "leaves": 4, "potted": "2024-03-01"}  # fmt: skip


def year(light: float, temp_c: float = 22.0) -> dict[str, tuple[MonthRow, ...]]:
    """Return the climate of one place that is the same all year."""
    rows = tuple(
        MonthRow(month=m, day_c=temp_c, night_c=temp_c, rh_pct=50, air="room", light_mol_m2_d=light)
        for m in range(1, 13)
    )
    return {"room": rows}


@pytest.mark.parametrize(
    ("light", "days", "share", "why"),
    [
        (0.3, None, None, "under 0.6 mol nothing grows that could take it up (KUBOTA)"),
        (0.8, 30, 0.5, "0.6-1.1: monthly (ESSEX), half (common practice)"),
        (1.6, 21, 1.0, "1.1-2.2: every three weeks (common practice)"),
        (4.0, 14, 1.0, "above: as the profile"),
    ],
)
def test_a_plant_is_fed_by_the_light_it_gets(
    catalog: Catalog, light: float, days: int | None, share: float | None, why: str
) -> None:
    """How often and how strong follow the class of the day's light, in summer as in winter."""
    plan = build(catalog, year(light), GROWN, place="room").planner(date(2025, 1, 10)).plan("each")
    feeds = [task for task in plan.tasks if task.care == "feeding"]
    if days is None or share is None:
        assert feeds == [], why
        return
    gaps = [(later.due - task.due).days for task, later in pairwise(feeds)]
    assert min(gaps) >= days - 7, why  # each rides on the wetting nearest to its day
    assert sum(gaps) / len(gaps) == pytest.approx(days, rel=0.35), why
    full = build(catalog, year(4.0), GROWN, place="room").planner(date(2025, 1, 10)).plan("each")
    strong = max(task.ppm_n or 0 for task in full.tasks)
    assert max(task.ppm_n or 0 for task in feeds) == pytest.approx(strong * share, abs=6), why


@pytest.mark.parametrize(("light", "is_expected"), [(0.8, False), (1.3, True)])
def test_no_spike_is_forecast_in_the_dark(catalog: Catalog, light: float, is_expected: bool) -> None:
    """Under 1.1 mol a day hardly any spiked (PAMAB-LIGHT, KONOW2001: 2 %)."""
    plant = desk_on(build(catalog, year(light), GROWN, place="room"), date(2026, 1, 10))
    found = spike_of(plant)
    assert found is not None
    assert (found.likely is not None) == is_expected
    assert is_expected or "less than 1.1 mol" in found.text


@pytest.mark.parametrize(
    ("latitude", "light", "on", "status", "opens", "why"),
    [
        (
            54.3,
            2.0,
            date(2026, 11, 25),
            "wait",
            date(2027, 2, 1),
            "old bark in November waits for February (OCNZ)",
        ),
        (54.3, 2.0, date(2026, 2, 2), "now", None, "the dark months are over"),
        (54.3, 2.0, date(2026, 9, 29), "now", None, "the last days before them"),
        (-35.0, 2.0, date(2026, 5, 25), "wait", date(2026, 8, 1), "half a year later in the south"),
        (1.0, 2.0, date(2026, 11, 25), "now", None, "no dark months near the equator"),
        (54.3, 4.0, date(2026, 11, 25), "now", None, "warm under a lamp: no dark months (our choice)"),
    ],
)
def test_old_medium_is_changed_outside_the_dark_months(
    catalog: Catalog, latitude: float, light: float, on: date, status: str, opens: date | None, why: str
) -> None:
    """October to January bridge to the first day after them."""
    bench = build(catalog, year(light), GROWN, place="room", latitude=latitude)
    step = step_of(bench.planner(on), "potting-on")
    assert step is not None
    assert step.status == status, why
    assert opens is None or step.opens == opens, why


def test_rot_at_the_roots_breaks_the_season(catalog: Catalog) -> None:
    """'Will not see spring otherwise' (POK): at once, whatever the month."""
    bench = build(catalog, year(2.0), GROWN, place="room")
    bench.write(Observed(on=date(2026, 11, 20), plant="tide", seen="rot", where="root"))
    step = step_of(bench.planner(date(2026, 11, 25)), "potting-on")
    assert step is not None
    assert step.status == "now"


def test_a_plant_set_apart_is_not_repotted(catalog: Catalog) -> None:
    """Hands and tools would carry what it may have (repot_holds.toml quarantine)."""
    bench = build(catalog, year(2.0), GROWN, place="room")
    bench.write(QuarantineSet(on=date(2026, 5, 1), plant="tide"))
    step = step_of(bench.planner(date(2026, 5, 5)), "potting-on")
    assert step is not None
    assert step.status == "wait"
    assert "quarantine" in step.because[0].text


def test_a_place_too_dark_for_roots_holds_a_repotting_back(catalog: Catalog) -> None:
    """Cut roots do not come back under 0.6 mol (KUBOTA: roots fall in low light)."""
    step = step_of(build(catalog, year(0.4), GROWN, place="room").planner(date(2026, 5, 5)), "potting-on")
    assert step is not None
    assert (step.status, "0.6 mol" in step.because[0].text) == ("wait", True)
