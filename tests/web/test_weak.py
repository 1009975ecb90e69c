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
    assert "3 degrees warmer, 21 to 26 °C" in form
    assert "yours alone to say" in form


def test_a_treatment_and_a_lost_crown_are_entered_on_the_page(grower: Grower) -> None:
    """What was done against rot and the loss of a crown come from the forms as the command line would write them."""
    grower.send(f"/plants/{GABLE}", "observe", seen="rot", where="crown")
    assert "treat" in grower.client.get(f"/plants/{GABLE}").text
    form = text_of(grower.client.get(f"/plants/{GABLE}/treat").text)
    assert "no product and no dose" in form
    grower.send(f"/plants/{GABLE}", "treat", what="cut", against="rot")
    grower.send(f"/plants/{GABLE}", "observe", crown="lost")
    page = text_of(grower.client.get(f"/plants/{GABLE}/why").text)
    assert "opens" not in page.split("Feeding", 1)[1].split("Steps", 1)[0]
    with Collection.open(grower.folder) as collection:
        told = [record for record in collection.journal.records() if record.kind != "beside"]
        records = told[-3:]  # who stood beside the find is written with it
    assert [record.kind for record in records] == ["observed", "treated", "observed"]
    assert (records[1].data["did"], records[1].data["against"]) == ("cut", "rot")
    assert records[2].data["crown"] == "lost"
