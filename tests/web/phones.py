"""A calendar program as the standards write it, with an account at the house by the harbour."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import icalendar
from defusedxml import ElementTree
from httpx2 import Response
from starlette.testclient import TestClient

from carecal.app import Collection

__all__ = ["COMPLETED", "HEAD", "NAME", "NAMESPACES", "TO_GO", "C", "D", "Phone"]

D, C = "{DAV:}", "{urn:ietf:params:xml:ns:caldav}"
NAME = "kitchen-phone"
HEAD = '<?xml version="1.0"?>'
NAMESPACES = 'xmlns="DAV:" xmlns:C="urn:ietf:params:xml:ns:caldav" xmlns:A="http://apple.com/ns/ical/"'


class Phone:
    """A calendar program that writes what the standards name."""

    others = ""  # path of a to-do that is somebody else's

    def __init__(self, client: TestClient, folder: Path, password: str) -> None:
        self.client, self.folder, self.password = client, folder, password

    def ask(self, method: str, path: str, body: str = "", **headers: str) -> Response:
        """Return the answer to a request with the account's name and password."""
        sent = {"Content-Type": "application/xml", **{k.replace("_", "-"): v for k, v in headers.items()}}
        return self.client.request(
            method,
            path,
            content=(HEAD + body if body else "").encode(),
            headers=sent,
            auth=(NAME, self.password),
        )

    def props(self, path: str, *names: str, depth: str = "0") -> dict[str, Any]:
        """Return each resource that a PROPFIND tells of, by path."""
        asked = "".join(f"<{name}/>" for name in names)
        answer = self.ask(
            "PROPFIND", path, f"<propfind {NAMESPACES}><prop>{asked}</prop></propfind>", Depth=depth
        )
        assert answer.status_code == 207, answer.text
        return {
            str(row.findtext(f"{D}href")): row
            for row in ElementTree.fromstring(answer.text).iter(f"{D}response")
        }

    def synced(self, token: str = "") -> tuple[str, set[str], set[str]]:
        """Return the token of the to-dos, and what came or changed and what went since another."""
        asked = f"<sync-collection {NAMESPACES}><sync-token>{token}</sync-token><sync-level>1</sync-level>"
        answer = self.ask("REPORT", f"/dav/{NAME}/todo/", f"{asked}<prop><getetag/></prop></sync-collection>")
        assert answer.status_code == 207, answer.text
        root = ElementTree.fromstring(answer.text)
        rows = list(root.iter(f"{D}response"))
        gone = {str(row.findtext(f"{D}href")) for row in rows if "404" in str(row.findtext(f"{D}status"))}
        all_of_them = {str(row.findtext(f"{D}href")) for row in rows}
        return str(root.findtext(f"{D}sync-token")), all_of_them - gone, gone

    def todos(self) -> dict[str, Any]:
        """Return each to-do by path, read by icalendar."""
        _, paths, _ = self.synced()
        hrefs = "".join(f"<href>{path}</href>" for path in sorted(paths))
        asked = f"<C:calendar-multiget {NAMESPACES}><prop><getetag/><C:calendar-data/></prop>"
        body = f"{asked}{hrefs}</C:calendar-multiget>"
        root = ElementTree.fromstring(self.ask("REPORT", f"/dav/{NAME}/todo/", body).text)
        found = {}
        for row in root.iter(f"{D}response"):
            (todo,) = icalendar.Calendar.from_ical(str(next(row.iter(f"{C}calendar-data")).text)).walk(
                "VTODO"
            )
            found[str(row.findtext(f"{D}href"))] = todo
        return found

    def todo(self, name: str, *, is_open: bool = True) -> str:
        """Return the path of a plant's wetting."""
        return next(
            path
            for path, todo in self.todos().items()
            if name in str(todo["SUMMARY"])
            and (todo.get("STATUS") != "COMPLETED") == is_open
            and "INSPECTION" not in todo["CATEGORIES"].cats
        )

    def put(self, path: str, change: dict[str, str], drop: tuple[str, ...] = (), **headers: str) -> Response:
        """Write a to-do back with some lines changed, as a program does."""
        lines = self.ask("GET", path).text.replace("\r\n ", "").split("\r\n")
        kept = [line for line in lines if re.split("[:;]", line)[0] not in {*change, *drop}]
        at = kept.index("END:VTODO")
        content = "\r\n".join([*kept[:at], *(f"{key}:{value}" for key, value in change.items()), *kept[at:]])
        sent = {
            "Content-Type": "text/calendar; charset=utf-8",
            **{k.replace("_", "-"): v for k, v in headers.items()},
        }
        return self.client.put(path, content=content.encode(), headers=sent, auth=(NAME, self.password))

    def entries(self) -> list[tuple[str, str, str, str, str]]:
        """Return kind, care, day, author and note of what was written since the house was made."""
        with Collection.open(self.folder) as collection:
            records = [r for r in collection.journal.records() if r.by == NAME]
        return [
            (r.kind, str(r.data.get("care", "")), r.on.isoformat(), r.by, str(r.data.get("note") or ""))
            for r in records
        ]


COMPLETED = {"STATUS": "COMPLETED", "PERCENT-COMPLETE": "100", "COMPLETED": "20261021T064500Z"}
TO_GO = ("STATUS", "PERCENT-COMPLETE", "COMPLETED")
