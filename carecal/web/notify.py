"""What a service manager is told while a server runs: that it is ready, alive, ending; nobody else is told anything.

The protocol is that of sd_notify: one datagram of `NAME=VALUE` lines to the socket that NOTIFY_SOCKET names.
"""

from __future__ import annotations

import os
import socket
from contextlib import suppress

import uvicorn

__all__ = ["NotifyingServer", "notify"]

ALIVE_TICKS = 100  # uvicorn ticks ten times a second: a sign of life each ten seconds, our choice


def notify(*states: str) -> bool:
    """Tell the service manager something, as 'READY=1'; return whether there is one that was told."""
    address = os.environ.get("NOTIFY_SOCKET", "")
    if not address.startswith(("/", "@")):
        return False
    with suppress(OSError), socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as sender:
        name = address.encode()
        sender.sendto("\n".join(states).encode(), b"\0" + name[1:] if name.startswith(b"@") else name)
        return True
    return False


class NotifyingServer(uvicorn.Server):
    """A server that says when it listens, that its loop turns, and when it ends."""

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Listen, then say so."""
        await super().startup(sockets)
        if self.started:
            notify("READY=1")

    async def on_tick(self, counter: int) -> bool:
        """Give a sign of life now and then; where the loop hangs, none is given."""
        if counter % ALIVE_TICKS == 0:
            notify("WATCHDOG=1")
        return await super().on_tick(counter)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Say that it ends, then end."""
        notify("STOPPING=1")
        await super().shutdown(sockets)
