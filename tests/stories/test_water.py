"""What a grower tells of the water: harmful kinds are refused, feed makes room for its salts, rain gets its remark."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from carecal.app import Collection
from tests.cli.cli_run import done, journal, plant, refused, start, typed

SUMMER = "2026-06-10"

pytestmark = pytest.mark.usefixtures("home")


def _strengths(home: Path) -> set[float]:
    """Return the strengths of all feeds that are planned. [mg/L of N]."""
    with Collection.open(home, readonly=True) as collection:
        tasks = collection.planner(date.fromisoformat(SUMMER)).plan("each").tasks
    return {task.ppm_n for task in tasks if task.care == "feeding" and task.ppm_n is not None}


@pytest.fixture(autouse=True)
def _house(home: Path) -> None:
    assert not home.exists()
    start(as_of="2026-05-01")
    told = typed(
        "--stage established --roots 6 --longest 120 --tips 2 --leaves 4 --came 2025-05-01 "
        "--potted 2026-03-01 --watered 2026-06-08"
    )
    plant("rose", *told, as_of=SUMMER)
    done(
        "supply",
        "fertiliser",
        "quay",
        "--analysis",
        "20-20-20",
        "--ec-per-100-ppm",
        "0.44",
        as_of="2026-05-01",
    )


def test_water_softened_by_salt_is_refused(home: Path) -> None:
    """Its sodium harms orchids (common practice); nothing is written."""
    before = len(journal(home))
    assert "its sodium harms orchids" in refused(
        "supply", "water", "softener", "--ec", "0.5", "--kind", "softened"
    )
    assert len(journal(home)) == before
    assert "no kind of water named" in refused("supply", "water", "x", "--ec", "0.5", "--kind", "mineral")


def test_rain_and_pure_water_get_their_remark(home: Path) -> None:
    """AOS-FEED: pure water brings no calcium and magnesium."""
    for kind in ("rain", "ro"):
        assert "calcium and magnesium" in done("supply", "water", kind, "--ec", "0.02", "--kind", kind).out
    assert journal(home)[-1].data["water_kind"] == "ro"


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--ec", "0.6"), "EC 0.6 mS/cm, fine is up to 0.3 mS/cm"),
        (("--ec", "0.9"), "above 0.8 mS/cm use half of it and half rain"),
        (("--ec", "0.2", "--alkalinity", "180"), "alkalinity 180 mg/L CaCO3, fine is up to 100"),
        (("--ec", "0.2", "--ph", "8.2"), "pH 8.2, fine is 5 to 7"),
    ],
)
def test_what_lies_outside_is_said_with_what_to_do(options: tuple[str, ...], words: str) -> None:
    """Limits by hand from common practice and WANG1998; water that is fine gets no word."""
    assert words in done("supply", "water", "tap", *options).out
    assert (
        "fine is"
        not in done("supply", "water", "well", "--ec", "0.25", "--alkalinity", "90", "--ph", "6.8").out
    )


def test_feed_makes_room_for_the_salts_of_the_water(home: Path) -> None:
    """WANG1998: water and feed together up to 1.1 mS/cm; at 0.8 of the water 0.3 / 0.44 x 100 = 68 mg/L are left."""
    usual = max(_strengths(home))
    assert usual > 68.2
    done("supply", "water", "tap", "--ec", "0.8", as_of=SUMMER)
    assert max(_strengths(home)) == pytest.approx(0.3 / 0.44 * 100, abs=0.5)
    done("supply", "water", "rain", "--ec", "0.02", "--kind", "rain", as_of=SUMMER)
    assert max(_strengths(home)) == usual


def test_who_feeds_at_another_strength_says_so(home: Path) -> None:
    """A setting for all; a stage that bears less still gets less; none takes it back."""
    usual = _strengths(home)
    done("settings", "feed-ppm", "40", as_of=SUMMER)
    assert max(_strengths(home)) == 40
    done("settings", "feed-ppm", "none", as_of=SUMMER)
    assert _strengths(home) == usual
    for wrong in ("0", "1000", "strong"):
        assert "allowed are 5 to 300 mg/L of N" in refused("settings", "feed-ppm", wrong)


def test_one_plant_alone_is_fed_at_another_strength(home: Path) -> None:
    """The plant's own word beats that for all; none and undo take it back; bounds are those of the setting."""
    usual = _strengths(home)
    done("settings", "feed-ppm", "40", as_of=SUMMER)
    done("plant", "feed-ppm", "rose", "55", as_of=SUMMER)
    assert max(_strengths(home)) == 55
    assert "55 mg/L of N" in done("plant", "show", "rose", as_of=SUMMER).out
    assert "fed at 55 mg/L of N already" in refused("plant", "feed-ppm", "rose", "55", as_of=SUMMER)
    done("plant", "feed-ppm", "rose", "none", as_of=SUMMER)
    assert max(_strengths(home)) == 40
    done("undo", as_of=SUMMER)
    assert max(_strengths(home)) == 55
    assert "allowed are 5 to 300 mg/L of N" in refused("plant", "feed-ppm", "rose", "900", as_of=SUMMER)
    for _ in range(2):
        done("undo", as_of=SUMMER)
    assert _strengths(home) == usual
