"""Servers on this machine alone, for the length of a test."""

from __future__ import annotations

from collections.abc import Callable
from http.server import BaseHTTPRequestHandler

__all__ = ["Serve"]

Serve = Callable[[type[BaseHTTPRequestHandler]], str]
