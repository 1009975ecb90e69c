"""`calc`: the numbers of interface §4, held against the published tables."""

from __future__ import annotations

import re

import pytest

from tests.cli.cli_run import carecal, done, refused
from tests.published.published_rows import Row, checks, hold, one

pytestmark = pytest.mark.usefixtures("home")
INTERVALS = [row for row in checks("checks_drydown") if row.function == "interval"]


def test_air_has_the_keys_of_the_interface() -> None:
    """One object; the container cools between wet bulb and air; oracle: FAO56 table 2.3, e0(25) = 3.168 kPa."""
    found = done("--json", "calc", "air", "--temp", "25", "--rh", "50", "--air", "breezy").json
    assert list(found) == ["svp_kpa", "vpd_kpa", "dew_point_c", "wet_bulb_c", "pots"]
    assert found["svp_kpa"] == pytest.approx(3.168, abs=0.001)
    assert found["vpd_kpa"] == pytest.approx(3.168 / 2, abs=0.001)
    for name, medium_c in found["pots"].items():
        share = float(one("containers", container=name)["cooling_breezy"])
        assert medium_c == pytest.approx(25 - share * (25 - found["wet_bulb_c"]), abs=1e-3)  # models A5


def test_air_is_thinner_on_a_mountain() -> None:
    """The wet bulb falls with the pressure; oracle: sign of FAO56 eq. 15."""
    low, high = (
        done("--json", "calc", "air", "--temp", "25", "--rh", "30", "--elevation", metres).json["wet_bulb_c"]
        for metres in (0, 3000)
    )
    assert high < low


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (
            ("air", "--temp", "250", "--rh", "50"),
            "temperature 250 °C is out of range; allowed are -30 to 55 °C",
        ),
        (("air", "--temp", "20", "--rh", "900"), "humidity 900 % is out of range; allowed are 1 to 100 %"),
        (("air", "--temp", "nan", "--rh", "50"), "temperature nan °C is out of range"),
        (("air", "--temp", "20", "--rh", "50", "--air", "storm"), "no air named 'storm'"),
        (
            ("air", "--temp", "20", "--rh", "50", "--elevation", "99999"),
            "elevation 99999 m is outside -500 to 9000",
        ),
        (("daylight", "--latitude", "91", "--on", "2026-06-21"), "latitude 91 is outside -90 to 90"),
        (("daylight", "--latitude", "54", "--on", "6/7"), "may be 6 July or 7 June"),
        (("mix", "--analysis", "0-30-20", "--ppm-n", "100"), "nitrogen 0 %"),
        (("mix", "--analysis", "60-60-60", "--ppm-n", "100"), "makes 180 %; allowed are 100 % in all"),
        (("mix", "--analysis", "20-20-20", "--ppm-n", "-5"), "nitrogen -5 mg/L is out of range"),
        (("mix", "--analysis", "20-20-20", "--ppm-n", "100", "--litres", "0"), "water 0 L is out of range"),
        (("bloom", "--from", "2026-11-01", "--temp", "400"), "temperature 400 °C is out of range"),
    ],
)
def test_arithmetic_refuses_what_cannot_be(words: tuple[str, ...], expected: str) -> None:
    """Each refusal names the value and the range."""
    assert expected in refused("calc", *words)


def test_daylight_agrees_with_the_published_hours() -> None:
    """3 September at 20° S; oracle: FAO56 example 9."""
    found = done("--json", "calc", "daylight", "--latitude", "-20", "--on", "2026-09-03").json
    assert list(found) == ["geometric_hours", "sunrise_sunset_hours"]
    assert found["geometric_hours"] == pytest.approx(11.7, abs=0.05)  # FAO56 example 9: 3 September, 20° S
    assert found["sunrise_sunset_hours"] - found["geometric_hours"] == pytest.approx(0.12, abs=0.08)


def test_daylight_is_of_today_when_no_day_is_said() -> None:
    """Without --on it is the day of --as-of."""
    assert (
        done("--json", "calc", "daylight", "--latitude", "60").json
        == done("--json", "calc", "daylight", "--latitude", "60", "--on", "2026-11-25").json
    )


def test_a_mix_is_the_labels_arithmetic() -> None:
    """Oracle: models F1, F3, F4 by hand for 100 mg/L of N from 20-20-20 in 10 litres."""
    found = done("--json", "calc", "mix", "--analysis", "20-20-20", "--ppm-n", "100", "--litres", "10").json
    assert found == {
        "n_ppm": 100.0,
        "p_ppm": 43.64,
        "k_ppm": 83.02,
        "grams_per_litre": 0.5,
        "grams": 5.0,
        "oz_per_100_gal": pytest.approx(100 / (0.749 * 20), abs=0.01),
        "ec_ms_cm": 0.44,
    }


@pytest.mark.parametrize("given", [(), ("--ppm-n", "100", "--grams-per-litre", "1")])
def test_a_mix_without_one_strength_is_wrong_usage(given: tuple[str, ...]) -> None:
    """A missing argument, or one too many, ends with exit code 2 (oracle: the promised exit codes)."""
    run = carecal("calc", "mix", "--analysis", "20-20-20", *given)
    assert (run.code, run.out) == (2, "")
    assert "give either --ppm-n or --grams-per-litre" in run.err


