"""How each driver of a store is held to the numbers that were checked; a name cannot lead elsewhere in between.

The drivers are extras, so what of them is needed is imported here when a store is written.
"""

from __future__ import annotations

import socket
from importlib import import_module
from typing import TYPE_CHECKING, Any

from carecal.calendars.addresses import check_number

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["checked_sockets", "pinned_transport"]


def pinned_transport(number: str) -> Any:
    """Return a transport of httpx that connects to one number, by TLS under the host's own name.

    Args:
        number: The number that was checked.
    """
    httpx: Any = import_module("httpx")

    class Pinned(httpx.BaseTransport):  # type: ignore[misc]  # a base that is only there with the extra
        """Sends each request to the number."""

        def __init__(self) -> None:
            self._inner = httpx.HTTPTransport(trust_env=False)

        def handle_request(self, request: Any) -> Any:
            """Send a request; its Host header was made from the address already."""
            name = request.url.host
            request.url = request.url.copy_with(host=number)
            request.extensions = {**request.extensions, "sni_hostname": name}
            return self._inner.handle_request(request)

        def close(self) -> None:
            """Close its connections."""
            self._inner.close()

    return Pinned()


def checked_sockets(*, private: bool) -> Callable[[Any], socket.socket]:
    """Return what makes the sockets of an S3 driver: one to a number that may not be reached is not made.

    Args:
        private: Whether an address of the own network is meant.
    """

    def make(info: tuple[Any, ...]) -> socket.socket:
        """Return a socket for an address as `getaddrinfo` gives it.

        Raises:
            Refused: Its number may not be reached.
        """
        family, kind, protocol, _, address = info
        check_number("the store", str(address[0]), private=private)
        return socket.socket(family, kind, protocol)

    return make
