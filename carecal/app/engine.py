"""What a collection plans with, in one place; it is imported when something is first planned."""

from __future__ import annotations

from carecal.app.answers import answer
from carecal.app.consequences import consequences
from carecal.app.near.kept_making import Planned
from carecal.app.priors import TAUGHT_KINDS, with_priors
from carecal.app.tasks import already
from carecal.catalog.cache import catalog_from_json, catalog_to_json, files_digest
from carecal.collection.doubles import said_already
from carecal.collection.timeline import fold
from carecal.planning.assembly import Assembly
from carecal.planning.narrowing import narrowed
from carecal.planning.plan_context import horizon_of
from carecal.planning.planner import Planner

__all__ = [
    "TAUGHT_KINDS",
    "Assembly",
    "Planned",
    "Planner",
    "already",
    "answer",
    "catalog_from_json",
    "catalog_to_json",
    "consequences",
    "files_digest",
    "fold",
    "horizon_of",
    "narrowed",
    "said_already",
    "with_priors",
]
