"""What tests of the roads to the phone share: servers on loopback."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest

from tests.roads.loopback import Serve


@pytest.fixture
def serve() -> Iterator[Serve]:
    """Return what starts a server with a handler and returns its address; all of them end with the test."""
    running: list[tuple[ThreadingHTTPServer, threading.Thread]] = []

    def start(handler: type[BaseHTTPRequestHandler]) -> str:
        server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
        thread.start()
        running.append((server, thread))
        return f"http://127.0.0.1:{server.server_port}"

    yield start
    for server, thread in running:
        server.shutdown()
        thread.join()
        server.server_close()
