"""Pictures: well-formed, each number where its scale puts it, and the same in words and as a table."""

from __future__ import annotations

from datetime import date, timedelta
from xml.etree import ElementTree as ET

import pytest

from carecal.app.documents.pictures import CareDay, ClimateYear, Mark
from carecal.app.documents.pictures_plants import DryDown, Growth
from carecal.web.pictures.climate import climate_picture
from carecal.web.pictures.days import month_rows, squares, year_picture
from carecal.web.pictures.plants import dry_down_picture, growth_pictures
from carecal.web.pictures.pots import pots_picture, safe_words

SVG = "{http://www.w3.org/2000/svg}"
FIRST = date(2026, 1, 1)


def climate() -> ClimateYear:
    """Return a place that is 20 by day and 10 at night but for one night of 0, and a gate that opens on day 100."""
    nights = [10.0] * 365
    nights[31] = 0.0
    mark = Mark(
        FIRST + timedelta(days=100), "medium-temperature opens", "feeding opens: the medium reaches 16 °C"
    )
    return ClimateYear(
        "sill",
        "Sill",
        FIRST,
        (20.0,) * 365,
        tuple(nights),
        (15.0,) * 365,
        "clear-plastic",
        "phalaenopsis",
        16.0,
        (mark,),
    )


def dried(**changes: object) -> DryDown:
    """Return a pot wetted on 1 January that loses a tenth of its water a day, weighed on the third day."""
    left = tuple(1 - n / 10 for n in range(6))
    values: dict[str, object] = {
        "wetted": FIRST,
        "is_assumed": False,
        "left": left,
        "low": tuple(v - 0.1 for v in left),
        "high": left,
        "target": 0.6,
        "today": FIRST + timedelta(days=2),
        "window": (FIRST + timedelta(days=3), FIRST + timedelta(days=4), FIRST + timedelta(days=5)),
        "marks": (Mark(FIRST + timedelta(days=2), "weighed", "weighed, 500 g", 0.7),),
    }
    return DryDown(**{**values, **changes})  # type: ignore[arg-type] # a table of fields


def grown() -> Growth:
    """Return a plant whose longest root grew from 10 to 40 mm in ninety days."""
    days = (FIRST, FIRST + timedelta(days=90))
    return Growth(
        ((days[0], 10.0), (days[1], 40.0)),
        ((days[0], 1.0), (days[1], 3.0)),
        ((days[1], 4.0),),
        (("new-tips", 5.0, 1.0, 0.0), ("rooting-in", 50.0, 2.0, 0.0)),
        (Mark(days[0], "potted", "potted"),),
    )


def pots() -> dict[str, object]:
    """Return two compared pairs: bark safe now, clay never."""
    bark = {
        "medium": "bark",
        "container": "plastic",
        "present": True,
        "days": {"winter": 10, "summer": 5},
        "technique": "drench",
        "coldest_night_c": 14.0,
        "coldest_on": "2026-02-07",
        "safe": "as it is",
        "opens": None,
        "last_safe": None,
        "litres": 0.2,
        "life_months": [18, 24],
        "reason": "roots dry slowly in it",
    }
    clay = {
        **bark,
        "medium": "expanded-clay",
        "container": "reservoir",
        "present": False,
        "safe": "never",
        "reason": "",
    }
    return {"plant": "tide", "name": "Tide", "place": "sill", "pairs": [bark, clay]}


ALL = {
    "climate": lambda: climate_picture(climate()),
    "drying": lambda: dry_down_picture(dried(), "Tide"),
    "roots": lambda: growth_pictures(grown(), "Tide")[0],
    "counts": lambda: growth_pictures(grown(), "Tide")[1],
    "year": lambda: year_picture([CareDay(FIRST, 2, 0, (("watering", 2),))], FIRST),
    "pots": lambda: pots_picture(pots()),
}


def parsed(name: str) -> ET.Element:
    """Return a picture's figure, read by an XML parser."""
    return ET.fromstring(str(ALL[name]()))  # noqa: S314 - a picture of our own


def near(element: ET.Element | None, attribute: str) -> float:
    """Return a number of an element that must be there."""
    assert element is not None
    return float(element.attrib[attribute])


