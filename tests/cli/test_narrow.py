"""Tables on a narrow terminal: no line is longer than it, nothing is left out."""

from __future__ import annotations

import pytest

from tests.cli.cli_run import done

WIDE = 200


def told(*words: str) -> str:
    """Return what a command prints."""
    return done(*words, as_of="2026-03-06").out


@pytest.mark.parametrize("words", [("plant", "list"), ("place", "list"), ("profiles", "list", "media")])
def test_a_wide_table_is_folded_on_a_narrow_terminal(
    home: object, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
) -> None:
    """At 44 letters each row is a block of short lines; at 200 the same cells stand on one line."""
    assert home
    told("init", "Quay", "--latitude", "54.3", "--longitude", "10", "--timezone", "Europe/Berlin")
    told("place", "add", "long-window-sill", "--kind", "warm-sill", "--aspect", "E")
    told("plant", "add", "tide", "--medium", "expanded-clay", "--container", "clear-plastic", "--size", "12",
         "--place", "long-window-sill", "--roots", "6", "--watered", "yesterday")  # fmt: skip
    monkeypatch.setenv("COLUMNS", str(WIDE))
    wide = told(*words)
    monkeypatch.setenv("COLUMNS", "44")
    narrow = told(*words)
    assert max(map(len, narrow.splitlines())) <= 44
    cells = [cell for line in wide.splitlines()[1:] for cell in line.split() if cell != "-"]
    assert [cell for cell in cells if cell not in narrow] == []
    monkeypatch.delenv("COLUMNS")
    assert told(*words) == wide
