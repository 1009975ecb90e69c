"""`serve`: the calendars for phones and computers of the house."""

from __future__ import annotations

import ipaddress
import socket
from importlib import import_module

import click

from carecal.app import calendars
from carecal.cli.context import Session, pass_session
from carecal.errors import Refused

__all__ = ["serve"]

PORT = 8321  # our choice, because no registered service of a home uses it
ANY = frozenset({"0.0.0.0", "::"})  # noqa: S104 - compared with, not bound to


@click.command(short_help="Serve the calendars to phones and computers.")
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
@pass_session
def serve(session: Session, host: str, port: int, public_url: str | None) -> None:
    """Serve the calendars to phones and computers, until stopped by Ctrl-C.

    Only addresses given by `carecal calendar add NAME` are answered. Without --host the server is heard on this
    machine alone.
    """
    home = session.open()
    known = calendars.calendars_of(home)
    base = (
        public_url or calendars.public_address(home, session.now().day) or f"http://{_shown(host)}:{port}"
    ).rstrip("/")
    folder = home.folder
    home.close()
    if not base.startswith(("http://", "https://")):
        raise Refused(f"'{base}' is no address to reach a server by; allowed is http://… or https://…")
    _check_free(host, port)
    session.say(
        f"serving {len(known)} calendar{'' if len(known) == 1 else 's'} at {base}/calendar/…; stop with Ctrl-C"
    )
    if not known:
        session.say("no calendar has an address yet: carecal calendar add NAME")
    if _is_loopback(host):
        session.say("heard on this machine alone; --host 0.0.0.0 lets the phones of the house in")
    server = import_module("carecal.web.server")  # starlette takes 70 ms and is needed here alone
    server.run(server.application(folder), host, port)


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
