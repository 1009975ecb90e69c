"""Files that cannot be read or written, and files of other versions: one line each, and nothing lost."""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from carecal.collection import database
from carecal.collection.database import FILE_NAME, connect, storage_errors, transaction
from carecal.collection.entries import SettingChanged
from carecal.collection.journal import Journal
from carecal.collection.migrations import APPLICATION_ID, MIGRATIONS, Migration, check_version, migrate
from carecal.errors import StorageError

NOW = datetime(2026, 11, 25, 18, 3, tzinfo=UTC)
NOBODY = 65534


def write(journal: Journal, key: str = "ticking") -> None:
    """Write one entry."""
    entry = SettingChanged(on=date(2026, 11, 25), key=key, value="usual")
    journal.append([entry], by="owner", written=NOW, clock=NOW)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A collection's folder with one entry."""
    folder = tmp_path / "quay"
    with Journal.create(folder) as journal:
        write(journal)
    return folder


def refusal(home: Path, *, readonly: bool = False) -> str:
    """The one line with which opening is refused."""
    with pytest.raises(StorageError, match=r"collection|database") as caught:
        Journal.open(home, readonly=readonly)
    assert str(caught.value).isprintable()
    return str(caught.value)


def test_a_folder_without_a_collection_says_how_to_make_one(tmp_path: Path) -> None:
    """The remedy stands in the line, and no file is made by looking."""
    assert refusal(tmp_path) == f"no collection in {tmp_path}; make one with 'carecal init'"
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("readonly", [False, True])
def test_a_file_that_is_no_database_is_refused(tmp_path: Path, readonly: bool) -> None:
    """Neither a text nor another program's database is a collection."""
    path = tmp_path / FILE_NAME
    path.write_bytes(b"plants: tide\n" * 99)
    assert refusal(tmp_path, readonly=readonly) == f"{path} is not a database; restore it from a backup"
    path.unlink()
    with closing(sqlite3.connect(path)) as other:
        other.execute("create table plants (name)")
    assert "is a database of another program" in refusal(tmp_path, readonly=readonly)


