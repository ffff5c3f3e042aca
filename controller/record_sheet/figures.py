"""The figures on a print's record: the map of exposures, test strips, the paper's curve."""

from __future__ import annotations

import math
from collections.abc import Sequence
from io import BytesIO

from controller.errors import BadInput
from controller.pictures.paper_area import only_paper
from controller.record_sheet.blocks import HAIR, HEADING, SMALL, SOFT, SPACED, heading
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
from controller.record_sheet.model import CrossFigure, Curve, PrintSheet, StripFigure
from controller.score.doses import print_factor
from controller.score.model import Score
from controller.score.wall_map_parts import Area, Rule, Side
from controller.score.wall_map_sketch import Sketch, fitted_sketch

VIRTUAL = 2.5  # the wall map's sketch is laid out so much larger: it is read from further away
STRIP_HIGH, CROSS_HIGH, CURVE_HIGH = 8.5, 20.0, 26.0
DOT = 1.1
STOP = math.log10(2.0)
PX_PER_MM = 12.0  # of a picture on paper: 300 to the inch
PICTURE_PX = 900  # more than that no printer shows at this size
PALE = 0.45  # how much of a picture is kept beneath the lines


def exposure_map(sheet: PrintSheet, room: Area, measure: Measure, *, words: bool = True) -> Block:
    """Give the map in a room: regions, burns and dodges over the picture, or over white.

    Without ``words`` only the lines are drawn, closer together: for a map as small as a stamp.
    """
    score = sheet.score
    block = Block(height=room.height)
    if not score.sketch:
        return only_picture(sheet, room)
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
    """Give a test strip as it dried, or else patches as grey as their order, and the pick."""
    block = Block()
    title = f"{strip.mark} \u00b7 {strip.what}" if strip.what else f"Test strip {strip.mark}"
    block.put(heading(shortened_heading(title, width, factor, measure), width, factor), 0, 0)
    size, high = SMALL * factor, STRIP_HIGH * factor
    top = block.height + 1.0
    wide = width / len(strip.patches)
    if strip.picture:
        data = filled(strip.picture, width / high)
        block.marks.append(Picture(Area(0, top, width, high), data))
    for number, patch in enumerate(strip.patches):
        # without a picture greys only tell the order: how dark paper became is in no book
        order = sum(1 for one in strip.patches if one.dose_s < patch.dose_s)
        grey = 0.92 - 0.72 * (order / max(1, len(strip.patches) - 1))
        area = Area(number * wide, top, wide, high)
        if not strip.picture:
            block.marks.append(Box(area, fill=grey, line=HAIR))
        middle = area.x + wide / 2
        letter_y = top + high + size * 1.3
        face = Face.BOLD if patch.picked else Face.PLAIN
        block.marks.append(Words(middle, letter_y, patch.letter, size, face, At.MIDDLE))
        text = f"{patch.dose_s:.3g}"
        small = min(size, size * 0.92 * wide / max(measure(text, size, face), 0.1))
        below = letter_y + size * 1.25
        block.marks.append(Words(middle, below, text, small, face, At.MIDDLE))
        if patch.picked:
            rule = top + high + 0.35
            block.marks.append(Line(((area.x + 0.4, rule), (area.x + wide - 0.4, rule)), 0.7))
    if strip.picture:
        block.marks.append(Box(Area(0, top, width, high), line=HAIR))
    y = top + high + size * 3.9
    told = f"picked {strip.choice}; seconds" if strip.choice else "seconds"
    block.marks.append(Words(0, y, told, size, Face.ITALIC, grey=SOFT))
    block.height = y + 0.6
    return block


