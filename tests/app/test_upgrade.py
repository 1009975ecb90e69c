"""The first start of a new version: a copy of before, a look after; versions named by the test."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from carecal.app import Collection
from carecal.app.files import upgrade
from carecal.collection.backup import restore
from carecal.errors import StorageError
from tests.stories.quay import TODAY, moment


@pytest.fixture
def old(quay_copy: Path) -> Path:
    """Return a house that version 0.0.9 served last."""
    with Collection.open(quay_copy) as collection:
        collection.journal.connection.execute("insert into secret values ('program', '0.0.9')")
    return quay_copy


def start(folder: Path) -> tuple[Path | None, list[str]]:
    """Start as `serve` does."""
    before = upgrade.copy_before(folder)
    with Collection.open(folder) as collection:
        return before, upgrade.look_after(collection, moment(TODAY), is_new=before is not None)


def test_a_new_version_leaves_a_copy_of_before_and_looks_over_all(old: Path, tmp_path: Path) -> None:
    """Once: a full copy that can be put back with every entry, nothing wrong; the next start makes none."""
    before, faults = start(old)
    assert faults == []
    assert before is not None
    restore(before, tmp_path / "again")
    with Collection.open(old) as now, Collection.open(tmp_path / "again") as then:
        assert then.journal.records() == now.journal.records()
    assert start(old) == (None, [])


def test_a_new_house_needs_no_copy(quay_copy: Path, tmp_path: Path) -> None:
    """Made by this version: its first start copies nothing; a folder without a house is no upgrade."""
    assert start(quay_copy) == (None, [])
    assert sorted(quay_copy.glob("before-*")) == []
    assert upgrade.copy_before(tmp_path / "nothing") is None


def test_a_start_that_broke_off_keeps_its_first_copy(old: Path) -> None:
    """The copy was made, then the machine went off: the next start takes that copy and goes on."""
    first = upgrade.copy_before(old)
    assert first is not None
    content = first.read_bytes()
    with Collection.open(old) as collection:
        collection.journal.connection.execute("update secret set value = 9 where key = 'generation'")
    before, _ = start(old)
    assert before == first
    assert first.read_bytes() == content
    assert zipfile.is_zipfile(first)


def test_what_is_wrong_after_it_is_told(old: Path) -> None:
    """An entry that something else changed is named, and told once."""
    with Collection.open(old) as collection:
        connection = collection.journal.connection
        connection.execute("drop trigger entry_kept_whole")
        connection.execute(
            "update entry set data = json_set(data, '$.medium', 'sawdust') where kind = 'added'"
        )
    _, faults = start(old)
    assert any("sawdust" in fault for fault in faults)
    assert start(old) == (None, [])


def test_without_a_copy_nothing_new_begins(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk is full: the start is refused and the house stays the other version's."""

    def full(*_: object) -> None:
        raise StorageError("the disk is full")

    monkeypatch.setattr(upgrade, "backup", full)
    with pytest.raises(StorageError, match="the disk is full"):
        start(old)
    monkeypatch.undo()
    assert start(old)[0] is not None
