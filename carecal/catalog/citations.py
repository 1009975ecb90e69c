"""The keys of sources that a text cites; which keys exist is for the caller to know."""

from __future__ import annotations

import re

__all__ = ["cited_keys"]

# A key is written in capitals, as FAO56 or AOS-PHAL; two letters are a unit or a country.
_KEY = re.compile(r"(?<![\w-])[A-Z][A-Z0-9]{2,}(?:-[A-Z0-9]+)*(?![\w])")
# A letter and digits name an equation or a row of a table, as W2 or P30.
_LABEL = re.compile(r"[A-Z]\d+(?:-[A-Z]\d+)*")
_ABBREVIATIONS = frozenset({"ASHRAE", "CAM", "CBM", "LED", "NPK", "PAR", "PPFD", "TDS", "USA", "VPD"})


def cited_keys(text: str) -> tuple[str, ...]:
    """Keys of sources in a text such as 'AOS-PHAL: 60 F; RHS', in order.

    Prose such as 'our choice, because …', 'common practice (no source)' or 'from memory' cites no key.
    """
    return tuple(
        word for word in _KEY.findall(text) if not _LABEL.fullmatch(word) and word not in _ABBREVIATIONS
    )
