"""Writes files into stores that `fsspec` reaches by drivers: whole or not at all. It knows no calendar.

The drivers are extras, so everything of them is imported here alone, and only when a store is written.
"""

from __future__ import annotations

import secrets
from contextlib import suppress
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, Any
from urllib.parse import unquote, urlsplit

from carecal.calendars.addresses import parse_address, resolve_addresses
from carecal.calendars.pinned import checked_sockets, pinned_transport
from carecal.errors import Refused, option
from carecal.wording.clean import clean_line

if TYPE_CHECKING:
    from collections.abc import Callable

    from carecal.calendars.web_client import Login

__all__ = ["STORES", "Store", "parse_store"]

WAIT_SECONDS = 20
STORES = {
    "s3": "s3",
    "sftp": "sftp",
    "ssh": "sftp",
    "webdav": "webdav",
}  # scheme and the extra that reaches it
OTHERS = ("abfs", "az", "gcs", "gs", "hdfs", "memory", "oci", "oss")
"""Schemes whose drivers fsspec finds by itself; where they lead cannot be checked."""
_DRIVERS = {"many": "fsspec", "s3": "s3fs", "sftp": "sshfs", "webdav": "webdav4.fsspec"}
_SFTP_PORT = 22


@dataclass(frozen=True, slots=True)
class Store:
    """A folder in a store.

    Args:
        scheme: A key of `STORES`.
        host: Host, or the name of an S3 bucket.
        port: Port, or None for the usual one.
        path: The folder, without a slash at its end.
        user: The name before '@', or ''.
    """

    scheme: str
    host: str
    port: int | None
    path: str
    user: str = ""

    def __str__(self) -> str:
        """Return the address, the user's name left out."""
        return f"{self.scheme}://{self._place}{self.path}"

    @property
    def _place(self) -> str:
        """Host and port as they stand in an address; a number of IPv6 in brackets."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"{host}:{self.port}" if self.port else host

    def write(self, name: str, content: bytes, login: Login | None, *, private: bool) -> None:
        """Write a file so that whoever reads it gets the old one or the new one, never a part.

        Raises:
            Refused: The driver is missing, the host may not be reached, or the store refuses.
        """
        self._run(
            lambda files, folder: _put(files, self.scheme, folder, name, content), login, private=private
        )

    def remove(self, name: str, login: Login | None, *, private: bool) -> None:
        """Remove a file; one that is not there is no fault.

        Raises:
            Refused: As `write`.
        """

        def away(files: Any, folder: str) -> None:
            with suppress(FileNotFoundError):
                files.rm_file(f"{folder}/{name}")

        self._run(away, login, private=private)

    def _run(self, what: Callable[[Any, str], None], login: Login | None, *, private: bool) -> None:
        number = self._checked_number(private=private)
        try:
            files, folder = self._open(login, number, private=private)
            what(files, folder)
        except Refused:
            raise
        except Exception as error:  # each driver has errors of its own, and they share no root
            raise Refused(f"{self} cannot be written: {_reason(error, login)}") from error

    def _checked_number(self, *, private: bool) -> str:
        """Return the number of the host that may be reached; '' for S3, whose sockets are checked one by one.

        Raises:
            Refused: It may not be reached.
        """
        if self.scheme == "webdav":
            address = parse_address(self._web_address())
            return resolve_addresses(address.host, address.port, private=private)[0]
        if self.scheme == "s3":
            return ""
        if self.scheme in OTHERS:
            if not private:
                raise Refused(
                    f"where {self.scheme}:// leads cannot be checked; allowed with {option('private')}"
                )
            return ""
        return resolve_addresses(self.host, self.port or _SFTP_PORT, private=private)[0]

    def _web_address(self) -> str:
        """Return the address of http that a WebDAV store has; not encrypted only at this machine itself."""
        is_here = parse_address(f"https://{self._place}/").is_loopback
        return f"{'http' if is_here else 'https'}://{self._place}/"

    def _open(self, login: Login | None, number: str, *, private: bool) -> tuple[Any, str]:
        """Return the store's files and the folder in them; the driver connects to what was checked alone."""
        if self.scheme in OTHERS:
            try:
                return _driver("many").filesystem(self.scheme), f"{self.host}{self.path}"
            except ImportError as error:
                raise Refused(
                    f"{self.scheme}:// needs the driver that fsspec names for it; install that"
                ) from error
        module = _driver(STORES[self.scheme])
        if self.scheme == "s3":
            keys = {"key": login.user, "secret": login.password} if login else {}
            wait = {
                "connect_timeout": WAIT_SECONDS,
                "read_timeout": WAIT_SECONDS,
                "connector_args": {"socket_factory": checked_sockets(private=private)},
            }
            files = module.S3FileSystem(
                **keys, use_listings_cache=False, skip_instance_cache=True, config_kwargs=wait
            )
            return files, f"{self.host}{self.path}"
        if self.scheme == "webdav":
            files = module.WebdavFileSystem(
                self._web_address(),
                auth=(login.user, login.password) if login else None,
                skip_instance_cache=True,
                follow_redirects=False,
                trust_env=False,
                timeout=WAIT_SECONDS,
                transport=pinned_transport(number),
            )
            return files, self.path.strip("/")
        options: dict[str, Any] = {"known_hosts": (), "timeout": WAIT_SECONDS, "skip_instance_cache": True}
        options |= {"host_key_alias": self.host}  # its key is looked up under the name
        options |= {"port": self.port} if self.port else {}
        user = login.user if login else self.user
        options |= {"username": user} if user else {}
        options |= {"password": login.password} if login and login.password else {}
        return module.SSHFileSystem(number, **options), self.path


