"""The figures on a print's record: the map of exposures, test strips, the paper's curve."""

from __future__ import annotations

from io import BytesIO

from controller.errors import BadInput
from controller.pictures.paper_area import only_paper
from controller.record_sheet.blocks import HAIR, SMALL, SOFT, heading
from controller.record_sheet.ink import (
    CAP,
    At,
    Block,
    Box,
    Face,
    Hatch,
    Line,
    Mark,
    Measure,
    Picture,
    Words,
    shortened,
)
from controller.record_sheet.model import Curve, PrintSheet, StripFigure
from controller.score.doses import print_factor
from controller.score.model import Score
from controller.score.wall_map_parts import Area, Rule, Side
from controller.score.wall_map_sketch import Sketch, fitted_sketch

VIRTUAL = 2.5  # the wall map's sketch is laid out so much larger: it is read from further away
PICTURE_PX = 900  # more than that no printer shows at this size
PALE = 0.45  # how much of a picture is kept beneath the lines


def exposure_map(sheet: PrintSheet, room: Area, measure: Measure, *, words: bool = True) -> Block:
    """Give the map in a room: regions, burns and dodges over the picture, or over white.

    Without ``words`` only the lines are drawn, closer together: for a map as small as a stamp.
    """
    score = sheet.score
    block = Block(height=room.height)
    if not score.sketch:
        return _only_picture(sheet, room, block)
    large = Area(0, 0, room.width * VIRTUAL, room.height * VIRTUAL)

    def by_weight(text: str, size: float, bold: bool) -> float:
        return measure(text, size, Face.BOLD if bold else Face.PLAIN)

    sketch = fitted_sketch(score, large, by_weight, print_factor(score), upright=True)
    k = 1 / VIRTUAL
    left = room.x - sketch.area.x * k  # flush with the column, not in its middle

    def placed(area: Area) -> Area:
        return Area(left + area.x * k, room.y + area.y * k, area.width * k, area.height * k)

    area = placed(sketch.area)
    step = 1.3 if words else 0.9
    marks: list[Mark] = []
    if sheet.picture:
        marks.append(Picture(area, pale(sheet.picture, area.width / area.height)))
    for cells in sketch.burned:
        cut = tuple(placed(one) for one in cells.areas)
        marks.append(Hatch(cut, area, step, 0.12, "rising"))
        if cells.twice:
            marks.append(Hatch(cut, area, step, 0.12, "falling"))
    for areas in sketch.dodged:
        marks.append(Hatch(tuple(placed(one) for one in areas), area, step, 0.24, "dashes"))
    if words:
        marks += [Box(placed(one), fill=1.0) for one in sketch.clear]
    marks += [_line(rule, left, room.y, k) for rule in sketch.borders]
    marks.append(Box(area, line=0.45))
    if words:
        marks += _words(sketch, room, left, k)
    bottoms = [one.y for one in marks if isinstance(one, Words)]
    block.marks = marks
    block.height = max([area.y + area.height, *bottoms]) - room.y
    return block


def strip_figure(strip: StripFigure, width: float, factor: float, measure: Measure) -> Block:
    """Give a test strip: patches as grey as their doses tell, and what was picked."""
    block = Block()
    title = f"Test strip {strip.mark}" + (f", filter {strip.filter}" if strip.filter else "")
    block.put(heading(title, width, factor), 0, 0)
    size, high = SMALL * factor, 11.0 * factor
    top = block.height + 1.0
    wide = width / len(strip.patches)
    for number, patch in enumerate(strip.patches):
        # greys only tell the order: how dark paper really became is in no book
        grey = 0.92 - 0.72 * (number / max(1, len(strip.patches) - 1))
        area = Area(number * wide, top, wide, high)
        block.marks.append(Box(area, fill=grey, line=HAIR))
        if patch.picked:
            frame = Area(area.x + 0.4, area.y + 0.4, area.width - 0.8, area.height - 0.8)
            block.marks.append(Box(frame, line=0.8, grey=1.0 if grey < 0.5 else 0.0))
        middle = area.x + wide / 2
        block.marks.append(
            Words(
                middle,
                top + high / 2 + CAP * size / 2,
                patch.letter,
                size,
                Face.BOLD if patch.picked else Face.PLAIN,
                At.MIDDLE,
                1.0 if grey < 0.5 else 0.0,
            )
        )
        text = f"{patch.dose_s:.3g}"
        small = min(size, size * 0.92 * wide / max(measure(text, size, Face.PLAIN), 0.1))
        below = top + high + size * 1.25
        block.marks.append(Words(middle, below, text, small, at=At.MIDDLE))
    y = top + high + size * 2.75
    block.marks.append(Words(0, y, f"picked {strip.choice}; seconds", size, Face.ITALIC, grey=SOFT))
    block.height = y + 0.6
    return block


