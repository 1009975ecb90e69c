"""One-time addresses, password and sessions; oracle: interface §6 (15 minutes, once) and what was typed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from argon2 import PasswordHasher, profiles

from carecal.app import Collection, Now
from carecal.app.people.owner import (
    SESSION_DAYS,
    begin_session,
    end_session,
    has_password,
    is_one_time,
    one_time_path,
    password_fits,
    session_lives,
    set_password,
    signing_key,
)
from carecal.errors import Refused
from tests.stories.quay import TODAY, make_quay, moment

CHEAP = PasswordHasher.from_parameters(profiles.CHEAPEST)
PASSWORD = "ten signs or more"  # noqa: S105 - of a collection that lives for one test


@pytest.fixture
def collection(quay_copy: Path) -> Iterator[Collection]:
    """Return a collection without a password."""
    with Collection.open(quay_copy) as opened:
        yield opened


def _after(**span: float) -> Now:
    now = moment(TODAY)
    return replace(now, clock=now.clock + timedelta(**span), written=now.written + timedelta(**span))


def _token(collection: Collection) -> str:
    return one_time_path(collection, moment(TODAY)).rpartition("/")[2]


@pytest.mark.parametrize(
    ("minutes", "holds"),
    [(0, True), (15, True), (15.1, False), (60, False)],
    ids=["at once", "at the end", "a little later", "an hour later"],
)
def test_a_one_time_address_holds_for_fifteen_minutes(
    collection: Collection, minutes: float, holds: bool
) -> None:
    """Both ends included."""
    token = _token(collection)
    assert is_one_time(collection, _after(minutes=minutes), token) is holds


def test_a_one_time_address_sets_the_password_once(collection: Collection) -> None:
    """The second time it is refused, and the first password stays."""
    token = _token(collection)
    assert not has_password(collection)
    set_password(collection, _after(minutes=1), token, PASSWORD, CHEAP)
    assert password_fits(collection, PASSWORD, CHEAP)
    with pytest.raises(Refused, match="has been used or is too old"):
        set_password(collection, _after(minutes=2), token, "another password", CHEAP)
    assert password_fits(collection, PASSWORD, CHEAP)
    assert not password_fits(collection, "another password", CHEAP)


def test_a_new_one_time_address_voids_the_one_before(collection: Collection) -> None:
    """Two starts of the server leave one address that works."""
    first, second = _token(collection), _token(collection)
    assert not is_one_time(collection, moment(TODAY), first)
    assert is_one_time(collection, moment(TODAY), second)


@pytest.mark.parametrize("password", ["", "nine sign", "x" * 201])
def test_a_password_of_a_wrong_length_is_refused(collection: Collection, password: str) -> None:
    """Under ten signs or over two hundred; the address can be used again."""
    token = _token(collection)
    with pytest.raises(Refused, match="allowed are 10 to 200"):
        set_password(collection, moment(TODAY), token, password, CHEAP)
    assert is_one_time(collection, moment(TODAY), token)
    assert not has_password(collection)


def test_no_secret_stands_in_the_file_as_it_is(collection: Collection) -> None:
    """Neither password, one-time token nor session: the dump of the whole database is the oracle."""
    token = _token(collection)
    set_password(collection, moment(TODAY), token, PASSWORD, CHEAP)
    session = begin_session(collection, moment(TODAY))
    dump = "\n".join(collection.journal.connection.iterdump())
    assert "$argon2id$" in dump
    assert not [secret for secret in (PASSWORD, token, session) if secret in dump]


def test_nobody_fits_while_no_password_is_set(collection: Collection) -> None:
    """An empty collection lets nobody in, whatever is typed."""
    assert not password_fits(collection, "nobody's password", CHEAP)


def test_a_new_password_ends_every_session(collection: Collection) -> None:
    """Whoever was signed in by the old one is out."""
    session = begin_session(collection, moment(TODAY))
    set_password(collection, moment(TODAY), _token(collection), PASSWORD, CHEAP)
    assert not session_lives(collection, moment(TODAY), session)


def test_sessions_begin_end_and_grow_old(collection: Collection) -> None:
    """One ended leaves the other; an old one is none; all can be ended."""
    one, two = begin_session(collection, moment(TODAY)), begin_session(collection, moment(TODAY))
    assert session_lives(collection, _after(days=SESSION_DAYS), one)
    assert not session_lives(collection, _after(days=SESSION_DAYS, seconds=1), one)
    end_session(collection, one)
    assert [session_lives(collection, moment(TODAY), each) for each in (one, two, "never begun")] == [
        False,
        True,
        False,
    ]


def test_the_signing_key_is_made_once_for_each_collection(collection: Collection, tmp_path: Path) -> None:
    """Two collections have two keys of 256 bits."""
    make_quay(tmp_path / "other")
    with Collection.open(tmp_path / "other") as other:
        assert signing_key(collection) == signing_key(collection) != signing_key(other)
    assert len(signing_key(collection)) == 64