def cross_figure(cross: CrossFigure, width: float, factor: float, measure: Measure) -> Block:
    """Give a cross: soft exposures across, hard ones down, and the cell that was picked."""
    block = Block()
    title = f"{cross.mark} \u00b7 {cross.what}"
    block.put(heading(shortened_heading(title, width, factor, measure), width, factor), 0, 0)
    size = SMALL * factor
    left = 3.2 * size
    top = block.height + 1.0
    rows, columns = len(cross.hard_s), len(cross.soft_s)
    wide, high = (width - left) / columns, CROSS_HIGH * factor / rows
    if cross.picture:
        data = filled(cross.picture, (width - left) / (high * rows))
        block.marks.append(Picture(Area(left, top, width - left, high * rows), data))
    for row in range(rows):
        for column in range(columns):
            area = Area(left + column * wide, top + row * high, wide, high)
            if not cross.picture:
                grey = 0.92 - 0.36 * (row / (rows - 1) + column / (columns - 1))
                block.marks.append(Box(area, fill=grey, line=HAIR))
            if (row, column) in cross.picked:
                inner = Area(area.x + 0.5, area.y + 0.5, wide - 1.0, high - 1.0)
                block.marks += [Box(inner, line=0.9, grey=1.0), Box(inner, line=0.4)]
        middle = top + (row + 0.5) * high + CAP * size / 2
        text = f"{cross.hard_s[row]:.3g}"
        block.marks.append(Words(left - 0.8, middle, text, size * 0.9, at=At.RIGHT))
    below = top + rows * high + size * 1.25
    for column, dose_s in enumerate(cross.soft_s):
        middle = left + (column + 0.5) * wide
        block.marks.append(Words(middle, below, f"{dose_s:.3g}", size * 0.9, at=At.MIDDLE))
    y = below + size * 1.4
    told = f"picked {cross.choice}; seconds" if cross.choice else "seconds"
    block.marks.append(Words(0, y, told, size, Face.ITALIC, grey=SOFT))
    block.height = y + 0.6
    return block


def shortened_heading(title: str, width: float, factor: float, measure: Measure) -> str:
    """Cut a heading to its width: its letters are capitals and stand apart."""
    while title and _heading_wide(title, factor, measure) > width:
        title = title.rstrip("\u2026")[:-1].rstrip() + "\u2026"
        if len(title) <= 1:
            break
    return title


def curve_figure(curve: Curve, width: float, factor: float, measure: Measure) -> Block:
    """Give the print's curve in its axes, and where its regions lie on it and beside it.

    A region's name and density stand at the right, joined to its dot by a thin line; a dot off
    the curve was burned or dodged there, from where the stroke begins.
    """
    block = Block()
    block.put(heading("Curve of the print", width, factor), 0, 0)
    size, high = SMALL * factor, CURVE_HIGH * factor
    high = max(high, size * 1.15 * len(curve.tones))
    top, left = block.height + 1.0, 5.5 * factor
    right = width * 0.68 if curve.tones else width
    xs = [x for x, _ in curve.points]
    low, span = min(xs), max(max(xs) - min(xs), 1e-9)
    most = max(*(y for _, y in curve.points), 2.0)

    def at(x: float, density: float) -> tuple[float, float]:
        along = min(1.0, max(0.0, (x - low) / span))
        return left + along * (right - left), top + high * (1 - min(1.0, max(0.0, density / most)))

    block.marks.append(Line(((left, top), (left, top + high), (right, top + high)), 0.2))
    for density in (0.5, 1.0, 1.5, 2.0):
        y = at(low, density)[1]
        block.marks.append(Line(((left, y), (right, y)), 0.08, 0.7))
        base = y + CAP * size / 2
        block.marks.append(Words(left - 0.8, base, f"{density:g}", size * 0.9, at=At.RIGHT))
    # light in whole stops, from the left: a negative's tones are told in stops
    for number in range(1, int(span / STOP) + 1):
        x = at(low + number * STOP, 0.0)[0]
        block.marks.append(Line(((x, top + high), (x, top + high + 0.8)), 0.15))
    block.marks.append(Line(tuple(at(x, y) for x, y in curve.points), 0.5))
    tones = sorted(curve.tones, key=lambda one: -one.density)
    wanted = [at(one.at, one.density)[1] for one in tones]
    for tone, label_y in zip(tones, spread(wanted, size * 1.15, top, top + high), strict=True):
        dot, bare = at(tone.at, tone.density), at(tone.at, tone.bare)
        if abs(dot[1] - bare[1]) > DOT:
            block.marks.append(Line((bare, dot), 0.35))
        block.marks.append(Box(Area(dot[0] - DOT / 2, dot[1] - DOT / 2, DOT, DOT), fill=0.0))
        block.marks.append(Line((dot, (right + 1.0, label_y)), 0.08, 0.55))
        figure = f"{tone.density:.2f}"
        name_x = right + 2.6 + measure(figure, size, Face.PLAIN)
        base = label_y + CAP * size / 2
        name = shortened(tone.name, size, width - name_x, measure)
        block.marks += [Words(right + 1.6, base, figure, size), Words(name_x, base, name, size)]
    y = top + high + size * 1.7
    text = shortened(f"density over light, a tick a stop; {curve.name}", size, width, measure)
    block.marks.append(Words(0, y, text, size, Face.ITALIC, grey=SOFT))
    block.height = y + 0.6
    return block


