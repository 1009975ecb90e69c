"""A page with a form filled in as it was sent: same fields, kinds, units and choices, the faulty one marked.

It works on our own pages, which are well formed; it decides nothing and writes nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from html import escape
from html.parser import HTMLParser

__all__ = ["Again", "refilled"]

DECIDING = ("do", "key", "place", "name", "entry")
"""Fields that tell forms of one page apart: a form that fixes one of them to something else is another."""


@dataclass(frozen=True, slots=True)
class Again:
    """A form to be shown once more.

    Args:
        path: Where it was sent.
        sent: Its fields as they were sent, tokens and files left out.
        problem: Why it was refused; '' where it was only interrupted.
        fault: Name of the field at fault; '' where that is not known.
    """

    path: str
    sent: tuple[tuple[str, str], ...]
    problem: str = ""
    fault: str = ""

    def values(self, name: str) -> list[str]:
        """Return what was sent of a field."""
        return [value for key, value in self.sent if key == name]


@dataclass
class _Form:
    start: int
    end: int = 0
    action: str = ""
    fixed: dict[str, set[str]] = field(default_factory=dict)
    names: set[str] = field(default_factory=set)
    folds: list[int] = field(default_factory=list)


class _Forms(HTMLParser):
    """Finds the forms of a page and the folds that they lie in."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.lines = [0]
        for line in page.split("\n"):
            self.lines.append(self.lines[-1] + len(line) + 1)
        self.forms: list[_Form] = []
        self.folds: list[int] = []
        self.open: _Form | None = None
        self.feed(page)

    def _at(self) -> int:
        line, column = self.getpos()
        return self.lines[line - 1] + column

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attrs}
        if tag == "details":
            self.folds.append(self._at())
        elif tag == "form":
            self.open = _Form(self._at(), action=found.get("action", ""), folds=list(self.folds))
            self.forms.append(self.open)
        elif self.open is not None and found.get("name"):
            name = found["name"]
            self.open.names.add(name)
            if name in DECIDING and (tag == "button" or found.get("type") == "hidden"):
                self.open.fixed.setdefault(name, set()).add(found.get("value", ""))

    def handle_endtag(self, tag: str) -> None:
        if tag == "details" and self.folds:
            self.folds.pop()
        elif tag == "form" and self.open is not None:
            self.open.end = self._at()
            self.open = None


class _Filled(HTMLParser):
    """Writes one form anew with its values."""

    def __init__(self, source: str, again: Again) -> None:
        super().__init__(convert_charrefs=False)
        self.out: list[str] = []
        self.again = again
        self.left = {name: again.values(name) for name, _ in again.sent}
        self.select: list[str] | None = None
        self.skips = ""
        self.feed(source)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        name, kind = found.get("name") or "", found.get("type")
        if tag == "form":
            self._put(tag, found)
            if self.again.problem:
                self.out.append(f'<p class="fault" role="alert" id="fault">{escape(self.again.problem)}</p>')
            return
        if tag == "option":
            found.pop("selected", None)
            if self.select is not None and found.get("value", "") in self.select:
                found["selected"] = None
        elif tag == "input" and kind in {"checkbox", "radio"}:
            found.pop("checked", None)
            if (found.get("value") or "on") in self.again.values(name):
                found["checked"] = None
        elif tag == "input" and kind not in {"hidden", "file", "password"} and name:
            values = self.left.get(name) or [""]
            found["value"] = values.pop(0) if len(values) > 1 else values[0]
            if kind == "number" and not _is_number(str(found["value"])):
                found["type"] = "text"  # a browser shows no other text in a field of numbers
        if name and name == self.again.fault and kind != "hidden" and tag != "button":
            found |= {"aria-invalid": "true", "aria-describedby": "fault", "autofocus": None}
        self._put(tag, found)
        if tag == "select":
            self.select = self.again.values(name) or [""]
        elif tag == "textarea":
            self.out.append("\n" + escape("".join(self.again.values(name))))
            self.skips = tag

    def handle_endtag(self, tag: str) -> None:
        self.skips = "" if tag == self.skips else self.skips
        self.select = None if tag == "select" else self.select
        self.out.append(f"</{tag}>")

    def handle_data(self, data: str) -> None:
        if not self.skips:
            self.out.append(data)

    def handle_entityref(self, name: str) -> None:
        self.handle_data(f"&{name};")

    def handle_charref(self, name: str) -> None:
        self.handle_data(f"&#{name};")

    def _put(self, tag: str, attrs: dict[str, str | None]) -> None:
        words = "".join(f" {k}" if v is None else f' {k}="{escape(v)}"' for k, v in attrs.items())
        self.out.append(f"<{tag}{words}>")


def refilled(page: str, again: Again) -> str | None:
    """Return a page with the form that was sent filled in, its folds open; None where the page has no such form.

    Args:
        page: The page as it is without.
        again: What was sent.
    """
    forms = [f for f in _Forms(page).forms if f.end and f.action == again.path and _is_it(f, again)]
    if not forms:
        return None
    names = {name for name, _ in again.sent}
    form = max(forms, key=lambda f: (len(f.names & names), -len(f.names)))
    done = "".join(_Filled(page[form.start : form.end], again).out)
    page = page[: form.start] + done + page[form.end :]
    for at in reversed(form.folds):
        end = page.index(">", at)
        if " open" not in page[at:end]:
            page = f"{page[:end]} open{page[end:]}"
    return page


def _is_it(form: _Form, again: Again) -> bool:
    """Return whether a form could have sent this: what it fixes is what was sent, and its fields are there."""
    visible = form.names - {"form_token"}
    fits = all(set(again.values(name)) & values for name, values in form.fixed.items() if again.values(name))
    return fits and "do" in visible and any(name in visible for name, _ in again.sent if name != "do")


def _is_number(text: str) -> bool:
    try:
        float(text or "0")
    except ValueError:
        return False
    return True
