"""What a rule rests on in words; expected texts worked by hand from the words of sources."""

from __future__ import annotations

import pytest

from carecal.wording.grounds import choices_in, ground_text, side_text


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ("our choice, because each wetting is a look too", ["each wetting is a look too"]),
        ("RHS: nights 16-19; our choice, because uptake slows; 1 C of hysteresis", ["uptake slows"]),
        ("AOS-PHAL; 17 C: our choice, because wet pots run below air", ["17 C: wet pots run below air"]),
        ("our choice: as morning", ["as morning"]),
        ("common practice (no source): monthly", []),
        ("HACKNEY: the pot", []),
    ],
)
def test_our_own_choices_are_found_in_the_words_of_a_source(source: str, expected: list[str]) -> None:
    """Each with its reason, and with what it is about where that is told."""
    assert choices_in(source) == expected


@pytest.mark.parametrize(
    ("source", "keys", "expected"),
    [
        ("our choice, because a reason", (), "Looks: our choice, because a reason"),
        ("RHS; our choice, because a reason", ("RHS",), "Looks: in part our choice, because a reason; else by RHS"),
        ("common practice (no source); 3: our choice, because a reason", (),
         "Looks: in part our choice, because 3: a reason; else by common practice"),
        ("RHS; RHS 2", ("RHS", "RHS"), "Looks: by RHS"),
        ("from memory", (), "Looks: by common practice"),
        ("the grower decides", (), "Looks: the grower decides"),
    ],
)  # fmt: skip
def test_a_rule_that_rests_on_our_choice_alone_says_so(
    source: str, keys: tuple[str, ...], expected: str
) -> None:
    """Alone, in part, by others, or by the grower."""
    assert ground_text("Looks", source, keys) == expected


@pytest.mark.parametrize(
    ("side", "expected"),
    [
        (
            "a",
            "Mist? Growers differ. Here: never, because crowns rot. Others: daily. "
            "To change it: carecal side misting b --plant tide",
        ),
        (
            "b",
            "Mist? Growers differ. Here: daily (you chose it). Others: never. "
            "To change it: carecal side misting a --plant tide",
        ),
    ],
)
def test_where_growers_differ_both_sides_and_the_way_to_the_other_are_said(side: str, expected: str) -> None:
    """The side taken with its reason, or that it was chosen; what others do; the command."""
    row = {
        "key": "misting",
        "question": "Mist?",
        "a": "never",
        "b": "daily",
        "default": "a",
        "because": "crowns rot",
        "side": side,
    }
    assert side_text(row, "tide") == expected
