"""Real servers on loopback for the roads: calendar servers, a web space, a store and a file server."""

from __future__ import annotations

import asyncio
import importlib
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

import pytest

__all__ = ["USER", "WORD", "free_port", "needs", "radicale", "running", "sftp", "webdav", "xandikos"]

USER, WORD = "keeper", "a word for tests"
START_SECONDS = 20


def needs(module: str) -> Any:
    """Return a module, or skip the test with the reason that it is not installed."""
    try:
        return importlib.import_module(module)
    except ImportError:
        pytest.skip(f"{module} is not installed; it comes with the extras servers, s3, sftp, webdav")


def free_port() -> int:
    """Return a port that nobody uses."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _wait(port: int, running: subprocess.Popen[bytes]) -> None:
    """Wait until a server answers.

    Raises:
        RuntimeError: It ended or stays silent.
    """
    until = time.monotonic() + START_SECONDS
    while time.monotonic() < until and running.poll() is None:
        with suppress(OSError):
            connection = HTTPConnection("127.0.0.1", port, timeout=1)
            connection.request("OPTIONS", "/")
            connection.getresponse().read()
            connection.close()
            return
        threading.Event().wait(0.05)
    raise RuntimeError(f"the server did not come up: {running.poll()}")


@contextmanager
def running(words: list[str], port: int) -> Iterator[None]:
    """Run a server as a program of its own until the block ends, which begins when it answers."""
    with subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as running:
        try:
            _wait(port, running)
            yield
        finally:
            running.terminate()
            running.wait(10)


@contextmanager
def radicale(folder: Path) -> Iterator[str]:
    """Run Radicale on a folder with one user, and yield the address of what holds that user's calendars."""
    needs("radicale")
    port = free_port()
    users, config = folder / "users", folder / "config"
    users.write_text(f"{USER}:{WORD}\n")
    config.write_text(
        f"[server]\nhosts = 127.0.0.1:{port}\n[auth]\ntype = htpasswd\nhtpasswd_filename = {users}\n"
        f"htpasswd_encryption = plain\ndelay = 0\n[storage]\nfilesystem_folder = {folder / 'data'}\n"
        "[logging]\nlevel = error\n"
    )
    with running([sys.executable, "-m", "radicale", "--config", str(config)], port):
        yield f"caldav+http://127.0.0.1:{port}/{USER}"


@contextmanager
def xandikos(folder: Path) -> Iterator[str]:
    """Run Xandikos on a folder, and yield the address of what holds a user's calendars."""
    needs("xandikos")
    port = free_port()
    words = ["serve", "-d", str(folder / "data"), "--defaults", "-l", "127.0.0.1", "-p", str(port)]
    with running([sys.executable, "-m", "xandikos", *words], port):
        yield f"caldav+http://127.0.0.1:{port}/user/calendars"


@contextmanager
def webdav(folder: Path) -> Iterator[str]:
    """Serve a folder by WebDAV to one user, and yield its address."""
    app, wsgi = needs("wsgidav.wsgidav_app"), needs("cheroot.wsgi")
    needs("webdav4.fsspec")
    config = {
        "provider_mapping": {"/": str(folder)},
        "simple_dc": {"user_mapping": {"*": {USER: {"password": WORD}}}},
        "http_authenticator": {"accept_basic": True, "accept_digest": False, "default_to_digest": False},
        "logging": {"enable": False},
        "verbose": 0,
    }
    server = wsgi.Server(("127.0.0.1", 0), app.WsgiDAVApp(config))
    server.prepare()
    thread = threading.Thread(target=server.serve)
    thread.start()
    try:
        yield f"webdav://127.0.0.1:{server.bind_addr[1]}"
    finally:
        server.stop()
        thread.join()


@contextmanager
def sftp(folder: Path, keys: Path) -> Iterator[str]:
    """Serve a folder by SFTP to one user, write its host key to known_hosts in `keys`, and yield its address."""
    asyncssh = needs("asyncssh")
    needs("sshfs")

    class Guard(asyncssh.SSHServer):  # type: ignore[name-defined,misc]  # a module that may be missing
        def begin_auth(self, _: str) -> bool:
            return True

        def password_auth_supported(self) -> bool:
            return True

        def validate_password(self, username: str, password: str) -> bool:
            return (username, password) == (USER, WORD)

    key = asyncssh.generate_private_key("ssh-ed25519")
    loop = asyncio.new_event_loop()
    thread = threading.Thread(target=loop.run_forever)
    thread.start()

    async def begin() -> Any:
        files = lambda channel: asyncssh.SFTPServer(channel, chroot=str(folder).encode())  # noqa: E731 - as short as it is
        return await asyncssh.create_server(
            Guard, "127.0.0.1", 0, server_host_keys=[key], sftp_factory=files, reuse_port=False
        )

    server = asyncio.run_coroutine_threadsafe(begin(), loop).result(START_SECONDS)
    port = server.sockets[0].getsockname()[1]
    keys.mkdir(parents=True)
    public = key.export_public_key().decode().strip()
    (keys / "known_hosts").write_text(f"[127.0.0.1]:{port} {public}\n")
    try:
        yield f"sftp://127.0.0.1:{port}"
    finally:

        async def finish() -> None:
            server.close()
            others = asyncio.all_tasks() - {asyncio.current_task()}
            for task in others:
                task.cancel()
            await asyncio.gather(*others, return_exceptions=True)

        with suppress(TimeoutError):
            asyncio.run_coroutine_threadsafe(finish(), loop).result(START_SECONDS)
        loop.call_soon_threadsafe(loop.stop)
        thread.join()
        loop.close()
