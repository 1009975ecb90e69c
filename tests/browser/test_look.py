"""How the pages look on a phone: no rule of accessibility broken, wide targets, no sideways scrolling, few bytes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from carecal.app import Collection
from carecal.collection.entries import PlantAdded
from tests.benchmarks import page as page_benchmark
from tests.browser.conftest import Served, violations
from tests.stories.quay import STARTED, TODAY, moment

Phone = Callable[..., Any]
PAGES = (
    "/", "/plants", "/plants/gable", "/plants/gable/say", "/plants/gable/why", "/plants/gable/story",
    "/plants/gable/pot?compare=1", "/plants/gable/pause", "/places", "/ahead", "/log", "/year", "/calendars",
    "/settings", "/add", "/away", "/pause", "/labels?plant=gable",
)  # fmt: skip
LEAST_TARGET = 48  # [px]
LEAST_ROW = 64  # [px]
MOST_BYTES = 60_000  # of the first page in all [B]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_no_accessibility_rule_is_broken(
    phone: Phone, served: Served, axe: str, scheme: str, width: int
) -> None:
    """The engine finds no violation of WCAG 2.2 AA, in both themes, on a phone and a desk, with every form open."""
    page = phone(color_scheme=scheme, viewport={"width": width, "height": 800})
    found = {}
    for path in PAGES:
        page.goto(f"{served.base}{path}")
        page.eval_on_selector_all("main details", "all => all.forEach(fold => { fold.open = true; })")
        found[path] = violations(page, axe)
    assert found == {path: [] for path in PAGES}
    stranger = phone(color_scheme=scheme, signed_in=False)
    stranger.goto(f"{served.base}/login")
    assert violations(stranger, axe) == []


@pytest.mark.parametrize("width", [206, 320, 412, 768, 1200])
def test_no_page_scrolls_sideways(phone: Phone, served: Served, width: int) -> None:
    """At half a phone's width (200 % zoom), at 320 px (WCAG 1.4.10), on a phone and on a desk."""
    page = phone(viewport={"width": width, "height": 800})
    for path in PAGES:
        page.goto(f"{served.base}{path}")
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), path


def test_targets_are_wide_enough_for_wet_hands(phone: Phone) -> None:
    """Rows are 64 px high, every other button 48 px (a link within a sentence is exempt, WCAG 2.5.8)."""
    page = phone()
    heights = page.eval_on_selector_all(
        "main button, nav summary, .more summary, nav a, select, input:not([type=hidden]):not([type=checkbox])",
        "all => all.filter(e => e.offsetParent).map(e => [e.outerHTML.slice(0, 80), e.getBoundingClientRect().height])",
    )
    assert len(heights) > 4
    assert [(name, height) for name, height in heights if height < LEAST_TARGET] == []
    rows = page.eval_on_selector_all("button.tap", "all => all.map(e => e.getBoundingClientRect().height)")
    assert rows
    assert min(rows) >= LEAST_ROW


def test_the_first_page_is_small(phone: Phone, served: Served) -> None:
    """Page, style and script as they travel, compressed, stay within 60 kB: counted by the browser, nothing kept."""
    page = phone(service_workers="block")
    wire = page.context.new_cdp_session(page)
    sizes: list[int] = []
    wire.send("Network.enable")
    wire.send("Network.setCacheDisabled", {"cacheDisabled": True})
    wire.on("Network.loadingFinished", lambda done: sizes.append(int(done["encodedDataLength"])))
    page.goto(f"{served.base}/", wait_until="networkidle")
    assert len(sizes) >= 4  # the page, its style and its scripts
    assert 0 < sum(sizes) <= MOST_BYTES


def test_nothing_is_blocked_by_the_policy(phone: Phone, served: Served) -> None:
    """The browser reports no error of its own on any page: no script or style that the policy stops."""
    page = phone()
    told: list[str] = []
    page.on("console", lambda message: told.append(message.text))
    for path in PAGES:
        page.goto(f"{served.base}{path}")
    assert told == []


def test_five_plants_stand_above_the_fold(phone: Phone, served: Served) -> None:
    """At 360 × 740: a long can and carried looks fold to a line, and five rows end above the bar at the thumb."""
    with Collection.open(served.folder) as collection:
        for number in range(6):
            collection.record(
                PlantAdded.model_validate(
                    {
                        "on": STARTED,
                        "plant": f"kelp-{number}",
                        "medium": "moss",
                        "container": "clear-plastic",
                        "place": ("east-sill", "bathroom")[number % 2],
                        "stage": "rootless",
                        "watered": STARTED,
                        "size_cm": 9,
                    }
                ),
                now=moment(TODAY),
            )
    page = phone(viewport={"width": 360, "height": 740})
    bar = page.get_by_role("navigation").bounding_box()["y"]
    ends = page.eval_on_selector_all(".row.open", "all => all.map(e => e.getBoundingClientRect().bottom)")
    assert len(ends) > 5
    assert sorted(ends)[4] <= bar


def test_the_page_benchmark_loads_a_round_with_rows(chromium: Any) -> None:
    """What it times is the whole round, and both of its states are measured; nothing here looks at a clock."""
    first, kept = page_benchmark.measure(chromium[1], turns=1, plants=6)
    assert dict(first.counts)["rows"] > 1
    assert (first.unit, kept.unit) == ("ms", "ms")
    assert first.counts == kept.counts
