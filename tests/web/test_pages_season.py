"""A forecast and a rest's sign told on the page; the round shows at once who must come in; oracle: interface 6."""

from __future__ import annotations

from datetime import timedelta

from carecal.app import Collection
from carecal.collection.entries import Retired
from carecal.web.site import Site
from tests.stories.quay import TODAY, moment
from tests.web.pages_grower import Grower


def test_a_forecast_is_typed_and_who_must_come_in_stands_on_the_round(grower: Grower) -> None:
    """Seven degrees at the east sill tonight: the entry is a forecast, the round names plant, place and numbers."""
    assert "tonight, medium" not in grower.read("/")
    grower.write("/places?place=east-sill", "forecast", night="7")
    told = grower.newest()
    assert (told.kind, told.data["place"], told.data["night_c"]) == ("forecast", "east-sill", 7)
    page = grower.read("/")
    assert "bring it where it is warm today" in page
    assert "Air 7 °C tonight, medium" in page


def test_a_forecast_of_nothing_is_refused_in_words(grower: Grower) -> None:
    """Neither night nor day: nothing is written."""
    before = grower.newest().n
    assert grower.send("/places?place=east-sill", "forecast").status_code == 422
    assert grower.newest().n == before


def test_shade_is_told_at_its_window_and_asked_for_once_ahead(grower: Grower) -> None:
    """The form of the east sill writes what was done; a window to the south has its days among the steps, once."""
    grower.write("/places?place=east-sill", "shade", to="up")
    told = grower.newest()
    assert (told.kind, told.data["place"], told.data["to"]) == ("place-shaded", "east-sill", "up")
    grower.write("/places?place=east-sill", "change", aspect="S")
    assert grower.read("/ahead").count("Take the shade down") == 1


def test_only_a_kind_that_rests_is_asked_for_its_rest(grower: Grower) -> None:
    """A moth orchid's form has no choice of rest."""
    assert 'name="rest"' not in grower.read("/plants/tide/say")


def test_a_plan_that_stays_in_memory_goes_with_the_next_entry_and_day(grower: Grower) -> None:
    """Leafing on in Ahead plans nothing anew; an entry does, and so does another day."""
    site = Site(grower.folder, clock=lambda _: moment(TODAY))
    with Collection.open(grower.folder) as collection:
        kept = site.plan(collection, TODAY)
        assert site.plan(collection, TODAY) is kept
        assert site.plan(collection, TODAY + timedelta(days=1)).as_of == TODAY + timedelta(days=1)
        number = collection.number_of("gable")
        collection.record(Retired(on=TODAY, plant="gable", because="given-away"), now=moment(TODAY))
        anew = site.plan(collection, TODAY)
    assert {task.plant for task in kept.tasks} - {task.plant for task in anew.tasks} == {number}
