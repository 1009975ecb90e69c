"""What every answer carries and every request must pass: headers, the host's name, where a write comes from."""

from __future__ import annotations

import ipaddress
import logging
import socket
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from h11 import LocalProtocolError
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import ClientDisconnect
from starlette.responses import PlainTextResponse

if TYPE_CHECKING:
    from collections.abc import Iterable

    from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["POLICY", "Guard", "is_loopback", "names_of"]

log = logging.getLogger("carecal.web")
POLICY = (
    "default-src 'none'; script-src 'self'; connect-src 'self'; style-src 'self'; img-src 'self' data:; "
    "manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), microphone=()",
}
ANY = frozenset({"0.0.0.0", "::", ""})  # noqa: S104 - compared with, not bound to
HERE = ("localhost", "127.0.0.1", "[::1]")
ANYWHERE = "*"
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
NO_COOKIE = ("/calendar/", "/sensor/", "/healthz")  # answered under any name: they ask for no cookie
OWN_SITES = frozenset({"same-origin", "none"})


def is_loopback(host: str) -> bool:
    """Return whether an address is heard on this machine alone."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def names_of(host: str, public_url: str = "", more: Iterable[str] = ()) -> frozenset[str]:
    """Return the names by which a server may be asked; '*' stands for any number of an address.

    A number cannot be pointed elsewhere by somebody's name server, so numbers of the house are let in where the
    server is heard in the house.

    Args:
        host: What it listens on.
        public_url: The address under which others reach it.
        more: Names that were named.
    """
    found = {*HERE, *(name.lower() for name in more)}
    if not is_loopback(host):
        own = socket.gethostname().lower()
        found |= {own, f"{own.split('.')[0]}.local", ANYWHERE}
    if host not in ANY:
        found.add(f"[{host}]" if ":" in host else host.lower())
    public = urlsplit(public_url).hostname if public_url else None
    if public:
        found.add(f"[{public}]" if ":" in public else public)
    return frozenset(found)


class Guard:
    """Refuses what is asked under a strange name and writes that come from another site; adds the headers.

    Args:
        app: The application behind it.
        names: Names that `names_of` gives.
    """

    def __init__(self, app: ASGIApp, names: frozenset[str]) -> None:
        self.app, self.names = app, names

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                found = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    found.setdefault(name, value)
            await send(message)

        refusal = self._refusal(scope["method"], scope["path"], headers)
        answer: ASGIApp = refusal or self.app
        try:
            await answer(scope, receive, with_headers)
        except (ClientDisconnect, LocalProtocolError):
            log.warning("a request broke off before it was whole")

    def _refusal(self, method: str, path: str, headers: Headers) -> PlainTextResponse | None:
        if not path.startswith(NO_COOKIE) and not self._is_known(headers.get("host", "")):
            return PlainTextResponse("this server does not answer to that name\n", 400)
        if method not in SAFE and not _is_own(headers):
            return PlainTextResponse("a form on another site may not write here\n", 403)
        return None

    def _is_known(self, host: str) -> bool:
        name = _without_port(host)
        return name in self.names or (ANYWHERE in self.names and _is_number(name))


def _without_port(host: str) -> str:
    if host.startswith("["):
        return host.partition("]")[0].lower() + "]"
    return host.partition(":")[0].lower()


def _is_number(name: str) -> bool:
    try:
        ipaddress.ip_address(name.strip("[]"))
    except ValueError:
        return False
    return True


def _is_own(headers: Headers) -> bool:
    """Return whether a write comes from our own pages, as far as the browser tells.

    A page without a referrer says `Origin: null`, and over plain http nothing says where it comes from; then the form's
    own token decides.
    """
    site = headers.get("sec-fetch-site")
    if site is not None and site not in OWN_SITES:
        return False
    origin = headers.get("origin")
    if origin is None or origin == "null":
        return True
    return urlsplit(origin).netloc.lower() == headers.get("host", "").lower()
