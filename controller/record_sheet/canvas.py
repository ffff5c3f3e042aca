"""Draws the marks of a page into a PDF, with type that goes into the file.

ReportLab is loaded only when a page is made. The same page gives the same bytes.
"""

from __future__ import annotations

from functools import lru_cache
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from controller.errors import BadInput
from controller.record_sheet.ink import At, Box, Face, Hatch, Line, Mark, Picture, Qr, Words
from controller.score.wall_map import BOLD, PLAIN, printable
from controller.score.wall_map_parts import Area

if TYPE_CHECKING:
    Canvas: TypeAlias = Any  # ReportLab has no types

_PT = 72 / 25.4
_FONTS = {Face.PLAIN: PLAIN, Face.BOLD: BOLD, Face.ITALIC: "DrysideItalic"}


def measure(text: str, size: float, face: Face) -> float:
    """Give the width of a text in mm."""
    return _unit_width(text, face) * size


def write_pdf(path: Path, data: bytes) -> None:
    """Write a PDF to a file. Raises BadInput with what would be right."""
    if path.suffix.lower() != ".pdf":
        raise BadInput("this is not the name of a PDF", str(path), "a name that ends in .pdf")
    try:
        path.write_bytes(data)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        right = "a file in a folder that exists and that you may write to"
        raise BadInput(f"cannot be written ({reason})", str(path), right) from error


def pdf(pages: list[list[Mark]], size_mm: tuple[float, float], title: str) -> bytes:
    """Give pages of marks as the bytes of a PDF."""
    from reportlab.pdfgen.canvas import Canvas

    _fonts()
    data = BytesIO()
    canvas = Canvas(data, pagesize=(size_mm[0] * _PT, size_mm[1] * _PT), invariant=1)
    canvas.setTitle(printable(title))
    canvas.setCreator("Dryside")
    for marks in pages:
        # the page's y runs upwards; here it runs down from the top
        for mark in marks:
            _draw(canvas, mark, size_mm[1])
        canvas.showPage()
    canvas.save()
    return data.getvalue()


# --- inside -----------------------------------------------------------------------------------


@lru_cache(maxsize=1)
def _fonts() -> None:
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    printable("")  # registers the upright ones
    registerFont(TTFont(_FONTS[Face.ITALIC], "VeraIt.ttf"))


@lru_cache(maxsize=8192)
def _unit_width(text: str, face: Face) -> float:
    from reportlab.pdfbase.pdfmetrics import stringWidth

    _fonts()
    return float(stringWidth(printable(text), _FONTS[face], 1000)) / 1000


def _draw(canvas: Canvas, mark: Mark, height: float) -> None:
    match mark:
        case Words():
            _words(canvas, mark, height)
        case Line():
            _line(canvas, mark, height)
        case Box():
            _box(canvas, mark, height)
        case Hatch():
            _hatch(canvas, mark, height)
        case Picture():
            _picture(canvas, mark, height)
        case Qr():
            _qr(canvas, mark, height)


def _words(canvas: Canvas, mark: Words, height: float) -> None:
    text = printable(mark.text)
    wide = measure(mark.text, mark.size, mark.face) + mark.spaced * max(0, len(text) - 1)
    left = mark.x - {At.LEFT: 0.0, At.MIDDLE: wide / 2, At.RIGHT: wide}[mark.at]
    canvas.setFillGray(mark.grey)
    canvas.setFont(_FONTS[mark.face], mark.size * _PT)
    canvas.drawString(left * _PT, (height - mark.y) * _PT, text, charSpace=mark.spaced * _PT)


def _line(canvas: Canvas, mark: Line, height: float) -> None:
    canvas.setStrokeGray(mark.grey)
    canvas.setLineWidth(mark.width * _PT)
    canvas.setDash([one * _PT for one in mark.dashed])
    path = canvas.beginPath()
    for number, (x, y) in enumerate(mark.points):
        (path.lineTo if number else path.moveTo)(x * _PT, (height - y) * _PT)
    canvas.drawPath(path, stroke=1, fill=0)
    canvas.setDash([])


def _box(canvas: Canvas, mark: Box, height: float) -> None:
    if mark.fill is not None:
        canvas.setFillGray(mark.fill)
    canvas.setStrokeGray(mark.grey)
    canvas.setLineWidth(mark.line * _PT)
    canvas.rect(
        *_corner(mark.area, height), stroke=int(mark.line > 0), fill=int(mark.fill is not None)
    )


def _corner(area: Area, height: float) -> tuple[float, float, float, float]:
    bottom = height - area.y - area.height
    return area.x * _PT, bottom * _PT, area.width * _PT, area.height * _PT


def _hatch(canvas: Canvas, mark: Hatch, height: float) -> None:
    canvas.saveState()
    clip = canvas.beginPath()
    for area in mark.areas:
        clip.rect(*_corner(area, height))
    canvas.clipPath(clip, stroke=0, fill=0)
    within = mark.within
    if mark.kind == "dashes":
        dash = (1.2 * mark.step, 1.0 * mark.step)
        for k in range(int(within.height / mark.step) + 1):
            start = sum(dash) / 2 * (k % 2)
            y = within.y + (k + 0.5) * mark.step
            ends = ((within.x - start, y), (within.x + within.width, y))
            _line(canvas, Line(ends, mark.width, dashed=dash), height)
    else:
        step = mark.step * 2**0.5
        for k in range(int((within.width + within.height) / step) + 1):
            at = within.x + k * step
            top, bottom = within.y, within.y + within.height
            far = at - within.height
            ends = (
                ((at, top), (far, bottom)) if mark.kind == "rising" else ((far, top), (at, bottom))
            )
            _line(canvas, Line(ends, mark.width), height)
    canvas.restoreState()


def _picture(canvas: Canvas, mark: Picture, height: float) -> None:
    from reportlab.lib.utils import ImageReader

    canvas.drawImage(ImageReader(BytesIO(mark.data)), *_corner(mark.area, height))


def _qr(canvas: Canvas, mark: Qr, height: float) -> None:
    from reportlab.graphics import renderPDF
    from reportlab.graphics.barcode.qr import QrCodeWidget
    from reportlab.graphics.shapes import Drawing

    x, y, wide, high = _corner(mark.area, height)
    widget = QrCodeWidget(mark.text, barWidth=wide, barHeight=high, barBorder=4)
    drawing = Drawing(wide, high)
    drawing.add(widget)
    renderPDF.draw(drawing, canvas, x, y)
