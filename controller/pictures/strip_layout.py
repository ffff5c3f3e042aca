"""Where the patches of a strip and their labels go on its picture. Pure geometry in millimetres.

No two texts touch and none is cut off, however many patches and however long the words: labels
that crowd are made smaller, and then fanned out with a line to their patch.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import accumulate, pairwise

from controller.pictures.page import LEADING, Caption, Layout, Measure, Point, Text, framed, wrapped
from controller.stops import Stops, format_stops, format_time

__all__ = [
    "Axis",
    "Caption",
    "Labels",
    "Layout",
    "Measure",
    "PatchLabel",
    "Text",
    "labels_along",
    "lay_out",
    "spread",
    "wrapped",
]

LETTER, SECONDS, STOPS, DENSITY = 7.0, 3.8, 3.4, 2.8
LARGEST_LETTER, LEAST_LETTER = 24.0, 4.0  # where letters stand on the paper
CROWDED = (1.0, 0.85, 0.7)  # sizes that labels are tried in before they are fanned out
GAP = 1.6  # between labels
REACH = 3.0  # from the paper to its labels
FAN = 9.0  # the same, where they are fanned out


class Axis(Enum):
    """How the patches follow one another on the paper as it is seen."""

    HORIZONTAL = "horizontal"  # side by side
    VERTICAL = "vertical"  # one below the other


@dataclass(frozen=True)
class PatchLabel:
    """One patch: its letter, its exposure, and where on the paper it lies.

    ``stops`` are from the base. ``from_mm`` and ``to_mm`` count from the left edge of the
    paper as it is seen, or from the top where the patches lie one below the other.
    """

    letter: str
    dose_s: float
    stops: Stops
    from_mm: float
    to_mm: float
    density: float | None = None
    instead: str = ""  # written in place of seconds and stops; it may have several lines

    @property
    def centre_mm(self) -> float:
        """The middle of the patch."""
        return (self.from_mm + self.to_mm) / 2

    def rows(self) -> list[tuple[str, float]]:
        """Give what is written beside the patch, with sizes: letter, seconds, stops, density."""
        if self.instead:
            lines = self.instead.splitlines()
            return [(self.letter, LETTER), *((line, SECONDS) for line in lines)]
        stops = "base" if self.stops == 0 else f"{format_stops(self.stops)} stop"
        rows = [(self.letter, LETTER), (format_time(self.dose_s), SECONDS), (stops, STOPS)]
        if self.density is not None:
            rows.append((f"D {self.density:.2f}", DENSITY))
        return rows


def spread(wanted: Sequence[float], sizes: Sequence[float], gap: float) -> list[float]:
    """Place centres as near as can be to where they are wanted, in order, without touching.

    Least squares under least distances: neighbours that crowd form a block, which takes the
    mean of its wishes (pooled adjacent violators, a well-known method of isotonic regression).
    """
    room = [(a + b) / 2 + gap for a, b in pairwise(sizes)]
    offsets = [0.0, *accumulate(room)]
    blocks: list[tuple[float, int]] = []  # sum of wishes, how many
    for want, offset in zip(wanted, offsets, strict=True):
        total, count = want - offset, 1
        while blocks and blocks[-1][0] / blocks[-1][1] > total / count:
            before = blocks.pop()
            total, count = total + before[0], count + before[1]
        blocks.append((total, count))
    placed = [total / count for total, count in blocks for _ in range(count)]
    return [at + offset for at, offset in zip(placed, offsets, strict=True)]


def lay_out(
    patches: Sequence[PatchLabel],
    *,
    width_mm: float,
    height_mm: float,
    axis: Axis,
    caption: Caption,
    measure: Measure,
    letters_inside: bool,
) -> Layout:
    """Lay out the whole picture: words above, the paper with its labels, note and scale below."""
    body = _body(patches, width_mm, height_mm, axis, measure, letters_inside=letters_inside)
    facts = [caption.way, f"{width_mm:g} x {height_mm:g} mm", _first_edge(patches, axis)]
    return framed(body, facts, caption, measure)


def _first_edge(patches: Sequence[PatchLabel], axis: Axis) -> str:
    if len(patches) < 2:
        return ""
    first, last = patches[0], patches[-1]
    edges = ("left", "right") if axis is Axis.HORIZONTAL else ("top", "bottom")
    return f"{first.letter} at the {edges[first.centre_mm > last.centre_mm]}"


def _body(
    patches: Sequence[PatchLabel],
    width_mm: float,
    height_mm: float,
    axis: Axis,
    measure: Measure,
    *,
    letters_inside: bool,
) -> Layout:
    """Lay out the paper and its labels; its upper left corner is at 0, 0."""
    in_order = sorted(patches, key=lambda patch: patch.from_mm)
    across = axis is Axis.HORIZONTAL
    letters: list[Text] = []
    if letters_inside:
        letters = _letters(in_order, width_mm, height_mm, axis, measure)
    rows = [patch.rows()[1:] if letters else patch.rows() for patch in in_order]
    wanted = [patch.centre_mm for patch in in_order]
    edge = height_mm if across else width_mm
    beside = labels_along(rows, wanted, axis, measure)
    texts = [*letters, *beside.texts(edge, measure)]
    lines = []
    for patch in in_order:
        inset = min(0.6, (patch.to_mm - patch.from_mm) / 4)
        bracket = [(patch.from_mm + inset, edge + 1.4), (patch.to_mm - inset, edge + 1.4)]
        lines.append(tuple(bracket if across else [(y, x) for x, y in bracket]))
    lines += beside.leaders(edge)
    left = min([0.0, *(text.x for text in texts)])
    top = min([0.0, *(text.y for text in texts)])
    right = max([width_mm, *(text.x + text.width for text in texts)])
    bottom = max([height_mm, *(text.y + text.height for text in texts)])
    paper = (0.0, 0.0, width_mm, height_mm)
    whole = Layout(right - left, bottom - top, paper, tuple(texts), tuple(lines))
    return whole.moved(-left, -top)


@dataclass(frozen=True)
class Labels:
    """Labels in line along an edge of the paper, and whether they had to be fanned out."""

    rows: Sequence[Sequence[tuple[str, float]]]
    wanted: Sequence[float]
    centres: Sequence[float]
    axis: Axis
    scale: float
    fanned: bool

    def texts(self, edge: float, measure: Measure) -> list[Text]:
        """Write them outside an edge: beneath, or at the right."""
        place = _beneath if self.axis is Axis.HORIZONTAL else _beside
        return place(self.rows, self.centres, self._start(edge), self.scale, measure)

    def leaders(self, edge: float) -> list[tuple[Point, ...]]:
        """Draw a line from each place to its label, where labels had to give way."""
        if not self.fanned:
            return []
        start = self._start(edge)
        found: list[tuple[Point, ...]] = []
        for want, centre in zip(self.wanted, self.centres, strict=True):
            line = ((want, edge + 1.4), (centre, start - 0.8))
            across = self.axis is Axis.HORIZONTAL
            found.append(line if across else tuple((y, x) for x, y in line))
        return found

    def _start(self, edge: float) -> float:
        return edge + (FAN if self.fanned else REACH)


def labels_along(
    rows: Sequence[Sequence[tuple[str, float]]],
    wanted: Sequence[float],
    axis: Axis,
    measure: Measure,
    *,
    least: float | None = None,
) -> Labels:
    """Place labels along an edge: smaller where they crowd, and then fanned out.

    None begins before ``least``.
    """
    for scale in CROWDED:
        tall = max(size for row in rows for _, size in row) * LEADING * scale
        if axis is Axis.HORIZONTAL:
            sizes = [max(measure(text, size * scale) for text, size in row) for row in rows]
        else:
            sizes = [tall for _ in rows]
        centres = spread(wanted, sizes, GAP * scale)
        if least is not None:
            over = max(0.0, least + sizes[0] / 2 - centres[0])
            centres = [centre + over for centre in centres]
        fanned = any(abs(a - b) > 0.01 for a, b in zip(wanted, centres, strict=True))
        if not fanned:
            break
    return Labels(rows, wanted, centres, axis, scale, fanned)


def _beneath(
    rows: Sequence[Sequence[tuple[str, float]]],
    centres: Sequence[float],
    start: float,
    scale: float,
    measure: Measure,
) -> list[Text]:
    """Write each label beneath its patch, centred, a line for each row."""
    texts = []
    for label, centre in zip(rows, centres, strict=True):
        y = start
        for text, size in label:
            width = measure(text, size * scale)
            texts.append(Text(text, size * scale, centre - width / 2, y, width))
            y += size * scale * LEADING
    return texts


def _beside(
    rows: Sequence[Sequence[tuple[str, float]]],
    centres: Sequence[float],
    start: float,
    scale: float,
    measure: Measure,
) -> list[Text]:
    """Write each label beside its patch, on one line, in columns."""
    texts = []
    x = start
    for column in range(max(len(label) for label in rows)):
        widest = 0.0
        for label, centre in zip(rows, centres, strict=True):
            if column < len(label):
                text, size = label[column][0], label[column][1] * scale
                width = measure(text, size)
                widest = max(widest, width)
                texts.append(Text(text, size, x, centre - size * LEADING / 2, width))
        x += widest + 3 * scale
    return texts


def _letters(
    patches: Sequence[PatchLabel],
    width_mm: float,
    height_mm: float,
    axis: Axis,
    measure: Measure,
) -> list[Text]:
    """Set the letters on the paper, as large as all fit; nothing where they would be small."""
    size = LARGEST_LETTER
    boxes = [
        (patch.to_mm - patch.from_mm, height_mm)
        if axis is Axis.HORIZONTAL
        else (width_mm, patch.to_mm - patch.from_mm)
        for patch in patches
    ]
    for patch, (wide, high) in zip(patches, boxes, strict=True):
        size = min(size, 0.7 * high / LEADING, size * 0.7 * wide / measure(patch.letter, size))
        if size < LEAST_LETTER:
            return []
    texts = []
    for patch in patches:
        width = measure(patch.letter, size)
        centre = (patch.centre_mm, height_mm / 2)
        x, y = centre if axis is Axis.HORIZONTAL else (width_mm / 2, patch.centre_mm)
        texts.append(Text(patch.letter, size, x - width / 2, y - size * LEADING / 2, width))
    return texts
