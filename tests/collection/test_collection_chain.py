"""What was changed behind the program's back is found by its number; old files get their digests at the migration."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from carecal.collection.chain import ledger_faults, link_faults, seal_ledger
from carecal.collection.database import FILE_NAME, connect, transaction
from carecal.collection.entries import SettingChanged
from carecal.collection.journal import Journal
from carecal.collection.migrations import MIGRATIONS, migrate

NOW = datetime(2026, 11, 25, 18, 3, tzinfo=UTC)
STAMP = "2026-11-25T18:03:00Z"
DATA = '{"key":"weekdays","value":"wed"}'


def write(journal: Journal, count: int = 1) -> None:
    """Write entries, each a command."""
    for _ in range(count):
        entry = SettingChanged(on=date(2026, 11, 25), key="weekdays", value="wed")
        journal.append([entry], by="owner", written=NOW, clock=NOW)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A collection of five entries."""
    with Journal.create(tmp_path / "quay") as journal:
        write(journal, 5)
    return tmp_path / "quay"


def _changed(home: Path, *statements: str) -> list[tuple[int, str]]:
    with closing(sqlite3.connect(home / FILE_NAME)) as connection:
        for name in ("entry_kept_whole", "entry_kept", "entry_link_kept", "entry_link_stays"):
            connection.execute(f"drop trigger {name}")
        for statement in statements:
            connection.execute(statement)
        connection.commit()
        return list(link_faults(connection))


INSERT = (
    f"insert into entry values (6, 6, 'setting', null, '2026-11-25', '{STAMP}', '{STAMP}', 'owner', '{DATA}')"  # noqa: S608 - a row of ours
)


@pytest.mark.parametrize(
    ("statement", "expected", "reason"),
    [
        ("update entry set data = replace(data, 'wed', 'sat') where n = 3", [(3, "not what was written")], "content"),
        ("update entry set on_day = '2026-11-24' where n = 1", [(1, "not what was written")], "the day"),
        ("update entry set author = 'x', clock = written where n = 5", [(5, "not what was written")], "who"),
        ("delete from entry where n = 5", [(5, "not there any more")], "the last, which leaves no gap"),
        ("delete from entry where n = 2", [(2, "not there any more")], "one between"),
        (INSERT, [(6, "did not come in through carecal")], "one more"),
        ("update entry_link set link = x'00' where n = 3",
         [(3, "not what was written"), (4, "not what was written")], "a digest"),
    ],
)  # fmt: skip
def test_a_change_from_outside_is_told_with_the_entry(
    home: Path, statement: str, expected: list[tuple[int, str]], reason: str
) -> None:
    """The entry itself is named, and not all that come after it."""
    found = _changed(home, statement)
    assert [n for n, _ in found] == [n for n, _ in expected], reason
    assert all(text in told for (_, told), (_, text) in zip(found, expected, strict=True)), reason


def test_the_digest_is_that_of_the_row_chained_to_the_one_before(home: Path) -> None:
    """Worked out here anew with the standard library, so that another program can do it too."""
    with Journal.open(home) as journal:
        rows = journal.connection.execute("select * from entry order by n").fetchall()
        links = [row[0] for row in journal.connection.execute("select link from entry_link order by n")]
    before = b""
    for row, link in zip(rows, links, strict=True):
        text = json.dumps(list(row), ensure_ascii=False, separators=(",", ":"))
        before = hashlib.sha256(before + text.encode()).digest()
        assert link == before


def test_a_file_of_the_first_format_gets_its_digests(tmp_path: Path) -> None:
    """Entries written before there were digests are chained when the file is opened, and new ones go on from there."""
    folder = tmp_path / "old"
    folder.mkdir()
    path = folder / FILE_NAME
    with closing(connect(path, create=True)) as connection:
        migrate(connection, path, MIGRATIONS[:1])
        for n in (1, 2, 3):
            row = (n, n, "setting", None, "2026-11-25", STAMP, STAMP, "owner", DATA)
            connection.execute("insert into entry values (?, ?, ?, ?, ?, ?, ?, ?, ?)", row)
    with Journal.open(folder) as journal:
        write(journal)
        assert list(link_faults(journal.connection)) == []
        assert journal.connection.execute("select count(*) from entry_link").fetchone()[0] == 4
    assert (folder / f"collection-before-{MIGRATIONS[-1].number}.db").is_file()


def test_a_digest_cannot_be_changed_by_a_plain_statement(home: Path) -> None:
    """They are as append-only as the entries."""
    with closing(sqlite3.connect(home / FILE_NAME)) as connection:
        for statement in ("update entry_link set link = x'00'", "delete from entry_link"):
            with pytest.raises(sqlite3.IntegrityError, match="append-only"):
                connection.execute(statement)


def test_a_trial_leaves_no_digest(home: Path) -> None:
    """What is only tried is rolled back with its link."""
    with Journal.open(home) as journal:
        entry = SettingChanged(on=date(2026, 11, 25), key="weekdays", value="wed")
        journal.preview([entry], by="owner", written=NOW, clock=NOW)
        assert journal.connection.execute("select count(*) from entry_link").fetchone()[0] == 5


def _line(connection: sqlite3.Connection, uid: str, body: bytes) -> None:
    values = ("phone", uid, "digest", 0, STAMP, "2026-11-26", body)
    connection.execute(
        "insert into ledger (calendar, uid, digest, sequence, stamp, start, body) values (?, ?, ?, ?, ?, ?, ?)",
        values,
    )


@pytest.mark.parametrize(
    ("statement", "expected"),
    [
        (
            "update ledger set body = x'41' where uid = 'b'",
            ["ledger phone: b: something else has changed it"],
        ),
        (
            "update ledger set sequence = 3 where uid = 'a'",
            ["ledger phone: a: something else has changed it"],
        ),
        (
            "delete from ledger where uid = 'a'",
            ["ledger phone: lines were taken out or put in by something else"],
        ),
        ("update ledger set start = start", []),
    ],
)
def test_a_line_of_a_ledger_that_was_changed_is_told(home: Path, statement: str, expected: list[str]) -> None:
    """A changed SUMMARY would be sent to nobody, because the digest of the content still fits."""
    with Journal.open(home) as journal:
        connection = journal.connection
        with transaction(connection):
            _line(connection, "a", b"BEGIN:VEVENT A")
            _line(connection, "b", b"BEGIN:VEVENT B")
            seal_ledger(connection, "phone", ("a", "b"))
        assert list(ledger_faults(connection)) == []
        connection.execute(statement)
        assert list(ledger_faults(connection)) == expected


def test_a_line_written_anew_is_sealed_anew(home: Path) -> None:
    """Only the lines that were written are worked out; a ledger that has gone leaves nothing to complain of."""
    with Journal.open(home) as journal:
        connection = journal.connection
        with transaction(connection):
            _line(connection, "a", b"A")
            seal_ledger(connection, "phone")
        with transaction(connection):
            connection.execute("update ledger set body = x'42' where uid = 'a'")
            seal_ledger(connection, "phone", ["a"])
        assert list(ledger_faults(connection)) == []
        connection.execute("delete from ledger")
        assert list(ledger_faults(connection)) == []
