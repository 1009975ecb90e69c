"""What a collection plans with, in one place; it is imported when something is first planned."""

from __future__ import annotations

from carecal.app.consequences import consequences
from carecal.app.kept_making import Planned
from carecal.app.plans import of_home
from carecal.app.priors import TAUGHT_KINDS, with_priors
from carecal.catalog.cache import catalog_from_json, catalog_to_json, files_digest
from carecal.collection.timeline import fold
from carecal.planning.narrowing import narrowed
from carecal.planning.planner import Planner
from carecal.planning.scene import horizon_of

__all__ = [
    "TAUGHT_KINDS",
    "Planned",
    "Planner",
    "catalog_from_json",
    "catalog_to_json",
    "consequences",
    "files_digest",
    "fold",
    "horizon_of",
    "narrowed",
    "of_home",
    "with_priors",
]
