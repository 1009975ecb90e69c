"""Where a calendar can be published: a folder, a store, an account on a calendar server. It remembers nothing."""

from __future__ import annotations

import re
import secrets
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from carecal.calendars.addresses import parse_address
from carecal.calendars.stores import parse_store
from carecal.collection.database import storage_errors
from carecal.collection.whole_files import write_whole
from carecal.errors import Refused, StorageError
from carecal.wording.clean import clean_line

if TYPE_CHECKING:
    from carecal.calendars.web_client import Login

__all__ = ["Target", "new_file_name", "parse_target", "shown_events"]

Kind = Literal["folder", "store", "caldav"]
NAME_BYTES = 24
"""Random bytes of a file's name: 192 bits. Source: our choice, because guessing 128 bits is already hopeless."""
CALDAV = "caldav+"
_PARTS = re.compile(rb"^BEGIN:V(?:EVENT|TODO)\r$", re.MULTILINE)
_REFRESH = re.compile(rb"^CATEGORIES:REFRESH\r$", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Target:
    """A place that takes calendars.

    Args:
        kind: What it is.
        address: The folder, the store's address, or the https address of a calendar; without user and password.
        user: The name that stood before '@', or ''.
    """

    kind: Kind
    address: str
    user: str = ""

    def __str__(self) -> str:
        """Return it as it was named."""
        return f"{CALDAV}{self.address}" if self.kind == "caldav" else self.address

    def write(self, name: str, content: bytes, login: Login | None, *, private: bool) -> bool:
        """Write a file of this name into a folder or store, whole or not at all; False where it stood there already.

        Raises:
            Refused: The store refuses, its driver is missing, or it lies where it may not.
            StorageError: The folder is not there or cannot be written.
        """
        if self.kind == "store":
            parse_store(self.address).write(name, content, login, private=private)
            return True
        path = Path(self.address) / name
        _check_folder(path.parent)
        with storage_errors(path):
            if path.is_file() and path.read_bytes() == content:
                return False
        write_whole(path, content)
        return True

    def remove(self, name: str, login: Login | None, *, private: bool) -> None:
        """Remove the file of a name; one that is not there is no fault.

        Raises:
            Refused: As `write`.
            StorageError: As `write`.
        """
        if self.kind == "store":
            parse_store(self.address).remove(name, login, private=private)
            return
        path = Path(self.address) / name
        _check_folder(path.parent)
        with storage_errors(path):
            path.unlink(missing_ok=True)


def parse_target(text: str) -> Target:
    """Return the place that a grower names: a folder, a store's address, or `caldav+https://…`.

    Raises:
        Refused: It is of no known kind, is not encrypted, or holds a password.
        StorageError: The folder is not there.
    """
    if text.startswith(CALDAV):
        address = parse_address(text.removeprefix(CALDAV))
        if "?" in address.path:
            raise Refused(
                f"'{address.origin}' with a question mark is not a calendar; allowed: caldav+https://host/path/"
            )
        return Target("caldav", str(address), address.user)
    if "://" in text:
        if text.split("://", 1)[0] in {"http", "https"}:
            raise Refused(
                "an address of the web cannot be written; allowed: a folder, webdav://…, or caldav+https://…"
            )
        store = parse_store(text)
        return Target("store", str(replace(store, user="")), store.user)
    if clean_line(text) != text or not text:
        raise Refused(
            f"folder '{clean_line(text)[:80]}' holds a control character or nothing; allowed is a folder's name"
        )
    path = Path(text).expanduser().absolute()
    _check_folder(path)
    return Target("folder", str(path))


def new_file_name() -> str:
    """Return a name that nobody guesses."""
    return f"{secrets.token_hex(NAME_BYTES)}.ics"


def shown_events(body: bytes) -> int:
    """Return how many events and to-dos a calendar shows, the one that warns of old age not counted."""
    return len(_PARTS.findall(body)) - len(_REFRESH.findall(body))


def _check_folder(folder: Path) -> None:
    """Refuse a folder that is not there: it may be a disk that is not connected, or a slip of the hand."""
    with storage_errors(folder):
        is_there = folder.is_dir()
    if not is_there:
        raise StorageError(f"folder {folder} is not there; make it, or connect the disk it lies on")
