"""A good copy is never lost to a worse one, and a hostile file is refused in a line before it fills the disk."""

from __future__ import annotations

import io
import os
import sqlite3
import struct
import zipfile
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path
from random import Random

import pytest

from carecal.collection.backup import backup, restore
from carecal.collection.database import FILE_NAME
from carecal.collection.entries import SettingChanged
from carecal.collection.journal import Journal
from carecal.errors import CarecalError, ConfirmationNeeded, Refused, StorageError

NOW = datetime(2026, 11, 25, 18, 3, tzinfo=UTC)


def write(folder: Path, count: int = 1) -> None:
    """Write entries into a collection that is there."""
    entry = SettingChanged(on=date(2026, 11, 25), key="ticking", value="usual")
    with Journal.open(folder) as journal:
        for _ in range(count):
            journal.append([entry], by="owner", written=NOW, clock=NOW)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A collection of five entries and a photo, in a folder of its own."""
    folder = tmp_path / "quay"
    Journal.create(folder).close()
    write(folder, 5)
    (folder / "photos" / "tide.jpg").write_bytes(b"\xff\xd8" + bytes(range(256)))
    return folder


@pytest.fixture
def copy(home: Path, tmp_path: Path) -> Path:
    """A good copy of it."""
    file = tmp_path / "copies" / "quay.zip"
    file.parent.mkdir()
    backup(home, file)
    return file


def _emptied(home: Path) -> None:
    (home / FILE_NAME).unlink()
    with closing(sqlite3.connect(home / FILE_NAME)) as connection:
        connection.execute("pragma user_version=0")


def _foreign(home: Path) -> None:
    _emptied(home)
    with closing(sqlite3.connect(home / FILE_NAME)) as connection:
        connection.execute("create table recipe (name text)")


def _nought(home: Path) -> None:
    (home / FILE_NAME).write_bytes(b"")


def _damaged(home: Path) -> None:
    content = bytearray((home / FILE_NAME).read_bytes())
    content[4096 * 2 : 4096 * 3] = b"\xaa" * 4096
    (home / FILE_NAME).write_bytes(content)


@pytest.mark.parametrize(
    ("spoil", "reason"),
    [(_emptied, "is empty"), (_foreign, "another program"), (_nought, "is empty"), (_damaged, "is damaged")],
)
@pytest.mark.parametrize("sure", [False, True])
def test_a_good_copy_is_not_replaced_by_one_of_no_collection(
    home: Path, copy: Path, spoil: object, reason: str, sure: bool
) -> None:
    """Not even with a yes: what cannot be read back is no copy."""
    before = copy.read_bytes()
    assert callable(spoil)
    spoil(home)
    with pytest.raises(StorageError, match=reason):
        backup(home, copy, force=True, sure=sure)
    assert copy.read_bytes() == before
    assert [path.name for path in copy.parent.iterdir()] == ["quay.zip"]


def test_an_emptier_collection_replaces_a_fuller_copy_only_by_a_yes(
    home: Path, copy: Path, tmp_path: Path
) -> None:
    """Somebody who went back to an old state learns what the newer copy holds before it goes."""
    old = tmp_path / "old"
    restore(copy, old)
    write(home, 2)
    backup(home, copy, force=True)
    before = copy.read_bytes()
    with pytest.raises(ConfirmationNeeded, match="holds 7 entries and 1 picture, this one 5 entries"):
        backup(old, copy, force=True)
    assert copy.read_bytes() == before
    backup(old, copy, force=True, sure=True)
    restore(copy, tmp_path / "again")
    with Journal.open(tmp_path / "again") as journal:
        assert journal.head() == 5


def test_a_fuller_one_of_another_collection_is_asked_about_too(copy: Path, tmp_path: Path) -> None:
    """More entries of a stranger are not a newer copy."""
    new = tmp_path / "new"
    Journal.create(new).close()
    write(new, 9)
    (new / "photos" / "tide.jpg").write_bytes(b"x")
    with pytest.raises(ConfirmationNeeded, match="is of another collection"):
        backup(new, copy, force=True)


def test_a_copy_that_lost_its_pictures_is_asked_about(home: Path, copy: Path) -> None:
    """Entries alone are not all that a copy keeps."""
    (home / "photos" / "tide.jpg").unlink()
    with pytest.raises(ConfirmationNeeded, match="1 picture"):
        backup(home, copy, force=True)


def test_a_newer_copy_replaces_an_older_one_without_a_question(
    home: Path, copy: Path, tmp_path: Path
) -> None:
    """What cron does every night stays easy."""
    write(home)
    backup(home, copy, force=True)
    restore(copy, tmp_path / "again")
    with Journal.open(tmp_path / "again") as journal:
        assert journal.head() == 6


def test_a_folder_that_is_not_empty_is_told_with_what_stands_there(home: Path, copy: Path) -> None:
    """Whoever restores over a collection learns which one it is."""
    with pytest.raises(Refused, match="a collection of 5 entries, the newest of 2026-11-25"):
        restore(copy, home)


def _bomb(copy: Path, name: str, size: int) -> None:
    """Add a file of nothing but zeros, which a zip file holds in a thousandth."""
    with zipfile.ZipFile(copy, "a", zipfile.ZIP_DEFLATED) as archive, archive.open(name, "w") as into:
        for _ in range(size // 1_000_000):
            into.write(bytes(1_000_000))


def test_a_small_file_that_unpacks_to_a_huge_one_is_refused_before(copy: Path, tmp_path: Path) -> None:
    """0.3 MB that claim 300 MB are no collection."""
    _bomb(copy, "photos/sea.jpg", 300_000_000)
    with pytest.raises(StorageError, match=r"would unpack to 30\d MB; allowed are"):
        restore(copy, tmp_path / "again")
    assert not (tmp_path / "again").exists()


def test_a_size_that_lies_is_found_while_it_unpacks(copy: Path, tmp_path: Path) -> None:
    """The directory says 10 bytes, the file goes on."""
    _bomb(copy, "photos/sea.jpg", 200_000_000)
    content = copy.read_bytes()
    lie = content.replace(struct.pack("<L", 200_000_000), struct.pack("<L", 10))
    assert lie != content
    copy.write_bytes(lie)
    with pytest.raises(StorageError, match="is not a whole backup"):
        restore(copy, tmp_path / "again")
    assert sum(path.stat().st_size for path in tmp_path.rglob("*sea.jpg")) == 0


def _encrypted(content: bytearray) -> None:
    for mark, at in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        place = content.find(mark)
        content[place + at] |= 1


def _method(number: int) -> object:
    def change(content: bytearray) -> None:
        for mark, at in ((b"PK\x03\x04", 8), (b"PK\x01\x02", 10)):
            place = content.find(mark)
            content[place + at : place + at + 2] = struct.pack("<H", number)

    return change


@pytest.mark.parametrize(
    ("change", "reason"),
    [(_encrypted, "encrypted"), (_method(12), "bzip2"), (_method(14), "lzma"), (_method(97), "unknown")],
)
def test_a_copy_packed_otherwise_is_refused_in_a_line(
    copy: Path, tmp_path: Path, change: object, reason: str
) -> None:
    """Only what `backup` writes is read."""
    content = bytearray(copy.read_bytes())
    assert callable(change)
    change(content)
    copy.write_bytes(content)
    with pytest.raises(StorageError, match="encrypted or packed otherwise") as caught:
        restore(copy, tmp_path / "again")
    assert "\n" not in str(caught.value), reason


def test_a_file_named_twice_in_a_copy_is_refused(copy: Path, tmp_path: Path) -> None:
    """Which of the two counts nobody can say."""
    with zipfile.ZipFile(copy, "a") as archive, pytest.warns(UserWarning, match="Duplicate"):
        archive.writestr("photos/tide.jpg", b"other")
    with pytest.raises(StorageError, match=r"holds photos/tide\.jpg twice"):
        restore(copy, tmp_path / "again")


def test_flipped_bytes_anywhere_are_one_line_and_leave_nothing(copy: Path, tmp_path: Path) -> None:
    """Of 120 copies each flip is either harmless or refused by an error of ours; nothing half stands there."""
    good, chance = copy.read_bytes(), Random(4)  # noqa: S311 - places to damage, no secret
    for _ in range(120):
        content = bytearray(good)
        for _ in range(chance.choice((1, 1, 3))):
            content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
        copy.write_bytes(content)
        again = tmp_path / "again" / "quay"
        try:
            restore(copy, again)
        except CarecalError as error:
            assert (again.exists(), str(error).count("\n")) == (False, 0)  # noqa: PT017 - most flips are refused
        else:
            with Journal.open(again) as journal:
                assert journal.head() == 5
            for path in sorted(again.rglob("*"), reverse=True):
                path.rmdir() if path.is_dir() else path.unlink()
            again.rmdir()
        assert not again.parent.exists() or list(again.parent.iterdir()) == []


def test_a_failed_backup_leaves_no_parts(home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that fills up midway leaves the folder as it was."""

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("shutil.copyfileobj", full)
    target = tmp_path / "out" / "quay.zip"
    target.parent.mkdir()
    with pytest.raises(StorageError, match="no space left"):
        backup(home, target)
    assert list(target.parent.iterdir()) == []


