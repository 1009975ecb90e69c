"""A loss laid against what was safe: what is named first, what is not named, and how it is worded."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from carecal.catalog.tables import Catalog
from carecal.collection.entries import MonthRow
from carecal.planning.hindsight.departures import LOOK_BACK_DAYS, Hindsight, hindsight
from tests.planning.step_situations import Climate, build, desk_on

FIRM = {
    "medium": "bark",
    "container": "plastic",
    "size_cm": 12,
    "stage": "established",
    "roots": 5,
    "longest_mm": 120,
    "tips": 2,
    "leaves": 4,
}
LOSS = "2026-12-20"
LOST = ["retired", LOSS, {"because": "lost"}]


def told(
    catalog: Catalog,
    climate: Climate,
    then: list[Any],
    *,
    place: str = "living-room",
    plant: dict[str, Any] = FIRM,
) -> Hindsight:
    """Return the hindsight on a plant some days after its loss."""
    return hindsight(desk_on(build(catalog, climate, plant, then, place=place), date(2027, 1, 5)))


def tended(first: str, last: str, every: int, **fields: Any) -> list[Any]:
    """Return wettings and looks at an even pace."""
    day, end, found = date.fromisoformat(first), date.fromisoformat(last), []
    while day < end:
        found.append(["done", day.isoformat(), {"care": "watering", **fields}])
        day += timedelta(days=every)
    return found


def codes(found: Hindsight) -> list[str]:
    """Return the codes in their order."""
    return [each.code for each in found.departures]


def test_a_conversion_too_late_comes_first_with_its_date_and_entry(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """20 September against the published last safe start of 12 July; oracle: checks_windows WIN08, worked by hand."""
    convert = [
        "potted",
        "2026-09-20",
        {"medium": "lava", "container": "reservoir", "size_cm": 12, "filled": True},
    ]
    then = [*tended("2026-06-01", "2026-09-18", 7), convert, *tended("2026-09-30", LOSS, 10), LOST]
    found = told(catalog, demo_climate, then, place="bedroom-sill")
    first = found.departures[0]
    assert (first.code, first.first) == ("conversion-too-late", date(2026, 9, 20))
    assert "70 days after the last safe start, 12 July 2026" in first.text
    assert "may have" in first.text
    assert len(first.entries) == 1
    assert "cold-reservoir" in codes(found)


def test_a_plant_tended_within_what_is_safe_has_no_departure(catalog: Catalog, demo_climate: Climate) -> None:
    """A loss without a cause in the journal is not explained; oracle: by construction, in a warm cabinet."""
    found = told(catalog, demo_climate, [*tended("2026-06-01", LOSS, 4), LOST], place="grow-cabinet")
    assert (found.loss, found.departures) == (date(2026, 12, 20), ())
    assert found.since == date(2026, 12, 20) - timedelta(days=LOOK_BACK_DAYS)


@pytest.mark.parametrize(
    ("code", "place", "then"),
    [
        ("too-wet", "grow-cabinet", tended("2026-06-01", LOSS, 1)),
        ("wet-on-damp", "grow-cabinet", tended("2026-06-01", LOSS, 4, felt="damp")),
        ("parched", "grow-cabinet", tended("2026-06-01", LOSS, 16)),
        ("not-wetted", "grow-cabinet", tended("2026-06-01", "2026-11-10", 4)),
        ("cold-nights", "bedroom-sill", tended("2026-06-01", LOSS, 10)),
        ("in-too-late", "glazed-balcony", tended("2026-06-01", LOSS, 7)),
        ("potted-in-flower", "grow-cabinet", [
            ["observed", "2026-09-01", {"flowering": "in-spike"}],
            ["potted", "2026-10-01", {"medium": "bark", "container": "plastic", "size_cm": 12}],
            *tended("2026-10-04", LOSS, 4)]),
        ("potted-too-soon", "grow-cabinet", [
            ["potted", "2026-09-01", {"medium": "bark", "container": "plastic", "size_cm": 12}],
            ["potted", "2026-10-01", {"medium": "bark", "container": "plastic", "size_cm": 12}],
            *tended("2026-10-04", LOSS, 4)]),
        ("potting-too-late", "bedroom-sill", [
            ["potted", "2026-10-01", {"medium": "bark", "container": "plastic", "size_cm": 12}],
            *tended("2026-10-08", LOSS, 8)]),
        ("pest-forgotten", "grow-cabinet", [["observed", "2026-10-01", {"seen": "scale"}]]),
        ("salts", "grow-cabinet", [*tended("2026-06-01", LOSS, 4, ec_ms_cm=1.9)]),
        ("fed-after-potting", "grow-cabinet", [
            ["potted", "2026-10-01", {"medium": "bark", "container": "plastic", "size_cm": 12}],
            ["done", "2026-10-05", {"care": "feeding"}]]),
        ("fed-in-the-cold", "bedroom-sill", [["done", "2026-11-25", {"care": "feeding"}]]),
    ],
)  # fmt: skip
def test_each_departure_is_named_with_its_records(
    catalog: Catalog, demo_climate: Climate, code: str, place: str, then: list[Any]
) -> None:
    """Every kind of departure is found where it was made, worded 'may have', with entries; oracle: by construction."""
    found = told(catalog, demo_climate, [*then, LOST], place=place)
    assert code in codes(found)
    each = next(d for d in found.departures if d.code == code)
    assert "may have" in each.text
    assert each.entries
    assert found.since is not None
    assert found.since <= each.first <= each.last <= date(2026, 12, 20)


@pytest.mark.parametrize(("every", "is_named"), [(9, False), (27, False), (31, True)])
def test_a_pest_looked_at_in_time_is_not_called_forgotten(
    catalog: Catalog, demo_climate: Climate, every: int, is_named: bool
) -> None:
    """Scale is asked for every 14 days in the cool; after twice that it was forgotten (pests.toml)."""
    found, last = date(2026, 9, 5), date.fromisoformat(LOSS)
    days = [found + timedelta(days=n) for n in range(every, (last - found).days, every)]
    looks = [["done", day.isoformat(), {"care": "inspection"}] for day in days]
    then = [["observed", found.isoformat(), {"seen": "scale"}], *looks, LOST]
    assert ("pest-forgotten" in codes(told(catalog, demo_climate, then, place="grow-cabinet"))) is is_named


@pytest.mark.parametrize(("night_c", "is_named"), [(8, False), (1, True)])
def test_cold_nights_of_a_dry_rest_are_named_where_frost_was_near(
    catalog: Catalog, night_c: float, is_named: bool
) -> None:
    """A nobile's rest is made of nights of 8 °C; under 3 °C it bears none; oracle: models H5, its profile."""
    months = tuple(
        MonthRow(month=m, day_c=15, night_c=night_c if m >= 10 or m <= 2 else 14, rh_pct=60, air="room",
                 light_mol_m2_d=8)
        for m in range(1, 13)
    )  # fmt: skip
    plant = {**FIRM, "profile": "dendrobium-nobile"}
    found = told(catalog, {"porch": months}, [LOST], place="porch", plant=plant)
    assert ("cold-nights" in codes(found)) is is_named


