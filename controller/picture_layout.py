"""Where everything goes on the picture of a strip. Pure geometry in millimetres.

What a text needs is told by a ``Measure``, so that neither fonts nor pixels are known here.
No two texts touch and none is cut off, however many patches and however long the words: labels
that crowd are made smaller, and then fanned out with a line to their patch.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from itertools import accumulate, pairwise
from typing import TypeAlias

from controller.stops import Stops, format_stops, format_time

# The width in mm of a text in a size in mm.
Measure: TypeAlias = Callable[[str, float], float]
Point: TypeAlias = tuple[float, float]

LEADING = 1.25  # height of a line of text, by its size
MARGIN = 9.0
LEAST_WIDTH = 112.0  # of what is inside the margins: title and scale need room
TITLE, MARK, SMALL = 5.0, 8.0, 3.2
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
    instead: str = ""  # written in place of seconds and stops

    @property
    def centre_mm(self) -> float:
        """The middle of the patch."""
        return (self.from_mm + self.to_mm) / 2

    def rows(self) -> list[tuple[str, float]]:
        """Give what is written beside the patch, with sizes: letter, seconds, stops, density."""
        if self.instead:
            return [(self.letter, LETTER), (self.instead, SECONDS)]
        stops = "base" if self.stops == 0 else f"{format_stops(self.stops)} stop"
        rows = [(self.letter, LETTER), (format_time(self.dose_s), SECONDS), (stops, STOPS)]
        if self.density is not None:
            rows.append((f"D {self.density:.2f}", DENSITY))
        return rows


@dataclass(frozen=True)
class Caption:
    """The words of a picture; ``mark`` is the sheet's, ``way`` how the strip was made."""

    title: str
    mark: str = ""
    way: str = ""
    note: str = ""


@dataclass(frozen=True)
class Text:
    """One line of text with its upper left corner and its extent."""

    text: str
    size: float
    x: float
    y: float
    width: float
    faint: bool = False

    @property
    def height(self) -> float:
        """The height of the line."""
        return self.size * LEADING


@dataclass(frozen=True)
class Layout:
    """A finished layout: the whole picture, the paper in it, the texts and fine lines."""

    width: float
    height: float
    paper: tuple[float, float, float, float]  # left, top, right, bottom
    texts: tuple[Text, ...]
    lines: tuple[tuple[Point, ...], ...]

    def moved(self, dx: float, dy: float) -> Layout:
        """Give the same, elsewhere."""
        left, top, right, bottom = self.paper
        return replace(
            self,
            paper=(left + dx, top + dy, right + dx, bottom + dy),
            texts=tuple(replace(t, x=t.x + dx, y=t.y + dy) for t in self.texts),
            lines=tuple(tuple((x + dx, y + dy) for x, y in line) for line in self.lines),
        )


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


def wrapped(text: str, size: float, width: float, measure: Measure) -> list[str]:
    """Break a text into lines that are no wider than ``width``; endless words are cut up."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        joined = f"{line} {word}" if line else word
        if measure(joined, size) <= width:
            line = joined
            continue
        if line:
            lines.append(line)
        line = ""
        for char in word:
            if line and measure(line + char, size) > width:
                lines.append(line)
                line = ""
            line += char
    return [*lines, line] if line else lines


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
    first = _first_edge(patches, axis)
    facts = [caption.way, f"{width_mm:g} x {height_mm:g} mm", first]
    mark_width = measure(caption.mark, MARK)
    inner = max(body.width, LEAST_WIDTH, mark_width + LEAST_WIDTH / 2)
    title_width = inner - (mark_width + 6 if caption.mark else 0)

    texts: list[Text] = []
    y = MARGIN

    def write(text: str, size: float, width: float, *, faint: bool = False) -> None:
        nonlocal y
        for line in wrapped(text, size, width, measure):
            texts.append(Text(line, size, MARGIN, y, measure(line, size), faint))
            y += size * LEADING

    write(caption.title, TITLE, title_width)
    write(", ".join(fact for fact in facts if fact), SMALL, title_width, faint=True)
    if caption.mark:
        x = MARGIN + inner - mark_width
        texts.append(Text(caption.mark, MARK, x, MARGIN, mark_width))
        y = max(y, MARGIN + MARK * LEADING)
    y += 5
    body = body.moved(MARGIN + (inner - body.width) / 2, y)
    y += body.height + 6

    bar = 50.0
    bar_text = f"{bar:g} mm"
    bar_y = y + SMALL * LEADING / 2
    end = MARGIN + inner
    start = end - bar
    lines = [((start, bar_y), (end, bar_y))]
    lines += [((x, bar_y - 1.2), (x, bar_y + 1.2)) for x in (start, end)]
    bar_width = measure(bar_text, SMALL)
    bar_x = start - bar_width - 2
    texts.append(Text(bar_text, SMALL, bar_x, y, bar_width, faint=True))
    below = y + SMALL * LEADING
    write(caption.note, SMALL, bar_x - MARGIN - 4)
    return Layout(
        width=inner + 2 * MARGIN,
        height=max(y, below) + MARGIN,
        paper=body.paper,
        texts=(*texts, *body.texts),
        lines=(*lines, *body.lines),
    )


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
    # The labels stand in line along the paper: how much of the line does each take?
    for scale in CROWDED:
        tall = max(size for row in rows for _, size in row) * LEADING * scale
        if across:
            sizes = [max(measure(text, size * scale) for text, size in row) for row in rows]
        else:
            sizes = [tall for _ in rows]
        centres = spread(wanted, sizes, GAP * scale)
        fanned = any(abs(a - b) > 0.01 for a, b in zip(wanted, centres, strict=True))
        if not fanned:
            break
    edge = height_mm if across else width_mm
    start = edge + (FAN if fanned else REACH)
    place = _beneath if across else _beside
    texts = [*letters, *place(rows, centres, start, scale, measure)]
    lines: list[tuple[Point, ...]] = []
    for patch, centre in zip(in_order, centres, strict=True):
        # a bracket along the patch, and a line to its label where that had to give way
        inset = min(0.6, (patch.to_mm - patch.from_mm) / 4)
        bracket = [(patch.from_mm + inset, edge + 1.4), (patch.to_mm - inset, edge + 1.4)]
        leader = [(patch.centre_mm, edge + 1.4), (centre, start - 0.8)] if fanned else []
        for line in filter(None, (bracket, leader)):
            lines.append(tuple(line if across else [(y, x) for x, y in line]))

    left = min([0.0, *(text.x for text in texts)])
    top = min([0.0, *(text.y for text in texts)])
    right = max([width_mm, *(text.x + text.width for text in texts)])
    bottom = max([height_mm, *(text.y + text.height for text in texts)])
    paper = (0.0, 0.0, width_mm, height_mm)
    whole = Layout(right - left, bottom - top, paper, tuple(texts), tuple(lines))
    return whole.moved(-left, -top)


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
