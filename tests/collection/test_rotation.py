"""Which copies stay: counted by hand, by properties, and a year of nights one after the other."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.collection import rotation
from carecal.collection.backup import backup
from carecal.collection.entries import SettingChanged
from carecal.collection.journal import Journal
from carecal.collection.rotation import Keep, backup_and_rotate, keep_of, kept_of
from carecal.errors import Refused, StorageError

START = datetime(2026, 1, 1, 3, 10, tzinfo=UTC)  # a Thursday
USUAL = Keep(7, 4, 12)
MOMENTS = st.lists(
    st.integers(0, 900 * 24).map(lambda hours: START + timedelta(hours=hours)), max_size=60, unique=True
)
KEEPS = st.builds(Keep, st.integers(0, 9), st.integers(0, 6), st.integers(0, 14), st.integers(0, 3))


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("7d,4w,12m", USUAL),
        ("12M, 7 d,4w", USUAL),
        ("3y", Keep(years=3)),
        ("1d", Keep(days=1)),
    ],
)
def test_how_many_are_kept_is_said_in_a_word(text: str, found: Keep) -> None:
    """Days, weeks, months, years, in any order."""
    assert keep_of(text) == found


@pytest.mark.parametrize(
    "text", ["", "7", "d7", "0d", "7d,3d", "7d;4w", "1001d", "-1d", "7h", "7d,,4w", "٣d"]
)
def test_what_says_nothing_is_refused(text: str) -> None:
    """One line says what is allowed."""
    with pytest.raises(Refused, match="allowed is as 7d,4w,12m"):
        keep_of(text)


@given(MOMENTS, KEEPS)
def test_the_newest_stays_and_each_period_keeps_its_newest(moments: list[datetime], keep: Keep) -> None:
    """By the definition: a copy stays just where it is the newest of one of the last periods that have any."""
    stay = kept_of(moments, keep)
    expected = {max(moments)} if moments else set()
    for count, key in (
        (keep.days, "%Y-%m-%d"),
        (keep.weeks, "%G-%V"),
        (keep.months, "%Y-%m"),
        (keep.years, "%Y"),
    ):
        last = sorted({moment.strftime(key) for moment in moments})[
            max(0, len({m.strftime(key) for m in moments}) - count) :
        ]
        expected |= {max(m for m in moments if m.strftime(key) == one) for one in last if count}
    assert stay == expected
    assert len(stay) <= max(1, sum(keep))


@given(MOMENTS, KEEPS)
def test_what_stays_once_stays_when_asked_again(moments: list[datetime], keep: Keep) -> None:
    """A second look at what was kept takes nothing away."""
    stay = kept_of(moments, keep)
    assert kept_of(stay, keep) == stay


@given(st.lists(st.integers(1, 40), min_size=1, max_size=120), KEEPS)
def test_step_by_step_nothing_is_lost_that_one_look_would_keep(gaps: list[int], keep: Keep) -> None:
    """Copies made one after the other, hours to days apart, each followed by a rotation: as one rotation at the end."""
    at, all_of_them, there = START, [], set[datetime]()
    for gap in gaps:
        at += timedelta(hours=gap * 3)
        all_of_them.append(at)
        there = kept_of({*there, at}, keep)
        assert at in there
    assert there == kept_of(all_of_them, keep)


def test_a_year_of_nights() -> None:
    """On 31 December 2026, a Thursday: the last 7 days, Sundays of three weeks before and today, ends of 12 months."""
    there = set[datetime]()
    for night in range(365):
        there = kept_of({*there, START + timedelta(days=night)}, USUAL)
    days = [date(2026, 12, day) for day in range(25, 32)]  # 27 December is a Sunday among them
    sundays = [date(2026, 12, 13), date(2026, 12, 20)]
    ends = [date(2026, month + 1, 1) - timedelta(days=1) for month in range(1, 12)]
    assert sorted(moment.date() for moment in there) == sorted({*days, *sundays, *ends})


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """Return a collection of one entry."""
    folder = tmp_path / "quay"
    Journal.create(folder).close()
    write(folder)
    return folder


def write(home: Path) -> None:
    """Write one entry."""
    with Journal.open(home) as journal:
        entry = SettingChanged(on=date(2026, 1, 1), key="ticking", value="usual")
        journal.append([entry], by="owner", written=START, clock=START)


def rotate(home: Path, folder: Path, day: int, keep: str = "2d") -> rotation.Rotated:
    """Make the copy of a day."""
    return backup_and_rotate(home, folder, keep_of(keep), START + timedelta(days=day), "Europe/Berlin")


def test_only_copies_of_this_collection_are_taken_away(home: Path, tmp_path: Path) -> None:
    """Three nights with two days kept: the first copy goes; what is named otherwise or by another one stays."""
    folder = tmp_path / "copies"
    first = rotate(home, folder, 0).file
    others = [
        folder / "notes.txt",
        folder / "carecal-00000000-20250101T000000Z.zip",
        folder / f"{first.name}.old",
        folder / first.name.replace("20260101", "20269999"),
    ]
    for other in others:
        other.write_text("kept")
    (folder / first.name.replace("20260101", "20250101")).symlink_to(others[0])
    assert rotate(home, folder, 1).removed == ()
    found = rotate(home, folder, 2)
    assert (found.removed, found.kept, found.doubt) == ((first.name,), 2, "")
    assert all(other.exists() for other in others)
    assert len(list(folder.iterdir())) == 2 + len(others) + 1


def test_nothing_goes_while_the_new_copy_holds_less(home: Path, tmp_path: Path) -> None:
    """A collection that lost its entries may not push its own good copies out."""
    folder, smaller = tmp_path / "copies", tmp_path / "smaller.zip"
    backup(home, smaller)
    write(home)
    full = rotate(home, folder, 0).file
    found = rotate(_again(smaller, tmp_path / "again"), folder, 1, "1d")
    assert "holds 2 entries and 0 pictures, the new copy 1 entry" in found.doubt
    assert (found.removed, full.exists(), found.file.exists()) == ((), True, True)


def _again(file: Path, home: Path) -> Path:
    from carecal.collection.backup import restore  # noqa: PLC0415 - needed here alone

    restore(file, home)
    return home


def test_an_old_copy_that_is_broken_holds_nothing_up(home: Path, tmp_path: Path) -> None:
    """The one before cannot be read back: it may go, since the new one can."""
    folder = tmp_path / "copies"
    broken = rotate(home, folder, 0).file
    broken.write_bytes(b"not a copy")
    assert rotate(home, folder, 1, "1d").removed == (broken.name,)


def test_a_copy_that_cannot_be_made_takes_nothing_away(home: Path, tmp_path: Path) -> None:
    """The collection is damaged: no new copy, and the old ones stand."""
    folder = tmp_path / "copies"
    first = rotate(home, folder, 0).file
    (home / "collection.db").write_bytes(b"damaged" * 1000)
    with pytest.raises(StorageError, match="not a database"):
        rotate(home, folder, 1, "1d")
    assert list(folder.iterdir()) == [first]


def test_copies_of_days_ahead_stay_and_take_no_place(home: Path, tmp_path: Path) -> None:
    """A clock that ran a month ahead for three nights: those copies stay, and the right ones rotate beside them."""
    folder = tmp_path / "copies"
    for day in (40, 41, 42, 0, 1, 2):
        found = rotate(home, folder, day, "2d")
    assert found.removed == ("carecal-" + found.file.name.split("-")[1] + "-20260101T031000Z.zip",)
    assert len(list(folder.iterdir())) == 4
