"""The wall map: a score on one page, black on white, to hang up where the safelight reaches it.

Ink of any colour may vanish under a safelight, so there is black and nothing else. ReportLab is
loaded only when a map is made.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

from controller.errors import BadInput, quoted
from controller.score.doses import print_factor
from controller.score.model import Score
from controller.score.wall_map_layout import Page, lay_out
from controller.score.wall_map_parts import Area, Rule, Side, Words
from controller.score.wall_map_sketch import Sketch, fitted_sketch
from controller.score.wall_map_words import entries_of, head_of

if TYPE_CHECKING:
    Canvas: TypeAlias = Any  # ReportLab has no types

PaperName = Literal["A4", "letter"]
PAPERS: dict[str, tuple[float, float]] = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}
PLAIN, BOLD = "DrysidePlain", "DrysideBold"
HATCH_MM, HATCH_WIDTH = 3.6, 0.3
DASH_MM = (2.4, 2.0)


def write_wall_map(
    score: Score, path: Path, *, paper: PaperName = "A4", upright: bool = False
) -> None:
    """Write the wall map of a score as a PDF of one page; the same score gives the same bytes.

    The sketch is turned as the image lies on the easel, or else ``upright``. Raises BadInput
    for a path that cannot be written and a paper that it does not know, Refused for a score
    that cannot be carried out or has more exposures than a page can hold.
    """
    if path.suffix.lower() != ".pdf":
        raise BadInput("this is not the name of a PDF", str(path), "a name that ends in .pdf")
    if paper not in PAPERS:
        raise BadInput(f"{quoted(paper)} is no size of page", "paper", " or ".join(PAPERS))
    data = wall_map(score, PAPERS[paper], upright=upright)
    try:
        path.write_bytes(data)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        right = "a file in a folder that exists and that you may write to"
        raise BadInput(f"cannot be written ({reason})", str(path), right) from error


def wall_map(score: Score, page_mm: tuple[float, float], *, upright: bool = False) -> bytes:
    """Give the wall map as the bytes of a PDF. Raises Refused."""
    sheet = (score.paper.width_mm, score.paper.height_mm)
    short, long = sorted(page_mm)
    size = (long, short) if sheet[0] > sheet[1] else (short, long)
    head = head_of(score)
    page = lay_out(
        head, entries_of(score), measure, size=size, sheet=sheet if score.sketch else None
    )
    from reportlab.pdfgen.canvas import Canvas

    data = BytesIO()
    canvas = Canvas(data, pagesize=(_pt(size[0]), _pt(size[1])), invariant=1)
    canvas.setTitle(f"Wall map: {head.title}")
    canvas.setCreator("Dryside")
    _draw(_Pen(canvas, size[1]), page, score, upright=upright)
    canvas.showPage()
    canvas.save()
    return data.getvalue()


def measure(text: str, size: float, bold: bool) -> float:
    """Give the width of a text; both in mm."""
    return _unit_width(text, bold) * size


# --- inside -----------------------------------------------------------------------------------

_PER_MM = 72 / 25.4


def _pt(mm: float) -> float:
    return mm * _PER_MM


@lru_cache(maxsize=1)
def _fonts() -> frozenset[int]:
    """Register the typeface, and give the characters that it has.

    It comes with ReportLab and goes into the file: a bare computer has none to print with.
    """
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    plain, bold = TTFont(PLAIN, "Vera.ttf"), TTFont(BOLD, "VeraBd.ttf")
    registerFont(plain)
    registerFont(bold)
    return frozenset(plain.face.charToGlyph) & frozenset(bold.face.charToGlyph)


@lru_cache(maxsize=4096)
def _unit_width(text: str, bold: bool) -> float:
    from reportlab.pdfbase.pdfmetrics import stringWidth

    spelled = printable(text)
    return float(stringWidth(spelled, BOLD if bold else PLAIN, 1000)) / 1000


@lru_cache(maxsize=4096)
def printable(text: str) -> str:
    """Spell a text in what the typeface has: Latin letters; others become question marks."""
    known = _fonts()
    spelled = []
    for char in unicodedata.normalize("NFC", text):
        if char.isspace():
            spelled.append(" ")
        elif ord(char) in known:
            spelled.append(char)
        else:
            plain = unicodedata.normalize("NFKD", char).replace("\u2044", "/")
            kept = [one for one in plain if not unicodedata.combining(one)]
            spelled += [one if ord(one) in known else "?" for one in kept]
    return "".join(spelled)


class _Pen:
    """Draws in mm from the top left, in black."""

    def __init__(self, canvas: Canvas, height: float) -> None:
        _fonts()
        self.canvas = canvas
        self._height = height
        canvas.setFillGray(0)
        canvas.setStrokeGray(0)

    def y(self, mm: float) -> float:
        return _pt(self._height - mm)

    def words(self, one: Words) -> None:
        text = printable(one.text)
        width = measure(one.text, one.size, one.bold)
        left = one.x - {Side.LEFT: 0.0, Side.MIDDLE: width / 2, Side.RIGHT: width}[one.side]
        self.canvas.setFont(BOLD if one.bold else PLAIN, _pt(one.size))
        self.canvas.drawString(_pt(left), self.y(one.y), text)
        if one.boxed:
            air = 0.22 * one.size
            top = one.y - 0.73 * one.size - air
            area = Area(left - air, top, width + 2 * air, 0.73 * one.size + 2 * air)
            self.frame(area, max(0.2, 0.07 * one.size))

    def rule(self, one: Rule) -> None:
        self.canvas.setLineWidth(_pt(one.width))
        self.canvas.line(_pt(one.x0), self.y(one.y0), _pt(one.x1), self.y(one.y1))

    def frame(self, area: Area, width: float) -> None:
        self.canvas.setLineWidth(_pt(width))
        self._rect(area, stroke=1, fill=0)

    def white(self, area: Area) -> None:
        """Leave a place free of hatching."""
        self.canvas.setFillGray(1)
        self._rect(area, stroke=0, fill=1)
        self.canvas.setFillGray(0)

    def _rect(self, area: Area, *, stroke: int, fill: int) -> None:
        bottom = self.y(area.y + area.height)
        size = (_pt(area.width), _pt(area.height))
        self.canvas.rect(_pt(area.x), bottom, *size, stroke=stroke, fill=fill)

    def clip(self, areas: list[Area]) -> None:
        """Draw within these areas only, until ``unclip``."""
        self.canvas.saveState()
        path = self.canvas.beginPath()
        for area in areas:
            bottom = self.y(area.y + area.height)
            path.rect(_pt(area.x), bottom, _pt(area.width), _pt(area.height))
        self.canvas.clipPath(path, stroke=0, fill=0)

    def unclip(self) -> None:
        self.canvas.restoreState()


def _draw(pen: _Pen, page: Page, score: Score, *, upright: bool) -> None:
    if page.sketch:
        factor = print_factor(score)
        _draw_sketch(pen, fitted_sketch(score, page.sketch, measure, factor, upright=upright))
    for rule in page.block.rules:
        pen.rule(rule)
    for words in page.block.words:
        pen.words(words)


def _draw_sketch(pen: _Pen, sketch: Sketch) -> None:
    for cells in sketch.burned:
        _hatch(pen, cells.areas, sketch.area, rising=True)
        if cells.twice:
            _hatch(pen, cells.areas, sketch.area, rising=False)
    for areas in sketch.dodged:
        _dashes(pen, areas, sketch.area)
    for area in sketch.clear:
        pen.white(area)
    for line in sketch.borders:
        pen.rule(line)
    pen.frame(sketch.area, 1.0)
    for words in [*sketch.labels, *sketch.notes]:
        pen.words(words)


def _hatch(pen: _Pen, areas: list[Area], within: Area, *, rising: bool) -> None:
    """Draw slanting lines, rising or falling to the right, on one raster for the whole sketch."""
    pen.clip(areas)
    step = HATCH_MM * 2**0.5
    for k in range(int((within.width + within.height) / step) + 1):
        at = within.x + k * step
        if rising:
            ends = (at, within.y, at - within.height, within.y + within.height)
        else:
            ends = (at - within.height, within.y, at, within.y + within.height)
        pen.rule(Rule(*ends, HATCH_WIDTH))
    pen.unclip()


def _dashes(pen: _Pen, areas: list[Area], within: Area) -> None:
    """Draw level dashes, each line's between those of the line above."""
    pen.clip(areas)
    dash = [_pt(one) for one in DASH_MM]
    for k in range(int(within.height / HATCH_MM) + 1):
        y = within.y + (k + 0.5) * HATCH_MM
        pen.canvas.setDash(dash, sum(dash) / 2 * (k % 2))
        pen.rule(Rule(within.x, y, within.x + within.width, y, 2 * HATCH_WIDTH))
    pen.canvas.setDash([])
    pen.unclip()
