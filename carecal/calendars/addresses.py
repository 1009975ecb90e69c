"""Addresses of other computers that a grower names: which are allowed, and where they really lead. It sends nothing."""

from __future__ import annotations

import socket
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address
from urllib.parse import quote, unquote, urlsplit

from carecal.errors import Refused, option
from carecal.wording.clean import clean_line

__all__ = ["Address", "check_number", "embedded", "is_of_own_network", "parse_address", "resolve_addresses"]

PORTS = {"https": 443, "http": 80}
LONGEST = 2000  # [characters] our choice, because longer ones are no calendar's address
_CARRY_IPV4 = (
    IPv6Network("::/96"),  # compatible; all but :: and ::1
    IPv6Network("::ffff:0:0/96"),  # mapped
    IPv6Network("::ffff:0:0:0/96"),  # translated
    IPv6Network("64:ff9b::/96"),  # NAT64
)
_CARRY_IPV4_TOO = (IPv6Network("64:ff9b:1::/48"),)  # NAT64 of an own network
_ISATAP = 0x00005EFE  # the upper half of an interface's id, whether universal or local
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


def resolve_addresses(host: str, port: int, *, private: bool) -> list[str]:
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
        check_number(host, text, private=private)
    return numbers


def check_number(host: str, text: str, *, private: bool) -> None:
    """Refuse a number that may not be reached, by what it embeds too.

    Args:
        host: The name that leads there, for what is said.
        text: The number.
        private: Whether the grower has said that an address of the own network is meant.

    Raises:
        Refused: It may not be reached.
    """
    number = _number(text.partition("%")[0])
    if number is None:
        raise Refused(f"'{host}' leads to '{text}', which is not an address of the internet")
    for meant in embedded(number):
        is_open = meant.is_global and not meant.is_multicast and not _is_own_site(meant)
        if is_open:
            continue
        is_own = (
            meant.is_loopback
            or _is_own_site(meant)
            or (meant.is_private and not (meant.is_link_local or meant.is_reserved or meant.is_unspecified))
        )
        if not (is_own and private and not meant.is_multicast):
            allowed = (
                f"allowed with {option('private')}" if is_own else "allowed are addresses of the internet"
            )
            raise Refused(f"'{host}' leads to {meant}, which is not of the open internet; {allowed}")


def embedded(number: IPv4Address | IPv6Address) -> list[IPv4Address | IPv6Address]:
    """Return the numbers that a number stands for: itself, or those of IPv4 that its form carries.

    Source: RFC 4291 2.5.5 (compatible, mapped), RFC 2765 (translated), RFC 3056 (6to4), RFC 4380 (Teredo), RFC 6052 and
    RFC 8215 (NAT64), RFC 5214 (ISATAP).
    """
    if isinstance(number, IPv4Address):
        return [number]
    if number.teredo is not None:
        return list(number.teredo)
    low = IPv4Address(int(number) & 0xFFFFFFFF)
    if number.sixtofour is not None:
        return [number.sixtofour]
    if any(number in network for network in _CARRY_IPV4) and int(number) > 1:
        return [low]
    if any(number in network for network in _CARRY_IPV4_TOO):
        return [number, low]
    if int(number) >> 32 & 0xFDFFFFFF == _ISATAP:
        return [number, low]
    return [number]


def _is_own_site(number: IPv4Address | IPv6Address) -> bool:
    return isinstance(number, IPv6Address) and number.is_site_local


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
