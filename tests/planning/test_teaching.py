"""What plants teach: simulated growers through the planner, statistics against scipy, priors of neighbours."""

from __future__ import annotations

from datetime import date, timedelta
from math import erf, exp, log, pi, sqrt
from typing import TYPE_CHECKING

import pytest
from scipy.integrate import quad

from carecal.app.priors import neighbour_prior
from carecal.collection.entries import (
    Done,
    Left,
    MonthRow,
    Moved,
    PlantAdded,
    Potted,
    Readings,
    ReadingsDay,
    Weighed,
)
from carecal.planning.pace.estimates import PaceEstimate, estimate_on
from carecal.planning.pace.questions import ask_felt, question_of
from carecal.wording.pace import words_of_factor

if TYPE_CHECKING:
    from tests.bench import Bench

START = date(2025, 1, 1)


def steady(day_c: float = 21, night_c: float = 21) -> list[MonthRow]:
    """Return a climate without seasons: the reference room, in which demand is exactly 1 (models D3)."""
    return [
        MonthRow(month=m, day_c=day_c, night_c=night_c, rh_pct=50, air="room", light_mol_m2_d=2)
        for m in range(1, 13)
    ]


def room(bench: Bench, *plants: str) -> Bench:
    """Return a bench with established plants in bark of 12 cm plastic pots (6 days by the table), wetted on entry."""
    bench.place("room", steady(), START)
    for name in plants:
        bench.write(
            PlantAdded(
                on=START,
                plant=name,
                medium="bark",
                container="plastic",
                size_cm=12,
                place="room",
                stage="established",
                watered=START,
            )
        )
    return bench


def known(bench: Bench, as_of: date, plant: int = 1) -> PaceEstimate:
    """Return what a plant has taught on a day."""
    return estimate_on(bench.planner(as_of).plant_planners[plant].estimates, as_of.toordinal())


def days_of_plan(bench: Bench, as_of: date) -> int:
    """Return the interval in force of the first plant on the day after."""
    beat = bench.planner(as_of).plant_planners[1].beats.at(as_of.toordinal() + 1)
    assert beat is not None
    return beat.days


def honest(truth: float, wettings: int, bench: Bench) -> date:
    """Let a grower look at each due day, leave what is damp for a day, wet the rest; return the last day."""
    last = day = START
    done = 0
    while done < wettings:
        day = max(day + timedelta(days=1), last + timedelta(days=days_of_plan(bench, day)))
        while (day - last).days / (6 * truth) < 0.85:
            bench.write(Left(on=day, plant="tide", care="watering", felt="damp"))
            day += timedelta(days=1)
        felt = "right" if (day - last).days / (6 * truth) <= 1.2 else "parched"
        bench.write(Done.model_validate({"on": day, "plant": "tide", "care": "watering", "felt": felt}))
        last, done = day, done + 1
    return day


@pytest.mark.parametrize("truth", [0.6, 1.0, 1.5])
def test_an_honest_grower_finds_the_true_pace(bench: Bench, truth: float) -> None:
    """Ten wettings bring the factor within a fifth of the truth; oracle: the simulated plant itself."""
    room(bench, "tide")
    end = honest(truth, 10, bench)
    estimate = known(bench, end)
    assert estimate.factor == pytest.approx(truth, rel=0.2)
    assert estimate.low / 1.1 <= truth <= estimate.high * 1.1
    assert days_of_plan(bench, end) == pytest.approx(6 * truth, abs=1)


@pytest.mark.parametrize(("share", "felt"), [(0.5, "damp"), (0.7, "damp"), (0.9, "damp")])
def test_an_early_grower_never_runs_away(bench: Bench, share: float, felt: str) -> None:
    """Always early and always damp: the factor stays within double, and one right look is asked for (models K3)."""
    room(bench, "tide")
    day = START
    for _ in range(40):
        day += timedelta(days=max(1, round(share * days_of_plan(bench, day))))
        bench.write(Done.model_validate({"on": day, "plant": "tide", "care": "watering", "felt": felt}))
    estimate = known(bench, day)
    assert estimate.factor <= 2
    assert estimate.mean <= log(2) + 1e-9
    assert "leave it until it is right, once" in question_of(estimate)
    bench.write(Done(on=day + timedelta(days=6), plant="tide", care="watering", felt="right"))
    assert known(bench, day + timedelta(days=6)).factor < 2


