"""The map of a room, to print: black on white, distances to scale, directions a scheme.

The place where paper lies is in the middle. Each light has a direction of its own, which says
nothing of where it hangs; its label stands outside at its height, so that no two texts touch.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from os import PathLike
from typing import TYPE_CHECKING

from controller.pictures.ink import (
    PRINT,
    PX_PER_MM,
    canvas,
    measure_at,
    pen,
    plain,
    printable,
    require_drawable,
    save,
    write_words,
)
from controller.pictures.page import (
    LEADING,
    MARGIN,
    SMALL,
    Caption,
    Layout,
    Measure,
    Point,
    Text,
    heading,
    paragraph,
)
from controller.pictures.strip_layout import spread
from controller.room.room_map import MapLight, RoomMap

if TYPE_CHECKING:
    from PIL import Image

RADIUS = 48.0  # of the outermost ring
PLACE = 7.0  # half the side of the place in the middle
BADGE = 2.6
COLUMN = 66.0  # width of the labels beside the map
NAME, SHARE = 4.2, 3.2
BAR, BAR_HIGH = 34.0, 2.6
APART = 3.0  # between labels
BEYOND = 5.0  # from the outermost ring to lights whose distance is not written
FAN_DEG = 62.0  # lights stand within so many degrees of the horizontal, rings are named below
NEVER = "never tested, and not counted"
NEAREST = 10.5  # to the middle: what is nearer would lie on the place itself
NEARER = "nearer than it is drawn"
SCHEME = "a scheme: distances are to scale, directions are not"
LEAST_RING = 15.0  # of those with a name, which no badge touches then
FINER = 3  # lines are drawn so much finer first, since Pillow's are jagged


@dataclass(frozen=True)
class Spot:
    """A light on the map: its middle, and how dark its badge is (None: hollow)."""

    x: float
    y: float
    shade: int | None
    written: bool


@dataclass(frozen=True)
class Bar:
    """A light's share as a bar: its left top corner, and the part of it that is full."""

    x: float
    y: float
    part: float


@dataclass(frozen=True)
class MapLayout:
    """Texts and what is drawn; ``rings`` are radii with their names in metres."""

    page: Layout
    middle: Point
    rings: tuple[float, ...]
    spots: tuple[Spot, ...]
    leaders: tuple[tuple[Point, ...], ...]
    bars: tuple[Bar, ...]
    badge: float


def room_map(
    told: RoomMap, path: str | PathLike[str], *, title: str = "", px_per_mm: float = PX_PER_MM
) -> None:
    """Draw the map of a room. Raises BadInput for a path that cannot be written."""
    layout = lay_out_map(told, title=title, measure=measure_at(px_per_mm))
    require_drawable(layout.page, px_per_mm)
    image = canvas(layout.page, px_per_mm, PRINT)
    image.paste(_drawn(layout, image.size, px_per_mm))
    write_words(image, layout.page, px_per_mm, PRINT)
    save(image, path, px_per_mm)