def parse_store(text: str) -> Store:
    """Return the folder in a store that an address names.

    Raises:
        Refused: It is of no known kind, names a file or steps upwards, or holds a password.
    """
    shown = clean_line(text)[:80]
    if clean_line(text) != text:
        raise Refused(
            f"store address '{shown}' contains spaces or control characters; allowed is one without"
        )
    try:
        parts = urlsplit(text)
        port, host = parts.port, parts.hostname or ""
    except ValueError as error:
        raise Refused(f"'{shown}' is not an address of a store; allowed: KIND://place/folder") from error
    if parts.scheme not in {*STORES, *OTHERS}:
        known = ", ".join(f"{scheme}://" for scheme in (*STORES, *OTHERS))
        raise Refused(f"store '{parts.scheme}://' is not known; allowed: {known}")
    if parts.password is not None:
        raise Refused(
            f"the address holds a password; allowed: the user by {option('user')}, the password in a file"
        )
    path = unquote(parts.path).rstrip("/")
    if not host or ".." in path.split("/") or parts.query or parts.fragment or path.endswith(".ics"):
        raise Refused(
            f"'{shown}' is not a folder of a store; allowed: {parts.scheme}://place/folder, the file gets its name"
        )
    return Store(parts.scheme, host, port, path, unquote(parts.username or ""))


def _driver(extra: str) -> Any:
    try:
        return import_module(_DRIVERS[extra])
    except ImportError as error:
        raise Refused(
            f"this store needs the extra '{extra}'; install it: pip install 'carecal[{extra}]'"
        ) from error


def _put(files: Any, scheme: str, folder: str, name: str, content: bytes) -> None:
    """Write a file whole: an object store takes it whole or not at all; elsewhere a part is written, then moved."""
    path = f"{folder}/{name}".lstrip("/") if scheme == "webdav" else f"{folder}/{name}"
    if scheme == "s3":
        files.pipe_file(path, content, ContentType="text/calendar; charset=utf-8")
        return
    if scheme in OTHERS and scheme != "hdfs":
        files.pipe_file(path, content)
        return
    part = path.removesuffix(name) + f".{secrets.token_hex(8)}.part"
    try:
        files.pipe_file(part, content)
        if scheme == "webdav":
            files.client.move(part, path, overwrite=True)
        else:
            files.mv(part, path)
    except BaseException:
        with suppress(Exception):
            files.rm_file(part)
        raise


def _reason(error: Exception, login: Login | None) -> str:
    """Return a driver's error in a few words, the password taken out should it stand there."""
    text = clean_line(str(error))[:160].rstrip(".") or type(error).__name__
    return text.replace(login.password, "…") if login and login.password else text
