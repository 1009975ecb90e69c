"""Labels: where each lies on its sheet, what its code says, SVG and PDF of the same places."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
import segno

from carecal.app import Collection
from carecal.app.documents.labels import PAPERS, SHEETS, Label, free_sheet, labels_of, placed
from carecal.app.files.label_sheets import QUIET, pdf_of, svg_of
from carecal.errors import Refused
from tests.stories.quay import TODAY, make_quay, moment

BASE = "http://quay.local:8321"


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of the house by the harbour."""
    folder = tmp_path_factory.mktemp("labels") / "home"
    make_quay(folder)
    return folder


def _labels(house: Path, *ids: str) -> list[Label]:
    with Collection.open(house, readonly=True) as collection:
        return labels_of(collection, moment(TODAY), ids, BASE)


def test_the_code_is_the_address_of_the_plants_page(house: Path) -> None:
    """Its modules are those that the library gives for the address (segno is the oracle, and a camera reads them)."""
    label = _labels(house, "tide")[0]
    assert label.address == f"{BASE}/plants/tide"
    wanted = segno.make(label.address, error="m", micro=False).matrix
    assert label.code == tuple(tuple(bool(bit) for bit in row) for row in wanted)


@pytest.mark.parametrize("name", list(SHEETS))
def test_a_common_sheet_fits_its_paper(name: str) -> None:
    """First and last label lie on the paper, and no two overlap (worked from the sheet's own numbers)."""
    sheet = SHEETS[name]
    right = sheet.left + (sheet.across - 1) * sheet.step_x + sheet.wide
    bottom = sheet.top + (sheet.down - 1) * sheet.step_y + sheet.high
    assert right <= sheet.paper[0] + 0.01
    assert bottom <= sheet.paper[1] + 0.01
    assert sheet.step_x >= sheet.wide
    assert sheet.step_y >= sheet.high


def test_labels_run_row_by_row_and_over_to_the_next_sheet(house: Path) -> None:
    """On a sheet of 3 × 8, skipping 22: two labels close the first sheet, three begin the second."""
    found = placed(_labels(house), SHEETS["a4"], skip=22)
    assert [p.sheet for p in found] == [0, 0, 1, 1, 1]
    assert (found[0].x, found[0].y) == (70.0, 0.5 + 7 * 37.0)
    assert (found[2].x, found[2].y) == (0.0, 0.5)


@pytest.mark.parametrize(
    ("wide", "high", "paper", "wanted"),
    [(50, 25, "a4", (3, 10)), (90, 60, "letter", (2, 4)), (194, 60, "a4", (1, 4))],
)
def test_a_free_size_fills_plain_paper(wide: float, high: float, paper: str, wanted: tuple[int, int]) -> None:
    """As many as fit between edges of 8 mm with gaps of 2 mm, worked by hand."""
    sheet = free_sheet(wide, high, paper)
    assert (sheet.across, sheet.down) == wanted
    assert sheet.left + sheet.across * (wide + 2) - 2 <= PAPERS[paper][0] - 8 + 0.01


@pytest.mark.parametrize(("wide", "high"), [(5, 25), (300, 25), (50, 0)])
def test_a_size_that_cannot_be_printed_is_refused(wide: float, high: float) -> None:
    """The refusal names what is allowed."""
    with pytest.raises(Refused, match="allowed are 12 to 200 mm"):
        free_sheet(wide, high)


def test_without_an_address_there_is_no_code(house: Path) -> None:
    """A code that opens nothing is not printed."""
    with Collection.open(house, readonly=True) as collection, pytest.raises(Refused, match="public address"):
        labels_of(collection, moment(TODAY), ["tide"])


def test_the_svg_draws_each_dark_module_with_its_quiet_zone(house: Path) -> None:
    """The dark area is modules × size², four of them are left white at the edge (ISO/IEC 18004).

    A code takes half of the label's width, 35 mm, since that is less than its height.
    """
    labels, sheet = _labels(house, "tide"), SHEETS["a4"]
    svg = svg_of(placed(labels, sheet), sheet)[0]
    ElementTree.fromstring(svg)  # noqa: S314 - our own, and it must be well formed
    module = 35.0 / (len(labels[0].code) + 2 * QUIET)
    bars = [tuple(map(float, bar)) for bar in re.findall(r"M([\d.]+) ([\d.]+)h([\d.]+)v([\d.]+)", svg)]
    dark = sum(sum(row) for row in labels[0].code)
    assert sum(w * h for _, _, w, h in bars) == pytest.approx(dark * module**2, rel=0.01)
    assert min(x for x, _, _, _ in bars) == pytest.approx(QUIET * module, abs=0.01)
    assert "Tide" in svg


def test_the_pdf_has_each_sheet_in_its_size(house: Path) -> None:
    """Two sheets of A4 with the names on them; its table of objects points at each (ISO 32000-1, 7.5.4)."""
    body = pdf_of(placed(_labels(house), SHEETS["a4"], skip=22), SHEETS["a4"])
    assert body.count(b"/Type /Page ") == 2
    assert body.count(b"/MediaBox [0 0 595.28 841.89]") == 2
    start = int(body.rpartition(b"startxref\n")[2].split()[0])
    assert body[start : start + 4] == b"xref"
    for n, place in enumerate(re.findall(rb"(\d{10}) 00000 n", body), 1):
        assert body[int(place) :].startswith(b"%d 0 obj" % n)
    assert all(f"({name}) Tj".encode() in body for name in ("Tide", "Gable", "Lantern"))


def test_letters_the_pdf_lacks_are_named(house: Path) -> None:
    """A name in another script is refused for PDF with the way out."""
    label = _labels(house, "tide")[0]
    other = type(label)("海", "", label.address, label.code)
    with pytest.raises(Refused, match="take SVG"):
        pdf_of(placed([other], SHEETS["a4"]), SHEETS["a4"])