def test_a_locked_collection_says_so(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another program that writes for longer than we wait is not waited for, and readers go on."""
    monkeypatch.setattr(database, "WAIT_SECONDS", 0.0)
    with Journal.open(home) as first, Journal.open(home) as second:
        first.connection.execute("begin immediate")
        with pytest.raises(StorageError, match="is locked by another program; wait until it is done"):
            write(second)
        assert len(second.records()) == 1
        first.connection.execute("rollback")
        write(second)


def test_a_full_disk_says_so_and_keeps_what_was_there(home: Path) -> None:
    """The command is taken back whole."""
    with Journal.open(home) as journal:
        pages = journal.connection.execute("pragma page_count").fetchone()[0]
        journal.connection.execute(f"pragma max_page_count={pages}")
        entries = [SettingChanged(on=date(2026, 11, 25), key="x", value="x" * 400)] * 400
        with pytest.raises(StorageError, match="cannot be written, the disk is full; free some space"):
            journal.append(entries, by="owner", written=NOW, clock=NOW)
        kept = len(journal.records())
        journal.connection.execute("pragma max_page_count=100000")
        write(journal)
        assert (kept, len(journal.records())) == (1, 2)


def test_a_full_disk_leaves_a_collection_readable(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where not even SQLite's shared memory fits beside the file, reading goes on; oracle: the error SQLite gives."""
    really = database._open

    def full(path: Path, query: str) -> sqlite3.Connection:
        if "immutable" in query:
            return really(path, query)
        error = sqlite3.OperationalError("disk I/O error")
        error.sqlite_errorname = "SQLITE_IOERR_SHMSIZE"
        raise error

    monkeypatch.setattr(database, "_open", full)
    with Journal.open(home, readonly=True) as journal:
        assert len(journal.records()) == 1
    assert refusal(home).endswith("cannot be opened for writing, the disk is full; free some space")


def test_a_damaged_file_says_so(home: Path) -> None:
    """Pages of noise are found when they are read."""
    with Journal.open(home) as journal:
        for number in range(200):
            write(journal, f"key-{number}")
    content = bytearray((home / FILE_NAME).read_bytes())
    content[4096:] = b"\x55" * (len(content) - 4096)
    (home / FILE_NAME).write_bytes(content)
    with (
        pytest.raises(StorageError, match="is damaged; restore it from a backup"),
        Journal.open(home) as journal,
    ):
        journal.records()


def test_a_failed_block_is_rolled_back_and_other_errors_pass(home: Path) -> None:
    """Only storage errors are translated."""
    with closing(connect(home / FILE_NAME)) as connection:
        with pytest.raises(KeyError, match="x"), transaction(connection):
            _insert_and_fail(connection)
        assert connection.execute("select count(*) from secret where key = 'a'").fetchone()[0] == 0
        assert not connection.in_transaction
        with (
            pytest.raises(StorageError, match=r"collection\.db: no such table: bell"),
            storage_errors(connection),
        ):
            connection.execute("select * from bell")


def _insert_and_fail(connection: sqlite3.Connection) -> None:
    connection.execute("insert into secret values ('a', 'b')")
    raise KeyError("x")


@contextmanager
def as_nobody() -> Iterator[None]:
    """Run a block without the rights of the superuser, whom no permission stops."""
    if os.geteuid():
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.fixture
def locked_home(home: Path) -> Iterator[Path]:
    """The collection in a folder that nobody may write, under parents that everybody may read."""
    with tempfile.TemporaryDirectory() as parent:
        folder = Path(parent) / "quay"
        shutil.copytree(home, folder)
        Path(parent).chmod(0o755)
        for path in (*folder.rglob("*"), folder):
            path.chmod(0o555 if path.is_dir() else 0o444)
        yield folder
        folder.chmod(0o755)


def test_a_read_only_folder_is_readable(locked_home: Path) -> None:
    """A collection on a read-only disk can be looked at, and writing is refused on one line."""
    with as_nobody():
        with Journal.open(locked_home, readonly=True) as journal:
            assert [record.kind for record in journal.records()] == ["setting"]
        assert "is read-only; allow writing to its folder and files" in refusal(locked_home)


def test_a_read_only_folder_shows_what_an_interrupted_writer_left(home: Path, locked_home: Path) -> None:
    """Entries still in the log count, though the log can be neither used nor cleared there."""
    with Journal.open(home) as journal:
        write(journal)
        locked_home.chmod(0o755)
        for name in (FILE_NAME, f"{FILE_NAME}-wal"):
            (locked_home / name).unlink(missing_ok=True)
            shutil.copyfile(home / name, locked_home / name)
            (locked_home / name).chmod(0o444)
        locked_home.chmod(0o555)
    assert (locked_home / f"{FILE_NAME}-wal").stat().st_size > 0
    with as_nobody(), Journal.open(locked_home, readonly=True) as reader:
        assert len(reader.records()) == 2
        with pytest.raises(StorageError, match="is read-only"):
            write(reader)


NEXT = Migration(
    MIGRATIONS[-1].number + 1,
    "bells",
    ("create table bell (n integer primary key) strict", "alter table sitter add column note text"),
)


def test_a_newer_file_is_refused_with_the_version_it_needs(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The newer program wrote its version beside its step; readers and writers refuse alike."""
    with closing(connect(home / FILE_NAME)) as connection:
        monkeypatch.setattr("carecal.collection.migrations.__version__", "7.2.0")
        migrate(connection, home / FILE_NAME, (*MIGRATIONS, NEXT))
        monkeypatch.undo()
    for readonly in (False, True):
        assert refusal(home, readonly=readonly).endswith("it needs carecal 7.2.0 or later")


def test_an_older_file_is_copied_and_then_migrated(home: Path) -> None:
    """The copy is the old file, whole; the migrated one has all entries and the new tables."""
    path = home / FILE_NAME
    with closing(connect(path)) as connection:
        assert migrate(connection, path, (*MIGRATIONS, NEXT)) == MIGRATIONS[-1].number
        assert check_version(connection, path, (*MIGRATIONS, NEXT)) == NEXT.number
        assert connection.execute("select count(*) from entry").fetchone()[0] == 1
        assert connection.execute("select number, name from migration").fetchall() == [
            *((step.number, step.name) for step in MIGRATIONS),
            (NEXT.number, "bells"),
        ]
    copy = home / f"collection-before-{NEXT.number}.db"
    with closing(connect(copy, readonly=True)) as connection:
        assert check_version(connection, copy) == MIGRATIONS[-1].number
        assert connection.execute("select count(*) from entry").fetchone()[0] == 1


def test_a_step_that_fails_leaves_the_older_file_whole(home: Path) -> None:
    """Tables made by the step's first statements are taken back with it."""
    path = home / FILE_NAME
    broken = Migration(
        NEXT.number, "broken", ("create table bell (n integer)", "create table entry (n integer)")
    )
    with closing(connect(path)) as connection:
        with pytest.raises(StorageError, match="table entry already exists"):
            migrate(connection, path, (*MIGRATIONS, broken))
        assert check_version(connection, path) == MIGRATIONS[-1].number
        assert connection.execute("select count(*) from sqlite_schema where name = 'bell'").fetchone()[0] == 0
    with Journal.open(home) as journal:
        write(journal)


def test_a_file_of_the_newest_version_is_left_alone(home: Path) -> None:
    """Opening makes no copy and no change."""
    Journal.open(home).close()
    before = sorted(path.name for path in home.iterdir())
    Journal.open(home).close()
    assert (
        sorted(path.name for path in home.iterdir()) == before == [FILE_NAME, "photos", "profiles", "shared"]
    )


def test_a_file_carries_its_mark_and_version(home: Path) -> None:
    """Another program can tell a collection by its header."""
    with closing(connect(home / FILE_NAME, readonly=True)) as connection:
        assert connection.execute("pragma application_id").fetchone()[0] == APPLICATION_ID
        assert connection.execute("pragma user_version").fetchone()[0] == MIGRATIONS[-1].number
        assert connection.execute("pragma journal_mode").fetchone()[0] == "wal"


def test_a_connection_keeps_every_commit(home: Path) -> None:
    """Synchronous is full (2) and triggers fire on replacements."""
    with closing(connect(home / FILE_NAME)) as connection:
        names = ("synchronous", "foreign_keys", "recursive_triggers", "cell_size_check")
        found = [connection.execute(f"pragma {name}").fetchone()[0] for name in names]
    assert found == [2, 1, 1, 1]


def test_a_copy_in_memory_takes_writes_and_forgets_them(locked_home: Path) -> None:
    """A trial works where the folder cannot be written, and leaves no trace."""
    with as_nobody():
        with Journal.open_copy(locked_home) as journal:
            write(journal)
            assert len(journal.records()) == 2
        with Journal.open(locked_home, readonly=True) as journal:
            assert len(journal.records()) == 1
