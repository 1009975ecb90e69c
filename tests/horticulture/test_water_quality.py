"""Water that leaves no room for feed, and values that are none; by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.errors import Refused
from carecal.horticulture.water_quality import feed_factor_by_ec, feed_within_ec


@given(st.floats(0, 500), st.floats(0, 3), st.floats(0.1, 2))
def test_feed_and_water_together_never_pass_the_limit(ppm: float, water: float, per_100: float) -> None:
    """Water alone above 1.1 leaves no feed; the sum holds otherwise."""
    got = feed_within_ec(ppm, water, per_100)
    assert 0 <= got <= ppm
    assert got == 0 or water + got / 100 * per_100 <= 1.1 + 1e-9


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: feed_factor_by_ec(-0.1), "conductivity -0.1 mS/cm is negative"),
        (lambda: feed_factor_by_ec(0.5, 0.3), "ec_max 0.3 mS/cm must be above 0.3"),
        (lambda: feed_within_ec(-1, 0.3, 0.7), "strength -1 and conductivity 0.3 may not be negative"),
        (lambda: feed_within_ec(100, 0.3, 0), "ec_per_100_ppm 0 must be above 0"),
    ],
)
def test_values_that_no_water_has_are_refused(call: object, match: str) -> None:
    """The value and what is allowed are named."""
    assert callable(call)
    with pytest.raises(Refused, match=match):
        call()
