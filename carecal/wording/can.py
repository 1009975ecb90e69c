"""What to mix for a round in one sentence, the same on every page and in every calendar. It decides nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.horticulture.mixing import weighing
from carecal.wording.amounts import grams_text, litres_text
from carecal.wording.clean import clean_line

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Fed", "can_words"]


class Fed(NamedTuple):
    """A feed of the can: strength [mg/L of N], volume [L], grams in a litre, own name of the fertiliser."""

    ppm_n: float
    litres: float
    g_per_l: float | None = None
    fertiliser: str = ""
    is_apart: bool = False


def can_words(plain_l: float, apart_l: float, feeds: Sequence[Fed], units: str) -> str:
    """Return what to mix, plain water first, what stands apart last; empty for a dry round.

    Args:
        plain_l: All plain water of the round. [L]
        apart_l: The part of it for plants that share no can. [L]
        feeds: What is fed; feeds of one strength are mixed at once.
        units: 'metric' or 'imperial'.
    """
    shared_l = plain_l - apart_l
    parts = [f"{litres_text(shared_l, units)} plain"] if shared_l > 0.0005 else []
    strengths = dict.fromkeys(each.ppm_n for each in feeds)
    parts += [_feed([each for each in feeds if each.ppm_n == ppm], units) for ppm in strengths]
    if apart_l > 0:
        parts.append(f"{litres_text(apart_l, units)} plain, apart and last")
    return "Can: " + ", then ".join(parts) if parts else ""


def _feed(feeds: Sequence[Fed], units: str) -> str:
    """Return a feed of one strength: how much, what is weighed for it, which part stands apart."""
    first, litres = feeds[0], sum(each.litres for each in feeds)
    apart_l = sum(each.litres for each in feeds if each.is_apart)
    text = f"{litres_text(litres, units)} feed at {first.ppm_n:g} ppm N"
    if first.g_per_l and litres > 0:
        text += f" ({_weighed(first, litres, units)})"
    if apart_l <= 0:
        return text
    return f"{text}, {'' if apart_l == litres else f'{litres_text(apart_l, units)} of it '}apart and last"


def _weighed(feed: Fed, litres: float, units: str) -> str:
    """Return what is weighed, into how much water, and what is poured away."""
    found = weighing(feed.g_per_l or 0.0, litres)
    grams = grams_text(found.grams, units)
    if feed.fertiliser:
        grams += f" of {clean_line(feed.fertiliser)}"
    if found.stock_l is not None and found.dose_ml is not None:
        stock, away = litres_text(found.stock_l, units), litres_text(found.away_l, units)
        return f"{grams} in {stock} of water, {found.dose_ml:g} mL of that into the can, pour the other {away} away"
    if found.away_l > 0:
        return f"{grams} in {litres_text(found.can_l, units)}, pour {litres_text(found.away_l, units)} away"
    return grams