def test_a_mix_by_weight_and_in_gallons() -> None:
    """Weight instead of strength, gallons instead of litres, EC on top of the water's."""
    words = (
        "calc",
        "mix",
        "--analysis",
        "10-5-5",
        "--grams-per-litre",
        "1",
        "--gallons",
        "2",
        "--water-ec",
        "0.3",
    )
    found = done("--json", *words).json
    assert (found["n_ppm"], found["grams"]) == (100.0, pytest.approx(2 * 3.785411784, abs=1e-4))
    assert found["ec_ms_cm"] == pytest.approx(0.3 + 0.44)
    assert "exclude each other" in refused(*words, "--litres", "2", code=2)
    assert "oz" in done("--units", "imperial", *words).out
    without = done("--json", "calc", "mix", "--analysis", "0-10-10", "--grams-per-litre", "1").json
    assert (without["n_ppm"], without["oz_per_100_gal"], without["grams"]) == (0.0, None, None)


def test_bloom_is_a_band_from_day_0() -> None:
    """769/(20−10.8) = 83.6 and 1365/(20−6.5) = 101.1 days, whole days up; oracle: models G1 by hand."""
    found = done("--json", "calc", "bloom", "--from", "2026-11-01", "--temp", "20").json
    assert found == {"earliest": "2027-01-24", "likely": "2027-02-02", "latest": "2027-02-11"}
    cold = done("--json", "calc", "bloom", "--from", "2026-11-01", "--temp", "6").json
    assert cold == {"earliest": None, "likely": None, "latest": None}


def _words(arguments: dict[str, object]) -> list[object]:
    """Return a row's arguments as options of `calc interval`."""
    found: list[object] = ["calc", "interval"]
    names = {
        "medium": "--medium",
        "container": "--container",
        "size_cm": "--size",
        "day_c": "--day",
        "night_c": "--night",
        "rh_pct": "--rh",
        "air": "--air",
        "light_mol": "--light",
        "stage": "--stage",
        "profile": "--profile",
        "plant_factor": "--factor",
    }
    for key, option in names.items():
        found += [option, arguments[key]]
    if arguments["settling"]:
        found.append("--settling")
    if arguments["light_source"] == "lamp":
        found.append("--lamp")
    return found


@pytest.mark.parametrize("row", INTERVALS, ids=[row.id for row in INTERVALS])
def test_intervals_agree_with_the_published_rows(row: Row) -> None:
    """`calc interval` gives the raw and whole days of each published row (DRY22 and on)."""
    found = done("--json", *_words(row.inputs)).json
    assert list(found) == ["demand", "reference_days", "raw_days", "days", "days_early", "days_late"]
    hold(row, {"raw": found["raw_days"], "days": found["days"]})


def test_an_interval_is_shown_with_how_far_it_may_slip() -> None:
    """The text names the days; the window is a share of them by the medium (models I7)."""
    words = _words(
        {
            "medium": "bark",
            "container": "plastic",
            "size_cm": 12,
            "day_c": 16,
            "night_c": 13,
            "rh_pct": 55,
            "air": "still",
            "light_mol": 1.5,
            "stage": "established",
            "profile": "phalaenopsis",
            "plant_factor": 1,
            "settling": False,
            "light_source": "daylight",
        }
    )
    medium = one("media", medium="bark")
    found = done("--json", *words).json
    assert found["days_early"] == int(float(medium["window_before"]) * 10)
    assert found["days_late"] == int(float(medium["window_after"]) * 10)
    assert re.search(r"every +10 days", done(*words).out)


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ({"container": "mount"}, "bark does not go into the container mount; allowed are plastic"),
        ({"medium": "brak"}, "no medium named 'brak'; did you mean bark"),
        ({"stage": "happy"}, "no stage named 'happy'"),
        ({"profile": "phalenopsis"}, "no profile named 'phalenopsis'; did you mean phalaenopsis"),
        ({"air": "storm"}, "no air named 'storm'"),
        ({"rh_pct": 0}, "humidity 0 % is out of range; allowed are 1 to 100 %"),
        ({"light_mol": -1}, "light -1 mol a day is out of range"),
        ({"day_c": 90}, "day temperature 90 °C is out of range"),
        ({"plant_factor": 50}, "factor 50 is out of range; allowed are 0.25 to 4"),
        ({"size_cm": 900}, "a size of 900 is out of range; allowed are 3 to 60 cm"),
        ({"rh_pct": 100, "light_mol": 0}, "nothing dries"),
    ],
)
def test_intervals_refuse_what_cannot_be(changed: dict[str, object], expected: str) -> None:
    """Each refusal names the value and what is allowed."""
    usual: dict[str, object] = {
        "medium": "bark",
        "container": "plastic",
        "size_cm": 12,
        "day_c": 21,
        "night_c": 21,
        "rh_pct": 50,
        "air": "room",
        "light_mol": 2,
        "stage": "established",
        "profile": "phalaenopsis",
        "plant_factor": 1,
        "settling": False,
        "light_source": "daylight",
    }
    assert expected in refused(*_words({**usual, **changed}))


def test_a_label_that_prints_elements_is_read_as_such() -> None:
    """13-6.55-12.45 of elements is 13-15-15 of oxides; oracle: MOLMASS, 15 × 0.4364 and 15 × 0.8302."""
    words = ("--json", "calc", "mix", "--grams-per-litre", "1", "--litres", "1", "--analysis")
    elements = done(*words, "13-6.546-12.453", "--elemental").json
    assert elements == pytest.approx(done(*words, "13-15-15").json, rel=1e-5)
    assert "of at most 100 together" in refused(
        "calc", "mix", "--ppm-n", "100", "--analysis", "20-20-40", "--elemental"
    )
