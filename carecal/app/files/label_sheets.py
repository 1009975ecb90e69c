"""Label sheets as SVG and PDF, drawn from the same places: name, a line, the code with its quiet zone."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING

from carecal.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from carecal.app.documents.labels import Place, Sheet

__all__ = ["pdf_of", "svg_of"]

PAD_MM = 2.0  # white within a label
QUIET = 4  # modules of white around a code. Source: ISO/IEC 18004, 6.3.8
MM_PT = 72 / 25.4  # [pt/mm]
PT_MM = 25.4 / 72
LETTER = 0.56  # mean width of a letter of the sans face, by its size; common practice
LARGEST_PT, SMALLEST_PT, LINE_PT = 16.0, 6.0, 8.0
COVERED = "cp1252"  # letters that the standard faces of PDF have. Source: ISO 32000-1, annex D


@dataclass(frozen=True, slots=True)
class _Text:
    x: float
    y: float
    size_pt: float
    text: str
    bold: bool


def svg_of(places: Sequence[Place], sheet: Sheet) -> list[str]:
    """Return one SVG a sheet, as large as its paper."""
    wide, high = sheet.paper
    pages = []
    for page in range(max((p.sheet for p in places), default=-1) + 1):
        parts = [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:g}mm" height="{high:g}mm" '
            f'viewBox="0 0 {wide:g} {high:g}" role="img" aria-label="Labels, sheet {page + 1}">',
            f'<rect width="{wide:g}" height="{high:g}" fill="#fff"/>',
        ]
        for place in (p for p in places if p.sheet == page):
            steps = "".join(
                f"M{x:.3f} {y:.3f}h{w:.3f}v{h:.3f}h-{w:.3f}z" for x, y, w, h in _bars(place, sheet)
            )
            parts.append(f'<path d="{steps}" fill="#000"/>')
            parts += [
                f'<text x="{t.x:.2f}" y="{t.y:.2f}" font-size="{t.size_pt * PT_MM:.2f}" '
                f'font-family="Helvetica, Arial, sans-serif" font-weight="{700 if t.bold else 400}" '
                f'fill="#000">{escape(t.text)}</text>'
                for t in _texts(place, sheet)
            ]
        pages.append("".join([*parts, "</svg>"]))
    return pages


def pdf_of(places: Sequence[Place], sheet: Sheet) -> bytes:
    """Return the sheets as one PDF.

    Raises:
        Refused: A name has letters that the standard faces of PDF lack.
    """
    for place in places:
        for text in (place.label.name, place.label.line):
            _covered(text)
    pages = max((p.sheet for p in places), default=0) + 1
    wide, high = (side * MM_PT for side in sheet.paper)
    first = 5  # objects: catalogue, pages, two faces; then page and content in turn
    kids = " ".join(f"{first + 2 * n} 0 R" for n in range(pages))
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        f"<< /Type /Pages /Kids [{kids}] /Count {pages} >>".encode(),
        b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>",
        b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica-Bold /Encoding /WinAnsiEncoding >>",
    ]
    for page in range(pages):
        content = b"\n".join(_drawn(place, sheet) for place in places if place.sheet == page)
        objects.append(
            f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {wide:.2f} {high:.2f}] /Contents {first + 2 * page + 1} 0 R "
            "/Resources << /Font << /F1 3 0 R /F2 4 0 R >> >> >>".encode()
        )
        objects.append(b"<< /Length %d >>\nstream\n%s\nendstream" % (len(content), content))
    return _file(objects)


def _file(objects: Sequence[bytes]) -> bytes:
    out, starts = bytearray(b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n"), []
    for n, body in enumerate(objects, 1):
        starts.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (n, body)
    table = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    out += b"".join(b"%010d 00000 n \n" % start for start in starts)
    out += b"trailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (len(objects) + 1, table)
    return bytes(out)


def _drawn(place: Place, sheet: Sheet) -> bytes:
    high = sheet.paper[1]
    parts = ["0 g"]
    parts += [
        f"{x * MM_PT:.3f} {(high - y - h) * MM_PT:.3f} {w * MM_PT:.3f} {h * MM_PT:.3f} re f"
        for x, y, w, h in _bars(place, sheet)
    ]
    out = [part.encode() for part in parts]
    for t in _texts(place, sheet):
        shown = _covered(t.text).replace(b"\\", rb"\\").replace(b"(", rb"\(").replace(b")", rb"\)")
        head = f"BT /{'F2' if t.bold else 'F1'} {t.size_pt:.2f} Tf {t.x * MM_PT:.2f} {(high - t.y) * MM_PT:.2f} Td ("
        out.append(head.encode() + shown + b") Tj ET")
    return b"\n".join(out)


def _covered(text: str) -> bytes:
    try:
        return text.encode(COVERED)
    except UnicodeEncodeError as error:
        raise Refused(
            f"'{text}' has letters that the PDF's own faces lack ({text[error.start : error.end]}); take SVG"
        ) from error


def _side(sheet: Sheet) -> float:
    """Return how wide the code stands with its quiet zone. [mm]."""
    return min(sheet.high, sheet.wide / 2)


def _bars(place: Place, sheet: Sheet) -> Iterator[tuple[float, float, float, float]]:
    """Yield the dark stretches of a code, row by row: x, y, width and height. [mm]."""
    code = place.label.code
    side = _side(sheet)
    module = side / (len(code) + 2 * QUIET)
    x0, y0 = place.x + module * QUIET, place.y + (sheet.high - side) / 2 + module * QUIET
    for r, row in enumerate(code):
        start = 0
        while start < len(row):
            if not row[start]:
                start += 1
                continue
            end = start
            while end < len(row) and row[end]:
                end += 1
            yield x0 + start * module, y0 + r * module, (end - start) * module, module
            start = end


def _texts(place: Place, sheet: Sheet) -> list[_Text]:
    """Return name and line beside the code, the name as large as its place allows, in two lines if need be."""
    x = place.x + _side(sheet)
    room = sheet.wide - _side(sheet) - PAD_MM
    lines = _wrapped(place.label.name, room, LARGEST_PT * 0.8)
    size = min(LARGEST_PT, *(room / PT_MM / (max(len(t), 1) * LETTER) for t in lines))
    size = max(min(size, (sheet.high - 2 * PAD_MM) / PT_MM / (1.2 * len(lines) + 1)), SMALLEST_PT)
    most = max(int(room / PT_MM / (size * LETTER)), 1)
    step = size * 1.2 * PT_MM
    small = min(LINE_PT, max(size * 0.7, SMALLEST_PT - 1))
    y = place.y + sheet.high / 2 - step * (len(lines) - 1) / 2
    found = [_Text(x, y + i * step, size, _cut(t, most), bold=True) for i, t in enumerate(lines)]
    if place.label.line:
        fits = max(int(room / PT_MM / (small * LETTER)), 1)
        found.append(
            _Text(
                x,
                y + step * (len(lines) - 1) + small * 1.5 * PT_MM,
                small,
                _cut(place.label.line, fits),
                bold=False,
            )
        )
    return found


def _wrapped(text: str, room_mm: float, size_pt: float) -> list[str]:
    if len(text) * LETTER * size_pt * PT_MM <= room_mm or " " not in text:
        return [text]
    words = text.split()
    cut = min(range(1, len(words)), key=lambda n: abs(len(" ".join(words[:n])) - len(" ".join(words[n:]))))
    return [" ".join(words[:cut]), " ".join(words[cut:])]


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: max(most - 1, 1)]}…"
