"""`serve` and `sitter` on the command line: what is printed, which addresses work, what is refused."""

from __future__ import annotations

import re
import shutil
import socket
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from carecal.app import Collection
from carecal.app.people.owner import has_password
from carecal.web import server
from tests.cli.cli_run import Said, carecal
from tests.stories.quay import TODAY
from tests.web.visitors import HOUSE, PASSWORD, give_password

Serve = Callable[..., tuple[Said, list[dict[str, Any]]]]


@pytest.fixture
def quay(folder: Path, home: Path) -> Path:
    """Return a copy of the house by the harbour, which CARECAL_HOME names."""
    shutil.copytree(folder, home)
    return home


@pytest.fixture
def serve(quay: Path, monkeypatch: pytest.MonkeyPatch) -> Serve:
    """Return a function that runs `serve` up to the moment the server would begin, and what it would begin with."""
    assert quay.is_dir()
    begun: list[dict[str, Any]] = []

    def run(app: Any, host: str, port: int, **more: Any) -> None:
        begun.append({"app": app, "host": host, "port": port, **more})

    monkeypatch.setattr(server, "run", run)

    def served(*words: object) -> tuple[Said, list[dict[str, Any]]]:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        return carecal("serve", "--port", port, *words, as_of=None), begun

    return served


def test_the_first_serve_prints_an_address_that_sets_the_password(serve: Serve, quay: Path) -> None:
    """The address printed leads to a form that sets the password; the next start prints none."""
    said, begun = serve()
    found = re.search(r"http://127\.0\.0\.1:\d+(/set-password/\S+)", said.out)
    assert said.code == 0
    assert found is not None
    with TestClient(begun[0]["app"], base_url="http://127.0.0.1") as client:
        assert "Set the password" in client.get(found[1]).text
        client.post(found[1], data={"password": PASSWORD, "again": PASSWORD})
    with Collection.open(quay) as collection:
        assert has_password(collection)
    assert "set-password" not in serve()[0].out


def test_a_new_password_is_asked_for_by_an_option(serve: Serve, quay: Path) -> None:
    """With a password set, --new-password prints a fresh one-time address."""
    give_password(quay)
    assert "/set-password/" in serve("--new-password")[0].out


def test_an_address_for_the_password_comes_without_serving(serve: Serve, quay: Path) -> None:
    """Beside a server that runs: the address is printed and no server begins; the option alone is refused."""
    said, begun = serve("--new-password", "--no-serve", "--public-url", "https://plants.example")
    assert re.search(r"https://plants\.example/set-password/\S+$", said.out.strip()) is not None
    assert begun == []
    assert "--no-serve goes with --new-password" in serve("--no-serve")[0].err
    with Collection.open(quay) as collection:
        assert not has_password(collection)


def test_a_service_prints_nothing_secret(serve: Serve) -> None:
    """Run by a service manager, what is printed goes into its log: no one-time address, but how to get one."""
    said, begun = serve("--service", "--new-password")
    assert "/set-password/" not in said.out
    assert "carecal serve --new-password --no-serve" in said.out
    assert len(begun) == 1


def test_it_listens_on_this_machine_unless_told_otherwise(serve: Serve) -> None:
    """The standard address is the loopback; a word to the wise where it is not."""
    said, begun = serve()
    assert begun[-1]["host"] == "127.0.0.1"
    assert "heard on this machine alone" in said.out
    said, begun = serve("--host", HOUSE)
    assert begun[-1]["host"] == HOUSE
    assert "plain http" in said.out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (
            ("--public-url", "ftp://x"),
            "--public-url 'ftp://x' is not an address; write it as https://plants.example",
        ),
        (("--proxy", "*"), "proxy '\\*' is not an address"),
        (("--proxy", "router"), "proxy 'router' is not an address"),
    ],
)
def test_what_cannot_be_served_is_refused(serve: Serve, words: tuple[str, ...], told: str) -> None:
    """One line on standard error, exit code 3, and no server begins."""
    said, begun = serve(*words)
    assert said.code == 3
    assert re.search(told, said.err)
    assert len(said.err.splitlines()) == 1
    assert begun == []


def test_behind_a_proxy_nobody_is_told_to_open_the_house(serve: Serve) -> None:
    """With --proxy, or an https address: what passes it on is named, and no word of listening everywhere."""
    for words in (("--public-url", "https://plants.example"), ("--proxy", "127.0.0.1")):
        said, _ = serve(*words)
        assert "the proxy passes on" in said.out
        assert HOUSE not in said.out


