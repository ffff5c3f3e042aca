"""The card as one large page to pin up over the trays: for arm's length, in dim red light."""

from __future__ import annotations

import unicodedata
from html import escape
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from controller.chemistry.amounts import litres, ml
from controller.chemistry.card import Card, notes, steps
from controller.errors import BadInput

if TYPE_CHECKING:
    from reportlab.lib.styles import ParagraphStyle

PLAIN, BOLD = "DrysideCard", "DrysideCardBold"
A4_MM = (210.0, 297.0)
MARGIN_MM = 16.0
_PT_MM = 72 / 25.4
_SCALES = (1.3, 1.2, 1.1, 1.0, 0.9, 0.8, 0.7, 0.6)  # the largest that fits on one page


def write_card(made: Card, path: Path) -> None:
    """Write the card. Raises BadInput where the file cannot be written."""
    if path.suffix.lower() != ".pdf":
        raise BadInput(f"{path} is not the name of a PDF", "--pdf", "such as card.pdf")
    data = card_pdf(made)
    try:
        path.write_bytes(data)
    except OSError as error:
        what = f"{path} cannot be written ({error.strerror})"
        raise BadInput(what, "--pdf", "a file in a folder of yours") from None


def card_pdf(made: Card) -> bytes:
    """Draw the card on one A4 page, as large as fits."""
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.platypus import Frame

    width, height = (side * _PT_MM for side in A4_MM)
    inset = MARGIN_MM * _PT_MM
    data = BytesIO()
    canvas = Canvas(data, pagesize=(width, height), invariant=1)
    canvas.setTitle(f"Mixing card: {made.title or made.mixed.dilution.parts}")
    _typeface()
    room = (width - 2 * inset, height - 2 * inset)
    for scale in _SCALES:
        story = _story(made, scale, room[0])
        if sum(_height(each, *room) for each in story) <= room[1]:
            break
    Frame(inset, inset, *room, 0, 0, 0, 0).addFromList(story, canvas)
    canvas.setLineWidth(2)
    edge = inset * 0.6
    canvas.rect(edge, edge, width - 2 * edge, height - 2 * edge)
    canvas.showPage()
    canvas.save()
    return data.getvalue()


def _height(flowable: Any, width: float, height: float) -> float:
    _, used = flowable.wrap(width, height)
    return float(used + flowable.getSpaceBefore() + flowable.getSpaceAfter())


def _typeface() -> None:
    """Register the typeface that comes with ReportLab and goes into the file."""
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    registerFont(TTFont(PLAIN, "Vera.ttf"))
    registerFont(TTFont(BOLD, "VeraBd.ttf"))


def _printable(text: str) -> str:
    """Spell a text in what the typeface has: without accents where it must be, else with "?"."""
    from reportlab.pdfbase.pdfmetrics import getFont

    known = getFont(PLAIN).face.charToGlyph
    spelled = []
    for char in unicodedata.normalize("NFC", text):
        plain = unicodedata.normalize("NFKD", char)[:1]
        spelled.append(next((one for one in (char, plain) if ord(one) in known), "?"))
    return "".join(spelled)


def _style(size: float, *, bold: bool = False, after: float = 0, indent: float = 0) -> Any:
    from reportlab.lib.styles import ParagraphStyle

    style: ParagraphStyle = ParagraphStyle(
        f"{size}{bold}{indent}",
        fontName=BOLD if bold else PLAIN,
        fontSize=size,
        leading=size * 1.25,
        spaceAfter=after,
        leftIndent=indent,
        bulletFontName=BOLD,
        bulletFontSize=size,
    )
    return style


def _story(made: Card, scale: float, width: float) -> list[Any]:
    from reportlab.platypus import HRFlowable, Paragraph

    def line(text: str, size: float, *, bold: bool = False, after: float = 0) -> Any:
        return Paragraph(
            escape(_printable(text)), _style(size * scale, bold=bold, after=after * scale)
        )

    def item(mark: str, text: str, size: float, after: float) -> Any:
        indent = 1.75 * size * scale
        style = _style(size * scale, after=after * scale, indent=indent)
        return Paragraph(escape(_printable(text)), style, bulletText=mark)

    def rule() -> Any:
        return HRFlowable(width="100%", thickness=1.5, color="black", spaceBefore=6 * scale,
                          spaceAfter=10 * scale)  # fmt: skip

    title = made.title or "Mixing card"
    story = [line(title[:1].upper() + title[1:], 40, bold=True, after=6)]
    for_what = f"{litres(made.mixed.volume_ml)} of {made.mixed.dilution.parts}"
    story += [line(for_what, 30, bold=True, after=6), line(made.reading, 14, after=4)]
    if made.why:
        story.append(line(f"For {made.why}.", 14, after=4))
    story += [rule(), _measures(made, scale, width), rule()]
    story += [item(f"{number}.", text, 19, 7) for number, text in enumerate(steps(made), start=1)]
    story += [line(each, 15, after=5) for each in notes(made)]
    story.append(rule())
    return story + [item("!", text, 13, 4) for text in made.cautions]


def _measures(made: Card, scale: float, width: float) -> Any:
    """Make the table of what is poured: the figures that are read from afar."""
    from reportlab.platypus import Table, TableStyle

    pairs = zip(made.mixed.dilution.names, made.batch.concentrates_ml, strict=True)
    rows = [[name, ml(amount)] for name, amount in pairs]
    if made.batch.water_ml:
        rows.append(["water", ml(made.batch.water_ml)])
    if made.count > 1:
        rows.append([f"batches of {litres(made.batch.volume_ml)}", str(made.count)])
    size = 30 * scale
    table = Table(rows, colWidths=[width * 0.58, width * 0.42], rowHeights=size * 1.5)
    table.setStyle(
        TableStyle(
            [
                ("FONT", (0, 0), (0, -1), PLAIN, size),
                ("FONT", (1, 0), (1, -1), BOLD, size),
                ("ALIGN", (1, 0), (1, -1), "RIGHT"),
                ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 0),
            ]
        )
    )
    return table
