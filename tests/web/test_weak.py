"""Plants that lose ground on the pages: round, list, page and the form of what is tried; oracle: the rules' words."""

from __future__ import annotations

from datetime import timedelta

from carecal.app import Collection
from carecal.collection.entries import Observed
from tests.stories.quay import GABLE, TODAY, moment
from tests.web.pages_grower import Grower, text_of


def test_losing_ground_is_seen_wherever_the_plant_is(grower: Grower) -> None:
    """Firm, then wrinkled within four weeks: named on the round, in the list with its weight, and on its page."""
    before = TODAY - timedelta(days=20)
    with Collection.open(grower.folder) as collection:
        collection.record(Observed(on=before, plant=GABLE, firmness="firm"), now=moment(before))
        collection.record(Observed(on=TODAY, plant=GABLE, firmness="wrinkled"), now=moment(TODAY))
    says = "Leaves wrinkled on 21 October 2026, firm before."
    assert "Watch" in text_of(grower.client.get("/").text)
    assert says in text_of(grower.client.get("/").text)
    listed = text_of(grower.client.get("/plants").text)
    assert "losing ground" in listed
    page = text_of(grower.client.get(f"/plants/{GABLE}").text)
    assert "losing ground" in page
    assert says in page
    form = text_of(grower.client.get(f"/plants/{GABLE}/tried").text)
    assert "3 degrees warmer, 21 to 26 C" in form
    assert "yours alone to say" in form
