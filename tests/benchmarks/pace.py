"""How near a year of answers brings the days of the next one: many simulated growers of `tests/growers.py`.

Run by hand: python -m tests.benchmarks.pace [GROWERS]
"""

from __future__ import annotations

import sys
from math import log
from statistics import mean, pstdev
from typing import TYPE_CHECKING

from carecal.catalog.load import load_catalog
from tests.benchmarks.measure import number_argument
from tests.growers import MEDIA, SEASONS, Grower, misses

if TYPE_CHECKING:
    from collections.abc import Sequence

GROWERS = 20
RATIOS = (1.0, 1.5, 2.5)
LIMIT = log(1.12)


def rows(growers: int, media: Sequence[str] = tuple(MEDIA), ratios: Sequence[float] = RATIOS) -> list[str]:
    """Return a line for each medium and ratio: mean miss and spread by season, the worst, how many stay within 12 %."""
    catalog = load_catalog()
    found = []
    for medium in media:
        for ratio in ratios:
            lives = [list(misses(Grower(catalog, ratio, seed, medium))) for seed in range(growers)]
            seasons = [[miss.believed for miss in each] for each in zip(*lives, strict=True)]
            told = [f"{100 * mean(season):+.0f} ± {100 * pstdev(season):.0f}" for season in seasons]
            worst = max(abs(miss) for season in seasons for miss in season)
            within = sum(all(abs(miss.believed) <= LIMIT for miss in life) for life in lives)
            days = max(abs(miss.rounded_days) for life in lives for miss in life)
            planned = sum(all(abs(miss.planned) <= LIMIT for miss in life) for life in lives)
            cells = (
                f"{medium}, {ratio:g}", *told, f"{100 * worst:.0f}", f"{within} of {growers}",
                f"{days:.2f} d", f"{planned} of {growers}",
            )  # fmt: skip
            found.append(f"| {' | '.join(cells)} |")
    return found


if __name__ == "__main__":
    heads = ("medium, ratio", *SEASONS, "worst", "believed ≤ 12 %", "rounding", "planned ≤ 12 %")
    sys.stdout.write(f"| {' | '.join(heads)} |\n|{'---|' * len(heads)}\n")
    for line in rows(number_argument(GROWERS, sys.argv[1:])):
        sys.stdout.write(f"{line}\n")
        sys.stdout.flush()
