"""Addresses of other computers that a grower names: which are allowed, and where they really lead. It sends nothing."""

from __future__ import annotations

import socket
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, ip_address
from urllib.parse import quote, unquote, urlsplit

from carecal.errors import Refused, option
from carecal.wording.clean import clean_line

__all__ = ["Address", "is_of_own_network", "numbers_of", "parse_address"]

PORTS = {"https": 443, "http": 80}
LONGEST = 2000  # [characters] our choice, because longer ones are no calendar's address
_SAFE = "/?&=:@!$'()*+,;%~-._"


@dataclass(frozen=True, slots=True)
class Address:
    """A checked http or https address, without a password.

    Args:
        scheme: 'https', or 'http' for this machine itself.
        host: Name or number of the computer, in lower case.
        port: Its port.
        path: Path and query, beginning with '/'.
        user: The name before '@', or ''.
    """

    scheme: str
    host: str
    port: int
    path: str
    user: str = ""

    @property
    def origin(self) -> str:
        """Scheme, host and port, as 'https://cal.example'; nothing secret stands in it."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"{self.scheme}://{host}" + ("" if self.port == PORTS[self.scheme] else f":{self.port}")

    @property
    def is_loopback(self) -> bool:
        """Whether it names this machine itself by number or as localhost."""
        number = _number(self.host)
        return self.host == "localhost" or (number is not None and number.is_loopback)

    def at(self, path: str) -> Address:
        """Return the address of another path at the same place."""
        return Address(self.scheme, self.host, self.port, path, self.user)

    def __str__(self) -> str:
        """Return the whole address, the user's name left out."""
        return self.origin + self.path


def parse_address(text: str) -> Address:
    """Return an address of https, or of http at this machine itself.

    Raises:
        Refused: It is of another kind, holds a password, or is no address.
    """
    shown = clean_line(text)[:80]
    if len(text) > LONGEST or clean_line(text) != text or " " in text:
        raise Refused(
            f"address '{shown}' is too long or contains spaces; allowed: up to {LONGEST} characters, no space"
        )
    try:
        parts = urlsplit(text)
        port = parts.port
        host = (
            (parts.hostname or "").encode("idna").decode()
            if not _number(parts.hostname or "")
            else parts.hostname
        )
    except ValueError as error:
        raise Refused(f"'{shown}' is not an address; allowed: https://host/path") from error
    if parts.scheme not in PORTS or not host:
        raise Refused(f"address '{shown}' is not of https; allowed: https://host/path")
    if parts.password is not None:
        raise Refused(
            f"the address holds a password; allowed: the user by {option('user')}, the password in a file"
        )
    path = quote(parts.path or "/", safe=_SAFE) + (
        f"?{quote(parts.query, safe=_SAFE)}" if parts.query else ""
    )
    found = Address(parts.scheme, host, port or PORTS[parts.scheme], path, unquote(parts.username or ""))
    if found.scheme == "http" and not found.is_loopback:
        raise Refused(
            f"address '{found.origin}' is not encrypted; allowed: https, or http at this machine itself"
        )
    return found


def numbers_of(host: str, port: int, *, private: bool) -> list[str]:
    """Return the numbers that a name stands for, each checked.

    Args:
        host: Name or number of a computer.
        port: Its port.
        private: Whether the grower has said that an address of the own network is meant.

    Raises:
        Refused: The name is unknown, or leads into a private network that was not named; never allowed are link-local,
            multicast and reserved numbers.
    """
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError) as error:
        raise Refused(
            f"no computer named '{clean_line(host)[:80]}' is known; check that the address is right"
        ) from error
    numbers = list(dict.fromkeys(str(row[4][0]) for row in found))
    for text in numbers:
        _check_number(host, text, private=private)
    return numbers


def _check_number(host: str, text: str, *, private: bool) -> None:
    number = _number(text.partition("%")[0])
    if number is None:
        raise Refused(f"'{host}' leads to '{text}', which is not an address of the internet")
    if isinstance(number, IPv6Address):
        number = number.ipv4_mapped or number.sixtofour or number
    if number.is_global and not number.is_multicast:
        return
    is_own = number.is_loopback or (
        number.is_private and not (number.is_link_local or number.is_reserved or number.is_unspecified)
    )
    if not (is_own and private and not number.is_multicast):
        allowed = f"allowed with {option('private')}" if is_own else "allowed are addresses of the internet"
        raise Refused(f"'{host}' leads to {number}, which is not of the open internet; {allowed}")


def is_of_own_network(host: str) -> bool:
    """Whether a name or number is of the kind that only the own network knows; it is not looked up."""
    number = _number(host)
    if number is not None:
        return not number.is_global
    return "." not in host or host.endswith((".local", ".lan", ".home.arpa", ".internal"))


def _number(host: str) -> IPv4Address | IPv6Address | None:
    try:
        return ip_address(host)
    except ValueError:
        return None
