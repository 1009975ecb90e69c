"""Conditional answers for bytes that are kept: one strong validator per coding, 304 where nothing changed."""

from __future__ import annotations

from email.utils import format_datetime, parsedate_to_datetime
from typing import TYPE_CHECKING

from starlette.responses import Response

if TYPE_CHECKING:
    from datetime import datetime

    from starlette.requests import Request

__all__ = ["is_unchanged", "not_modified", "tag_of", "validator_headers", "wants_gzip"]

GZIP_SUFFIX = "-gzip"


def wants_gzip(accept_encoding: str) -> bool:
    """Return whether a request takes gzip: named, or by `*`, and not with a weight of 0 (RFC 9110 section 12.5.3)."""
    weights = {}
    for part in accept_encoding.split(","):
        name, _, rest = part.strip().partition(";")
        weights[name.strip().lower()] = _weight(rest)
    weight = weights.get("gzip", weights.get("*", 0.0))
    return weight > 0


def _weight(parameters: str) -> float:
    key, _, value = parameters.partition("=")
    if key.strip().lower() != "q":
        return 1.0
    try:
        return float(value)
    except ValueError:
        return 0.0


def tag_of(etag: str, *, gzipped: bool) -> str:
    """Return the strong ETag of one coding (RFC 9110 section 8.8.3.3)."""
    return f'"{etag}{GZIP_SUFFIX if gzipped else ""}"'


def validator_headers(etag: str, modified: datetime, *, gzipped: bool) -> dict[str, str]:
    """Return the headers that stand on 200 and 304 alike."""
    return {
        "ETag": tag_of(etag, gzipped=gzipped),
        "Last-Modified": format_datetime(modified, usegmt=True),
        "Vary": "Accept-Encoding",
        "Cache-Control": "private, no-cache",
    }


def is_unchanged(request: Request, etag: str, modified: datetime) -> bool:
    """Return whether the asker holds these bytes already, in either coding.

    If-None-Match goes before If-Modified-Since (RFC 9110 section 13.2.2); a date that cannot be read counts for
    nothing.
    """
    known = request.headers.get("if-none-match")
    if known is not None:
        tags = [part.strip().removeprefix("W/") for part in known.split(",")]
        return "*" in tags or any(tag_of(etag, gzipped=gzipped) in tags for gzipped in (False, True))
    since = request.headers.get("if-modified-since")
    if since is None:
        return False
    try:
        return modified.replace(microsecond=0) <= parsedate_to_datetime(since)
    except (TypeError, ValueError):
        return False


def not_modified(headers: dict[str, str]) -> Response:
    """Return the empty answer to one who holds the bytes."""
    return Response(status_code=304, headers=headers)
