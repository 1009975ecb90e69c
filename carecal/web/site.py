"""What the pages of one server share: the folder, the clock, templates, keys, and what is kept only while it runs."""

from __future__ import annotations

import threading
from dataclasses import dataclass, field
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from itsdangerous import BadSignature, Signer

from carecal.app.people.owner import hasher, signing_key
from carecal.catalog.digest import content_digest
from carecal.web.guesses import Guesses
from carecal.web.templating import environment

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date
    from pathlib import Path

    from argon2 import PasswordHasher
    from jinja2 import Environment
    from starlette.requests import Request

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.plan.model import Plan

__all__ = ["Site"]

MOST_TOLD = 200  # sessions whose last message is kept until it is read
MOST_PLANNED = 200  # plants of a plan that stays in memory; our choice, because that is about 8 MB
MOST_SENT = 2000  # forms that are known by their mark, so that none is written twice


@dataclass
class Site:
    """One server of one collection.

    Args:
        folder: The collection's folder.
        clock: Gives the moment of a request; tests give their own.
        base: Address under which others reach it, as 'http://quay.local:8321'; '' where nobody said.
    """

    folder: Path
    clock: Callable[[Collection], Now]
    base: str = ""
    crypt: PasswordHasher = field(default_factory=hasher)
    env: Environment = field(default_factory=environment)
    guesses: Guesses = field(default_factory=Guesses)
    one_login: threading.Lock = field(default_factory=threading.Lock)
    _told: dict[str, dict[str, Any]] = field(default_factory=dict)
    _sent: dict[str, None] = field(default_factory=dict)
    _key: str = ""
    _plan: tuple[object, Plan] | None = None

    def plan(self, collection: Collection, as_of: date) -> Plan:
        """Return the plan of a day; the last one stays while nothing it rests on changed, for who leafs on."""
        stamp = (as_of, collection.journal.head(), content_digest(collection.folder))
        kept = self._plan
        if kept is not None and kept[0] == stamp:
            return kept[1]
        plan = collection.plan(as_of)
        self._plan = (stamp, plan) if len(plan.plants) <= MOST_PLANNED else None
        return plan

    def is_secure(self, request: Request) -> bool:
        """Return whether a request came by https: to this server, or to a proxy under the public address."""
        host = request.headers.get("host", "").lower()
        return request.url.scheme == "https" or self.base.lower() == f"https://{host}"

    def cookie(self, request: Request) -> str:
        """Return the name of the session's cookie; by https it is bound to this host alone."""
        return "__Host-carecal" if self.is_secure(request) else "carecal"

    def key(self, collection: Collection) -> str:
        """Return the key that signs, read once."""
        if not self._key:
            self._key = signing_key(collection)
        return self._key

    def signed(self, collection: Collection, session: str) -> str:
        """Return a session's id as the cookie has it."""
        return self._signer(collection, "session").sign(session).decode()

    def session_in(self, collection: Collection, cookie: str) -> str | None:
        """Return the session's id in a cookie; None where we did not sign it."""
        try:
            return self._signer(collection, "session").unsign(cookie).decode()
        except (BadSignature, UnicodeError):
            return None

    def form_token(self, collection: Collection, session: str, nonce: str) -> str:
        """Return the token that the forms of one page of a session carry.

        Each page signs its own nonce, so that no part of it stands on two pages and compression tells nothing of it.
        """
        return f"{self._signer(collection, 'form').get_signature(session + nonce).decode()}.{nonce}"

    def has_signed(self, collection: Collection, session: str, token: str) -> bool:
        """Return whether a form's token is that of a session, told in a time that tells nothing."""
        signature, _, nonce = token.partition(".")
        return self._signer(collection, "form").verify_signature(session + nonce, signature.encode())

    def _signer(self, collection: Collection, salt: str) -> Signer:
        return Signer(self.key(collection), salt=salt, digest_method=sha256)

    def was_sent(self, mark: str) -> bool:
        """Return whether a form was written down before, by its mark."""
        return mark in self._sent

    def remember_sent(self, mark: str) -> None:
        """Keep the mark of a form that was written down."""
        if len(self._sent) >= MOST_SENT:
            self._sent.pop(next(iter(self._sent)), None)
        self._sent[mark] = None

    def tell(self, session: str, **message: Any) -> None:
        """Keep a message for the next page that a session reads."""
        if len(self._told) >= MOST_TOLD:
            self._told.pop(next(iter(self._told)), None)
        self._told[session] = message

    def told(self, session: str) -> dict[str, Any]:
        """Return the message that waits for a session, once."""
        return self._told.pop(session, {})