@pytest.mark.parametrize("name", list(ALL))
def test_picture_is_well_formed_and_told_in_words(name: str) -> None:
    """An XML parser reads it; the image has a title and a description that its label names; a table follows."""
    figure = parsed(name)
    svg = figure.find(f"{SVG}svg")
    assert svg is not None
    title, text = svg.find(f"{SVG}title"), svg.find(f"{SVG}desc")
    assert title is not None
    assert text is not None
    assert svg.attrib["role"] == "img"
    assert svg.attrib["aria-labelledby"] == f"{title.attrib['id']} {text.attrib['id']}"
    assert title.text
    assert text.text
    table = figure.find("details/div/table")
    assert table is not None
    heads = len(table.findall("thead/tr/th"))
    assert all(len(list(row)) == heads for row in table.findall("tbody/tr"))


@pytest.mark.parametrize("name", list(ALL))
def test_picture_brings_no_style_and_no_colour_of_its_own(name: str) -> None:
    """No element has a style attribute, a fill or a stroke: the policy forbids the first, themes the others."""
    forbidden = {"style", "fill", "stroke", "color"}
    assert not [e.tag for e in parsed(name).iter() if forbidden & set(e.attrib)]


def test_climate_draws_each_day_where_the_scale_says() -> None:
    """Day 0 stands at the left edge, day 364 at the right; ticks run from 0 to 20, so 10 °C lies half way up."""
    line = parsed("climate").find(f"{SVG}svg/{SVG}polyline[@class='line night']")
    assert line is not None
    points = line.attrib["points"].split()
    assert points[0] == "32,107"  # (194 + 20) / 2
    assert points[31].split(",")[1] == "194"  # the night of 0 °C
    assert points[-1] == "340,107"


def test_climate_marks_the_day_a_gate_opens() -> None:
    """Day 100 of 365 stands at 32 + 308 × 100 / 364 = 116.6; its letter is told below with the day."""
    figure = parsed("climate")
    assert near(figure.find(f"{SVG}svg/{SVG}line[@class='mark opens']"), "x1") == 116.6
    assert "11 April: feeding opens" in "".join(figure.find("ul").itertext())  # type: ignore[union-attr] # fails if None


def test_climate_in_imperial_units_is_in_fahrenheit() -> None:
    """A night of 0 °C is told as 32 °F in text and table."""
    text = str(climate_picture(climate(), "imperial"))
    assert "with 32 °F" in text
    assert "air at night [°F]" in text
    assert "<td>68.0</td>" in text  # 20 °C by day


def test_climate_without_plants_has_no_medium_and_no_gate() -> None:
    """A place where nothing stands shows its air alone."""
    bare = ClimateYear("sill", "Sill", FIRST, (20.0,) * 365, (10.0,) * 365, (), "", "", None, ())
    text = str(climate_picture(bare))
    assert "medium" not in text
    assert "No gate" not in text


def test_drying_draws_left_band_target_window_and_entry() -> None:
    """On a scale of 0 to 100 %, 60 % lies at 194 - 174 × 0.6 = 89.6; five days over 308 px are 61.6 px each."""
    svg = parsed("drying").find(f"{SVG}svg")
    assert svg is not None
    assert near(svg.find(f"{SVG}line[@class='level limit']"), "y1") == 89.6
    assert near(svg.find(f"{SVG}rect[@class='span']"), "x") == 216.8  # 32 + 3 × 61.6
    assert near(svg.find(f"{SVG}rect[@class='span']"), "width") == 123.2
    assert near(svg.find(f"{SVG}circle"), "cx") == 155.2  # 32 + 2 × 61.6
    assert near(svg.find(f"{SVG}circle"), "cy") == 72.2  # the weight tells 70 %, not the reckoned 80 %
    assert near(svg.find(f"{SVG}line[@class='mark today']"), "x1") == 155.2


def test_drying_says_that_a_wetting_was_only_assumed() -> None:
    """What nobody ticked is never told as done."""
    assert "Assumed wetted 1 January" in str(dry_down_picture(dried(is_assumed=True), "Tide"))
    assert "Assumed" not in str(dry_down_picture(dried(), "Tide"))