def test_a_late_grower_never_runs_away(bench: Bench) -> None:
    """Always half again too late and parched: intervals shorten, never below a quarter of the table (models K3)."""
    room(bench, "tide")
    day, former = START, 6
    for _ in range(30):
        days = days_of_plan(bench, day)
        assert days <= former
        former = days
        day += timedelta(days=max(2, round(1.5 * days)))
        bench.write(Done(on=day, plant="tide", care="watering", felt="parched"))
    estimate = known(bench, day)
    assert 0.25 <= estimate.factor < 1
    assert estimate.censored_running == 30


def test_one_wrong_entry_moves_little(bench: Bench) -> None:
    """After ten right answers one at four times the interval weighs less than it says; oracle: HUBER1964's bound."""
    room(bench, "tide")
    end = honest(1.0, 10, bench)
    before = known(bench, end)
    wrong = end + timedelta(days=21)
    bench.write(Done(on=wrong, plant="tide", care="watering", felt="right"))
    after = known(bench, wrong)
    assert 1 < after.factor / before.factor < 1.25
    back = wrong
    for _ in range(3):
        back += timedelta(days=6)
        bench.write(Done(on=back, plant="tide", care="watering", felt="right"))
    assert known(bench, back).factor == pytest.approx(1.0, abs=0.13)


def test_a_new_plant_starts_with_what_the_sill_taught(bench: Bench) -> None:
    """The twenty-fifth starts nearer the truth than the table; oracle: the weighted mean by hand (models K4)."""
    names = ["a1", "a2", "a3"]
    room(bench, *names)
    for name in names:
        for n in range(1, 7):
            bench.write(Done(on=START + timedelta(days=9 * n), plant=name, care="watering", felt="right"))
    day = START + timedelta(days=60)
    planner = bench.planner(day)
    prior = neighbour_prior(planner.plant_planners.values(), "bark", "room", day.toordinal())
    assert prior is not None
    weights = [1 / (d.estimates[-1].sd ** 2 + 0.205**2) for d in planner.plant_planners.values()]
    means = [d.estimates[-1].mean for d in planner.plant_planners.values()]
    by_hand = sum(w * m for w, m in zip(weights, means, strict=True)) / (sum(weights) + 1 / 0.205**2) / 2
    assert prior == pytest.approx((by_hand, 0.25), abs=1e-5)
    bench.write(
        PlantAdded(
            on=day,
            plant="new",
            medium="bark",
            container="plastic",
            size_cm=12,
            place="room",
            stage="established",
            watered=day,
            prior_mean=prior[0],
            prior_sd=prior[1],
        )
    )
    fresh = known(bench, day, plant=4)
    assert fresh.factor == pytest.approx(exp(by_hand), rel=1e-4)
    assert fresh.neighbours
    assert words_of_factor(fresh).startswith("by its neighbours dries")


@pytest.mark.parametrize(
    ("medium", "place", "back"),
    [("lava", "room", 0), ("bark", "shelf", 0), ("bark", "room", 50)],
    ids=["another medium", "another place", "before they had taught"],
)
def test_strangers_teach_nothing(bench: Bench, medium: str, place: str, back: int) -> None:
    """Only three measured plants in the same medium at the same place on that day set a prior (models K4)."""
    room(bench, "a1", "a2", "a3")
    for name in ("a1", "a2", "a3"):
        bench.write(Done(on=START + timedelta(days=15), plant=name, care="watering", felt="right"))
    day = START + timedelta(days=60)
    plant_planners = bench.planner(day).plant_planners.values()
    assert neighbour_prior(plant_planners, medium, place, (day - timedelta(days=back)).toordinal()) is None
    assert neighbour_prior(plant_planners, "bark", "room", day.toordinal()) is not None


def test_a_tick_of_a_neighbour_moves_one_plant(bench: Bench) -> None:
    """A prior once written stays, whatever neighbours teach later (design §3 rule 4)."""
    room(bench, "a1", "a2")
    bench.write(Moved(on=START + timedelta(days=9), plant="a2", place="room", prior_mean=0.2, prior_sd=0.4))
    day = START + timedelta(days=12)
    before = bench.planner(day).plant_planners[2].estimates
    bench.write(Done(on=day, plant="a1", care="watering", felt="right"))
    assert bench.planner(day).plant_planners[2].estimates == before


