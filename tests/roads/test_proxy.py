"""Accounts and page by https behind a real nginx: cookies, redirects, the well-known address, basic authentication."""

from __future__ import annotations

import base64
import ssl
from collections.abc import Iterator
from contextlib import closing
from http.client import HTTPSConnection
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import urlsplit

import pytest

from carecal.app import Collection
from carecal.app.people.owner import one_time_path
from tests.cli.cli_run import done, plant, start
from tests.roads.programs import Syncer, serving
from tests.roads.proxy import NAME, certificate, nginx, proxied
from tests.roads.servers import free_port, needs

pytestmark = [
    pytest.mark.servers,
    pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::DeprecationWarning"),
]
WORDS = "a long quay by night"


class House(NamedTuple):
    """A house that is reached from outside."""

    folder: Path
    base: str
    plain: str
    behind: str
    user: str
    password: str
    certificate: str

    def ask(self, method: str, path: str, **more: Any) -> Any:
        """Send a request by https and follow nothing."""
        more = {"timeout": 30, "allow_redirects": False, "verify": self.certificate, **more}
        return needs("requests").request(method, f"{self.base}{path}", **more)


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """A house with a thirsty plant and an account, served behind nginx for all tests here."""
    nginx()
    folder = tmp_path_factory.mktemp("proxy")
    ports = [free_port() for _ in range(3)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("CARECAL_HOME", str(folder / "home"))
        start(None)
        plant(
            "rose", "--stage", "established", "--came", "2025-06-01", "--watered", "20 days ago", as_of=None
        )
        base = f"https://{NAME}:{ports[0]}"
        done("settings", "public-address", base, as_of=None)
        told = done("--json", "calendar", "add", "phone", "--account", as_of=None).json
    assert told["address"] == f"{base}/dav/"
    cert = certificate(folder)
    with (
        serving(folder / "home", "--proxy", "127.0.0.1", port=ports[2]) as behind,
        proxied(folder, port=ports[0], plain=ports[1], behind=ports[2]),
    ):
        plain = f"http://127.0.0.1:{ports[1]}"
        yield House(folder / "home", base, plain, behind, "phone", told["password"], str(cert))


def test_the_way_from_the_name_alone_to_the_account_stays_on_https(house: House) -> None:
    """RFC 6764 5: plain http leads to https, the well-known address to /dav/, which asks for a password."""
    first = needs("requests").get(f"{house.plain}/.well-known/caldav", timeout=30, allow_redirects=False)
    assert (first.status_code, first.headers["location"]) == (301, f"{house.base}/.well-known/caldav")
    for method in ("GET", "PROPFIND"):
        second = house.ask(method, "/.well-known/caldav")
        assert (second.status_code, second.headers["location"]) == (301, "/dav/")
    asked = house.ask("PROPFIND", "/dav/phone/", headers={"Depth": "0"})
    assert (asked.status_code, asked.headers["www-authenticate"].split()[0]) == (401, "Basic")
    let_in = house.ask("PROPFIND", "/dav/phone/", headers={"Depth": "1"}, auth=(house.user, house.password))
    assert let_in.status_code == 207
    assert "http://" not in let_in.text.replace('"http://', "")  # names of XML apart, every address is a path


def test_programs_find_read_and_tick_by_https(
    house: House, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The caldav library from the name alone and vdirsyncer, both believing this certificate and no other."""
    caldav = needs("caldav")
    address, login = f"{house.base}/.well-known/caldav", {"username": house.user, "password": house.password}
    with caldav.DAVClient(address, **login, ssl_verify_cert=house.certificate) as client:
        calendar = next(c for c in client.principal().calendars() if "VTODO" in c.get_supported_components())
        todo = min(calendar.todos(), key=lambda each: str(each.icalendar_component["DUE"].dt))
        uid = str(todo.icalendar_component["UID"])
        todo.complete()
    monkeypatch.setenv("CARECAL_HOME", str(house.folder))
    assert "by phone" in done("log", "rose", as_of=None).out
    syncer = Syncer(tmp_path, house.base, house.user, house.password, f'verify = "{house.certificate}"\n')
    assert syncer.todos()[uid]["STATUS"] == "COMPLETED"


def test_the_pages_cookie_is_for_https_alone(house: House) -> None:
    """RFC 6265bis: __Host-, Secure, HttpOnly, SameSite, no domain; the way in leads back to a path."""
    with Collection.open(house.folder) as collection:
        path = one_time_path(collection, collection.now())
    form = {"password": WORDS, "again": WORDS}
    strange = house.ask("POST", path, data=form, headers={"Origin": "https://elsewhere.example"})
    assert strange.status_code == 403
    told = house.ask("POST", path, data=form, headers={"Origin": house.base})
    assert (told.status_code, told.headers["location"]) == (303, "/")
    kept, *marks = told.headers["set-cookie"].split("; ")
    assert kept.startswith("__Host-carecal=")
    assert {"secure", "httponly", "path=/", "samesite=lax"} <= {mark.lower() for mark in marks}
    assert not any(mark.lower().startswith("domain") for mark in marks)
    page = house.ask("GET", "/", cookies=dict([kept.split("=", 1)]))
    assert (page.status_code, "Rose" in page.text) == (200, True)


def test_what_whoever_asks_claims_is_not_believed(house: House) -> None:
    """The proxy's word counts: another name is refused, guesses wait though each claims to come from elsewhere."""
    assert house.ask("GET", "/", headers={"Host": "elsewhere.example"}).status_code == 400
    told = [_guess(house, f"192.0.2.{number}") for number in range(6)]
    assert [status for status, _ in told[:3]] == [401, 401, 401]
    assert (told[-1][0], told[-1][1].isdigit()) == (429, True)


def _guess(house: House, claimed: str) -> tuple[int, str]:
    """Guess the password from a machine that is not the proxy, and return status and how long to wait."""
    believed = ssl.create_default_context(cafile=house.certificate)
    port = urlsplit(house.base).port
    with closing(
        HTTPSConnection("127.0.0.1", port, timeout=30, context=believed, source_address=("127.0.0.2", 0))
    ) as connection:
        login = "Basic " + base64.b64encode(b"phone:wrong").decode()
        sent = {"Host": f"{NAME}:{port}", "Authorization": login, "X-Forwarded-For": claimed}
        connection.request("PROPFIND", "/dav/phone/", headers=sent)
        answer = connection.getresponse()
        answer.read()
        return answer.status, answer.headers.get("Retry-After", "")
