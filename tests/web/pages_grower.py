"""What a grower does on the pages in tests: read one, send a form of it as a browser would, look at the journal."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from httpx2 import Response
from starlette.testclient import TestClient

from carecal.app import Collection
from carecal.collection.records import Record

__all__ = ["Grower", "Page", "text_of"]

ROOMS = {"observe": "say", "resume": "pause", "spike": "bloom"}
"""Which page of a plant has a form, where it is not called like the form."""
OTHERS = {
    "away": "/away", "back": "/away", "read": "/away", "spans": "/away", "sitter": "/away", "sitter-end": "/away",
    "pause": "/pause", "resume": "/pause", "plant": "/add", "place": "/add",
}  # fmt: skip
"""Which page has a form that the settings had once."""
VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "wbr"}


def text_of(page: str) -> str:
    """Return what a person reads of a page, blanks as one."""
    bare = re.sub(r"<(script|style|title)\b.*?</\1>", " ", page, flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", bare)).split())


class Page(HTMLParser):
    """A page as a browser takes it apart: its forms with their fields, its links, its ids, what was left open."""

    def __init__(self, source: str) -> None:
        super().__init__()
        self.forms: list[dict[str, Any]] = []
        self.links: list[str] = []
        self.ids: list[str] = []
        self.labels: set[str] = set()
        self.inputs: list[dict[str, str | None]] = []
        self.styled: list[str] = []
        self._open: list[str] = []
        self.wrong: list[str] = []
        self.feed(source)
        self.wrong += self._open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a tag that opens."""
        found = dict(attrs)
        if tag not in VOID:
            self._open.append(tag)
        if found.get("id"):
            self.ids.append(str(found["id"]))
        if "style" in found or any(name.startswith("on") for name in found):
            self.styled.append(f"{tag} {attrs}")
        if tag == "a" and found.get("href"):
            self.links.append(str(found["href"]))
        if tag == "label" and found.get("for"):
            self.labels.add(str(found["for"]))
        if tag == "form":
            self.forms.append(
                {"to": found.get("action"), "method": found.get("method"), "fields": {}, "names": set()}
            )
        if tag in {"input", "select", "textarea", "button"}:
            self.inputs.append({"tag": tag, **found})
            if self.forms and found.get("name"):
                self.forms[-1]["names"].add(found["name"])
                if tag == "input" and found.get("type") == "hidden":
                    self.forms[-1]["fields"][found["name"]] = found.get("value") or ""

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a tag that closes itself, as those of pictures do."""
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self._open.pop()

    def handle_endtag(self, tag: str) -> None:
        """Note a tag that closes."""
        if self._open and self._open[-1] == tag:
            self._open.pop()
        elif tag not in VOID:
            self.wrong.append(f"</{tag}> within {self._open[-2:]}")


@dataclass
class Grower:
    """The owner at the pages of a house."""

    client: TestClient
    folder: Path
    kept: dict[str, Page] = field(default_factory=dict)

    def read(self, path: str, status: int = 200) -> str:
        """Return a page, which must be there."""
        answer = self.client.get(path)
        assert answer.status_code == status, answer.text
        return answer.text

    def page(self, path: str) -> Page:
        """Return a page taken apart."""
        return Page(self.read(path))

    def once(self, path: str) -> Page:
        """Return a page taken apart; asked for once, for those who only read."""
        if path not in self.kept:
            self.kept[path] = self.page(path)
        return self.kept[path]

    def send(self, path: str, did: str, *, files: dict[str, Any] | None = None, **values: Any) -> Response:
        """Send the form that does something; its fields must be on its page.

        `/plants/tide` stands for the plant's room that has the form, `/settings` for the page that has it.
        """
        if path.startswith("/plants/"):
            path = f"{path}/{ROOMS.get(did, did)}"
        elif path == "/settings":
            path = OTHERS.get(did, path)
        form = next(
            f
            for f in self.page(path).forms
            if f["method"] == "post"
            and f["fields"].get("do", did) == did
            and "do" in f["names"]
            and set(values) - {"dry", "sure"} <= f["names"]
        )
        data = {**form["fields"], "do": did, **values}
        return self.client.post(form["to"], data=data, files=files)

    def write(self, path: str, did: str, **values: Any) -> str:
        """Send a form that must be taken, and return the page to which it leads, as text."""
        answer = self.send(path, did, **values)
        assert answer.status_code == 303, text_of(answer.text)
        return text_of(self.read(answer.headers["location"]))

    def records(self) -> list[Record]:
        """Return every record of the journal."""
        with Collection.open(self.folder) as collection:
            return collection.journal.records()

    def newest(self) -> Record:
        """Return the newest record."""
        return self.records()[-1]