def spread(wanted: Sequence[float], apart: float, low: float, high: float) -> list[float]:
    """Give places from the top down, as near to those wanted as they can be this far apart.

    ``wanted`` rises; there must be room for all of them between ``low`` and ``high``.
    """
    half = apart / 2
    placed: list[float] = []
    for each in wanted:
        least = placed[-1] + apart if placed else low + half
        placed.append(max(each, least))
    limit = high - half
    for place in range(len(placed) - 1, -1, -1):
        placed[place] = min(placed[place], limit)
        limit = placed[place] - apart
    return placed


def filled(data: bytes, proportion: float) -> bytes:
    """Make a picture of paper small and grey, and cut it to a proportion (width over height)."""
    from PIL import Image, ImageOps

    with Image.open(BytesIO(data)) as opened:
        image = ImageOps.exif_transpose(only_paper(opened)).convert("L")
        # along it nothing is cut off, or its patches would not lie over their letters: what is
        # too high loses above and below, and what is too low is stretched, in tones that are even
        high = min(image.height, max(1, round(image.width / proportion)))
        image = ImageOps.fit(image, (image.width, high))
        image.thumbnail((PICTURE_PX, PICTURE_PX))
        out = BytesIO()
        image.save(out, "PNG")
    return out.getvalue()


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


def upright(data: bytes, most_px: int = 2 * PICTURE_PX) -> bytes:
    """Make a picture grey, no larger than its place needs, and turned as its camera says."""
    from PIL import Image, ImageOps

    with Image.open(BytesIO(data)) as opened:
        image = ImageOps.exif_transpose(only_paper(opened)).convert("L")
        image.thumbnail((most_px, most_px))
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


def only_picture(sheet: PrintSheet, room: Area) -> Block:
    """Give the picture alone, in its own tones; nothing where there is none."""
    block = Block()
    if not sheet.picture:
        return block
    wide, high = read_picture(sheet.picture, "the picture")
    scale = min(room.width / wide, room.height / high)
    area = Area(room.x, room.y, wide * scale, high * scale)
    px = min(2 * PICTURE_PX, math.ceil(PX_PER_MM * max(area.width, area.height)))
    block.marks = [Picture(area, upright(sheet.picture, px)), Box(area, line=0.45)]
    block.height = area.height
    return block


# --- inside -----------------------------------------------------------------------------------


def _heading_wide(title: str, factor: float, measure: Measure) -> float:
    letters = measure(title.upper(), HEADING * factor, Face.BOLD)
    return letters + SPACED * factor * max(0, len(title) - 1)


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


def _line(rule: Rule, left: float, top: float, k: float) -> Line:
    ends = ((left + rule.x0 * k, top + rule.y0 * k), (left + rule.x1 * k, top + rule.y1 * k))
    return Line(ends, max(0.2, rule.width * k * 0.6))