def test_feeding_without_roots_is_named_before_mere_neglect(catalog: Catalog, demo_climate: Climate) -> None:
    """Salts on a plant without roots weigh more than a look that was missed; oracle: feeding_gates.csv stage."""
    plant = {**FIRM, "stage": "rootless", "roots": 0, "longest_mm": 0, "tips": 0}
    then = [["done", "2026-11-01", {"care": "feeding"}], ["done", "2026-11-12", {"care": "feeding"}], LOST]
    found = codes(told(catalog, demo_climate, then, place="grow-cabinet", plant=plant))
    assert found.index("fed-without-roots") < found.index("not-looked-at")


def test_drenching_a_plant_without_roots_is_named_as_that(catalog: Catalog, demo_climate: Climate) -> None:
    """Its surface alone is kept moist, so no interval is told; oracle: stages.csv rootless, technique surface."""
    plant = {**FIRM, "stage": "rootless", "roots": 0, "longest_mm": 0, "tips": 0}
    wetted = tended("2026-10-01", LOSS, 3)
    drenched = told(catalog, demo_climate, [*wetted, LOST], place="grow-cabinet", plant=plant)
    moistened = [["done", day, {"care": "moistening"}] for _, day, _ in wetted]
    surface = told(catalog, demo_climate, [*moistened, LOST], place="grow-cabinet", plant=plant)
    (too_wet,) = [each for each in drenched.departures if each.code == "too-wet"]
    assert "without a living root" in too_wet.text
    assert "too-wet" not in codes(surface)


def test_a_wrap_in_the_sun_is_named_unless_it_is_shaded(catalog: Catalog, demo_climate: Climate) -> None:
    """A bag under 8 mol a day is too bright, with shade under half of the light it is not; oracle: states, aids."""
    plant = {"medium": "moss", "container": "bag", "size_cm": 10, "stage": "rootless"}
    bright = told(catalog, demo_climate, [LOST], place="grow-cabinet", plant=plant)
    shaded = told(catalog, demo_climate, [LOST], place="grow-cabinet", plant={**plant, "aids": ["shade"]})
    assert "sun-in-wrap" in codes(bright)
    assert "sun-in-wrap" not in codes(shaded)


def test_a_step_down_counts_as_a_loss_and_none_is_told(catalog: Catalog, demo_climate: Climate) -> None:
    """Without a retirement the last step down a stage is looked at; without either it says so."""
    drop = ["observed", "2026-12-01", {"roots": 0, "longest_mm": 0, "stage": "rootless"}]
    fallen = told(catalog, demo_climate, [drop])
    assert (fallen.loss, fallen.what) == (date(2026, 12, 1), "established → rootless on 1 December 2026")
    well = told(catalog, demo_climate, [])
    assert (well.loss, well.departures) == (None, ())


def test_departures_are_ranked_by_weight(catalog: Catalog, demo_climate: Climate) -> None:
    """The heaviest comes first, whatever the order of the rules."""
    then = [["observed", "2026-09-01", {"seen": "scale"}], *tended("2026-06-01", LOSS, 2), LOST]
    weights = [each.weight for each in told(catalog, demo_climate, then, place="glazed-balcony").departures]
    assert len(weights) > 2
    assert weights == sorted(weights, reverse=True)
