"""What an error says to a reader and to whoever types commands; worked by hand."""

from __future__ import annotations

import pytest

from carecal.errors import CarecalError, ConfirmationNeeded, Refused, option, options


@pytest.mark.parametrize(
    ("error", "read", "typed"),
    [
        (Refused("no such day"), "no such day", "no such day"),
        (
            Refused(f"the size is not known; give {option('size')} in cm"),
            "the size is not known; give size in cm",
            "the size is not known; give --size in cm",
        ),
        (
            Refused(f"nothing was said; give {options('roots', 'again-days')}"),
            "nothing was said; give roots, again days",
            "nothing was said; give --roots, --again-days",
        ),
        (
            Refused("tide left", command="log tide"),
            "tide left",
            "tide left; see carecal log tide",
        ),
        (ConfirmationNeeded("twice?"), "twice?", "twice? (answer with --yes to go on)"),
    ],
    ids=["plain", "an option", "several options", "a command", "a question"],
)
def test_an_error_is_read_on_a_page_and_typed_on_a_command_line(
    error: CarecalError, read: str, typed: str
) -> None:
    """A page shows words alone; the command line shows options with their dashes and the command that helps."""
    assert (str(error), error.typed) == (read, typed)
