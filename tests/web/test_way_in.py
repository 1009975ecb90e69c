"""The owner's way in under attack: one-time addresses, guesses, cookies, sessions, and what is kept of secrets."""

from __future__ import annotations

import logging
from pathlib import Path

import pytest
from itsdangerous import Signer
from starlette.testclient import TestClient

from carecal.app import Collection
from carecal.app.people.owner import begin_session, one_time_path
from tests.stories.quay import TODAY, moment
from tests.web.visitors import HOUSE, PASSWORD, Clock, client_of, form_token, sign_in


@pytest.mark.parametrize("cookie", ["", "x", "a.b.c", "null", "{}", "é" * 3, "A" * 5000])
def test_a_forged_cookie_opens_nothing(locked: Path, cookie: str) -> None:
    """What we did not sign is nobody's session."""
    with client_of(locked) as stranger:
        answer = stranger.get("/", headers={b"Cookie": f"carecal={cookie}".encode("latin-1")})
        assert answer.status_code == 303
        assert answer.headers["location"].startswith("/login")


def test_a_true_session_signed_by_another_key_opens_nothing(locked: Path) -> None:
    """A session's id alone, or signed by a guessed key, is worth nothing; signed by ours it opens the round."""
    with Collection.open(locked) as collection:
        session = begin_session(collection, moment(TODAY))
    with client_of(locked) as stranger:
        for cookie in (session, Signer("guess", salt="session").sign(session).decode()):
            assert stranger.get("/", headers={"Cookie": f"carecal={cookie}"}).status_code == 303


def test_a_session_that_was_ended_opens_nothing(owner: TestClient) -> None:
    """Signing out ends the session on the server, not only in the browser."""
    kept = dict(owner.cookies)
    owner.post("/logout", data={"form_token": form_token(owner)})
    assert (
        owner.get("/", headers={"Cookie": "; ".join(f"{k}={v}" for k, v in kept.items())}).status_code == 303
    )


def test_the_cookie_is_kept_from_scripts_and_other_sites(locked: Path) -> None:
    """HttpOnly and SameSite=lax always, Secure where it is reached by https; no password and no name in it."""
    with client_of(locked, public_url="https://plants.example", asked="plants.example") as client:
        told = client.post("/login", data={"password": PASSWORD, "next": "/"}).headers["set-cookie"].lower()
    assert "httponly" in told
    assert "samesite=lax" in told
    assert "secure" in told
    assert "quay" not in told


def test_the_one_time_address_works_once(folder: Path) -> None:
    """It sets the password, and a second use of it, by whoever saw it, changes nothing."""
    with Collection.open(folder) as collection:
        path = one_time_path(collection, moment(TODAY))
    with client_of(folder) as client:
        assert client.get(path).status_code == 200
        assert client.post(path, data={"password": PASSWORD, "again": PASSWORD}).status_code == 303
        stolen = {"password": "somebody else's", "again": "somebody else's"}
        assert client.post(path, data=stolen).status_code in {404, 410}
    with client_of(folder) as client:
        sign_in(client)


def test_the_one_time_address_ends_after_a_quarter_of_an_hour(folder: Path) -> None:
    """At fifteen minutes it still holds, a second later it does not."""
    with Collection.open(folder) as collection:
        path = one_time_path(collection, moment(TODAY))
    clock = Clock()
    with client_of(folder, clock) as client:
        clock.later(minutes=15)
        assert client.get(path).status_code == 200
        clock.later(seconds=1)
        assert client.get(path).status_code in {404, 410}


def test_a_newer_one_time_address_ends_the_older(folder: Path) -> None:
    """Only the address printed last sets the password."""
    with Collection.open(folder) as collection:
        old, new = one_time_path(collection, moment(TODAY)), one_time_path(collection, moment(TODAY))
    with client_of(folder) as client:
        assert client.get(old).status_code in {404, 410}
        assert client.get(new).status_code == 200


