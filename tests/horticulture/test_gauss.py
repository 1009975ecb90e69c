"""The normal distribution against scipy's, far into the tails."""

from __future__ import annotations

import pytest
from scipy import stats

from carecal.errors import Refused
from carecal.horticulture import gauss


@pytest.mark.parametrize("z", [-8, -1, 0, 0.5, 3, 10, 24.9, 25.1, 36])
def test_tail_and_hazard_agree_with_scipy(z: float) -> None:
    """Density, upper tail and their ratio agree with scipy, where the tail nearly vanishes as well."""
    assert gauss.density(z) == pytest.approx(stats.norm.pdf(z), rel=1e-9)
    assert gauss.upper_tail(z) == pytest.approx(stats.norm.sf(z), rel=1e-9)
    by_logs = float(stats.norm.logpdf(z) - stats.norm.logsf(z))
    assert gauss.hazard(z) == pytest.approx(2.718281828459045**by_logs, rel=1e-5)


@pytest.mark.parametrize("p", [1e-9, 0.025, 0.1, 0.5, 0.8, 0.999])
def test_quantile_agrees_with_scipy(p: float) -> None:
    """The value below which a share lies agrees with scipy."""
    assert gauss.quantile(p) == pytest.approx(stats.norm.ppf(p), abs=1e-10)


def test_hazard_stays_finite_far_out() -> None:
    """Where the tail underflows the ratio goes on by its expansion: about z."""
    assert gauss.hazard(100) == pytest.approx(100.01, abs=1e-3)


@pytest.mark.parametrize("confidence", [0, 1, -0.5, 2])
def test_certainty_has_no_interval(confidence: float) -> None:
    """A confidence of 0 or 1 is refused with its value."""
    with pytest.raises(Refused, match="must lie between 0 and 1"):
        gauss.two_sided(confidence)
    with pytest.raises(Refused, match="must lie between 0 and 1"):
        gauss.quantile(confidence)
