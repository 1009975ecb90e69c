"""Edges of the care of the weak: what is foretold, tried, taken as over; oracle: the tables, and days by hand."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from carecal.catalog.tables import Catalog
from carecal.collection.entries import AidSet, MonthRow, Observed, PlantAdded, Potted, SpikeSet, Tried
from carecal.planning.forecasts.growth import held_roots, leaf_of, root_of
from carecal.planning.forecasts.spike import spike_of
from carecal.planning.sick.flowers import usual_end
from carecal.planning.sick.losing import losing_of, next_try, trying_of
from carecal.planning.sick.watch import remarks_of
from carecal.planning.sick.wraps import wrap_look_days
from tests.bench import Bench
from tests.planning.step_situations import build, desk_on, step_of

FIRST = date(2025, 1, 1)
MOSS: dict[str, Any] = {"medium": "moss", "container": "net", "size_cm": 8, "potted": "2025-01-01"}
GROWN: dict[str, Any] = {
    "medium": "bark", "container": "plastic", "size_cm": 12, "stage": "established", "roots": 5,
    "longest_mm": 120, "tips": 2, "leaves": 5, "came": "2023-01-01", "potted": "2024-09-01",
}  # fmt: skip


def year(day_c: float = 24, night_c: float = 19, light: float = 1.2, air: Any = "room") -> dict[str, Any]:
    """Return one place of the same air all year."""
    rows = (
        MonthRow(month=m, day_c=day_c, night_c=night_c, rh_pct=60, air=air, light_mol_m2_d=light)
        for m in range(1, 13)
    )
    return {"room": tuple(rows)}


def on(days: int) -> date:
    """Return a day so long after the first."""
    return FIRST + timedelta(days=days)


def seen(bench: Bench, days: int, **fields: Any) -> Bench:
    """Write an observation."""
    return bench.write(Observed(on=on(days), plant="tide", **fields))


@pytest.mark.parametrize(
    ("tips", "air", "held"),
    [(2, (24, 19), ""), (0, (24, 19), "before a tip grows"), (2, (18, 14), "under 18")],
)
def test_no_root_is_foretold_without_a_tip_or_in_a_cold_medium(
    catalog: Catalog, tips: int, air: tuple[float, float], held: str
) -> None:
    """A tip and 18 °C of the medium are asked for (profiles root_medium_min_c); else a length has its days."""
    bench = seen(
        build(catalog, year(*air), {**GROWN, "longest_mm": 40}, place="room"), 3, longest_mm=42, tips=tips
    )
    desk = desk_on(bench, on(4))
    assert held in held_roots(desk)
    assert (root_of(desk, 60) is None) == bool(held)


def test_a_new_root_counts_as_a_living_one_and_begins_a_stage(catalog: Catalog) -> None:
    """One told length of the newest root says that a root lives and how long the longest is at least."""
    bench = build(catalog, year(), {**MOSS, "roots": 0, "leaves": 4}, place="room")
    bench.write(AidSet(on=on(1), plant="tide", aid="wrap"))
    state = seen(bench, 30, newest_mm=12, tips=1).planner(on(30)).plant_planners[1].line.latest
    assert (state.roots, state.longest_mm, state.stage) == (1, 12, "new-tips")
    kept = seen(bench, 31, newest_mm=12, roots=3, longest_mm=70).planner(on(31)).plant_planners[1].line.latest
    assert (kept.roots, kept.longest_mm) == (3, 70)
    none = build(catalog, year(), {**MOSS, "roots": 0, "leaves": 4}, place="room")
    assert seen(none, 30, newest_mm=0).planner(on(30)).plant_planners[1].line.latest.roots == 0


def test_a_try_runs_its_28_days_and_what_was_tried_is_not_named_again(catalog: Catalog) -> None:
    """In the order of tries.toml, those that the plant and its place have room for; then none is left."""
    bench = build(
        catalog, year(light=0.8), {**MOSS, "roots": 0, "leaves": 4, "flowering": "spent"}, place="room"
    )
    seen(bench, 1, firmness="firm")
    named = []
    for turn in range(7):
        day = 65 + 30 * turn
        desk = desk_on(bench, on(day))
        worth = next_try(desk.line, on(day).toordinal(), desk.context)
        if worth is None:
            break
        named.append(worth.name)
        bench.write(Tried(on=on(day), plant="tide", what=worth.name))
    assert named == ["look-at-the-base", "warmer", "other-wrap", "more-light", "spike-off", "fresh-moss"]
    running = trying_of(bench.planner(on(220)).plant_planners[1].line, on(220).toordinal(), catalog)
    assert running is not None
    assert running.until - running.since == 27
    late = desk_on(bench, on(244))
    assert [r.text for r in remarks_of(late) if "All that is worth trying was tried" in r.text]


def test_fresh_moss_is_not_named_within_60_days_of_a_potting(catalog: Catalog) -> None:
    """Never twice within 60 days (tries.toml not_within_days)."""
    bench = build(
        catalog, year(28, 22, 3), {**MOSS, "stage": "rooting-in", "roots": 2, "leaves": 4}, place="room"
    )
    bench.write(Tried(on=on(2), plant="tide", what="look-at-the-base"))
    found = []
    for day in (59, 60):
        desk = desk_on(bench, on(day))
        worth = next_try(desk.line, on(day).toordinal(), desk.context)
        found.append(worth.name if worth is not None else "")
    assert found == ["", "fresh-moss"]


@pytest.mark.parametrize(
    ("told", "day", "level"),
    [
        ([(1, {"leaves": 2}), (20, {"leaves": 1})], 20, "go-on"),
        ([(1, {"leaves": 1}), (20, {"leaves": 0})], 20, "go-on"),
        ([(1, {"leaves": 3}), (20, {"leaves": 2})], 20, "losing"),
        ([(1, {"leaves": 3}), (20, {"leaves": 2})], 90, None),
        ([(1, {"firmness": "firm"}), (14, {"firmness": "soft"})], 42, "warning"),
        ([(1, {"firmness": "firm"}), (14, {"firmness": "soft"})], 43, None),
        ([(1, {"firmness": "firm"}), (16, {"firmness": "soft"})], 16, None),
        ([(1, {"firmness": "firm"}), (10, {"firmness": "folded"}), (20, {"firmness": "firm"})], 20, None),
    ],
)
def test_levels_at_their_edges(catalog: Catalog, told: Any, day: int, level: str | None) -> None:
    """Days and steps of losing_ground.toml, one day before and on them."""
    bench = build(catalog, year(), {**GROWN, "leaves": None}, place="room")
    for days, fields in told:
        seen(bench, days, **fields)
    found = losing_of(bench.planner(on(day)).plant_planners[1].line, on(day).toordinal(), catalog)
    assert (found.level.level if found is not None else None) == level


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [(3, 2, "2 leaves left, 1 lost"), (2, 1, "1 leaf left, 1 lost"), (1, 0, "its last leaf is gone")],
)
def test_the_leaves_that_are_left_are_said(catalog: Catalog, before: int, after: int, said: str) -> None:
    """In numbers as long as there is one; oracle: the counts told, losing_ground.toml leaves_left."""
    bench = build(catalog, year(), {**GROWN, "leaves": None}, place="room")
    seen(seen(bench, 1, leaves=before), 20, leaves=after)
    found = losing_of(bench.planner(on(20)).plant_planners[1].line, on(20).toordinal(), catalog)
    assert found is not None
    assert said in found.reasons


def test_a_keiki_and_one_that_left_lose_no_ground(catalog: Catalog) -> None:
    """A keiki lives by its mother; the lost are told by the year."""
    bench = build(catalog, year(), GROWN, place="room")
    bench.write(PlantAdded(on=FIRST, plant="pup", on_mother="tide", leaves=2, roots=0))
    bench.write(Observed(on=on(9), plant="pup", leaves=1))
    line = bench.planner(on(10)).plant_planners[2].line
    assert losing_of(line, on(10).toordinal(), catalog) is None


def test_buds_are_wetted_earlier_and_draught_is_said(catalog: Catalog) -> None:
    """From 25 cm of spike the days between wettings are 0.85 of what they were (bud_hazards.toml)."""
    bench = build(catalog, year(22, 20, 3, "breezy"), GROWN, place="room")
    seen(bench, 5, flowering="in-spike", spike_mm=240)
    before = desk_on(bench, on(6)).beats.at(on(6).toordinal())
    seen(bench, 8, spike_mm=250)
    desk = desk_on(bench, on(9))
    after = desk.beats.at(on(9).toordinal())
    assert before is not None
    assert after is not None
    assert after.terms.product == pytest.approx(0.85 * before.terms.product)
    assert "breezy air at room: no draught, no heater under it" in remarks_of(desk)[0].text.casefold()


@pytest.mark.parametrize(
    ("profile", "flowering", "days"),
    [("cymbidium", "in-bloom", 183), ("cymbidium", "in-spike", 183), ("phalaenopsis", "in-bloom", 181)],
)
def test_every_spike_and_bloom_has_a_usual_end(
    catalog: Catalog, profile: str, flowering: Any, days: int
) -> None:
    """Six months for Phalaenopsis (VAOS; 1 January to 1 July); half a year where a kind has no number."""
    bench = build(catalog, year(), {**GROWN, "profile": profile, "flowering": flowering}, place="room")
    desk = desk_on(bench, on(1))
    assert usual_end(desk.line.latest, desk.context) == on(days).toordinal()


def test_a_spike_ends_by_the_warmth_of_its_place(catalog: Catalog) -> None:
    """The latest first flower comes earlier in a warm room than in a cool one (ROBINSON2003)."""
    ends = []
    for air in ((24, 22), (19, 17)):
        desk = desk_on(build(catalog, year(*air), {**GROWN, "flowering": "in-spike"}, place="room"), on(1))
        end = usual_end(desk.line.latest, desk.context)
        assert end is not None
        ends.append(end - FIRST.toordinal())
    assert 50 < ends[0] < ends[1] <= 183


def test_what_nobody_said_is_over_on_one_day_however_the_plan_came_there(catalog: Catalog) -> None:
    """1 January, six months and 60 days: 30 August, moved there day by day or planned anew; undone by a word."""
    bench = build(catalog, year(22, 19, 3), {**GROWN, "flowering": "in-bloom"}, place="room")
    over = on(181 + 60)
    moved = bench.planner(over - timedelta(days=2))
    former = moved.plan("rounds").plant(1)
    for day in (over - timedelta(days=1), over):
        moved.move_to(day)
    fresh = bench.planner(over)
    assert (former.flowering, fresh.plan("rounds").plant(1).flowering) == ("in-bloom", "none")
    assert moved.plan("rounds").tasks == fresh.plan("rounds").tasks
    assert fresh.plant_planners[1].line.state_at(over.toordinal() - 1).flowering == "in-bloom"
    assert not [r for r in remarks_of(desk_on(bench, over + timedelta(days=14))) if r.code == "flowers"]
    seen(bench, 250, flowering="in-bloom")
    lines = bench.planner(on(260)).plant_planners[1].line
    assert [lines.state_at(on(day).toordinal()).flowering for day in (240, 245, 255)] == [
        "in-bloom",
        "none",
        "in-bloom",
    ]
    again = bench.planner(on(250 + 60)).plant_planners[1].line
    assert again.latest.flowering == "none"


def test_a_spike_that_is_kept_is_no_reason_and_one_spike_is_enough(catalog: Catalog) -> None:
    """Three leaves bear one spike (profiles spike_one_leaves); a keep is an answer, a potting none."""
    bench = build(catalog, year(22, 19, 3), {**GROWN, "leaves": 3, "flowering": "in-bloom"}, place="room")
    step = step_of(bench.planner(on(2)), "cutting-a-spike")
    assert step is not None
    assert (step.wanted, step.status) == (False, "wait")
    assert "of two keep the stronger" in step.because[0].text
    seen(bench, 3, leaves=2)
    asked = step_of(bench.planner(on(3)), "cutting-a-spike")
    bench.write(SpikeSet(on=on(4), plant="tide", to="keep"))
    kept = step_of(bench.planner(on(4)), "cutting-a-spike")
    assert asked is not None
    assert kept is not None
    assert (asked.wanted, kept.wanted) == (True, False)


def test_a_potting_starts_the_count_of_new_roots_anew(catalog: Catalog) -> None:
    """A root grown before a potting opens no wrap after it (rescue facts: grown since potting or wrapping)."""
    bench = build(catalog, year(), {**MOSS, "roots": 0, "leaves": 4}, place="room")
    bench.write(AidSet(on=on(1), plant="tide", aid="wrap"))
    seen(bench, 30, newest_mm=25, tips=1)
    bench.write(Potted(on=on(31), plant="tide", medium="moss", container="net", size_cm=8))
    step = step_of(bench.planner(on(60)), "opening-the-wrap")
    assert step is not None
    assert step.status == "unknown"


@pytest.mark.parametrize(
    ("age", "side", "days"), [(14, "b", 2), (15, "b", 4), (200, "b", 4), (1, "a", 21), (None, "b", 2)]
)
def test_a_wrap_is_looked_through_by_its_own_days(
    catalog: Catalog, age: int | None, side: str, days: int
) -> None:
    """Every 2 days up to and including day 14, then every 4; left alone by the other side (wraps.toml)."""
    plant = {"medium": "moss", "container": "bag", "size_cm": 8, "roots": 0}
    line = build(catalog, year(), plant, place="room").planner(FIRST).plant_planners[1].line
    state = line.latest._replace(potted=None if age is None else FIRST.toordinal() - age)
    assert wrap_look_days(state, FIRST.toordinal(), catalog, side) == days


def test_a_try_holds_to_its_last_day(catalog: Catalog) -> None:
    """28 days, the first one counted (tries.toml): the 28th still, the 29th no more."""
    bench = build(catalog, year(), {**MOSS, "roots": 0, "leaves": 4}, place="room")
    line = bench.write(Tried(on=on(2), plant="tide", what="warmer")).planner(on(40)).plant_planners[1].line
    held = [trying_of(line, on(day).toordinal(), catalog) is not None for day in (1, 2, 29, 30)]
    assert held == [False, True, True, False]


def test_who_loses_ground_by_its_leaves_is_not_fed_until_it_holds(catalog: Catalog) -> None:
    """Never 'feed it' (rescue facts): shut from the softening on for 28 days, or until it is felt firm again."""
    light = year(light=4)
    bench = build(catalog, light, GROWN, place="room")
    gates = (
        seen(seen(bench, 3, firmness="firm"), 10, firmness="wrinkled").planner(on(12)).plant_planners[1].gates
    )
    shut = [n for n in range(60) if "losing-ground" in gates.shut_on(on(n).toordinal())]
    assert shut == list(range(10, 39))
    assert gates.is_unfed(on(12).toordinal())
    fed = [t.on for t in bench.planner(on(12)).plan("each").tasks if t.care == "feeding" and t.on >= on(12)]
    assert fed
    assert min(fed) >= on(39)
    firm = seen(bench, 20, firmness="firm").planner(on(20)).plant_planners[1].gates
    assert "losing-ground" not in firm.shut_on(on(20).toordinal())
    lost = (
        seen(build(catalog, light, GROWN, place="room"), 20, leaves=3).planner(on(21)).plant_planners[1].gates
    )
    assert [n for n in range(120) if "losing-ground" in lost.shut_on(on(n).toordinal())] == list(
        range(20, 81)
    )


def test_the_shoot_after_a_lost_crown_grows_its_own_leaves_before_a_spike(catalog: Catalog) -> None:
    """Leaves counted of the lost crown tell nothing of the shoot; five of its own make it fit (PARADISO)."""
    bench = build(catalog, year(light=4), GROWN, place="room")
    seen(seen(bench, 5, crown="lost"), 150, crown="shoot")
    desk = desk_on(bench, on(151))
    spike = spike_of(desk)
    assert spike is not None
    assert "grows 5 leaves first" in spike.text
    assert leaf_of(desk) is None
    young = desk_on(seen(bench, 200, leaves=2), on(201))
    spike = spike_of(young)
    assert spike is not None
    assert "grows 5 leaves first" in spike.text
    assert leaf_of(young) is not None
    spike = spike_of(desk_on(seen(bench, 600, leaves=5), on(601)))
    assert spike is not None
    assert "leaves first" not in spike.text


@pytest.mark.parametrize(
    ("went_on", "asked"),
    [
        (None, {5 + 364: False, 5 + 365: True, 5 + 500: True}),
        (400, {400: False, 400 + 27: False, 400 + 28: True}),
    ],
)
def test_a_year_after_a_lost_crown_it_is_asked_whether_to_go_on(
    catalog: Catalog, went_on: int | None, asked: dict[int, bool]
) -> None:
    """From day 365 on, and 28 days after the answer again; oracle: askings.toml crownless, rule 25, days by hand."""
    bench = seen(build(catalog, year(), GROWN, place="room"), 5, crown="lost")
    if went_on is not None:
        bench.write(Tried(on=on(went_on), plant="tide"))
    found = {
        day: any(each.is_asked for each in remarks_of(desk_on(bench, on(day))) if each.code == "crown")
        for day in asked
    }
    assert found == asked


def test_no_spike_is_expected_of_dim_cool_days(catalog: Catalog) -> None:
    """Below 1.1 mol a cool day brings no spike (PAMAB-LIGHT): dark to April, light from about May on, by hand."""
    rows = (
        MonthRow(
            month=m, day_c=22, night_c=18, rh_pct=60, air="room", light_mol_m2_d=4 if 5 <= m <= 10 else 0.8
        )
        for m in range(1, 13)
    )
    spike = spike_of(desk_on(build(catalog, {"room": tuple(rows)}, GROWN, place="room"), on(0)))
    assert spike is not None
    assert spike.early is not None
    assert date(2025, 4, 15).toordinal() <= spike.early - 27 <= date(2025, 5, 15).toordinal()
    dark = spike_of(desk_on(build(catalog, year(light=1.0), GROWN, place="room"), on(0)))
    assert dark is not None
    assert "less than 1.1 mol" in dark.text


def test_a_leaf_that_should_be_there_is_asked_for(catalog: Catalog) -> None:
    """No day that has passed is named as the earliest one."""
    bench = build(catalog, year(light=4), GROWN, place="room")
    early = leaf_of(desk_on(bench, on(2)))
    assert early is not None
    assert early.early is not None
    late = leaf_of(desk_on(bench, date.fromordinal(early.early + 1)))
    assert late is not None
    assert "6 leaves may be there by now, count again" in late.text
    assert "not before" not in late.text


def test_no_leaf_is_foretold_of_what_lives_on_its_leaves(catalog: Catalog) -> None:
    """Without roots, or losing ground, a plant loses leaves before it makes one (our choice)."""
    bare = build(catalog, year(), {**MOSS, "roots": 0, "leaves": 4}, place="room")
    assert leaf_of(desk_on(bare, on(2))) is None
    bench = build(catalog, year(light=4), GROWN, place="room")
    assert leaf_of(desk_on(seen(bench, 3, firmness="firm"), on(4))) is not None
    assert leaf_of(desk_on(seen(bench, 9, firmness="wrinkled"), on(10))) is None


def test_what_changed_is_never_told_of_a_place_that_stayed_as_it_was(catalog: Catalog) -> None:
    """Who says that flowers are spent changed no sill: the air of the season is named, or nothing."""
    warm = {
        "room": tuple(
            MonthRow(month=m, day_c=18 + m, night_c=14 + m, rh_pct=50, air="room", light_mol_m2_d=3)
            for m in range(1, 13)
        )
    }
    bench = build(catalog, warm, {**GROWN, "flowering": "in-spike"}, place="room")
    texts = []
    for day, told in ((60, "in-bloom"), (150, "spent")):
        planner = seen(bench, day, flowering=told).planner(on(day))
        texts += [r.text for rhythm in planner.plan("each").rhythms for r in rhythm.reasons]
    assert texts
    assert not [text for text in texts if "changed" in text]
