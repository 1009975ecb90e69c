"""Acts out of season are asked about with their reason, and written down when they are meant."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.cli_run import done, journal, plant, refused, start, typed

NOVEMBER, JUNE = "2026-11-25", "2027-06-10"
POT = ("--medium", "bark", "--container", "clear-plastic", "--size", "12")

pytestmark = pytest.mark.usefixtures("home")


def _house() -> None:
    """A sill indoors, a patio, and an established plant with tips."""
    start(as_of="2026-05-01")
    done(
        "place",
        "add",
        "patio",
        "--kind",
        "patio",
        "--winter",
        "4/-1",
        "--summer",
        "22/16",
        as_of="2026-05-01",
    )
    told = typed(
        "--stage established --roots 6 --longest 120 --tips 2 --leaves 4 --came 2025-05-01 "
        "--potted 2025-05-01 --watered 2026-04-28"
    )
    plant("rose", *told, as_of="2026-05-01")


def test_old_medium_is_not_changed_in_november_without_a_word(home: Path) -> None:
    """OCNZ: not over winter unless life and death; in June the same command asks nothing."""
    _house()
    before = len(journal(home))
    asked = refused("pot", "rose", *POT, as_of=NOVEMBER)
    assert "Rose: out of season" in asked
    assert "the next safe start is" in asked
    assert len(journal(home)) == before
    done("pot", "rose", *POT, "--try", as_of=NOVEMBER)
    done("pot", "rose", *POT, as_of=JUNE)
    assert journal(home)[-1].kind == "potted"


def test_whoever_means_it_pots_in_november(home: Path) -> None:
    """`--yes` writes it; what was potted days ago has happened and is not asked about."""
    _house()
    done("pot", "rose", *POT, "--on", "2026-11-20", as_of=NOVEMBER)
    done("pot", "rose", *POT, "--yes", as_of=NOVEMBER)
    assert [record.kind for record in journal(home)[-2:]] == ["potted", "potted"]


@pytest.mark.parametrize(
    ("said", "reason"),
    [
        (("observe", "rose", "--flowering", "in-bloom"), "in bloom: no repotting"),
        (("observe", "rose", "--flowering", "in-spike"), "in spike: no repotting"),
        (("quarantine", "rose"), "in quarantine: no repotting"),
    ],
)
def test_bloom_spike_and_quarantine_hold_it_back_in_june_too(said: tuple[str, ...], reason: str) -> None:
    """Common practice: buds drop, and who stands apart is not disturbed."""
    _house()
    done(*said, as_of=JUNE)
    assert reason in refused("pot", "rose", *POT, as_of=JUNE)


def test_rot_at_the_roots_is_potted_at_once_in_any_month(home: Path) -> None:
    """An emergency breaks the season (OCNZ: life and death)."""
    _house()
    done("observe", "rose", "--seen", "rot", "--where", "root", as_of=NOVEMBER)
    done("pot", "rose", *POT, as_of=NOVEMBER)
    assert journal(home)[-1].kind == "potted"


def test_nobody_is_put_out_into_cold_nights_without_a_word() -> None:
    """In November the patio has nights under the kind's limit; in July it goes out unasked, and indoors always."""
    _house()
    assert "the next safe start is" in refused("move", "rose", "patio", as_of=NOVEMBER)
    done("move", "rose", "patio", "--yes", as_of=NOVEMBER)
    done("move", "rose", "sill", as_of="2026-11-26")
    done("move", "rose", "patio", as_of="2027-07-01")


def test_a_reservoir_emptied_for_the_cold_is_not_filled_in_november() -> None:
    """Its medium would stand cold and wet (common practice); meant, it is filled."""
    _house()
    told = typed(
        "--stage established --roots 6 --longest 140 --tips 2 --leaves 4 --came 2025-05-01 "
        "--potted 2025-05-01 --watered 2026-04-28"
    )
    plant("buoy", *told, pair="expanded-clay/reservoir", place="patio", as_of="2026-05-01")
    done("reservoir", "buoy", "empty", as_of="2026-10-20")
    assert "Buoy:" in refused("reservoir", "buoy", "filled", as_of=NOVEMBER)
    done("reservoir", "buoy", "filled", "--yes", as_of=NOVEMBER)


def test_a_wrap_without_a_new_root_stays_on() -> None:
    """Old roots open no wrap; whoever means it takes it off."""
    _house()
    told = ("--stage", "rootless", "--roots", 0, "--leaves", 2, "--aid", "wrap")
    plant("stump", *told, pair="moss/clear-plastic", size=8, as_of="2026-06-01")
    assert "asks for a new root" in refused("aid", "stump", "wrap", "--off", as_of="2026-06-20")
    done("aid", "stump", "wrap", "--off", "--yes", as_of="2026-06-20")
