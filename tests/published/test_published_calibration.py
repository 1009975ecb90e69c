"""Every row of checks_calibration: beliefs that scipy's integration agrees with."""

from __future__ import annotations

from typing import Any

from carecal.horticulture import learning
from tests.published.published_rows import Row, answer, checks, hold, params


def plant_factor(
    prior_mean: float, prior_sd: float, log_observations: list[dict[str, Any]]
) -> dict[str, float]:
    """The belief after a list of answers, as the table names its numbers."""
    belief = learning.Belief(prior_mean, prior_sd)
    for seen in log_observations:
        value = float(seen["value"])
        match seen["felt"]:
            case "right":
                belief = learning.right_or_wrong(belief, value)
            case "weight":
                belief = learning.right_or_wrong(belief, value, learning.WEIGHT_SD)
            case "damp" | "parched" as felt:
                belief = learning.censored(belief, value, longer=felt == "damp")
            case "weeks":
                belief = learning.weeks_pass(belief, value)
            case felt:
                raise AssertionError(felt)
    return {"mean": belief.mean, "sd": belief.sd, **learning.factor_band(belief)._asdict()}


def test_all_rows_are_read() -> None:
    """The table has the eight rows it was published with."""
    assert len(checks("checks_calibration")) == 8


@params("checks_calibration")
def test_learning_agrees_with_the_published_row(row: Row) -> None:
    """Each published value is met within its tolerance."""
    hold(row, answer(row, {"plant_factor": plant_factor}))
