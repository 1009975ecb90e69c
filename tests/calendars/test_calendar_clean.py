"""The border for free text. Oracle: RFC 5545 3.1 and 3.3.11, worked by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.errors import Refused
from carecal.wording.clean import NAME_MAX, calendar_name, check_calendar_name, clean, clean_line


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        pytest.param("a\r\nb\rc\nd", "a\nb\nc\nd", id="line ends become line feeds"),
        pytest.param("a\u2028b\u2029c\x85d", "a\nb\nc\nd", id="so do the separators of Unicode"),
        pytest.param("a\tb", "a\tb", id="a tab stays"),
        pytest.param("a\x00\x07\x0b\x0c\x1b\x1f\x7f\x9fb", "ab", id="controls go"),
        pytest.param("a\ud800b\udfff", "ab", id="lone surrogates go"),
        pytest.param("\ufeffa\ufeff", "a", id="byte order marks go"),
        pytest.param(r"C:\New\notes", r"C:\ New\ notes", id="a backslash is parted from N and n"),
        pytest.param(r"a\\Nb", r"a\\ Nb", id="the last of two as well"),
        pytest.param(r"\;\,\x", r"\;\,\x", id="other backslashes stay"),
        pytest.param("\\\ufeffN", "\\ N", id="what stood between them may have gone"),
        pytest.param(
            "e\u0301 \U0001f469\u200d\U0001f33e", "e\u0301 \U0001f469\u200d\U0001f33e", id="joiners stay"
        ),
    ],
)
def test_text_is_cleaned(text: str, wanted: str) -> None:
    """One row a rule."""
    assert clean(text) == wanted


@given(st.text(alphabet=st.characters() | st.sampled_from("\\nN\r\n\ufeff\x07")))
def test_cleaning_twice_changes_nothing_more(text: str) -> None:
    """So a text may pass the border at any depth."""
    assert clean(clean(text)) == clean(text)
    assert clean_line(clean_line(text)) == clean_line(text)
    clean(text).encode("utf-8")


@given(st.text(max_size=100))
def test_a_calendar_name_holds_nothing_to_escape(text: str) -> None:
    """Some readers show the escapes, so there are none; a name that needs no change is not changed."""
    name = calendar_name(text)
    assert not set(name) & set(",;\\\n\r")
    assert len(name) <= NAME_MAX
    assert calendar_name(name) == name


@pytest.mark.parametrize("name", ["Windowsill east", "Østre vindu", "蘭", "x" * NAME_MAX])
def test_a_fit_name_is_taken_as_it_is(name: str) -> None:
    """Letters of all scripts, up to the length."""
    assert check_calendar_name(name) == name


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("", "has 0 characters; allowed: 1 to 60"),
        ("   ", "allowed: 1 to 60"),
        ("x" * 61, "has 61 characters"),
        ("sill, east", "holds ','; allowed"),
        ("sill; east", "holds ';'"),
        ("sill\\east", r"holds '\\'"),
        ("sill\neast", "holds u\\+000a"),
        ("sill\x07east", "holds u\\+0007"),
        ("sill\u2028east", "holds line separator"),
    ],
)
def test_an_unfit_name_is_refused(name: str, message: str) -> None:
    """The message is one line itself."""
    with pytest.raises(Refused, match=message) as caught:
        check_calendar_name(name)
    assert "\n" not in str(caught.value)
