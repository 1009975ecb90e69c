"""Settings: weekdays, ticking, units, the address; supplies and sides."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.setup import settings as setup
from carecal.app.setup import sides, waters
from carecal.errors import Refused
from carecal.planning.spans import WEEKDAYS

if TYPE_CHECKING:
    from collections.abc import Callable

    from starlette.responses import Response

    from carecal.web.visit import Visit

__all__ = ["act_settings", "show_settings"]


def show_settings(visit: Visit) -> Response:
    """Show every setting with its form."""
    collection, now = visit.collection, visit.now
    return visit.page(
        "pages_settings.html",
        settings=setup.settings_of(collection, now),
        weekdays=WEEKDAYS,
        sides=sides.sides_of(collection, now),
    )


def act_settings(visit: Visit) -> Response:
    """Take one of the page's forms."""
    did = visit.need("do")
    if did not in ACTS:
        raise Refused(f"form '{did[:80]}' is not known")
    return ACTS[did](visit)


def _setting(visit: Visit) -> Response:
    key = visit.need("key")
    value = ",".join(visit.texts("value")) or "none"
    return visit.written(visit.write(setup.setting(visit.real, key, value)), f"{key}: {value}", "/settings")


def _fertiliser(visit: Visit) -> Response:
    shares = [visit.number(key) for key in ("n", "p", "k")]
    known = [share for share in shares if share is not None]
    if len(known) < len(shares):
        raise Refused("the analysis needs all three numbers of the label: N, P and K")
    entry = setup.fertiliser(visit.real, visit.need("name"), known, label_rate_g_per_l=visit.number("rate"))
    return visit.written(visit.write(entry), "Fertiliser written down", "/settings#supplies")


def _water(visit: Visit) -> Response:
    ec = visit.number("ec")
    if ec is None:
        raise Refused("the conductivity is missing; give it in mS/cm")
    catalog = visit.collection.catalog
    entry = waters.water(
        visit.real,
        catalog,
        visit.need("name"),
        ec,
        kind=visit.text("kind"),
        alkalinity_mg_l=visit.number("alkalinity"),
        ph=visit.number("ph"),
    )
    told = visit.write(entry)
    return visit.written(
        told, "Water written down", "/settings#supplies", waters.water_remarks(catalog, entry)
    )


def _side(visit: Visit) -> Response:
    entry = sides.side(*visit.here, visit.need("key"), visit.need("side"))
    return visit.written(visit.write(entry), "Side taken", "/settings#sides")


ACTS: dict[str, Callable[[Visit], Response]] = {
    "setting": _setting,
    "fertiliser": _fertiliser,
    "water": _water,
    "side": _side,
}