def lay_out_map(told: RoomMap, *, title: str = "", measure: Measure) -> MapLayout:
    """Lay the map out: heading, the map between two columns of labels, and the words below."""
    inner = 2 * (COLUMN + RADIUS + 3 * BEYOND)
    head = title or f"the room, as paper at the {told.at.value} sees it"
    caption = plain(Caption(head, lines=told.lines))
    facts = [SCHEME, f"paper: {printable(told.paper)}" if told.paper else ""]
    texts, top = heading(caption, facts, (MARGIN, MARGIN), inner, measure)
    top += 4.0
    half = math.ceil(len(told.lights) / 2)
    sides = (told.lights[:half], told.lights[half:])
    most_m = max((one.distance_m or 0.0 for one in told.lights), default=0.0)
    scale = RADIUS / most_m if most_m else 0.0
    labels = [[_label(one, scale, measure) for one in side] for side in sides]
    tall = max(sum(high for _, high, _ in side) + APART * len(side) for side in labels)
    high = max(2 * (RADIUS + 2 * BEYOND), tall)
    middle = (MARGIN + inner / 2, top + high / 2)
    spots, leaders, bars = [], [], []
    for side, (lights, blocks) in enumerate(zip(sides, labels, strict=True)):
        sign = 1.0 if side == 0 else -1.0
        angles = _angles(len(lights))
        heights = [block[1] for block in blocks]
        wanted = [middle[1] + (RADIUS + BEYOND) * math.sin(angle) for angle in angles]
        if not lights:
            continue
        centres = _within(spread(wanted, heights, APART), heights, top, top + high)
        left = middle[0] + RADIUS + 3 * BEYOND if side == 0 else MARGIN
        for light, angle, block, y in zip(lights, angles, blocks, centres, strict=True):
            away = (math.cos(angle) * sign, math.sin(angle))
            spots.append(_spot(light, away, middle, scale))
            knee = tuple(m + (RADIUS + BEYOND) * a for m, a in zip(middle, away, strict=True))
            words, tall_, bar_y = block
            end = left - 1.5 if side == 0 else left + max(t.x + t.width for t in words) + 2.5
            leaders.append(((spots[-1].x, spots[-1].y), (knee[0], knee[1]), (end, y)))
            corner = y - tall_ / 2
            texts += [
                Text(t.text, t.size, t.x + left, t.y + corner, t.width, t.faint) for t in words
            ]
            if light.share is not None:
                bars.append(Bar(left, corner + bar_y, light.share.value))
    rings = _rings(most_m)
    for ring_m in rings:
        name = f"{ring_m:g} m"
        wide = measure(name, SMALL)
        y = middle[1] + ring_m * scale + 0.6
        texts.append(Text(name, SMALL, middle[0] - wide / 2, y, wide, faint=True))
    wide = measure(told.at.value, SMALL)
    at = (middle[0] - wide / 2, middle[1] - SMALL * LEADING / 2)
    texts.append(Text(told.at.value, SMALL, *at, wide))
    below = top + high + 6.0
    for line in caption.lines:
        more, below = paragraph(line, SMALL, (MARGIN, below), inner, measure)
        texts += more
        below += 0.8
    page = Layout(inner + 2 * MARGIN, below + MARGIN, (0, 0, 0, 0), tuple(texts), ())
    return MapLayout(
        page,
        middle,
        tuple(ring_m * scale for ring_m in rings),
        tuple(spots),
        tuple(leaders),
        tuple(bars),
        _badge(spots),
    )


# --- inside -----------------------------------------------------------------------------------


def _label(light: MapLight, scale: float, measure: Measure) -> tuple[list[Text], float, float]:
    """Write a light's label from 0, 0; gives its texts, its height, and where its bar begins."""
    near = light.distance_m is not None and light.distance_m * scale < NEAREST - 1e-9
    flags = (*light.flags, NEARER) if near else light.flags
    texts, y = paragraph(printable(light.name), NAME, (0.0, 0.0), COLUMN, measure)
    for line in light.lines:
        more, y = paragraph(printable(line), SMALL, (0.0, y), COLUMN, measure, faint=True)
        texts += more
    for line in flags:
        more, y = paragraph(printable(line), SMALL, (0.0, y), COLUMN, measure)
        texts += more
    if light.share is None:
        more, y = paragraph(NEVER, SMALL, (0.0, y), COLUMN, measure)
        return [*texts, *more], y, y
    bar_y = y + (SHARE * LEADING - BAR_HIGH) / 2 + 0.4
    said = f"{100 * light.share.value:.0f} % of the fog"
    texts.append(Text(said, SHARE, BAR + 2.0, y + 0.4, measure(said, SHARE)))
    return texts, y + 0.4 + SHARE * LEADING, bar_y


