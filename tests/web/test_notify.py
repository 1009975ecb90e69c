"""What a service manager hears: the datagrams of sd_notify, on a socket of the test."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from shutil import copytree

import pytest

from carecal.web.notify import notify


@pytest.fixture
def manager(tmp_path: Path) -> Iterator[socket.socket]:
    """Return the socket of a service manager."""
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as listening:
        listening.bind(str(tmp_path / "notify"))
        listening.settimeout(30)
        yield listening


def test_nobody_is_told_where_nobody_listens(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Without a manager, with a name that is none, or with a socket that is gone nothing happens."""
    monkeypatch.delenv("NOTIFY_SOCKET", raising=False)
    assert notify("READY=1") is False
    for name in ("vsock:2:1", str(tmp_path / "gone")):
        monkeypatch.setenv("NOTIFY_SOCKET", name)
        assert notify("READY=1") is False


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="abstract sockets are those of Linux")
def test_an_abstract_socket_is_told_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """A name that begins with @ stands for one that begins with a zero byte (sd_notify(3))."""
    name = f"@carecal-test-{os.getpid()}"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as listening:
        listening.bind("\0" + name[1:])
        monkeypatch.setenv("NOTIFY_SOCKET", name)
        assert notify("READY=1", "STATUS=up") is True
        assert listening.recv(100) == b"READY=1\nSTATUS=up"


def test_a_server_is_ready_once_it_listens_and_says_nothing_secret(
    manager: socket.socket, tmp_path: Path, quay_once: Path
) -> None:
    """Run as a service: READY=1 when its port answers, STOPPING=1 on SIGTERM; no address of a password is printed."""
    home = Path(copytree(quay_once, tmp_path / "home"))
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = [sys.executable, "-m", "carecal", "serve", "--service", "--port", str(port)]
    surroundings = {**os.environ, "CARECAL_HOME": str(home), "NOTIFY_SOCKET": str(manager.getsockname())}
    with subprocess.Popen(words, env=surroundings, stdout=subprocess.PIPE, text=True) as running:
        try:
            assert manager.recv(100) in {b"READY=1", b"WATCHDOG=1"}
            with socket.create_connection(("127.0.0.1", port), timeout=5):
                pass
        finally:
            running.terminate()
        told = {manager.recv(100)}
        while b"STOPPING=1" not in told:
            told.add(manager.recv(100))
        assert running.stdout is not None
        printed = running.stdout.read()
    assert "no password is set yet" in printed
    assert "/set-password/" not in printed
