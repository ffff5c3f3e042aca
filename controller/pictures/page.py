"""The page of a picture: its words, and how they frame the paper. Pure geometry in millimetres.

What a text needs is told by a ``Measure``, so that neither fonts nor pixels are known here. No
word is cut off, however long: what is too wide is broken into lines.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

# The width in mm of a text in a size in mm.
Measure: TypeAlias = Callable[[str, float], float]
Point: TypeAlias = tuple[float, float]

LEADING = 1.25  # height of a line of text, by its size
MARGIN = 9.0
LEAST_WIDTH = 112.0  # of what is inside the margins: title and scale need room
TITLE, MARK, SMALL = 5.0, 8.0, 3.2


@dataclass(frozen=True)
class Caption:
    """The words of a picture; ``mark`` is the sheet's, ``way`` how the strip was made.

    Each of ``lines`` begins a new line below the note, such as the passes of a print.
    """

    title: str
    mark: str = ""
    way: str = ""
    note: str = ""
    lines: tuple[str, ...] = ()


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


def inner_width(width: float, mark: str, measure: Measure) -> float:
    """Give the width that a picture needs inside its margins: paper, or title and mark."""
    return max(width, LEAST_WIDTH, measure(mark, MARK) + LEAST_WIDTH / 2)


def paragraph(
    text: str,
    size: float,
    at: Point,
    width: float,
    measure: Measure,
    *,
    faint: bool = False,
) -> tuple[list[Text], float]:
    """Write a text in as many lines as it takes; gives them, and where the next one begins."""
    x, y = at
    texts = []
    for line in wrapped(text, size, width, measure):
        texts.append(Text(line, size, x, y, measure(line, size), faint))
        y += size * LEADING
    return texts, y


def heading(
    caption: Caption, facts: Sequence[str], at: Point, inner: float, measure: Measure
) -> tuple[list[Text], float]:
    """Write title and facts, the mark at the right; gives them, and where they end."""
    x, y = at
    mark_width = measure(caption.mark, MARK)
    width = inner - (mark_width + 6 if caption.mark else 0)
    titles, below = paragraph(caption.title, TITLE, at, width, measure)
    told = ", ".join(fact for fact in facts if fact)
    smaller, below = paragraph(told, SMALL, (x, below), width, measure, faint=True)
    texts = [*titles, *smaller]
    if caption.mark:
        texts.append(Text(caption.mark, MARK, x + inner - mark_width, y, mark_width))
        below = max(below, y + MARK * LEADING)
    return texts, below


def framed(body: Layout, facts: Sequence[str], caption: Caption, measure: Measure) -> Layout:
    """Put words above a body of paper and labels, and note and scale below."""
    inner = inner_width(body.width, caption.mark, measure)
    texts, y = heading(caption, facts, (MARGIN, MARGIN), inner, measure)
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
    for words in (caption.note, *caption.lines):
        more, y = paragraph(words, SMALL, (MARGIN, y), bar_x - MARGIN - 4, measure)
        texts += more
    return Layout(
        width=inner + 2 * MARGIN,
        height=max(y, below) + MARGIN,
        paper=body.paper,
        texts=(*texts, *body.texts),
        lines=(*lines, *body.lines),
    )