def _angles(count: int) -> list[float]:
    """Spread directions about the horizontal, from the top down."""
    if count == 1:
        return [math.radians(-FAN_DEG / 3)]
    each = 2 * FAN_DEG / max(count - 1, 1)
    return [math.radians(-FAN_DEG + n * each) for n in range(count)]


def _within(
    centres: Sequence[float], heights: Sequence[float], top: float, bottom: float
) -> list[float]:
    """Move labels that spread beyond an end back, keeping their distances."""
    over = max(0.0, top - (centres[0] - heights[0] / 2))
    moved = [one + over for one in centres]
    below = max(0.0, moved[-1] + heights[-1] / 2 - bottom)
    moved = [one - below for one in moved]
    # pushed up again only as far as those above leave room
    for n, high in enumerate(heights):
        least = top + high / 2 if n == 0 else moved[n - 1] + (heights[n - 1] + high) / 2 + APART
        moved[n] = max(moved[n], least)
    return moved


def _spot(light: MapLight, away: Point, middle: Point, scale: float) -> Spot:
    reach = RADIUS + BEYOND if light.distance_m is None else light.distance_m * scale
    reach = max(reach, NEAREST)
    shade = None
    if light.share is not None:
        shade = round(190 * (1.0 - min(1.0, light.share.value / 0.5)))
    x, y = middle[0] + reach * away[0], middle[1] + reach * away[1]
    return Spot(x, y, shade, light.distance_m is not None)


def _badge(spots: Sequence[Spot]) -> float:
    """Give the radius of badges: smaller where two lights stand close together."""
    gaps = [math.dist((a.x, a.y), (b.x, b.y)) for n, a in enumerate(spots) for b in spots[n + 1 :]]
    return max(0.8, min([BADGE, *(gap / 2.3 for gap in gaps)]))


def _rings(most_m: float) -> tuple[float, ...]:
    """Choose round distances for two to four rings, none in the place itself."""
    if not most_m:
        return ()
    power = 10.0 ** math.floor(math.log10(most_m))
    for step in (0.2, 0.5, 1.0, 2.0):
        each = step * power
        if most_m / each <= 4.0:
            break
    rings = (each * n for n in range(1, math.floor(most_m / each + 1e-9) + 1))
    return tuple(ring for ring in rings if ring / most_m * RADIUS > LEAST_RING)


def _drawn(layout: MapLayout, size: tuple[int, int], px_per_mm: float) -> Image.Image:
    from PIL import Image

    k = FINER * px_per_mm
    fine = Image.new("L", (size[0] * FINER, size[1] * FINER), PRINT.ground)
    draw = pen(fine)
    line = max(1, round(0.2 * k))

    def around(x: float, y: float, reach: float) -> list[float]:
        return [(x - reach) * k, (y - reach) * k, (x + reach) * k, (y + reach) * k]

    x, y = layout.middle
    for ring in layout.rings:
        draw.ellipse(around(x, y, ring), outline=200, width=line)
    for leader in layout.leaders:
        draw.line([(px * k, py * k) for px, py in leader], fill=170, width=line)
    draw.rectangle(around(x, y, PLACE), fill=255, outline=PRINT.text, width=2 * line)
    for spot in layout.spots:
        box = around(spot.x, spot.y, layout.badge)
        fill = 255 if spot.shade is None else spot.shade
        if spot.written:
            draw.ellipse(box, fill=fill, outline=PRINT.text, width=2 * line)
        else:
            draw.rectangle(box, fill=fill, outline=PRINT.text, width=2 * line)
    for bar in layout.bars:
        left, top = bar.x * k, bar.y * k
        full = [left, top, left + max(0.3, BAR * bar.part) * k, top + BAR_HIGH * k]
        draw.rectangle([left, top, left + BAR * k, top + BAR_HIGH * k], outline=120, width=line)
        draw.rectangle(full, fill=PRINT.text)
    return fine.reduce(FINER)
