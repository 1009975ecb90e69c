"""A forecast and a rest's sign told on the page; the round shows at once who must come in; oracle: interface 6."""

from __future__ import annotations

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
