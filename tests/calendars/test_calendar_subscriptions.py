"""Named calendars: secret addresses, what was published, who fetched. Oracle: the rows that SQLite holds."""

from __future__ import annotations

import gzip
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from hmac import compare_digest

import pytest

from carecal.calendars import subscriptions
from carecal.calendars.ledger import Ledger
from carecal.calendars.options import CalendarOptions
from carecal.errors import Refused, UnknownName
from tests.calendars.calendar_plans import AS_OF, database, plan_of, wetting, written

NOW = datetime(2026, 11, 25, 18, 3, 7, tzinfo=UTC)
EACH = CalendarOptions(grouping="each", place="East sill")


@pytest.fixture
def connection() -> Iterator[sqlite3.Connection]:
    """Return an empty database."""
    with closing(database()) as found:
        yield found


def test_a_token_finds_its_calendar_and_is_not_stored(connection: sqlite3.Connection) -> None:
    """192 random bits, kept as SHA-256 only."""
    token = subscriptions.add(connection, "Windowsill east", EACH, NOW)
    found = subscriptions.find(connection, token)
    assert found is not None
    assert (found.name, found.created, found.is_live) == ("Windowsill east", NOW, True)
    assert found.options == replace(EACH, name="Windowsill east")
    assert found.key == "name/1"
    assert len(token) == 32
    dump = "\n".join(connection.iterdump())
    assert token not in dump
    assert sha256(token.encode()).hexdigest() in dump


@pytest.mark.parametrize("token", ["", "nonsense", "蘭", "\ud800", "x" * 10_000])
def test_an_unknown_token_finds_nothing(connection: sqlite3.Connection, token: str) -> None:
    """Whatever text stands in the address."""
    subscriptions.add(connection, "Quay", EACH, NOW)
    assert subscriptions.find(connection, token) is None


def test_every_known_token_is_compared(
    connection: sqlite3.Connection, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In constant time: no early end at the one that fits."""
    tokens = [subscriptions.add(connection, name, EACH, NOW) for name in ("One", "Two", "Three")]
    compared: list[bool] = []

    def watched(a: str, b: str) -> bool:
        """Compare and count."""
        compared.append(compare_digest(a, b))
        return compared[-1]

    monkeypatch.setattr(subscriptions, "compare_digest", watched)
    subscriptions.find(connection, tokens[0])
    assert compared == [True, False, False]


def test_a_name_is_unique_among_the_living(connection: sqlite3.Connection) -> None:
    """Case does not tell names apart; a revoked name is free again, under a new token and number."""
    first = subscriptions.add(connection, "Quay", EACH, NOW)
    with pytest.raises(Refused, match="calendar 'quay' exists; allowed: another name, or revoke it first"):
        subscriptions.add(connection, "quay", EACH, NOW)
    subscriptions.revoke(connection, "QUAY", NOW)
    second = subscriptions.add(connection, "Quay", EACH, NOW)
    assert first != second
    assert [(c.id, c.name, c.is_live) for c in subscriptions.listing(connection)] == [
        (1, "Quay", False),
        (2, "Quay", True),
    ]


def test_a_revoked_token_is_known_as_revoked(connection: sqlite3.Connection) -> None:
    """So that its address answers 410 and not 404; what was published and its ledger are gone."""
    token = subscriptions.add(connection, "Quay", EACH, NOW)
    ledger = Ledger(connection, "name/1")
    body = written(plan_of(tasks=[wetting(1, AS_OF)]), ledger=ledger, calendar="name/1").body
    assert Ledger(connection, "name/1").rows
    subscriptions.store_published(connection, 1, body, modified=NOW, as_of=AS_OF, head=3)
    subscriptions.revoke(connection, "Quay", NOW)
    found = subscriptions.find(connection, token)
    assert found is not None
    assert found.revoked == NOW
    assert subscriptions.read_published(connection, 1) is None
    assert Ledger(connection, "name/1").rows == {}


def test_revoking_an_unknown_name_names_the_near_ones(connection: sqlite3.Connection) -> None:
    """Only living calendars are offered."""
    subscriptions.add(connection, "Quayside", EACH, NOW)
    with pytest.raises(UnknownName, match=r"no calendar named 'Quaysid'; did you mean Quayside\?"):
        subscriptions.revoke(connection, "Quaysid", NOW)


def test_an_unfit_name_is_refused_and_nothing_written(connection: sqlite3.Connection) -> None:
    """Names stand in the calendar as they are typed."""
    with pytest.raises(Refused, match="holds ','"):
        subscriptions.add(connection, "sill, east", EACH, NOW)
    assert subscriptions.listing(connection) == []


def test_what_was_published_is_kept_with_its_validators(connection: sqlite3.Connection) -> None:
    """ETag of the plain bytes; the same bytes compress to the same bytes."""
    subscriptions.add(connection, "Quay", EACH, NOW)
    body = written(plan_of(tasks=[wetting(1, AS_OF)])).body
    assert subscriptions.read_published(connection, 1) is None
    assert subscriptions.read_validators(connection, 1) is None
    first = subscriptions.store_published(connection, 1, body, modified=NOW, as_of=AS_OF, head=3)
    again = subscriptions.store_published(connection, 1, body, modified=NOW, as_of=AS_OF, head=4, note="late")
    assert first.gzip == again.gzip
    assert first.gzip[4:8] == b"\0\0\0\0"  # RFC 1952 2.3.1: no time
    assert gzip.decompress(first.gzip) == body
    assert first.validators.etag == sha256(body).hexdigest()
    assert subscriptions.read_published(connection, 1) == again
    assert subscriptions.read_validators(connection, 1) == again.validators


def test_a_fetch_is_remembered_by_kind_of_program(connection: sqlite3.Connection) -> None:
    """When, and the family; the whole User-Agent is stored nowhere."""
    token = subscriptions.add(connection, "Quay", EACH, NOW)
    later = NOW + timedelta(hours=4)
    subscriptions.note_fetch(connection, 1, later, "Harbour-Agenda/7.1 (device 4711; owner@mail.example)")
    found = subscriptions.find(connection, token)
    assert found is not None
    assert (found.fetched, found.fetched_by) == (later, "Harbour-Agenda")
    assert "4711" not in "\n".join(connection.iterdump())


@pytest.mark.parametrize(
    ("agent", "family"),
    [
        ("Agenda/1.0 (X)", "Agenda"),
        ("Two Words/3", "Two Words"),
        ("", "unknown"),
        ("/1.0", "unknown"),
        ("<script>alert(1)</script>", "scriptalert1"),
        ("a\r\nSet-Cookie: b", "a Set-Cookie b"),
        ("x" * 500, "x" * 40),
    ],
)
def test_a_family_is_a_few_plain_letters(agent: str, family: str) -> None:
    """Whatever a client sends cannot break a page or a line."""
    assert subscriptions.client_family(agent) == family


def test_two_calendars_have_two_tokens(connection: sqlite3.Connection) -> None:
    """One address a reader, revocable alone."""
    tokens = {subscriptions.add(connection, f"Quay {n}", EACH, NOW) for n in range(20)}
    assert len(tokens) == 20
    for number, token in enumerate(sorted(tokens)):
        assert subscriptions.find(connection, token) is not None, number