def curve_figure(curve: Curve, width: float, factor: float, measure: Measure) -> Block:
    """Give a paper's curve in its axes."""
    block = Block()
    block.put(heading("Curve", width, factor), 0, 0)
    size, high = SMALL * factor, 24.0 * factor
    top = block.height + 1.0
    left = 5.5 * factor
    frame = Area(left, top, width - left, high)
    block.marks.append(Line(((left, top), (left, top + high), (width, top + high)), 0.2))
    xs, ys = [x for x, _ in curve.points], [y for _, y in curve.points]
    low, span = min(xs), max(max(xs) - min(xs), 1e-9)
    most = max(*ys, 2.0)
    for density in (0.5, 1.0, 1.5, 2.0):
        y = top + high * (1 - density / most)
        block.marks.append(Line(((left, y), (width, y)), 0.08, 0.6))
        block.marks.append(
            Words(left - 0.8, y + CAP * size / 2, f"{density:g}", size * 0.9, at=At.RIGHT)
        )
    points = tuple(
        (frame.x + (x - low) / span * frame.width, top + high * (1 - max(0.0, y) / most))
        for x, y in curve.points
    )
    block.marks.append(Line(points, 0.5))
    y = top + high + size * 1.5
    text = shortened(
        f"density over log exposure, {span:.2f} in all; {curve.name}", size, width, measure
    )
    block.marks.append(Words(0, y, text, size, Face.ITALIC, grey=SOFT))
    block.height = y + 0.6
    return block


def pale(data: bytes, proportion: float) -> bytes:
    """Make a picture small, grey and pale, so that lines and words on it can be read.

    What it has too much of for the proportion (width over height) is cut off on both sides:
    stretched, nothing would lie where the regions say.
    """
    from PIL import Image, ImageOps

    with Image.open(BytesIO(data)) as opened:
        image = ImageOps.exif_transpose(only_paper(opened)).convert("L")
        wide = min(image.width, round(image.height * proportion))
        high = min(image.height, round(image.width / proportion))
        image = ImageOps.fit(image, (max(1, wide), max(1, high)))
        image.thumbnail((PICTURE_PX, PICTURE_PX))
        lighter = image.point([round(255 - (255 - value) * PALE) for value in range(256)])
        out = BytesIO()
        lighter.save(out, "PNG")
    return out.getvalue()


def upright(data: bytes) -> bytes:
    """Make a picture grey, no larger than a page needs, and turned as its camera says."""
    from PIL import Image, ImageOps

    with Image.open(BytesIO(data)) as opened:
        image = ImageOps.exif_transpose(only_paper(opened)).convert("L")
        image.thumbnail((2 * PICTURE_PX, 2 * PICTURE_PX))
        out = BytesIO()
        image.save(out, "PNG")
    return out.getvalue()


def read_picture(data: bytes, where: str) -> tuple[int, int]:
    """Give width and height of a picture in pixels. Raises BadInput for what is none."""
    from PIL import Image, UnidentifiedImageError

    try:
        with Image.open(BytesIO(data)) as image:
            image.load()
            turned = image.getexif().get(0x0112, 1) >= 5  # its camera was held upright
            size = only_paper(image).size
            return size[::-1] if turned else size
    except (UnidentifiedImageError, OSError, ValueError, Image.DecompressionBombError):
        raise BadInput("this is no picture that can be read", where, "a PNG or a JPEG") from None


def proportion(score: Score) -> float:
    """Give width over height of the sheet."""
    return score.paper.width_mm / score.paper.height_mm


# --- inside -----------------------------------------------------------------------------------


def _words(sketch: Sketch, room: Area, left: float, k: float) -> list[Mark]:
    """Give the sketch's labels and notes, made smaller by a factor."""
    sides = {Side.LEFT: At.LEFT, Side.MIDDLE: At.MIDDLE, Side.RIGHT: At.RIGHT}
    marks: list[Mark] = [
        Words(
            left + one.x * k,
            room.y + one.y * k,
            one.text,
            one.size * k,
            Face.BOLD if one.bold else Face.PLAIN,
            sides[one.side],
        )
        for one in sketch.labels
    ]
    for one in sketch.notes:
        y = room.y + one.y * k
        marks.append(Words(room.x, y, one.text, one.size * k, Face.ITALIC, grey=SOFT))
    return marks


def _only_picture(sheet: PrintSheet, room: Area, block: Block) -> Block:
    if not sheet.picture:
        block.height = 0.0
        return block
    wide, high = read_picture(sheet.picture, "the picture")
    scale = min(room.width / wide, room.height / high)
    area = Area(room.x, room.y, wide * scale, high * scale)
    block.marks = [Picture(area, upright(sheet.picture)), Box(area, line=0.45)]
    block.height = area.height
    return block


def _line(rule: Rule, left: float, top: float, k: float) -> Line:
    ends = ((left + rule.x0 * k, top + rule.y0 * k), (left + rule.x1 * k, top + rule.y1 * k))
    return Line(ends, max(0.2, rule.width * k * 0.6))
