"""The attack table: each thing a stranger may send to the server, and that it comes to nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from carecal.app import Collection
from carecal.collection.entries import PlantAdded
from tests.stories.quay import TODAY, moment
from tests.web.visitors import HOUSE, client_of, entries_of, form_token, sign_in, task_of

OWN_PAGES = ("/", "/login")


@pytest.mark.parametrize(
    "path",
    [
        "/static/../pages.py",
        "/static/..%2f..%2fpyproject.toml",
        "/static/%2e%2e/%2e%2e/errors.py",
        "/static//etc/passwd",
        "/static/style.css/../../server.py",
        "/static/style.css%00.js",
        "/calendar/../../x.ics",
        "/sitter/../healthz/x",
        "/plants/..%2f..%2f..%2fetc%2fpasswd",
    ],
)
def test_no_path_leads_out_of_the_package(owner: TestClient, path: str) -> None:
    """Whatever stands in an address, nothing of the disk is answered: 404 and none of a file's text."""
    answer = owner.get(path)
    assert answer.status_code == 404
    assert "def " not in answer.text
    assert "root:" not in answer.text


def test_a_stranger_sees_no_page_and_writes_nothing(locked: Path) -> None:
    """Without a session reading leads to the login, writing writes nothing."""
    before = entries_of(locked)
    with client_of(locked) as stranger:
        assert stranger.get("/").headers["location"].startswith("/login")
        answer = stranger.post("/", data={"do": "done", "task": "task/1/1/wetting/1", "care": "watering"})
        assert answer.status_code == 401
        assert 'name="password"' in answer.text
    assert entries_of(locked) == before


@pytest.mark.parametrize(
    ("reason", "headers"),
    [
        ("a form of another site", {"Origin": "https://evil.example"}),
        ("a page of another port", {"Origin": "http://127.0.0.1:9"}),
        ("a browser that says so", {"Sec-Fetch-Site": "cross-site"}),
        ("a neighbour under one name", {"Sec-Fetch-Site": "same-site"}),
        ("both at once", {"Origin": "http://127.0.0.1", "Sec-Fetch-Site": "cross-site"}),
    ],
)
def test_a_form_of_another_site_writes_nothing(
    owner: TestClient, locked: Path, reason: str, headers: dict[str, str]
) -> None:
    """Even with the owner's cookie and a true token a write that comes from elsewhere is refused."""
    fields = {**task_of(owner, "gable"), "form_token": form_token(owner), "do": "done"}
    before = entries_of(locked)
    assert owner.post("/", data=fields, headers=headers).status_code == 403, reason
    assert entries_of(locked) == before


@pytest.mark.parametrize("token", [None, "", "0" * 64, "é", "' or 1=1"])
def test_a_write_without_the_true_form_token_is_refused(
    owner: TestClient, locked: Path, token: str | None
) -> None:
    """The owner's cookie alone writes nothing."""
    fields = {**task_of(owner, "gable"), "do": "done"}
    before = entries_of(locked)
    sent = fields if token is None else {**fields, "form_token": token}
    assert owner.post("/", data=sent).status_code == 403
    assert entries_of(locked) == before


def test_a_form_token_of_another_session_is_refused(owner: TestClient, locked: Path) -> None:
    """Tokens are bound to their session."""
    with client_of(locked) as other:
        sign_in(other)
        foreign = form_token(other)
    assert foreign != form_token(owner)
    fields = {**task_of(owner, "gable"), "form_token": foreign, "do": "done"}
    assert owner.post("/", data=fields).status_code == 403


def test_reading_never_writes(owner: TestClient, locked: Path) -> None:
    """GET and HEAD with every word of a form in the address leave the journal as it is; other methods are refused."""
    before = entries_of(locked)
    words = {**task_of(owner, "gable"), "form_token": form_token(owner), "do": "done"}
    assert owner.get("/", params=words).status_code == 200
    assert owner.head("/", params=words).status_code == 200
    assert {owner.request(m, "/", params=words).status_code for m in ("PUT", "DELETE", "PATCH")} == {405}
    assert entries_of(locked) == before


@pytest.mark.parametrize(
    ("name", "status"),
    [
        ("127.0.0.1", 200), ("localhost", 200), ("localhost:8321", 200), ("LOCALHOST", 200), ("[::1]:8321", 200),
        ("evil.example", 400), ("127.0.0.1.evil.example", 400), ("", 400), ("192.168.1.5", 400),
        ("localhost@evil.example", 400),
    ],
)  # fmt: skip
def test_only_known_names_are_answered(owner: TestClient, name: str, status: int) -> None:
    """A page asked for under a strange name is refused, so no name server can point a browser's cookie here."""
    assert owner.get("/", headers={"Host": name}).status_code == status


