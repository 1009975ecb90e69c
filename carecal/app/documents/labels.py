"""Labels for pots: sheets with name and a code that opens the plant's page; where each stands, not how it is drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import segno

from carecal.app.setup.plants import plant_of, plants_of
from carecal.app.setup.settings import settings_of
from carecal.errors import Refused
from carecal.wording.clean import clean_line

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.app.door import Collection
    from carecal.app.now import Now

__all__ = ["SHEETS", "Label", "Place", "Sheet", "free_sheet", "labels_of", "placed"]

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height of paper. [mm]. Source: ISO 216; ANSI/ASME Y14.1."""
LEAST_MM, MOST_MM = 12.0, 200.0
GAP_MM, EDGE_MM = 2.0, 8.0  # between free labels, and what printers leave white at the edge; our choice


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on one label: a plant's name, a line below it, and the rows of its code (True is dark)."""

    name: str
    line: str
    address: str
    code: tuple[tuple[bool, ...], ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of labels: its paper, how many across and down, where the first begins, how big each is. [mm]."""

    name: str
    paper: tuple[float, float]
    across: int
    down: int
    left: float
    top: float
    wide: float
    high: float
    step_x: float
    step_y: float

    @property
    def many(self) -> int:
        """How many labels a sheet holds."""
        return self.across * self.down


@dataclass(frozen=True, slots=True)
class Place:
    """Where one label lies: its sheet, counted from 0, and its upper left corner. [mm]."""

    sheet: int
    x: float
    y: float
    label: Label


SHEETS = {
    "a4": Sheet("A4, 3 × 8 labels of 70 × 37 mm", PAPERS["a4"], 3, 8, 0.0, 0.5, 70.0, 37.0, 70.0, 37.0),
    "letter": Sheet(
        "Letter, 3 × 10 labels of 2⅝ × 1 in", PAPERS["letter"], 3, 10, 4.8, 12.7, 66.7, 25.4, 69.9, 25.4
    ),
}
"""Two common sheets of sticky labels (common practice; printers differ by a millimetre: try one on plain paper)."""


def free_sheet(wide_mm: float, high_mm: float, paper: str = "a4") -> Sheet:
    """Return a sheet of labels of any size, as many as fit on plain paper.

    Args:
        wide_mm: Width of a label. [mm]
        high_mm: Height. [mm]
        paper: a4 or letter.

    Raises:
        Refused: The paper is not known, or a label is too small or too large.
    """
    if paper not in PAPERS:
        raise Refused(f"paper '{paper}' is not known; allowed are {', '.join(PAPERS)}")
    for what, size in (("width", wide_mm), ("height", high_mm)):
        if not LEAST_MM <= size <= MOST_MM:
            raise Refused(
                f"the {what} of a label, {size:g} mm, is out of range; allowed are {LEAST_MM:g} to {MOST_MM:g} mm"
            )
    width, height = PAPERS[paper]
    across = int((width - 2 * EDGE_MM + GAP_MM) // (wide_mm + GAP_MM))
    down = int((height - 2 * EDGE_MM + GAP_MM) // (high_mm + GAP_MM))
    if not across or not down:
        raise Refused(f"a label of {wide_mm:g} × {high_mm:g} mm does not fit on {paper}")
    return Sheet(
        f"{wide_mm:g} × {high_mm:g} mm on {paper}",
        PAPERS[paper],
        across,
        down,
        EDGE_MM,
        EDGE_MM,
        wide_mm,
        high_mm,
        wide_mm + GAP_MM,
        high_mm + GAP_MM,
    )


def labels_of(collection: Collection, now: Now, ids: Sequence[str], base: str = "") -> list[Label]:
    """Return the labels of plants; of all that are here where none is named.

    Args:
        collection: The collection.
        now: The moment.
        ids: Ids of the plants.
        base: Address of the server; '': the public address of the settings.

    Raises:
        UnknownName: No plant has an id.
        Refused: There is no address for the code, or no plant.
    """
    address = (base or settings_of(collection, now).get("public-address", "")).rstrip("/")
    if address in {"", "none"}:
        raise Refused(
            "there is no address that a code could open; set the public address first, as http://quay.local:8321"
        )
    chosen = list(dict.fromkeys(ids)) or [row["id"] for row in plants_of(collection, now)]
    if not chosen:
        raise Refused("there is no plant yet; add one first")
    return [_label(collection, now, plant, address) for plant in chosen]


def _label(collection: Collection, now: Now, plant: str, base: str) -> Label:
    known = plant_of(collection, now, plant)
    kind = known["profile"].replace("-", " ").capitalize() if known["profile"] else ""
    address = f"{base}/plants/{plant}"
    code = segno.make(address, error="m", micro=False)
    rows = tuple(tuple(bool(bit) for bit in row) for row in code.matrix)
    return Label(clean_line(known["name"]) or plant, kind, address, rows)


def placed(labels: Sequence[Label], sheet: Sheet, skip: int = 0) -> list[Place]:
    """Return where each label lies, row by row.

    Args:
        labels: The labels.
        sheet: The sheet.
        skip: Places of the first sheet that are used up already.

    Raises:
        Refused: More places are skipped than a sheet has.
    """
    if not 0 <= skip < sheet.many:
        raise Refused(
            f"{skip} places are skipped; a sheet has {sheet.many}, so allowed are 0 to {sheet.many - 1}"
        )
    found = []
    for n, label in enumerate(labels, skip):
        page, place = divmod(n, sheet.many)
        row, column = divmod(place, sheet.across)
        x, y = sheet.left + column * sheet.step_x, sheet.top + row * sheet.step_y
        found.append(Place(page, round(x, 3), round(y, 3), label))
    return found
