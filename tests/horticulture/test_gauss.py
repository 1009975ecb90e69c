"""The normal distribution against scipy's, far into the tails."""

from __future__ import annotations

import pytest
from scipy import stats

from carecal.errors import Refused
from carecal.horticulture import gauss


@pytest.mark.parametrize("z", [-8, -1, 0, 0.5, 3, 10, 24.9, 25.1, 36])
def test_hazard_agrees_with_scipy(z: float) -> None:
    """Density over upper tail agrees with scipy, where the tail nearly vanishes as well."""
    by_logs = float(stats.norm.logpdf(z) - stats.norm.logsf(z))
    assert gauss.hazard(z) == pytest.approx(2.718281828459045**by_logs, rel=1e-5)


@pytest.mark.parametrize("share", [1e-6, 0.5, 0.8, 0.95, 0.999])
def test_half_width_agrees_with_scipy(share: float) -> None:
    """The half width of a central interval agrees with scipy."""
    assert gauss.two_sided(share) == pytest.approx(stats.norm.ppf((1 + share) / 2), abs=1e-10)


def test_hazard_stays_finite_far_out() -> None:
    """Where the tail underflows the ratio goes on by its expansion: about z."""
    assert gauss.hazard(100) == pytest.approx(100.01, abs=1e-3)


@pytest.mark.parametrize("confidence", [0, 1, -0.5, 2])
def test_certainty_has_no_interval(confidence: float) -> None:
    """A confidence of 0 or 1 is refused with its value."""
    with pytest.raises(Refused, match="must lie between 0 and 1"):
        gauss.two_sided(confidence)