def test_a_damp_answer_is_the_cut_normal(bench: Bench) -> None:
    """Mean and deviation after one damp answer are those of the integral; oracle: scipy.integrate."""
    room(bench, "tide")
    day = START + timedelta(days=5)
    bench.write(Left(on=day, plant="tide", care="watering", felt="damp"))
    estimate, y = known(bench, day), log(5 / 6)

    def density(m: float) -> float:
        prior = exp(-(m**2) / (2 * 0.29**2)) / (0.29 * sqrt(2 * pi))
        return prior * (0.9 * 0.5 * (1 + erf((m - y - log(1.2)) / (0.2 * sqrt(2)))) + 0.1 / 3)

    mass = quad(density, -4, 4)[0]
    mean = quad(lambda m: m * density(m), -4, 4)[0] / mass
    sd = sqrt(quad(lambda m: (m - mean) ** 2 * density(m), -4, 4)[0] / mass)
    assert (estimate.mean, estimate.sd) == pytest.approx((mean, sd), abs=2e-4)


def right_by_hand(y: float, sd: float = 0.25) -> tuple[float, float]:
    """Mean and deviation after one measured answer: right nine times in ten, else anywhere (models K2)."""

    def density(m: float) -> float:
        told = exp(-((y - m) ** 2) / (2 * sd**2)) / (sd * sqrt(2 * pi))
        return exp(-(m**2) / (2 * 0.29**2)) * (0.9 * told + 0.1 / log(16))

    mass = quad(density, -4, 4)[0]
    mean = quad(lambda m: m * density(m), -4, 4)[0] / mass
    return mean, sqrt(quad(lambda m: (m - mean) ** 2 * density(m), -4, 4)[0] / mass)


def test_a_right_answer_is_the_mixture_of_right_and_wrong(bench: Bench) -> None:
    """Mean and deviation after one right answer at 7 of 6 days; oracle: scipy.integrate (models K2)."""
    room(bench, "tide")
    day = START + timedelta(days=7)
    bench.write(Done(on=day, plant="tide", care="watering", felt="right"))
    estimate = known(bench, day)
    assert (estimate.mean, estimate.sd) == pytest.approx(right_by_hand(log(7 / 6)), abs=2e-4)
    assert estimate.entries == 1


def test_a_weight_before_the_target_is_scaled_to_it(bench: Bench) -> None:
    """Half gone after 3 days: the target of 0.35 comes at (0.5 + 0.45·ln(0.45/0.30))/0.5 times as many (D4)."""
    room(bench, "tide")
    bench.write(Weighed(on=START, plant="tide", weight_g=600, mark="full"))
    bench.write(Weighed(on=START, plant="tide", weight_g=400, mark="dry"))
    day = START + timedelta(days=3)
    bench.write(Weighed(on=day, plant="tide", weight_g=500))
    y = log(3 / 6 * (0.5 + 0.45 * log(0.45 / 0.30)) / 0.5)
    estimate = known(bench, day)
    assert estimate.mean == pytest.approx(right_by_hand(y, 0.15)[0], abs=2e-4)
    assert estimate.is_measured


def test_marks_of_the_scales_are_void_at_potting(bench: Bench) -> None:
    """A weight after a potting teaches nothing until both marks are taken anew (design §3 rule 6)."""
    room(bench, "tide")
    for mark, grams in (("full", 600), ("dry", 400)):
        bench.write(Weighed.model_validate({"on": START, "plant": "tide", "weight_g": grams, "mark": mark}))
    bench.write(
        Potted(on=START + timedelta(days=2), plant="tide", medium="bark", container="plastic", size_cm=12)
    )
    bench.write(Weighed(on=START + timedelta(days=5), plant="tide", weight_g=500))
    assert known(bench, START + timedelta(days=6)).entries == 0


def test_potting_keeps_half_and_widens(bench: Bench) -> None:
    """The factor keeps half its log-mean with sd 0.25, and the bound of K3 holds anew (design §3 rule 6)."""
    room(bench, "tide")
    end = honest(1.5, 4, bench)
    before = known(bench, end)
    potted = end + timedelta(days=1)
    bench.write(Potted(on=potted, plant="tide", medium="bark", container="plastic", size_cm=12))
    after = known(bench, potted)
    assert (after.mean, after.sd) == pytest.approx((before.mean / 2, 0.25))
    assert not after.is_measured
    assert after.was_measured


