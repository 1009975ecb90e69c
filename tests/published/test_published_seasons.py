"""Winter against summer: the drying model's ratio beside the ratios growers print, each verdict written down."""

from __future__ import annotations

import pytest

from carecal.catalog.load import load_catalog
from carecal.horticulture.air import vapour_pressure_deficit_of_day
from carecal.horticulture.drydown import relative_demand
from tests.published.published_rows import table

ROWS = table("season_ratios_published")
AIR = load_catalog().air_classes
PLASTIC = load_catalog().containers["plastic"].wind_sensitivity


def demand(room: str) -> float:
    """Relative demand in a room written as 'day/night,rh,air,mol'."""
    temperatures, rh, air, mol = room.split(",")
    day, night = map(float, temperatures.split("/"))
    vpd = vapour_pressure_deficit_of_day(day, night, float(rh))
    return relative_demand(vpd, AIR[air].speed_m_s, PLASTIC, float(mol))


def ratio(row: dict[str, str]) -> float:
    """Days between wettings in winter over those in summer; the pot and its factors cancel."""
    return demand(row["summer"]) / demand(row["winter"])


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_the_ratio_of_the_seasons_has_the_verdict_written_down(row: dict[str, str]) -> None:
    """Within a twentieth of what is printed, which is half a day in ten, or lower or higher as the table owns."""
    got = ratio(row)
    low, high = float(row["published_low"]) * 0.95, float(row["published_high"]) * 1.05
    verdict = "lower" if got < low else "higher" if got > high else "within"
    assert verdict == row["verdict"], f"{got:.2f}"


def test_no_verdict_is_missing_and_the_checks_of_the_table_are_among_the_rows() -> None:
    """Both rooms of season_ratios.toml are held against the model with the ends of the table."""
    ratios = load_catalog().season_ratios
    rows = {row["id"]: (float(row["published_low"]), float(row["published_high"])) for row in ROWS}
    assert rows["RAT07"] == (ratios["heated"].ratio_low, ratios["heated"].ratio_high)
    assert rows["RAT08"] == (ratios["cool"].ratio_low, ratios["cool"].ratio_high)