def test_the_public_name_and_numbers_of_the_house_are_known(locked: Path) -> None:
    """Bound to the house, the public address's name and any number are answered, other names are not."""
    with client_of(locked, host=HOUSE, public_url="https://plants.example", asked="plants.example") as client:
        known = {
            name: client.get("/login", headers={"Host": name}).status_code
            for name in ("plants.example", "192.168.1.5:8321", "evil.example")
        }
    assert known == {"plants.example": 200, "192.168.1.5:8321": 200, "evil.example": 400}


@pytest.mark.parametrize("path", OWN_PAGES)
def test_every_page_carries_the_policy(owner: TestClient, path: str) -> None:
    """No inline script or style, no frame, no other site; no referrer, no guessing of types."""
    headers = owner.get(path).headers
    parts = [part.strip().partition(" ") for part in headers["content-security-policy"].split(";")]
    policy = {name: value for name, _, value in parts}
    assert policy == {
        "manifest-src": "'self'",
        "worker-src": "'self'",
        "default-src": "'none'",
        "img-src": "'self' data:",
        "style-src": "'self'",
        "script-src": "'self'",
        "connect-src": "'self'",
        "form-action": "'self'",
        "base-uri": "'none'",
        "frame-ancestors": "'none'",
    }
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize("path", OWN_PAGES)
def test_no_page_has_script_or_style_within(owner: TestClient, path: str) -> None:
    """What the policy would stop is not there: no style attribute, no handler, no script text."""
    text = owner.get(path).text
    assert " style=" not in text
    assert " onclick=" not in text
    assert "<style" not in text
    assert "<script>" not in text


def test_what_a_grower_typed_is_never_markup(locked: Path) -> None:
    """A name full of markup stands on the page as text."""
    with Collection.open(locked) as collection:
        entry = PlantAdded(
            on=TODAY,
            plant="odd",
            name="<script>alert(1)</script>",
            medium="bark",
            container="plastic",
            size_cm=12,
            place="east-sill",
        )
        collection.record(entry, now=moment(TODAY))
    with client_of(locked) as client:
        sign_in(client)
        text = client.get("/").text
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert" in text


@pytest.mark.parametrize(
    ("reason", "body", "kind"),
    [
        ("more than a form holds", b"do=done&note=" + b"x" * 3_000_000, "application/x-www-form-urlencoded"),
        ("a broken boundary", b"--x\r\nnonsense", "multipart/form-data; boundary=x"),
        ("no boundary", b"--x", "multipart/form-data"),
        ("no form at all", b"{}", "application/json"),
        ("bytes that are no text", b"do=\xff\xfe&task=\x00", "application/x-www-form-urlencoded"),
        (
            "thousands of fields",
            b"&".join(b"task=%d" % i for i in range(5000)),
            "application/x-www-form-urlencoded",
        ),
    ],
)
@pytest.mark.parametrize("path", ["/", "/login"])
def test_oversized_and_malformed_bodies_are_refused(
    owner: TestClient, locked: Path, path: str, reason: str, body: bytes, kind: str
) -> None:
    """Each gets a plain refusal, never an error of the server, and writes nothing."""
    before = entries_of(locked)
    answer = owner.post(path, content=body, headers={"Content-Type": kind})
    assert answer.status_code in {400, 403, 413, 422}, reason
    assert entries_of(locked) == before


@pytest.mark.parametrize(
    "fields",
    [
        {"do": "done", "task": "task/1/1/wetting/999999", "care": "watering"},
        {"do": "done", "task": "../../x", "care": "watering"},
        {"do": "done", "task": "task/99/1/wetting/1", "care": "watering"},
        {"do": "done", "task": "task/1/1/wetting/1", "care": "burning"},
        {"do": "done"},
        {"do": "nonsense", "task": "task/1/1/wetting/1", "care": "watering"},
        {"do": "undo", "entry": "99999999999999999999999999"},
        {"do": "undo", "entry": "nan"},
        {"do": "undo", "entry": "inf"},
        {"do": "undo", "entry": "-1"},
        {"do": "undo", "entry": "1"},
        {"do": "undo"},
        {},
        {"do": "round", "except": "nobody"},
        {"do": "round", "on": "2026-13-01"},
        {"do": "done", "task": "task/١/1/wetting/1", "care": "watering"},
        {"do": "done", "task": "task/" + "9" * 3000 + "/1/x", "care": "watering"},
    ],
)
def test_forms_full_of_nonsense_are_refused_in_one_line(
    owner: TestClient, locked: Path, fields: dict[str, str]
) -> None:
    """A refusal, not an error of the server, and nothing written."""
    before = entries_of(locked)
    answer = owner.post("/", data={**fields, "form_token": form_token(owner)})
    assert 400 <= answer.status_code < 500
    assert "Traceback" not in answer.text
    assert entries_of(locked) == before