def test_drying_tells_what_is_left_today_with_its_band() -> None:
    """On the third day 80 % is left, 70 to 80 by its band."""
    assert "about 80 % of the water is left today (70 to 80 %)" in str(dry_down_picture(dried(), "Tide"))


def test_growth_draws_counts_and_stage_thresholds() -> None:
    """Ticks run from 0 to 50 mm: 10 mm stands at 159.2, 40 at 54.8, the threshold of 50 at the top."""
    svg = parsed("roots").find(f"{SVG}svg")
    assert svg is not None
    assert svg.find(f"{SVG}polyline").attrib["points"] == "32,159.2 340,54.8"  # type: ignore[union-attr] # fails if None
    levels = {float(e.attrib["y1"]) for e in svg.findall(f"{SVG}line[@class='level limit']")}
    assert levels == {20.0, 176.6}  # 50 mm and 5 mm: 194 - 174 × 0.1


def test_growth_leaves_a_dash_where_nothing_was_counted() -> None:
    """Leaves were counted on the second day alone."""
    assert "<td>1</td><td>–</td>" in str(growth_pictures(grown(), "Tide")[1])


def test_growth_of_roots_never_counted_has_no_picture_of_them() -> None:
    """Only what was counted is drawn."""
    assert growth_pictures(Growth((), (), ((FIRST, 3.0),), (), ()), "Tide")[0].count("polyline") == 1


def test_squares_stand_on_day_and_month_and_grow_with_the_work() -> None:
    """The 1st of January stands at 35, 31; a square of one task is smaller than one of twenty, none grows further."""
    one, full, more = (squares([CareDay(FIRST, n, 0, ())])[0] for n in (1, 20, 50))
    assert (one.x, one.y) == (35.0, 31.0)
    assert one.side < full.side == more.side == 9.0


def test_done_and_planned_differ_by_shape_not_by_colour_alone() -> None:
    """What was done is filled, what is planned is open: two classes, both told in words."""
    found = squares([CareDay(FIRST, 1, 0, ()), CareDay(FIRST + timedelta(days=1), 0, 1, ())])
    assert [square.look for square in found] == ["done", "planned"]
    assert "filled" in str(ALL["year"]())


def test_months_sum_days_and_cares() -> None:
    """Two days of January with three cares and a planned one of two tasks make one row (worked by hand)."""
    days = [
        CareDay(FIRST, 2, 0, ()),
        CareDay(FIRST + timedelta(days=1), 1, 0, ()),
        CareDay(FIRST + timedelta(days=2), 0, 2, ()),
        CareDay(date(2026, 2, 1), 0, 0, ()),
    ]
    assert month_rows(days) == (("January", "2", "3", "1", "2"),)


def test_bars_run_from_the_shortest_to_the_longest_days() -> None:
    """Ticks run from 0 to 10 over 342 px: 5 to 10 days are a bar from 179 that is 171 wide."""
    bars = parsed("pots").findall(f"{SVG}svg/{SVG}rect")
    assert (bars[0].attrib["x"], bars[0].attrib["width"]) == ("179.0", "171.0")
    assert [bar.attrib["class"] for bar in bars] == ["bar present", "bar unsafe"]


@pytest.mark.parametrize(
    ("safe", "opens", "last", "words"),
    [
        ("now", None, "2026-08-06", "safe now until 6 August"),
        ("all year", None, None, "safe all year"),
        ("wait", "2026-05-23", "2026-08-06", "wait until 23 May, safe until 6 August"),
        ("no", "2026-05-23", None, "not now, season opens 23 May"),
        ("never", None, None, "never safe here"),
    ],
)
def test_safety_of_a_change_is_told_in_words(
    safe: str, opens: str | None, last: str | None, words: str
) -> None:
    """Each status of the comparison has its sentence, with its days."""
    assert safe_words({"safe": safe, "opens": opens, "last_safe": last}) == words


def test_names_are_escaped() -> None:
    """A name with signs of markup is text, not markup."""
    text = str(dry_down_picture(dried(), "<script>Tide & Co</script>"))
    assert "<script>" not in text
    assert "&lt;script&gt;Tide &amp; Co" in text
