"""`serve`: the page and the calendars for phones and computers of the house."""

from __future__ import annotations

import ipaddress
import socket
from importlib import import_module
from typing import TYPE_CHECKING

import click

from carecal.app.people import owner
from carecal.app.publish import drafts, named_calendars
from carecal.cli.context import Session, pass_session
from carecal.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.app.door import Collection

__all__ = ["serve"]

PORT = 8321  # our choice, because no registered service of a home uses it
ANY = frozenset({"0.0.0.0", "::"})  # noqa: S104 - compared with, not bound to


_STILL_OPEN = (
    "no password is set yet: carecal serve --new-password --no-serve prints an address that sets one"
)


@click.command(short_help="Serve the page and the calendars to phones and computers.")
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    help="Address to listen on; 0.0.0.0 for the whole house.",
)
@click.option(
    "--port", type=click.IntRange(1, 65535), default=PORT, show_default=True, help="Port to listen on."
)
@click.option("--public-url", help="Address under which others reach it; else the setting public-address.")
@click.option(
    "--proxy",
    "proxies",
    multiple=True,
    metavar="ADDRESS",
    help="Believe this proxy about who asks, and by https or not; may be given again.",
)
@click.option("--new-password", is_flag=True, help="Print an address that sets another password.")
@click.option("--no-serve", is_flag=True, help="Only print it, for a server that runs already.")
@click.option("--service", is_flag=True, help="Run by a service manager: nothing secret is printed.")
@pass_session
def serve(
    session: Session,
    host: str,
    port: int,
    public_url: str | None,
    proxies: tuple[str, ...],
    new_password: bool,
    no_serve: bool,
    service: bool,
) -> None:
    """Serve the page and the calendars to phones and computers, until stopped by Ctrl-C.

    The first time it prints an address that sets the password of the page: it works once, for 15 minutes. Without
    --host the server is heard on this machine alone.
    """
    collection = session.open()
    known = named_calendars.calendars_of(collection)
    base = (
        public_url or drafts.public_address(collection, session.now().day) or f"http://{_shown(host)}:{port}"
    ).rstrip("/")
    if not base.startswith(("http://", "https://")):
        raise Refused(f"'{base}' is not an address to reach a server by; allowed is http://… or https://…")
    if no_serve:
        _only_password(session, collection, base, new_password=new_password)
        return
    for proxy in proxies:
        _check_proxy(proxy)
    _check_free(host, port)
    server = import_module("carecal.web.server")  # starlette takes 70 ms and is needed here alone
    app = server.application(collection.folder, host=host, public_url=base, is_apart=True)
    is_open = not owner.has_password(collection)
    path = owner.one_time_path(collection, session.now()) if (new_password or is_open) and not service else ""
    collection.close()
    session.emit(
        {"address": f"{base}/", "set_password": f"{base}{path}" if path else None, "calendars": len(known)},
        "\n".join([*_told(base, path, len(known), host), *([_STILL_OPEN] if service and is_open else [])]),
    )
    server.run(app, host, port, proxies=proxies)


def _only_password(session: Session, collection: Collection, base: str, *, new_password: bool) -> None:
    """Print an address that sets the password, and serve nothing.

    Raises:
        Refused: Nobody asked for one.
    """
    if not new_password:
        raise Refused("nothing to do; --no-serve goes with --new-password")
    path = owner.one_time_path(collection, session.now())
    session.emit(
        {"set_password": base + path},
        f"set the password within {owner.FRESH_MINUTES} minutes, once: {base}{path}",
    )


def _told(base: str, path: str, known: int, host: str) -> Iterator[str]:
    """Yield what whoever started the server has to know."""
    yield f"the page: {base}/ – stop with Ctrl-C"
    if path:
        yield f"set its password within {owner.FRESH_MINUTES} minutes, once: {base}{path}"
    yield f"{known} calendar{'' if known == 1 else 's'} under {base}/calendar/…"
    if not known:
        yield "no calendar has an address yet: carecal calendar add NAME"
    if _is_loopback(host):
        yield "heard on this machine alone; --host 0.0.0.0 lets the phones of the house in"
    elif base.startswith("http://"):
        yield "plain http: fit for a house whose network is yours; from outside go by https and a proxy"


def _check_proxy(address: str) -> None:
    """Refuse what is no number of a machine or a network of them.

    Raises:
        Refused: It is a name, or '*', which would believe everybody.
    """
    try:
        ipaddress.ip_network(address, strict=False)
    except ValueError as error:
        raise Refused(
            f"proxy '{address}' is not an address; allowed are numbers such as 127.0.0.1 or 10.0.0.0/8"
        ) from error


def _is_loopback(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _shown(host: str) -> str:
    name = socket.gethostname() if host in ANY else host
    return f"[{name}]" if ":" in name else name


def _check_free(host: str, port: int) -> None:
    """Refuse a port that another program holds, before anything is said to be served.

    Raises:
        Refused: The port is taken, or the address is not one of this machine.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise Refused(
                f"cannot listen on {host} port {port}: {error.strerror or error}; choose another --port"
            ) from error
