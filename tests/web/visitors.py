"""People who ask the server in tests: a stranger, the owner signed in, at a moment that the test moves on."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from argon2 import PasswordHasher, profiles
from starlette.testclient import TestClient

from carecal.app import Collection, Now
from carecal.app.people.owner import one_time_path, set_password
from carecal.web.server import application
from tests.stories.quay import TODAY, moment

PASSWORD = "a long quay by night"  # noqa: S105 - of a collection that lives for one test
CHEAP = PasswordHasher.from_parameters(profiles.CHEAPEST)
HOST = "127.0.0.1"
HOUSE = "0.0.0.0"  # noqa: S104 - the whole house; named, never bound to in tests


class Clock:
    """A clock that stands until it is moved on."""

    def __init__(self) -> None:
        self.now = moment(TODAY)

    def __call__(self, _: object) -> Now:
        """Return the moment."""
        return self.now

    def later(self, **span: float) -> None:
        """Move on within the day."""
        on = timedelta(**span)
        self.now = replace(self.now, written=self.now.written + on, clock=self.now.clock + on)


def give_password(folder: Path) -> None:
    """Set the owner's password of a folder's collection."""
    with Collection.open(folder) as collection:
        token = one_time_path(collection, moment(TODAY)).rpartition("/")[2]
        set_password(collection, moment(TODAY), token, PASSWORD, CHEAP)


def client_of(
    folder: Path, clock: Clock | None = None, *, host: str = HOST, asked: str = HOST, public_url: str = ""
) -> TestClient:
    """Return a browser's stand-in that follows nothing by itself and raises no error of the server.

    Args:
        folder: The collection's folder.
        clock: The moment; None: nine o'clock of the care day.
        host: What the server listens on.
        asked: The name it is asked under.
        public_url: The address under which others reach it.
    """
    app = application(folder, clock=clock or Clock(), host=host, crypt=CHEAP, public_url=public_url)
    scheme = "https" if public_url.startswith("https") else "http"
    return TestClient(app, base_url=f"{scheme}://{asked}", follow_redirects=False)


def sign_in(client: TestClient) -> None:
    """Sign in as the owner."""
    answer = client.post("/login", data={"password": PASSWORD, "next": "/"})
    assert answer.status_code == 303, answer.text


def form_token(client: TestClient, path: str = "/") -> str:
    """Return the token of the forms on a page."""
    found = re.search(r'name="form_token" value="([\w.-]+)"', client.get(path).text)
    assert found is not None
    return found[1]


def task_of(client: TestClient, plant: str) -> dict[str, str]:
    """Return the fields that a plant's row of the round posts, but for the token."""
    row = re.search(rf'data-plant="{plant}".*?</form>', client.get("/").text, re.DOTALL)
    assert row is not None
    return dict(re.findall(r'name="(task|care|on)" value="([^"]*)"', row[0]))


def entries_of(folder: Path) -> list[tuple[str, str]]:
    """Return kind and author of every entry."""
    with Collection.open(folder) as collection:
        return [(record.kind, record.by) for record in collection.journal.records()]
