"""Winter against summer: the ratio computed beside the ratios growers print, each verdict written down."""

from __future__ import annotations

import pytest

from carecal.catalog.load import load_catalog
from tests.published.seasons import Season, season_lines, seasons

FOUND = seasons(load_catalog())


@pytest.mark.parametrize("found", FOUND, ids=lambda found: found.row["id"])
def test_the_ratio_of_the_seasons_has_the_verdict_written_down(found: Season) -> None:
    """Within a twentieth of what is printed, or lower or higher as the table owns; the oracle is the printed ratio."""
    assert found.verdict == found.row["verdict"], f"{found.ratio:.2f}"


@pytest.mark.parametrize("found", FOUND, ids=lambda found: found.row["id"])
def test_moss_keeps_the_ratio_of_bark_and_takes_longer(found: Season) -> None:
    """The pot and its medium cancel in a ratio; moss holds about 1.6 to 2 times as long (rescue facts, I05 to I08)."""
    bark, moss = found.days["bark"], found.days["moss"]
    assert moss[0] / moss[1] == pytest.approx(found.ratio, rel=1e-3)
    assert 1.6 <= moss[0] / bark[0] <= 2.05


def test_no_verdict_is_missing_and_the_checks_of_the_table_are_among_the_rows() -> None:
    """Both rooms of season_ratios.toml are held against the model with the ends of the table, their rooms too."""
    for id_, room in (("RAT07", "heated"), ("RAT08", "cool")):
        row = next(found.row for found in FOUND if found.row["id"] == id_)
        limits = load_catalog().season_ratios[room]
        assert (float(row["published_low"]), float(row["published_high"])) == (
            limits.ratio_low,
            limits.ratio_high,
        )
        temperatures, rh, _, _ = row["winter"].split(",")
        day, night = map(float, temperatures.split("/"))
        assert limits.day_low_c <= day <= limits.day_high_c
        assert limits.night_low_c <= night <= limits.night_high_c
        assert limits.rh_low <= float(rh) <= limits.rh_high


def test_the_page_prints_each_ratio_beside_what_is_printed() -> None:
    """A line a row with its verdict, and those outside named below."""
    lines = season_lines(FOUND)
    assert len([line for line in lines if line.startswith("| RAT")]) == len(FOUND) == 8
    owned = [found.row["id"] for found in FOUND if found.row["verdict"] != "within"]
    assert lines[-1].startswith(f"{len(FOUND) - len(owned)} of 8 within; outside: RAT01")
    assert all(name in lines[-1] for name in owned)
