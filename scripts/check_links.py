"""Check that every relative link of every page leads to a file and a heading that exist; it fetches nothing."""

from __future__ import annotations

import re
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
REQUIRED = ("README.md", "DEVELOPERS.md", "CHANGELOG.md")
FOLDERS = ("carecal", "profiles", "shared", "tests", "examples", "scripts", "docs")
FENCE = re.compile(r"^(```|~~~).*?^\1", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"\[[^\]]*\]\(\s*<?([^)>\s]+)>?[^)]*\)|^\[[^\]]+\]:\s*(\S+)", re.MULTILINE)
HEADING = re.compile(r"^#{1,6}\s+(.+?)\s*#*$", re.MULTILINE)
EXTERNAL = re.compile(r"^[a-z][a-z0-9+.-]*:", re.IGNORECASE)


def documents() -> list[Path]:
    """Return every page of the tree, those that must be there first of all."""
    inside = (path for folder in FOLDERS for path in (ROOT / folder).rglob("*.md"))
    return sorted({ROOT / name for name in REQUIRED} | set(ROOT.glob("*.md")) | set(inside))


def anchors(document: Path) -> set[str]:
    """Return the anchors that the headings of a document give."""
    text = FENCE.sub("", document.read_text(encoding="utf-8"))
    bare = (re.sub(r"[^\w\- ]", "", heading.lower()) for heading in HEADING.findall(text))
    return {heading.replace(" ", "-") for heading in bare}


def faults(document: Path) -> list[str]:
    """Return one line for each relative link of a document that leads nowhere."""
    text = FENCE.sub("", document.read_text(encoding="utf-8"))
    found = []
    for inline, reference in LINK.findall(text):
        link = inline or reference
        if EXTERNAL.match(link):
            continue
        path, _, anchor = link.partition("#")
        target = document.parent / path if path else document
        if not target.exists():
            found.append(f"{document.relative_to(ROOT)}: no such file: '{link}'")
        elif anchor and target.suffix == ".md" and anchor not in anchors(target):
            found.append(f"{document.relative_to(ROOT)}: no such heading: '{link}'")
    return found


def main() -> int:
    """Write every fault of every document; return 1 when there is any."""
    found = documents()
    lines = [f"{path.relative_to(ROOT)}: missing" for path in found if not path.is_file()]
    for document in found:
        if document.is_file():
            lines += faults(document)
    sys.stdout.write("".join(f"{line}\n" for line in lines))
    return 1 if lines else 0


if __name__ == "__main__":
    sys.exit(main())