def test_a_backup_into_no_folder_is_told(home: Path, tmp_path: Path) -> None:
    """The folder of the copy is not made: a disk may not be connected."""
    with pytest.raises(StorageError, match="no such file"):
        backup(home, tmp_path / "nowhere" / "quay.zip")
    assert not (tmp_path / "nowhere").exists()


def test_what_a_killed_backup_left_goes_with_the_next_one(home: Path, copy: Path) -> None:
    """A part older than a day is nobody's any more; a younger one may be at work."""
    old, young = (copy.with_name(f".quay.zip.{mark}.part") for mark in ("00ff00ff", "11ee11ee"))
    for part in (old, young):
        part.mkdir()
        (part / "collection.db").write_bytes(b"half")
    os.utime(old, (1, 1))
    backup(home, copy, force=True)
    assert not old.exists()
    assert young.exists()


def test_a_zip_of_many_names_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A directory of more names than a collection has is none."""
    monkeypatch.setattr("carecal.collection.archive.MOST_FILES", 9000)
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr(FILE_NAME, b"")
        for number in range(20_000):
            archive.writestr(zipfile.ZipInfo(f"photos/{number}"), b"")
    (tmp_path / "quay.zip").write_bytes(buffer.getvalue())
    with pytest.raises(StorageError, match="20001 files; allowed are 9000"):
        restore(tmp_path / "quay.zip", tmp_path / "again")
