"""Numbers of the own house in every form, and every driver held to the number that was checked, by really sending."""

from __future__ import annotations

import gc
import socket
import threading
import warnings
from collections.abc import Iterator
from contextlib import suppress
from ipaddress import ip_address
from typing import Any

import pytest

from carecal.calendars.addresses import parse_address, resolve_addresses
from carecal.calendars.stores import parse_store
from carecal.calendars.web_client import Client, Login
from carecal.errors import Refused
from tests.roads.servers import needs

OWN = [
    ("::127.0.0.1", "compatible, RFC 4291 2.5.5.1"),
    ("::ffff:127.0.0.1", "mapped, RFC 4291 2.5.5.2"),
    ("::ffff:0:7f00:1", "translated, RFC 2765"),
    ("64:ff9b::7f00:1", "NAT64, RFC 6052"),
    ("64:ff9b::a00:1", "NAT64 of 10.0.0.1"),
    ("64:ff9b:1::7f00:1", "NAT64 of an own network, RFC 8215"),
    ("2002:7f00:1::", "6to4, RFC 3056"),
    ("2002:c0a8:1::1", "6to4 of 192.168.0.1"),
    ("fec0::1", "an old site's own, RFC 3879"),
    ("2600::5efe:7f00:1", "ISATAP, RFC 5214"),
    ("2600::200:5efe:c0a8:1", "ISATAP, RFC 5214, universal"),
]
NEVER = [
    ("64:ff9b::a9fe:a9fe", "NAT64 of 169.254.169.254"),
    ("::ffff:169.254.169.254", "mapped"),
    ("2002:a9fe:a9fe::", "6to4 of 169.254.169.254"),
    ("::ffff:0.0.0.0", "mapped nothing"),
    ("::", "nothing"),
    ("2001:0:a9fe:a9fe::", "Teredo by such a server, RFC 4380"),
]


@pytest.mark.parametrize(("number", "reason"), OWN)
def test_a_number_is_refused_by_what_it_embeds(number: str, reason: str) -> None:
    """A form of IPv6 that carries a number of the own network needs the same word as the number itself."""
    with pytest.raises(Refused, match="allowed with private"):
        resolve_addresses(number, 443, private=False)
    assert resolve_addresses(number, 443, private=True), reason


@pytest.mark.parametrize(("number", "reason"), NEVER)
def test_what_is_never_allowed_is_not_allowed_in_disguise(number: str, reason: str) -> None:
    """The numbers at which data centres tell secrets stay refused where private ones are named."""
    with pytest.raises(Refused, match="allowed are addresses of the internet"):
        resolve_addresses(number, 443, private=True)
    assert reason


@pytest.mark.parametrize(
    "number", ["2606:4700::1111", "64:ff9b::5db8:d822", "2002:5db8:d822::1", "93.184.216.34"]
)
def test_open_numbers_need_no_word(number: str) -> None:
    """What carries a number of the open internet is as open as that."""
    assert resolve_addresses(number, 443, private=False) == [str(ip_address(number))]


class Door:
    """A listener on a number of this machine that counts who knocks."""

    def __init__(self, number: str, port: int = 0) -> None:
        self.knocks = 0
        self._socket = socket.create_server((number, port))
        self.port = int(self._socket.getsockname()[1])
        self._thread = threading.Thread(target=self._listen, daemon=True)
        self._thread.start()

    def _listen(self) -> None:
        while True:
            try:
                came, _ = self._socket.accept()
            except OSError:
                return
            self.knocks += 1
            with suppress(OSError):
                came.sendall(b"HTTP/1.1 500 no\r\nContent-Length: 0\r\nConnection: close\r\n\r\n")
            came.close()

    def close(self) -> None:
        """Stop listening."""
        with suppress(OSError):
            self._socket.shutdown(socket.SHUT_RDWR)
        self._socket.close()
        self._thread.join(5)


