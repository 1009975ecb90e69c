"""The shell script that sends a sensor's readings: what it sends, and what it keeps while nobody answers."""

from __future__ import annotations

import shutil
import subprocess
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parents[2] / "examples" / "sensor.sh"
SHELL, CURL = shutil.which("sh"), shutil.which("curl")

pytestmark = pytest.mark.skipif(not (SHELL and CURL), reason="a shell and curl are not installed")


class Listener(BaseHTTPRequestHandler):
    """Takes what is sent and answers as it is told to."""

    status, bodies = 200, list[str]()

    def do_POST(self) -> None:
        """Take a body."""
        self.bodies.append(self.rfile.read(int(self.headers["Content-Length"])).decode())
        self.send_response(self.status)
        self.end_headers()

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def address(tmp_path: Path) -> Iterator[Path]:
    """Return a file with the address of a server that listens."""
    Listener.bodies = []
    with HTTPServer(("127.0.0.1", 0), Listener) as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
        thread.start()
        file = tmp_path / "address"
        file.write_text(f"http://127.0.0.1:{server.server_port}/sensor/a-secret\n")
        yield file
        server.shutdown()
        thread.join()


def send(address: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run the script."""
    found = {"SENSOR_ADDRESS_FILE": str(address), "PATH": str(Path(str(CURL)).parent) + ":/usr/bin:/bin"}
    return subprocess.run([str(SCRIPT), *words], env=found, capture_output=True, text=True, check=False)


def test_what_could_not_be_sent_goes_along_the_next_time(address: Path) -> None:
    """Nobody answers once: the line waits; the next run brings both and keeps nothing."""
    Listener.status = 503
    said = send(address, "21.4", "52")
    assert (said.returncode, "kept in" in said.stderr) == (1, True)
    Listener.status = 200
    assert send(address, "21.6", "", "900").returncode == 0
    head, *lines = Listener.bodies[1].splitlines()
    assert head == "time,temperature,humidity,light"
    assert [line.partition("Z")[2] for line in lines] == [",21.4,52,", ",21.6,,900"]
    assert sorted(path.name for path in address.parent.iterdir()) == ["address"]


def test_what_is_refused_is_set_aside(address: Path) -> None:
    """A reading that cannot be does not hold up the next ones."""
    Listener.status = 422
    assert "refused" in send(address, "999").stderr
    Listener.status = 200
    assert send(address, "20").returncode == 0
    assert "999" not in Listener.bodies[1]


def test_nothing_to_send_is_an_error(address: Path) -> None:
    """Without a temperature it says how it is used."""
    said = send(address)
    assert (said.returncode, "usage" in said.stderr) == (2, True)
