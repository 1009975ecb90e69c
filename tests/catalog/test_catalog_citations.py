"""Every source key cited in a docstring or comment of the code stands in the table of sources."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import carecal
from carecal.catalog.citations import cited_keys
from carecal.catalog.load import load_catalog

CODE = sorted(Path(carecal.__file__).parent.rglob("*.py"))
# From 'Source:' to the end of the docstring, a blank line, the next heading or, in a comment, the next code.
SOURCE = re.compile(r"# Source: .+(?:\n *#.+)*|^ +Source: .+(?:\n(?! *\"| *\w+:) +.+)*", re.MULTILINE)
# A standard named by number is its own source; the words of it are no keys.
STANDARD = re.compile(r"RFC \d+[^;]*")


@pytest.mark.parametrize(
    ("text", "keys"),
    [
        ("FAO56 eq. 19", ("FAO56",)),
        ("AOS-PHAL: 60 F; RHS", ("AOS-PHAL", "RHS")),
        ("PALOMAR, KOS, MBG: new roots", ("PALOMAR", "KOS", "MBG")),
        ("as printed (HORT2023)", ("HORT2023",)),
        ("our choice, because nights under 16 C at 45 % RH hurt; EC below 1", ()),
        ("common practice (no source): see P30 and W1-W2", ()),
        ("from memory", ()),
    ],
)
def test_keys_are_told_from_prose(text: str, keys: tuple[str, ...]) -> None:
    """Capital words are keys; units, countries and labels of rows and equations are not; worked by hand."""
    assert cited_keys(text) == keys


def test_each_key_cited_in_the_code_exists() -> None:
    """No `Source:` of a docstring or comment names a key that the table lacks, and some are found."""
    known = load_catalog().sources
    cited = {
        (key, path.name)
        for path in CODE
        for passage in SOURCE.findall(path.read_text(encoding="utf-8"))
        for key in cited_keys(STANDARD.sub("", passage))
    }
    assert {entry for entry in cited if entry[0] not in known} == set()
    assert cited