def test_an_address_said_to_serve_alone_is_said_to_be_kept(serve: Serve) -> None:
    """Links in calendars come from the setting: where it says another address, one line says how to set it."""
    once = "carecal settings public-address https://plants.example"
    assert once in serve("--public-url", "https://plants.example/")[0].out
    assert carecal("settings", "public-address", "https://plants.example", as_of=None).code == 0
    assert once not in serve("--public-url", "https://plants.example")[0].out
    assert once not in serve()[0].out


def test_every_command_that_prints_an_address_takes_the_public_one(quay: Path) -> None:
    """Before or after the command: calendars, accounts, sitters, sensors begin with it; what is none is refused."""
    assert quay.is_dir()
    day, base = TODAY.isoformat(), "https://plants.example"
    for words in (
        ("calendar", "add", "phone"),
        ("calendar", "add", "hall-phone", "--account"),
        ("calendar", "qr", "phone", "--yes"),
        ("sitter", "add", "Robin", "--until", day),
        ("place", "sensor", "east-sill"),
    ):
        assert f"{base}/" in carecal(*words, "--public-url", f"{base}/", as_of=day).out, words
    assert (
        f"{base}/sitter/"
        in carecal("--public-url", base, "sitter", "add", "Kim", "--until", day, as_of=day).out
    )
    said = carecal("sitter", "add", "Ulla", "--until", day, "--public-url", "plants.example", as_of=day)
    assert (said.code, said.out) == (3, "")
    assert "--public-url 'plants.example' is not an address" in said.err


def test_only_named_proxies_are_believed(serve: Serve) -> None:
    """Without --proxy nobody's forwarded headers count; named ones are handed to the server."""
    _, begun = serve()
    assert begun[-1]["proxies"] == ()
    _, begun = serve("--proxy", "127.0.0.1", "--proxy", "10.0.0.0/8")
    assert begun[-1]["proxies"] == ("127.0.0.1", "10.0.0.0/8")


def test_a_taken_port_is_refused_before_anything_is_printed(quay: Path) -> None:
    """A port that another program holds: one line, code 3, and no one-time address was made."""
    assert quay.is_dir()
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        said = carecal("serve", "--port", taken.getsockname()[1], as_of=None)
    assert said.code == 3
    assert said.out == ""


def test_a_sitter_is_added_listed_and_ended(quay: Path) -> None:
    """`sitter add` prints the address once; `list` tells the days and no address; `end` ends it."""
    assert quay.is_dir()
    day = TODAY.isoformat()
    added = carecal("sitter", "add", "Robin", "--from", day, "--until", "2026-10-28", as_of=day)
    assert added.code == 0
    secret = re.search(r"/sitter/(\S+)", added.out)
    assert secret is not None
    listed = carecal("sitter", "list", as_of=day)
    assert "Robin: 2026-10-21 to 2026-10-28, both included" in listed.out
    assert secret[1] not in listed.out
    assert carecal("sitter", "end", "robin", as_of=day).code == 0
    assert "no sitter has an address" in carecal("sitter", "list", as_of=day).out


def test_a_sheet_is_printed_as_text(quay: Path) -> None:
    """What not to do, the days in order, where things stand; nothing of days beyond the last."""
    assert quay.is_dir()
    day = TODAY.isoformat()
    carecal("sitter", "add", "Robin", "--from", day, "--until", "2026-10-24", as_of=day)
    lines = carecal("sitter", "sheet", "Robin", as_of=day).out.splitlines()
    assert lines[0] == "For Robin: 21 October to 24 October"
    places = [lines.index(head) for head in ("DO NOT", "Wednesday 21 October 2026", "WHERE THINGS STAND")]
    assert places == sorted(places)
    assert not [line for line in lines if "28 October" in line]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("Robin", "--until", "2026-10-01"), "is before the first"),
        (("Robin", "--until", "2027-10-01"), "allowed are up to 120"),
        (("owner", "--until", "2026-10-28"), "has no name that fits"),
        (("<b>x</b>", "--until", "2026-10-28"), "has no name that fits"),
    ],
)
def test_a_sitter_that_makes_no_sense_is_refused(quay: Path, words: tuple[str, ...], told: str) -> None:
    """Days behind, too many days, a name that could be mistaken: code 3, one line."""
    assert quay.is_dir()
    said = carecal("sitter", "add", *words, as_of=TODAY.isoformat())
    assert said.code == 3
    assert told in said.err


def test_the_first_start_of_a_new_version_is_told(serve: Serve, quay: Path) -> None:
    """Where the copy of before stands, that all is sound, and where the changes are told; the next start is quiet."""
    with Collection.open(quay) as collection:
        collection.journal.connection.execute("insert into secret values ('program', '0.0.9')")
    said, begun = serve()
    assert re.search(r"all as it was before: \S+before-\S+\.zip; carecal restore", said.out) is not None
    assert "all is sound" in said.out
    assert len(begun) == 1
    assert "before" not in serve()[0].out