def test_assumed_wettings_neither_anchor_nor_teach(bench: Bench) -> None:
    """Silence of a month leaves the factor as it was (models K1)."""
    room(bench, "tide")
    bench.write(Done(on=START + timedelta(days=6), plant="tide", care="watering", felt="right"))
    early = bench.planner(START + timedelta(days=6)).plant_planners[1].estimates
    late = bench.planner(START + timedelta(days=40)).plant_planners[1]
    assert late.estimates == early
    assert [slot.status for slot in late.chain.slots()].count("assumed") == 2


def test_a_day_gives_one_answer(bench: Bench) -> None:
    """Looked at damp and wetted all the same: what was felt first that day counts, once."""
    room(bench, "tide")
    day = START + timedelta(days=4)
    bench.write(Left(on=day, plant="tide", care="watering", felt="damp"))
    before = known(bench, day)
    bench.write(Done(on=day, plant="tide", care="watering", felt="damp"))
    assert known(bench, day) == before


def test_a_second_entry_of_the_day_may_say_how_it_felt(bench: Bench) -> None:
    """Ticked first and felt later on the same day: counted from the wetting before, not from the tick."""
    room(bench, "tide")
    day = START + timedelta(days=7)
    bench.write(Done(on=day, plant="tide", care="watering"))
    bench.write(Done(on=day, plant="tide", care="watering", felt="right"))
    assert known(bench, day).mean == pytest.approx(right_by_hand(log(7 / 6))[0], abs=2e-4)


def test_more_than_four_intervals_teach_nothing(bench: Bench) -> None:
    """An answer after a time in which something was surely not written down is no observation."""
    room(bench, "tide")
    bench.write(Done(on=START + timedelta(days=60), plant="tide", care="watering", felt="right"))
    assert known(bench, START + timedelta(days=60)).entries == 0


def test_the_factor_is_independent_of_the_day_it_is_asked_on(bench: Bench) -> None:
    """Estimates up to a day are the same whether asked that day or months later, readings or not (design §3 rule 4)."""
    room(bench, "tide")
    honest(0.7, 6, bench)
    read = [ReadingsDay(day=START + timedelta(days=n), temp_mean_c=24, rh_mean_pct=40) for n in range(20)]
    bench.write(Readings(on=START + timedelta(days=20), place="room", days=tuple(read)))
    early = bench.planner(START + timedelta(days=21)).plant_planners[1].estimates
    late = bench.planner(START + timedelta(days=200)).plant_planners[1].estimates
    assert len(early) > 3
    assert late[: len(early)] == early


def test_readings_of_a_warmer_place_count_as_more_drying(bench: Bench) -> None:
    """The same days in warmer air are more progress, so a 'right' then says a slower plant."""
    room(bench, "tide")
    day = START + timedelta(days=8)
    bench.write(Done(on=day, plant="tide", care="watering", felt="right"))
    before = known(bench, day)
    read = [ReadingsDay(day=START + timedelta(days=n), temp_mean_c=27, rh_mean_pct=40) for n in range(8)]
    bench.write(Readings(on=day, place="room", days=tuple(read)))
    assert known(bench, day).mean > before.mean + 0.02


@pytest.mark.parametrize(
    ("factor", "sd", "words"),
    [
        (0.75, 0.2, "dries a third faster than the table, fairly sure"),
        (1.0, 0.1, "dries as the table says, sure"),
        (2.0, 0.3, "dries twice as slowly as the table, not yet sure"),
        (0.5, 0.45, "dries twice as fast as the table, a guess"),
    ],
)
def test_a_factor_in_words(factor: float, sd: float, words: str) -> None:
    """Pace and certainty are said as a grower says them, with the band in numbers."""
    estimate = PaceEstimate(1, factor, factor / 1.3, factor * 1.3, 3, log(factor), sd, is_measured=True)
    assert words_of_factor(estimate).startswith(words)
    assert f"80 % between ×{factor / 1.3:.2f}" in words_of_factor(estimate)


def test_nothing_is_asked_that_would_not_narrow_the_band(bench: Bench) -> None:
    """A new plant is asked; one with ten right answers is not (design §3 rule 4)."""
    room(bench, "tide")
    assert ask_felt(known(bench, START))
    end = honest(1.0, 10, bench)
    estimate = known(bench, end)
    assert not ask_felt(estimate)
    assert question_of(estimate) == ""
    assert ask_felt(estimate, weeks=104)