def test_a_new_password_ends_every_session(owner: TestClient, locked: Path) -> None:
    """Who was signed in by the old password is signed out."""
    with Collection.open(locked) as collection:
        path = one_time_path(collection, moment(TODAY))
    with client_of(locked) as other:
        other.post(path, data={"password": "another long quay", "again": "another long quay"})
    assert owner.get("/").status_code == 303


@pytest.mark.parametrize("host", ["127.0.0.1", HOUSE])
def test_without_a_password_every_page_is_forbidden(folder: Path, host: str) -> None:
    """Calendars and /healthz answer, the one-time address too; every page is 403."""
    with Collection.open(folder) as collection:
        path = one_time_path(collection, moment(TODAY))
    with client_of(folder, host=host) as client:
        assert {p: client.get(p).status_code for p in ("/", "/login")} == {"/": 403, "/login": 403}
        assert client.post("/login", data={"password": ""}).status_code == 403
        assert client.get(path).status_code == 200
        assert client.get("/healthz").status_code == 200
        assert client.get("/calendar/unknown.ics").status_code == 404


def test_guesses_wait_longer_and_longer(locked: Path) -> None:
    """Even the right password is not taken while a wait runs, and each wrong guess makes the wait longer."""
    clock, waits = Clock(), []
    with client_of(locked, clock) as client:
        for _ in range(8):
            answer = client.post("/login", data={"password": "guess", "next": "/"})
            while answer.status_code == 429:
                waits.append(int(answer.headers["retry-after"]))
                assert client.post("/login", data={"password": PASSWORD, "next": "/"}).status_code == 429
                clock.later(seconds=waits[-1])
                answer = client.post("/login", data={"password": "guess", "next": "/"})
            assert answer.status_code == 403
        clock.later(hours=1)
        sign_in(client)
    assert waits == sorted(waits)
    assert len(waits) >= 4
    assert waits[-1] >= 4 * waits[0]


@pytest.mark.parametrize(
    "wanted",
    [
        "//evil.example",
        "https://evil.example",
        "/\\evil.example",
        "javascript:alert(1)",
        "/\t/evil.example",
        "",
    ],
)
def test_the_login_leads_nowhere_else(locked: Path, wanted: str) -> None:
    """An address of another site in the login's link is not followed."""
    with client_of(locked) as client:
        answer = client.post("/login", data={"password": PASSWORD, "next": wanted})
    assert answer.headers["location"] == "/"


def test_no_secret_stands_in_the_log(
    owner: TestClient, locked: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """Addresses that hold secrets, known or not, leave no trace of them in the log."""
    with Collection.open(locked) as collection:
        path = one_time_path(collection, moment(TODAY))
    secret = path.rpartition("/")[2]
    with caplog.at_level(logging.DEBUG, logger="carecal"):
        owner.get(path)
        owner.get(f"/calendar/{secret}.ics")
        owner.get(f"/sitter/{secret}")
    assert secret not in caplog.text


def test_secrets_are_kept_as_digests_alone(owner: TestClient, locked: Path) -> None:
    """Neither a session, a one-time address nor the password stands in the collection's file as it is."""
    with Collection.open(locked) as collection:
        secret = one_time_path(collection, moment(TODAY)).rpartition("/")[2]
        session = begin_session(collection, moment(TODAY))
        dump = "\n".join(collection.journal.connection.iterdump())
    assert secret not in dump
    assert session not in dump
    assert PASSWORD not in dump
    assert "$argon2id$" in dump
    assert owner.cookies


def test_a_moment_later_the_session_still_lives_and_after_its_days_it_does_not(locked: Path) -> None:
    """A session ends by itself."""
    clock = Clock()
    with client_of(locked, clock) as client:
        sign_in(client)
        clock.later(days=100)
        assert client.get("/").status_code == 200
        clock.later(days=100)
        assert client.get("/").status_code == 303
