"""What would end a plant's own days, reckoned by hand in a year without seasons, and for whom nothing is proposed.

At 21 °C, 50 % humidity and 2 mol of light demand is 1: bark in a 12 cm plastic pot is wetted every 6 days, give or take
a day (published days of the tables); lava in a 9 cm net pot every other day, to the day.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest

from carecal.collection.entries import MonthRow, Observed, PlaceAdded, PlantAdded
from carecal.planning.comparison.compare import compare
from carecal.planning.comparison.relief import WORTH_DAYS, burdens
from carecal.planning.rounds.needed import days_needed
from tests.app.diary import even_year
from tests.bench import Bench

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog
    from carecal.planning.comparison.relief import Burden, Relief
    from carecal.planning.rounds.needed import Windows

BEGAN, SPRING, NOVEMBER = date(2026, 1, 1), date(2026, 4, 1), date(2026, 11, 20)
THIRSTY: dict[str, Any] = {"medium": "lava", "container": "net", "size_cm": 9, "stage": "established", "roots": 6,
                           "longest_mm": 70, "tips": 2, "leaves": 4}  # fmt: skip


class Even(NamedTuple):
    """A pot wetted every so many days, with a window of some days either way, up to a last day."""

    first: Windows
    days: int
    slip: int
    last: int = 60

    def after(self, day: int) -> Windows | None:
        """Return the window after a day."""
        due = day + self.days
        return (due - self.slip, due, due + self.slip) if due <= self.last else None


def even(days: int, slip: int, first: int | None = None) -> Even:
    """Return a pot that is due on a first day, else after its first days."""
    due = first or days
    return Even((due - slip, due, due + slip), days, slip)


@pytest.mark.parametrize(
    ("pots", "needed", "why"),
    [
        ([], 0, "nobody asks"),
        ([even(10, 0)], 6, "10, 20 … 60"),
        ([even(10, 0), even(10, 0)], 6, "both on the same days"),
        ([even(10, 0), even(10, 0, first=5)], 12, "5, 15 … 55 besides, to the day"),
        ([even(10, 2), even(10, 2, first=12)], 5, "12, 24 … 60: both as late as they may be"),
        ([even(2, 0), even(10, 2)], 30, "every other day holds all of the other's windows"),
    ],
)
def test_the_days_a_house_needs(pots: list[Even], needed: int, why: str) -> None:
    """Days with a wetting in sixty days; oracle: counted on fingers."""
    assert days_needed(pots) == needed, why


def house(catalog: Catalog, as_of: date = SPRING, *, places: dict[str, tuple[MonthRow, ...]] | None = None,
          others: str = "bark", **thirsty: Any) -> Bench:  # fmt: skip
    """Return two plants in bark or another medium and a thirsty one on a sill, watered on the day before."""
    bench = Bench(catalog, BEGAN)
    for name, rows in {"sill": even_year(), **(places or {})}.items():
        kind: Any = "patio" if name == "patio" else "warm-sill"
        bench.write(PlaceAdded(on=BEGAN, place=name, place_kind=kind, climate=rows))
    values = {"place": "sill", "watered": as_of - timedelta(days=1), "potted": date(2025, 3, 1)}
    bark = {"medium": others, "container": "plastic", "size_cm": 12, "stage": "established"}
    for plant, given in (("oak", bark), ("elm", bark), ("reed", {**THIRSTY, **thirsty})):
        bench.write(PlantAdded.model_validate({"on": as_of, "plant": plant, **values, **given}))
    return bench


def found_in(bench: Bench, as_of: date = SPRING) -> list[Burden]:
    """Return the burdens of a day."""
    return burdens(bench.planner(as_of))


def ends_of(bench: Bench, as_of: date = SPRING) -> dict[str, Relief]:
    """Return what would end the days of the heaviest plant, by kind."""
    found = found_in(bench, as_of)
    return {end.kind: end for end in found[0].ends} if found else {}


def test_the_days_of_a_thirsty_plant_and_what_would_end_them(catalog: Catalog) -> None:
    """Every other day against every 7th (6 and a day, as late as it may be): 365·(1/2 − 1/7) = 130 days a year."""
    (found,) = found_in(house(catalog))
    assert found.plant == 3
    assert found.days == pytest.approx(130, abs=4)
    (pot,) = (end for end in found.ends if end.kind == "pot")
    assert pot.saved == pytest.approx(130, abs=4 + 13)  # within a tenth of the most
    assert (pot.container, pot.place) != ("net", "elsewhere")
    assert pot.opens is None  # warm all year, outside the dark months, long after its last potting


def test_nothing_is_proposed_where_nobody_asks_for_days_of_its_own(catalog: Catalog) -> None:
    """Three alike share their days: none costs so much as is worth a word."""
    assert WORTH_DAYS == 8
    assert found_in(house(catalog, medium="bark", container="plastic", size_cm=12)) == []


@pytest.mark.parametrize(
    ("values", "seen", "why"),
    [
        ({"roots": 3}, {}, "few roots stay as dry as they stand"),
        ({"tips": 0}, {}, "without an active tip nothing is repotted"),
        ({"stage": "rooting-in", "roots": 3}, {}, "few roots"),
        ({"stage": "rooting-in", "roots": None}, {}, "young roots that nobody counted"),
        ({"stage": "new-tips", "roots": 5, "longest_mm": 10}, {}, "the first tips"),
        ({"flowering": "in-bloom"}, {}, "in bloom"),
        ({}, {"firmness": "soft"}, "soft leaves"),
        ({}, {"seen": "rot", "where": "root"}, "rot at the roots"),
        ({}, {"seen": "scale"}, "on watch"),
        ({"came": SPRING - timedelta(days=3)}, {}, "in quarantine"),
        ({"profile": "vanda"}, {}, "a kind known in outline alone"),
    ],
)
def test_no_other_pot_for_who_would_not_bear_it(
    catalog: Catalog, values: dict[str, Any], seen: dict[str, Any], why: str
) -> None:
    """A moister pot is for healthy roots, and nothing is repotted in bloom or trouble."""
    bench = house(catalog, **values)
    if seen:
        bench.write(Observed.model_validate({"on": SPRING, "plant": "reed", **seen}))
    found = found_in(bench)
    assert [each.plant for each in found] == [3], "it asks for days of its own all the same"
    assert not {"pot", "size"} & {end.kind for end in found[0].ends}, why


@pytest.mark.parametrize(("stage", "slowest"), [("established", 14), ("rooting-in", 9)])
def test_a_pot_is_as_dry_as_roots_ask_for(catalog: Catalog, stage: str, slowest: int) -> None:
    """Beside moss, which needs water every other week, the slowest pot would spare most; roots bear less (R5)."""
    bench = house(catalog, stage=stage, others="moss")
    pot = ends_of(bench)["pot"]
    (row,) = compare(bench.planner(SPRING).plant_planners[3], [pot.medium], [pot.container])
    assert max(days for _, days in row.days) <= slowest
    assert pot.saved >= 100


def test_a_potting_waits_for_its_season_and_for_the_last_one(catalog: Catalog) -> None:
    """In November at 54 degrees north the dark months hold until 1 February; a potting of late is left in peace."""
    assert ends_of(house(catalog, NOVEMBER), NOVEMBER)["pot"].opens == date(2027, 2, 1).toordinal()
    lately = house(catalog, potted=SPRING - timedelta(days=10))
    opens = ends_of(lately)["pot"].opens
    assert opens is not None
    assert opens > SPRING.toordinal()


@pytest.mark.parametrize(
    ("roots", "longest_mm", "is_larger"),
    [(6, 70, True), (4, 50, False)],
    ids=["420 mm for the 313 of 11 cm", "200 mm"],
)
def test_a_larger_pot_is_for_roots_that_fill_it(
    catalog: Catalog, roots: int, longest_mm: int, is_larger: bool
) -> None:
    """Four roots of 10 cm fill a pot of 12 cm (stages.toml), so 400·(11/12)³ = 308 mm one of 11."""
    bench = house(catalog, container="plastic", medium="lava", roots=roots, longest_mm=longest_mm)
    sizes = {end.size_cm for each in found_in(bench) for end in each.ends if end.kind == "size"}
    assert sizes <= ({11.0} if is_larger else set())


def test_another_place_is_proposed_where_it_suits(catalog: Catalog) -> None:
    """A moist room as warm and light makes its days fewer; a cold one and the patio are not for it."""
    moist = tuple(row.model_copy(update={"rh_pct": 75, "light_mol_m2_d": 3}) for row in even_year(20))
    cold = tuple(row.model_copy(update={"rh_pct": 75}) for row in even_year(12))
    places = {"cellar": cold, "patio": moist}
    assert "place" not in ends_of(house(catalog, places=places, container="net"))
    assert ends_of(house(catalog, places={**places, "bath": moist}))["place"].place == "bath"
