"""Files written whole or not at all; the oracle is the file system itself."""

from __future__ import annotations

import os
import threading
from typing import TYPE_CHECKING

import pytest

from carecal.collection.whole_files import write_whole
from carecal.errors import StorageError

if TYPE_CHECKING:
    from pathlib import Path


def test_a_pipe_is_written_to_and_stays_a_pipe(tmp_path: Path) -> None:
    """What is no file is never replaced by one; the oracle is what the reader of the pipe got."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    read: list[bytes] = []
    reader = threading.Thread(target=lambda: read.append(pipe.read_bytes()))
    reader.start()
    write_whole(pipe, b"plants")
    reader.join()
    assert read == [b"plants"]
    assert pipe.is_fifo()


def test_a_link_stays_and_its_file_is_replaced(tmp_path: Path) -> None:
    """The file behind a link gets the new content."""
    target, link = tmp_path / "target", tmp_path / "link"
    target.write_bytes(b"old")
    link.symlink_to(target)
    write_whole(link, b"new")
    assert (link.is_symlink(), target.read_bytes()) == (True, b"new")


def test_an_error_names_the_file_that_was_asked_for(tmp_path: Path) -> None:
    """Its name stands as it was given, capitals included, and not that of the file beside it."""
    missing = tmp_path / "Missing" / "Calendar.ics"
    with pytest.raises(StorageError, match=rf"^{missing}: no such file or directory$"):
        write_whole(missing, b"")


def test_a_folder_is_not_replaced(tmp_path: Path) -> None:
    """A folder of that name stays, and nothing stands beside it afterwards."""
    folder = tmp_path / "folder"
    folder.mkdir()
    with pytest.raises(StorageError, match="is a directory"):
        write_whole(folder, b"")
    assert list(tmp_path.iterdir()) == [folder]
