"""Every row of checks_drydown, worked from the closed forms and the published tables."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from carecal.horticulture import drydown
from carecal.horticulture.air import vapour_pressure_deficit_of_day
from tests.published.published_rows import Row, answer, checks, hold, one, params, table


def relative_demand(
    day_c: float,
    night_c: float,
    rh_pct: float,
    light_mol: float,
    container: str,
    light_source: str,
    **rest: str,
) -> float:
    """Demand by the published tables of containers and air classes."""
    return drydown.relative_demand(
        vapour_pressure_deficit_of_day(day_c, night_c, rh_pct),
        float(one("air_classes", **{"class": rest["air"]})["speed_m_s"]),
        float(one("containers", container=container)["wind_sensitivity"]),
        light_mol,
        light_source,
        closed=container == "bag",
    )


def reference_interval(medium: str, container: str, size_cm: float) -> float:
    """Reference days by the published tables; a pair not listed takes plastic times the container's factor."""
    rows = [row for row in table("reference_intervals") if row["medium"] == medium]
    listed = [row for row in rows if row["container"] == container]
    factor = 1.0 if listed else float(one("containers", container=container)["interval_factor"])
    used = listed or [row for row in rows if row["container"] == "plastic"]
    return (
        drydown.reference_interval([(float(r["size_cm"]), float(r["days"])) for r in used], size_cm) * factor
    )


def interval(
    medium: str,
    container: str,
    size_cm: float,
    stage: str,
    profile: str,
    plant_factor: float,
    settling: bool,
    **air: Any,
) -> dict[str, float]:
    """Raw and whole days by the published tables."""
    factors = [
        float(one("stages", stage=stage)["interval_factor"]),
        float(one("profiles", profile=profile)["interval_factor"]),
        float(one("states", state="settling")["interval_factor"]) if settling else 1.0,
        plant_factor,
    ]
    demand = relative_demand(container=container, **air)
    raw = drydown.raw_interval(reference_interval(medium, container, size_cm), demand, *factors)
    bounds = one("media", medium=medium)
    ceiling = bounds["max_days_in_reservoir" if container == "reservoir" else "max_days"]
    return {"raw": raw, "days": drydown.held_interval(raw, float(bounds["min_days"]), float(ceiling)).days}


def due_date_across_change(last: str, days_before: float, change_on: str, days_after: float) -> str:
    """The next wetting as a date."""
    wetted, changed = (date.fromisoformat(text).toordinal() for text in (last, change_on))
    due = drydown.next_due(wetted, [(wetted, days_before), (changed, days_after)])
    assert due is not None
    return date.fromordinal(due).isoformat()


FUNCTIONS: dict[str, Any] = {
    **{name: getattr(drydown, name) for name in drydown.__all__},
    "relative_demand": relative_demand,
    "reference_interval": reference_interval,
    "interval": interval,
    "due_date_across_change": due_date_across_change,
}


def test_all_rows_are_read() -> None:
    """The table has the 32 rows it was published with."""
    assert len(checks("checks_drydown")) == 32


@params("checks_drydown")
def test_drying_agrees_with_the_published_row(row: Row) -> None:
    """Each published value is met within its tolerance; a date exactly."""
    got = answer(row, FUNCTIONS)
    if isinstance(got, str):
        assert got == row.expected
    else:
        hold(row, got)


def test_a_closed_bag_has_no_demand() -> None:
    """In a bag nothing dries, by models D3."""
    air: dict[str, Any] = {"day_c": 24, "night_c": 20, "rh_pct": 50, "air": "room", "light_mol": 3}
    assert relative_demand(container="bag", light_source="daylight", **air) == 0
    # by hand: (1.24·1.330 + 0.06·3) / (1.24·1.2435 + 0.06·2)
    assert relative_demand(container="plastic", light_source="daylight", **air) == pytest.approx(
        1.101, abs=1e-3
    )