@pytest.fixture
def doors() -> Iterator[tuple[Door, Door]]:
    """Two numbers of this machine with one port: the one that is checked, and the one that is slipped in."""
    first = Door("127.0.0.1")
    second = Door("127.0.0.2", first.port)
    yield first, second
    first.close()
    second.close()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        gc.collect()


def _rebound(patch: pytest.MonkeyPatch) -> None:
    """Let a name lead to the first number when it is first asked for, and to the second ever after."""
    real, asked = socket.getaddrinfo, []

    def answer(host: Any, port: Any, *args: Any, **options: Any) -> Any:
        if host in {"quay.example", b"quay.example"}:
            asked.append(host)
            host = "127.0.0.1" if len(asked) == 1 else "127.0.0.2"
        return real(host, port, *args, **options)

    patch.setattr(socket, "getaddrinfo", answer)


def _send(kind: str, host: str, port: int, *, private: bool) -> None:
    """Send something by one of the roads; each ends in a refusal: of the guard, or because nobody real listens."""
    refusal = "cannot be written|does not answer as it should" if private else "not of the open internet"
    login = Login("keeper", "a word")
    if kind == "https":
        address = parse_address(f"https://{host}:{port}/a.ics")
        with pytest.raises(Refused, match=refusal):
            Client(login, private=private, seconds=5).fetch(address)
    else:
        store = parse_store(f"{kind}://{host}:{port}/care")
        with pytest.raises(Refused, match=refusal):
            store.write("a.ics", b"BEGIN:VCALENDAR", login, private=private)


DRIVERS = {"https": "ssl", "webdav": "webdav4.fsspec", "sftp": "sshfs"}


@pytest.mark.parametrize("kind", DRIVERS, ids=str)
@pytest.mark.filterwarnings(
    "ignore::ResourceWarning", "ignore::DeprecationWarning", "ignore::pytest.PytestUnraisableExceptionWarning"
)
def test_the_number_that_was_checked_is_the_one_connected_to(
    kind: str, doors: tuple[Door, Door], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A name that leads elsewhere when it is asked for once more leads nowhere."""
    needs(DRIVERS[kind])
    _rebound(monkeypatch)
    _send(kind, "quay.example", doors[0].port, private=True)
    assert doors[0].knocks >= 1
    assert doors[1].knocks == 0


@pytest.mark.parametrize("kind", DRIVERS, ids=str)
@pytest.mark.parametrize("host", ["127.0.0.1", "[::ffff:127.0.0.1]", "quay.example"])
def test_nothing_is_sent_to_this_machine_unasked(
    kind: str, host: str, doors: tuple[Door, Door], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without the word nobody knocks, whatever the number is called."""
    needs(DRIVERS[kind])
    _rebound(monkeypatch)
    _send(kind, host, doors[0].port, private=False)
    assert (doors[0].knocks, doors[1].knocks) == (0, 0)


@pytest.mark.parametrize("host", ["127.0.0.1", "[::ffff:127.0.0.1]", "quay.example", "localhost"])
@pytest.mark.filterwarnings(
    "ignore::ResourceWarning", "ignore::DeprecationWarning", "ignore::pytest.PytestUnraisableExceptionWarning"
)
def test_an_s3_endpoint_on_this_machine_is_not_reached_unasked(
    host: str, doors: tuple[Door, Door], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The endpoint comes from the surroundings, and is held to the same rule as what was typed."""
    needs("s3fs")
    _rebound(monkeypatch)
    monkeypatch.setenv("AWS_ENDPOINT_URL", f"http://{host}:{doors[0].port}")
    monkeypatch.setenv("AWS_DEFAULT_REGION", "us-east-1")
    monkeypatch.setenv("AWS_MAX_ATTEMPTS", "1")
    store = parse_store("s3://quay/care")
    with pytest.raises(Refused, match="cannot be written"):
        store.write("a.ics", b"BEGIN:VCALENDAR", Login("keeper", "a word"), private=False)
    assert (doors[0].knocks, doors[1].knocks) == (0, 0)
