"""A small client for addresses that a grower names: no redirect to another host, limits on size and time.

It connects to the very number that was checked, so that a name cannot lead elsewhere between the check and the call,
and asks no proxy.
"""

from __future__ import annotations

import base64
import http.client
import socket
import ssl
from contextlib import closing, suppress
from dataclasses import dataclass
from threading import Event, Timer
from typing import TYPE_CHECKING, NamedTuple
from urllib.parse import urljoin

from carecal import __version__
from carecal.calendars.addresses import parse_address, resolve_addresses
from carecal.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Mapping

    from carecal.calendars.addresses import Address

__all__ = ["Answer", "Client", "Login", "Unreachable"]

LIMIT_BYTES = 5_000_000  # our choice, because ten years of a busy calendar are about 2 MB
WAIT_SECONDS = 20.0  # for each piece of an answer; our choice, because slow web spaces take some seconds
WHOLE_SECONDS = 60.0  # for a whole answer
MOST_REDIRECTS = 3
_REDIRECTS = frozenset({301, 302, 303, 307, 308})


class Unreachable(Refused):
    """Raised when a computer does not answer, breaks off, or answers with what is not allowed."""


class Login(NamedTuple):
    """Who asks; the password is kept nowhere."""

    user: str
    password: str

    @property
    def header(self) -> str:
        """The Authorization header of basic authentication. Source: RFC 7617."""
        return "Basic " + base64.b64encode(f"{self.user}:{self.password}".encode()).decode()


@dataclass(frozen=True, slots=True)
class Answer:
    """What a server said; names of headers in lower case."""

    status: int
    headers: Mapping[str, str]
    body: bytes

    @property
    def is_done(self) -> bool:
        """Whether it is of the 2xx kind."""
        return 200 <= self.status < 300


class _Pinned(http.client.HTTPConnection):
    """A connection to one of the checked numbers, by TLS under the host's name."""

    def __init__(self, address: Address, numbers: list[str], seconds: float) -> None:
        super().__init__(address.host, address.port, timeout=seconds)
        self._numbers, self._scheme = numbers, address.scheme
        self._held: socket.socket | None = None  # the library itself lets go of it while it reads
        self.late = Event()

    def connect(self) -> None:
        """Connect to the first number that answers; the certificate must be of the name."""
        for number in self._numbers:
            with suppress(OSError):
                sock = socket.create_connection((number, self.port), self.timeout)
                break
        else:
            raise ConnectionError("no connection")
        self._held = sock
        if self.late.is_set():
            raise TimeoutError
        if self._scheme == "https":
            sock = ssl.create_default_context().wrap_socket(sock, server_hostname=self.host)
            self._held = sock
        self.sock = sock

    def break_off(self) -> None:
        """End it for being late: shut the socket, so that whoever waits for it wakes up."""
        self.late.set()
        if self._held is not None:
            with suppress(OSError):
                self._held.shutdown(socket.SHUT_RDWR)


class Client:
    """Sends requests to addresses under one set of limits.

    Args:
        login: User and password, sent to the first host alone; None: nobody.
        private: Whether an address of the own network is meant.
        seconds: Longest time for one whole answer. [s]
        limit: Largest answer. [bytes]
    """

    def __init__(
        self,
        login: Login | None = None,
        *,
        private: bool = False,
        seconds: float = WHOLE_SECONDS,
        limit: int = LIMIT_BYTES,
    ) -> None:
        self.login, self.private, self.seconds, self.limit = login, private, seconds, limit

    def send(
        self,
        method: str,
        address: Address,
        body: bytes | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> Answer:
        """Send one request and return the answer; a redirect is returned as it is.

        Raises:
            Refused: The address leads where it may not.
            Unreachable: The computer does not answer in time, or its answer is too large.
        """
        numbers = resolve_addresses(address.host, address.port, private=self.private)
        sent = {"User-Agent": f"carecal/{__version__}", "Accept-Encoding": "identity", **(headers or {})}
        if self.login is not None:
            sent["Authorization"] = self.login.header
        with closing(_Pinned(address, numbers, min(WAIT_SECONDS, self.seconds))) as connection:
            timer = Timer(self.seconds, connection.break_off)
            timer.daemon = True
            timer.start()
            try:
                connection.request(method, address.path, body, sent)
                answer = connection.getresponse()
                content = answer.read(self.limit + 1)
            except (OSError, http.client.HTTPException, ValueError) as error:
                raise Unreachable(
                    f"{address.origin} does not answer as it should: {_reason(error)}"
                ) from error
            finally:
                timer.cancel()
        if connection.late.is_set():  # what came until then may look like a whole answer
            raise Unreachable(f"{address.origin} does not answer as it should: it took too long")
        if answer.length and len(content) <= self.limit:
            raise Unreachable(f"{address.origin} does not answer as it should: the connection broke off")
        if len(content) > self.limit:
            raise Unreachable(f"{address.origin} sends more than {self.limit / 1e6:g} MB; allowed is less")
        return Answer(answer.status, {name.lower(): value for name, value in answer.getheaders()}, content)

    def fetch(self, address: Address) -> bytes:
        """Return what stands at an address; redirects are followed at the same host alone.

        Raises:
            Refused: The address leads where it may not.
            Unreachable: The computer does not answer, or has nothing there.
        """
        for _ in range(MOST_REDIRECTS + 1):
            answer = self.send("GET", address)
            if answer.status in _REDIRECTS:
                address = _onward(address, answer)
                continue
            if answer.status != http.client.OK:
                raise Unreachable(f"{address.origin} answers {answer.status}; allowed is 200, a calendar")
            return answer.body
        raise Unreachable(f"{address.origin} sends on more than {MOST_REDIRECTS} times")


def _onward(address: Address, answer: Answer) -> Address:
    """Return where a redirect leads, at the same host.

    Raises:
        Unreachable: It leads to another host, or nowhere.
    """
    onward = parse_address(urljoin(str(address), answer.headers.get("location", "")))
    if (onward.scheme, onward.host, onward.port) != (address.scheme, address.host, address.port):
        raise Unreachable(f"{address.origin} sends on to {onward.origin}; if that is meant, give its address")
    return onward


def _reason(error: Exception) -> str:
    """Return an error of the network in a few words."""
    if isinstance(error, TimeoutError):
        return "it took too long"
    if isinstance(error, ssl.SSLCertVerificationError):
        return f"its certificate is not valid, {error.verify_message}"
    text = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    return text.lower().rstrip(".") or type(error).__name__.lower()
