"""Accounts on the command line: shown once, listed, revoked; the oracle is what the commands print."""

from __future__ import annotations

import pytest

from tests.cli.cli_run import done, refused, start

pytestmark = pytest.mark.usefixtures("home")


def test_an_account_is_added_listed_and_revoked() -> None:
    """Address, user and password once and in no list; both calendars are the account's; revoked they are gone."""
    start()
    told = done("--json", "calendar", "add", "phone", "--account").json
    assert (sorted(told), told["user"], len(told["password"])) == (
        ["address", "password", "user"],
        "phone",
        20,
    )
    rows = done("--json", "calendar", "list").json
    assert [(row["name"], row["account"]) for row in rows] == [
        ("phone care", "phone"),
        ("phone to do", "phone"),
    ]
    listed = done("calendar", "list").out
    assert ("each, todos, account phone" in listed, told["password"] in listed) == (True, False)
    assert "the account phone is revoked" in done("calendar", "revoke", "phone").out
    assert done("--json", "calendar", "list").json == []


def test_one_name_is_one_thing() -> None:
    """No calendar has an account's name, no account a calendar's; an account's calendar gets no address of its own."""
    start()
    done("calendar", "add", "kitchen")
    assert "a calendar 'kitchen' exists" in refused("calendar", "add", "kitchen", "--account")
    done("calendar", "add", "phone", "--account")
    assert "an account 'phone' exists" in refused("calendar", "add", "phone", "--account")
    assert "belongs to the account phone" in refused("calendar", "add", "phone")
    assert "belongs to the account phone" in refused("calendar", "qr", "phone care", "--yes")
    assert "the account phone is revoked" in done("calendar", "revoke", "phone to do").out
    assert [row["name"] for row in done("--json", "calendar", "list").json] == ["kitchen"]
