"""A collection copied while it runs and made from its copy again."""

from __future__ import annotations

import re
import zipfile
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from carecal.collection.backup import backup, restore
from carecal.collection.database import FILE_NAME
from carecal.collection.entries import SettingChanged
from carecal.collection.journal import Journal
from carecal.errors import Refused, StorageError

NOW = datetime(2026, 11, 25, 18, 3, tzinfo=UTC)


def write(journal: Journal) -> None:
    """Write one entry."""
    entry = SettingChanged(on=date(2026, 11, 25), key="ticking", value="usual")
    journal.append([entry], by="owner", written=NOW, clock=NOW)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A collection with an entry, a photo and a profile of the grower's own."""
    folder = tmp_path / "quay"
    with Journal.create(folder) as journal:
        write(journal)
    (folder / "photos" / "tide.jpg").write_bytes(b"\xff\xd8" + bytes(range(256)))
    (folder / "profiles" / "tide.toml").write_text("name = 'tide'\n", encoding="utf-8")
    return folder


def contents(folder: Path) -> dict[str, bytes]:
    """Every file but the database, by its name."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and path.name != FILE_NAME
    }


def test_a_copy_made_while_it_runs_gives_the_same_collection_again(home: Path, tmp_path: Path) -> None:
    """Entries still in the log are in the copy; later ones are not."""
    file, again = tmp_path / "quay.zip", tmp_path / "again"
    with Journal.open(home) as journal:
        write(journal)
        backup(home, file)
        expected = journal.records()
        write(journal)
    restore(file, again)
    with Journal.open(again) as journal:
        assert journal.records() == expected
    assert contents(again) == contents(home)


def test_a_restored_collection_begins_a_new_generation(home: Path, tmp_path: Path) -> None:
    """Its calendars must not claim the events that the first one goes on publishing."""
    backup(home, tmp_path / "quay.zip")
    restore(tmp_path / "quay.zip", tmp_path / "again")
    found = []
    for folder in (home, tmp_path / "again"):
        with Journal.open(folder) as journal:
            found.append(dict(journal.connection.execute("select key, value from secret").fetchall()))
    assert (found[0]["generation"], found[1]["generation"]) == ("1", "2")
    assert found[0]["namespace"] == found[1]["namespace"]


def test_an_existing_file_is_replaced_only_when_allowed(home: Path, tmp_path: Path) -> None:
    """A backup never overwrites in silence, and leaves nothing beside it."""
    file = tmp_path / "quay.zip"
    file.write_text("mine", encoding="utf-8")
    with pytest.raises(Refused, match="exists; choose another name"):
        backup(home, file)
    assert file.read_text(encoding="utf-8") == "mine"
    backup(home, file, force=True)
    assert zipfile.is_zipfile(file)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["quay", "quay.zip"]


def test_equal_collections_give_equal_copies(home: Path, tmp_path: Path) -> None:
    """A copy holds no time of its own."""
    for name in ("a.zip", "b.zip"):
        backup(home, tmp_path / name)
    assert (tmp_path / "a.zip").read_bytes() == (tmp_path / "b.zip").read_bytes()


def test_a_folder_with_something_in_it_is_not_restored_into(home: Path, tmp_path: Path) -> None:
    """What stands there stays."""
    backup(home, tmp_path / "quay.zip")
    with pytest.raises(Refused, match="is not empty"):
        restore(tmp_path / "quay.zip", home)
    (tmp_path / "empty").mkdir()
    restore(tmp_path / "quay.zip", tmp_path / "empty")
    assert (tmp_path / "empty" / FILE_NAME).is_file()


def test_a_copy_of_no_collection_is_an_error_of_storage(tmp_path: Path) -> None:
    """There is nothing to copy."""
    with pytest.raises(StorageError, match="no collection in"):
        backup(tmp_path, tmp_path / "quay.zip")
    assert list(tmp_path.iterdir()) == []


BROKEN = [
    ({}, "is not a backup of a collection; it holds nothing", "empty"),
    ({"photos/a.jpg": b""}, "is not a backup of a collection; it holds photos/a.jpg", "no database"),
    ({FILE_NAME: b"", "../evil": b""}, "it holds ../evil", "a way out"),
    ({FILE_NAME: b"", "photos/../../evil": b""}, "it holds photos/../../evil", "a hidden way out"),
    ({FILE_NAME: b"", "/etc/evil": b""}, "it holds /etc/evil", "an absolute way"),
    ({FILE_NAME: b"plants\n" * 99}, "is not a database", "a text"),
    ({FILE_NAME: b""}, "its database is empty", "an empty database"),
]


@pytest.mark.parametrize(("files", "message", "reason"), BROKEN)
def test_what_is_no_whole_backup_leaves_no_trace(
    tmp_path: Path, files: dict[str, bytes], message: str, reason: str
) -> None:
    """The folder is made only when everything was checked."""
    with zipfile.ZipFile(tmp_path / "quay.zip", "w") as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    with pytest.raises(StorageError, match=re.escape(message)) as caught:
        restore(tmp_path / "quay.zip", tmp_path / "again")
    assert message in str(caught.value), reason
    assert [path.name for path in tmp_path.iterdir()] == ["quay.zip"], reason


def test_a_cut_off_backup_is_refused(home: Path, tmp_path: Path) -> None:
    """Half a file is no backup."""
    file = tmp_path / "quay.zip"
    backup(home, file)
    file.write_bytes(file.read_bytes()[:-100])
    with pytest.raises(StorageError, match="is not a whole backup"):
        restore(file, tmp_path / "again")
