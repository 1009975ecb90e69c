"""The terms of a plant's interval (models I1): what its medium, pot, stage, states and aids contribute."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.horticulture.drydown import reference_interval, two_stage_days
from carecal.horticulture.learning import CRITICAL, RESIDUAL
from carecal.horticulture.rounding import significant
from carecal.planning.sick.buds import bud_factor

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog, Medium, Profile, RestWater, Stage
    from carecal.collection.plants import PlantState

__all__ = [
    "DRENCHES",
    "DRY_MEDIUM",
    "FULL",
    "LITTLE",
    "Terms",
    "lacks",
    "profile_of",
    "terms_of",
    "window_scale",
]

MOSS = "moss"
FULL = "full"  # of a rest: as deep as its kind's
LITTLE, SIP = "a-little", "a-sip"  # techniques.toml: for a dry rest and a cold medium
DRENCHES = frozenset({"drench", "soak", "pour-through"})  # what little water stands for
BY_MEDIUM = "by medium"  # technique of a stage that leaves it to the medium and the pot (stages.toml)
SURFACE_CARE = "moistening"  # a stage with this care has the surface of the moss wetted alone
SURFACE_CONTAINER = "plastic"  # models I8: the demand of a plastic pot
DRY_MEDIUM = "bark"  # trade-facts D15, side a: moss too is wetted when as dry as this medium is
WAIT_UNTIL_EMPTY = 1.5  # models I1; trade-facts D9: common practice (no source)


class Terms(NamedTuple):
    """What an interval is made of, but the demand of the air and what the plant has taught.

    `product` is reference days times all factors; two terms that are equal give the same rhythm.
    """

    care: str
    technique: str
    reference_days: float  # [d]
    factors: tuple[tuple[str, float], ...]  # code and factor, those other than 1
    product: float  # [d]
    min_days: int
    max_days: float  # stretched in a rest
    container: str  # whose demand counts
    light_factor: float
    window_before: float
    window_after: float
    scale: float
    tie: str
    place: str
    spec_day: int  # day from which the place is as it is
    urgent_below_c: float


def lacks(state: PlantState, catalog: Catalog) -> tuple[str, ...]:
    """Return which of medium, container, size, place and stage are missing for an interval."""
    missing = [key for key in ("medium", "container", "place", "stage") if getattr(state, key) is None]
    sized = state.medium and state.container and _rows(state.medium, state.container, catalog)
    if (
        state.size_cm is None
        and (not sized or sized[0][0] != 0)
        and not (sized is None and "medium" in missing)
    ):
        missing.append("size")
    return tuple(missing)


def profile_of(state: PlantState, catalog: Catalog) -> Profile:
    """Return the profile a plant follows; an unknown one is phalaenopsis."""
    return catalog.profiles.get(state.profile) or catalog.profiles["phalaenopsis"]


def window_scale(state: PlantState, catalog: Catalog) -> float:
    """Return the smallest window scale of stage, states and flowering (models I7)."""
    scales = [catalog.states[state.flowering].window_scale] if state.flowering in catalog.states else []
    if state.stage is not None:
        scales.append(catalog.stages[state.stage].window_scale)
    return min(scales, default=1.0)


def terms_of(
    state: PlantState,
    catalog: Catalog,
    *,
    settling: bool,
    rest: str = "",
    rest_water: RestWater | None = None,
    wait_until_empty: bool,
    spec_day: int,
    dry_moss: bool = False,
) -> Terms:
    """Return the terms of a plant whose medium, container, place and stage are known.

    `wait_until_empty` and `dry_moss` are the other sides of the conflicts on reservoirs and on the dryness of moss.
    `rest` is how deep it rests: 'full', 'half' (nobody has answered: water is half-way back) or ''; `rest_water` holds
    the interval of a dry rest between its days, and pours little.

    Raises:
        KeyError: medium, container or stage stand in no table.
    """
    known = (state.medium, state.container, state.place, state.stage)
    medium_name, container, place, stage = (value or "" for value in known)
    profile = profile_of(state, catalog)
    light = 1.0
    for aid in state.aid_names:
        light *= catalog.aids[aid].light_factor
    scale = window_scale(state, catalog)
    row = catalog.stages[stage]
    if row.wetting_care == SURFACE_CARE:
        return _surface(row, catalog, light, scale, place, spec_day, profile.urgent_below_c)
    medium = catalog.media[medium_name]
    emptied = state.reservoir == "empty"
    stands_in = SURFACE_CONTAINER if emptied else container
    in_use = state.reservoir == "filled"
    factors = _factors(state, catalog, settling=settling, rest=rest, wait=wait_until_empty and in_use)
    if dry_moss and medium_name == MOSS:
        dry = _nearly_dry(catalog.media[DRY_MEDIUM].water_at_fraction, medium.water_at_fraction)
        factors = (*factors, ("moss-nearly-dry", dry))
    reference = reference_interval(_rows(medium_name, stands_in, catalog), state.size_cm or 0.0)
    if (medium_name, stands_in) not in catalog.references:
        reference *= catalog.containers[stands_in].interval_factor
    product = reference
    for _, factor in factors:
        product *= factor
    floor, ceiling, technique = _bounds(
        state, profile, medium, row.technique, rest, rest_water, catalog, wait_until_empty
    )
    return Terms(
        care="refilling" if in_use else row.wetting_care,
        technique=technique,
        reference_days=reference,
        factors=factors,
        product=product,
        min_days=floor,
        max_days=ceiling,
        container=container,
        light_factor=light,
        window_before=medium.window_before,
        window_after=medium.window_after,
        scale=scale,
        tie="earlier" if stage == "new-tips" else medium.tie,
        place=place,
        spec_day=spec_day,
        urgent_below_c=profile.urgent_below_c,
    )


def _bounds(
    state: PlantState,
    profile: Profile,
    medium: Medium,
    technique: str,
    rest: str,
    water: RestWater | None,
    catalog: Catalog,
    wait: bool,
) -> tuple[int, float, str]:
    """Return the least and most days between wettings, and how it is wetted, as a rest and a reservoir have it."""
    deep = state.reservoir == "filled" and medium.max_days_in_reservoir
    floor, ceiling = int(medium.min_days), float(deep or medium.max_days)
    if technique == BY_MEDIUM:
        technique = _technique(state, medium, wait=wait)
    if rest:
        ceiling *= _rest_factor(profile, rest, catalog)
    if water is not None and rest == FULL and technique in DRENCHES:
        technique = SIP if water.amount == "small" else LITTLE
        if water.again_days_low and water.again_days_high:
            floor, ceiling = int(water.again_days_low), float(water.again_days_high)
    return floor, ceiling, technique


def _technique(state: PlantState, medium: Medium, *, wait: bool) -> str:
    """Return how a plant is wetted: by its reservoir, on a mount or in a basket soaked, else as its medium says."""
    if state.reservoir == "filled":
        return "refill" if wait else "fill-and-drain"
    if state.reservoir == "empty":
        return "pour-through"
    is_bare = state.container == "mount" or (medium.medium == "none" and state.container == "net")
    return "soak" if is_bare else medium.technique


def _nearly_dry(dry_fraction: float, fraction: float) -> float:
    """Return how much longer moss dries to nearly dry than to its own share of water (models D4). [-]."""
    dry, usual = (two_stage_days(1.0, CRITICAL, RESIDUAL, share, 1.0) for share in (dry_fraction, fraction))
    return significant(dry / usual, 3) if dry > usual else 1.0


def _rows(medium: str, container: str, catalog: Catalog) -> tuple[tuple[float, float], ...]:
    return catalog.references.get((medium, container)) or catalog.references.get((medium, "plastic"), ())


def _surface(
    stage: Stage,
    catalog: Catalog,
    light: float,
    scale: float,
    place: str,
    spec_day: int,
    urgent_below_c: float,
) -> Terms:
    moss = catalog.media[MOSS]
    return Terms(
        care=stage.wetting_care,
        technique=stage.technique,
        reference_days=catalog.surface_days,
        factors=(),
        product=catalog.surface_days,
        min_days=int(moss.min_days),
        max_days=float(moss.max_days),
        container=SURFACE_CONTAINER,
        light_factor=light,
        window_before=moss.window_before,
        window_after=moss.window_after,
        scale=scale,
        tie="earlier",
        place=place,
        spec_day=spec_day,
        urgent_below_c=urgent_below_c,
    )


def _rest_factor(profile: Profile, rest: str, catalog: Catalog) -> float:
    """Return how much longer a kind's days are in its rest, or half-way back from it (rests.toml). [-]."""
    if rest == FULL:
        return profile.rest_interval_factor
    share = catalog.rests["any"].unanswered_share
    return 1 + (profile.rest_interval_factor - 1) * (1 - share)


def _factors(
    state: PlantState, catalog: Catalog, *, settling: bool, rest: str, wait: bool
) -> tuple[tuple[str, float], ...]:
    profile = profile_of(state, catalog)
    stage = catalog.stages[state.stage or ""]
    found = [(f"stage-{stage.stage}", stage.interval_factor), ("profile", profile.interval_factor)]
    if settling and stage.stage in {"rooting-in", "established"}:  # models I1a
        settled = catalog.states["settling"].interval_factor
        found.append(("settling", settled if isinstance(settled, float | int) else 1.0))
    if rest:
        found.append(("resting" if rest == FULL else "resting-half", _rest_factor(profile, rest, catalog)))
    if state.flowering in catalog.states:
        flowering = catalog.states[state.flowering].interval_factor
        found.append((state.flowering, flowering if isinstance(flowering, float | int) else 1.0))
    found.append(("buds", bud_factor(state, catalog)))
    found.extend((f"aid-{aid}", catalog.aids[aid].interval_factor) for aid in sorted(state.aid_names))
    if wait:
        found.append(("wait-until-empty", WAIT_UNTIL_EMPTY))
    return tuple((code, float(factor)) for code, factor in found if factor != 1)
