"""What commands say of files that cannot be read or written: exit code 4, nothing half written."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

import pytest

from carecal.collection.journal import Journal
from carecal.errors import StorageError
from tests.cli.cli_run import carecal, done, journal, refused, start, tide


def test_no_collection_is_a_storage_error_with_the_remedy(home: Path) -> None:
    """Without a collection the exit code is 4, and the line says how to make one."""
    line = refused("plant", "list", code=4)
    assert line == f"no collection in {home}; make one with 'carecal init'"
    assert not home.exists()


def test_a_file_that_is_no_database_is_a_storage_error(home: Path) -> None:
    """A file of other content is named and not touched."""
    home.mkdir()
    (home / "collection.db").write_bytes(b"not a database at all, but long enough to look at" * 40)
    assert "is not a database" in refused("plant", "list", code=4)
    assert "is not a database" in refused("plant", "add", "tide", code=4)


def test_a_newer_file_is_refused_naming_the_version(home: Path) -> None:
    """An older program says which version the file needs (interface §2)."""
    start()
    with sqlite3.connect(home / "collection.db") as connection:
        connection.execute("insert into migration values (99, 'from the future', '9.9.0')")
        connection.execute("pragma user_version=99")
    connection.close()
    assert "it needs carecal 9.9.0 or later" in refused("plant", "list", code=4)
    with sqlite3.connect(home / "collection.db") as connection:
        connection.execute("pragma user_version=100")
    connection.close()
    assert "it needs carecal for files of format 100" in refused("plant", "list", code=4)


def test_an_empty_file_is_no_collection(home: Path) -> None:
    """A file of no bytes is neither read as a collection nor made one (oracle: no table in it)."""
    home.mkdir()
    file = home / "collection.db"
    file.touch()
    assert "is empty, no collection" in refused("today", code=4)
    assert "is empty, no collection" in refused("done", "watering", "tide", code=4)
    with sqlite3.connect(file) as connection:
        assert connection.execute("select count(*) from sqlite_schema").fetchone() == (0,)
    connection.close()


def test_a_locked_file_is_a_storage_error_and_nothing_is_written(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While another program writes, a write ends with 4 and says so."""
    start()
    monkeypatch.setattr("carecal.collection.database.WAIT_SECONDS", 0.05)
    with sqlite3.connect(home / "collection.db", isolation_level=None) as other:
        other.execute("begin immediate")
        line = refused("plant", "add", "tide", code=4)
        other.execute("rollback")
    other.close()
    assert "is locked by another program" in line
    assert [record.kind for record in journal(home)] == ["collection", "place"]


def test_a_full_disk_is_a_storage_error_and_nothing_is_half_written(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where SQLite may take no more pages, the line says that the disk is full; the collection stays whole."""
    start()
    real = sqlite3.connect

    def tight(*words: object, **options: object) -> sqlite3.Connection:
        connection: sqlite3.Connection = real(*words, **options)  # type: ignore[call-overload]
        pages = connection.execute("pragma page_count").fetchone()[0]
        connection.execute(f"pragma max_page_count={pages}")
        return connection

    done("plant", "list")
    monkeypatch.setattr("carecal.collection.database.sqlite3.connect", tight)
    note = "n" * 1990
    codes = {carecal("plant", "add", f"plant-{i}", "--note", note).code for i in range(12)}
    monkeypatch.undo()
    assert codes <= {0, 4}
    assert 4 in codes
    assert done("verify", home=home).out == "all is sound\n"


@pytest.mark.usefixtures("home")
def test_reading_falls_back_where_the_file_may_not_be_written(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where opening for writing fails, reading commands open for reading alone, and writing ones end with 4."""
    start()
    tide()
    real = Journal.open.__func__  # type: ignore[attr-defined]  # the plain function of the class method

    def only_reading(cls: type[Journal], folder: Path, *, readonly: bool = False) -> Journal:
        if not readonly:
            raise StorageError(f"{folder}/collection.db is read-only; allow writing to its folder and files")
        found: Journal = real(cls, folder, readonly=True)
        return found

    monkeypatch.setattr(Journal, "open", classmethod(only_reading))
    assert "tide" in done("plant", "list").out
    assert "Next round" in done("today").out
    assert "is read-only" in refused("plant", "add", "nina", code=4)
    assert "A trial, nothing is written" in done("plant", "add", "nina", "--try").out
    assert done("calendar", "write").out.startswith("BEGIN:VCALENDAR")
    assert "is read-only" in refused("calendar", "add", "Phone", code=4)


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="needs a user whom modes stop")
def test_a_read_only_folder_can_be_read_but_not_written(home: Path) -> None:
    """Reading goes on where the folder may not be written; writing ends with 4."""
    start()
    tide()
    home.chmod(0o500)
    (home / "collection.db").chmod(0o400)
    try:
        assert "tide" in done("plant", "list").out
        assert "read-only" in refused("plant", "add", "nina", code=4)
    finally:
        home.chmod(0o700)
        (home / "collection.db").chmod(0o600)
