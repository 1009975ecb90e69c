"""The password of a place where a calendar is published: from its file, the surroundings, or asked. None is kept."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from carecal.calendars.web_client import Login
from carecal.errors import Refused, StorageError, option
from carecal.wording.clean import clean_line

if TYPE_CHECKING:
    from collections.abc import Callable

    from carecal.app.publish.publications import Publication

__all__ = ["login_of"]

PASSWORD = "CARECAL_PASSWORD"  # noqa: S105 - the name of the variable, not a password
LONGEST_PASSWORD = 1000


def login_of(found: Publication, ask: Callable[[str], str] | None) -> Login | None:
    """Return user and password; None where nobody logs in.

    Raises:
        Refused: A password is needed and nowhere to be had.
        StorageError: Its file cannot be read.
    """
    if not found.user or found.kind == "folder":
        return None
    if found.password_file:
        return Login(found.user, _from_file(Path(found.password_file)))
    given = os.environ.get(PASSWORD)
    if given:
        return Login(found.user, given)
    if found.address.startswith(("sftp:", "ssh:")):
        return Login(found.user, "")  # a key of the user's own does
    if ask is None:
        raise Refused(
            f"{found.target} needs the password of {found.user}; give {option('password-file')} FILE or set {PASSWORD}"
        )
    return Login(found.user, ask(found.user))


def _from_file(path: Path) -> str:
    try:
        with path.open(encoding="utf-8") as file:
            password = file.readline(LONGEST_PASSWORD).rstrip("\r\n")
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror.lower() if isinstance(error, OSError) and error.strerror else "is no text"
        raise StorageError(f"password file {clean_line(str(path))}: {reason}") from error
    if not password:
        raise Refused(f"password file {path} has no password in its first line")
    return password
