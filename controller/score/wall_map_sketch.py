"""The sketch on a wall map: outlines, handwork and names, each where there is room. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

from controller.score.model import NO_CELL, Score
from controller.score.outline import Box, Part, Touch, borders, name_of, parts, touches, turned
from controller.score.wall_map_parts import (
    CAP,
    LINE,
    MINUS,
    Area,
    Measure,
    Rule,
    Side,
    Words,
    joined,
    wrapped,
)

LARGEST, LEAST = 8.0, 3.5  # sizes of names and of what is in their place
TINY = 1.2  # where a part has no room even for a letter of the least size
NOTE = 4.2
BORDER = 0.75
AIR_IN_MARKS = 2.0
ELSEWHERE_SIGN = "*"  # in place of a point, which nobody sees
AIR = 0.8  # around words, so that no line touches them


@dataclass(frozen=True)
class Burned:
    """Cells that get more light; ``twice``: by more than one burn."""

    areas: list[Area]
    twice: bool


@dataclass(frozen=True)
class Sketch:
    """All of it, in mm of the page."""

    area: Area
    borders: list[Rule]
    burned: list[Burned]
    dodged: list[list[Area]]
    clear: list[Area]  # kept free of hatching and dashes, for the labels
    labels: list[Words]
    notes: list[Words]


def fitted_sketch(
    score: Score, room: Area, measure: Measure, factor: float, *, upright: bool
) -> Sketch:
    """Fit the sketch, and what must be said below it, into a room.

    Seconds on it are multiplied by ``factor``, as in the table.
    """
    rows = score.sketch if upright else turned(score.sketch)
    legend: list[str] = []
    size = NOTE
    for _ in range(8):
        said = _notes(score, legend, room.width, size, measure, upright=upright)
        below = len(said) * size * LINE + 2.0
        area = _in_proportion(score, Area(room.x, room.y, room.width, room.height - below))
        labels, letters = _labels(score, rows, area, measure, factor)
        if letters == legend:
            break
        legend = letters
        while size > 2 and len(legend) * size * 12 > room.height * room.width * 0.02:
            size *= 0.9
    bottom = area.y + area.height + 2.0 + size * CAP
    notes = [Words(room.x, bottom + k * size * LINE, text, size) for k, text in enumerate(said)]
    burned, dodged = _handwork(score, rows, area)
    clear = [_round(words, measure) for words in labels]
    return Sketch(area, _borders(rows, area), burned, dodged, clear, labels, notes)


# --- inside -----------------------------------------------------------------------------------


def _in_proportion(score: Score, room: Area) -> Area:
    """Give the largest area of the sheet's proportions, in the middle of a room's width."""
    scale = min(room.width / score.paper.width_mm, room.height / score.paper.height_mm)
    width, height = score.paper.width_mm * scale, score.paper.height_mm * scale
    return Area(room.x + (room.width - width) / 2, room.y, width, height)


def _cells(rows: Sequence[str], area: Area) -> tuple[float, float]:
    return area.width / len(rows[0]), area.height / len(rows)


def _borders(rows: Sequence[str], area: Area) -> list[Rule]:
    wide, high = _cells(rows, area)
    return [
        Rule(
            area.x + line.x0 * wide,
            area.y + line.y0 * high,
            area.x + line.x1 * wide,
            area.y + line.y1 * high,
            BORDER,
        )
        for line in borders(rows)
    ]


def _place(box: Box, rows: Sequence[str], area: Area) -> Area:
    wide, high = _cells(rows, area)
    return Area(
        area.x + box.left * wide,
        area.y + box.top * high,
        (box.right - box.left) * wide,
        (box.bottom - box.top) * high,
    )


def _handwork(
    score: Score, rows: Sequence[str], area: Area
) -> tuple[list[Burned], list[list[Area]]]:
    """Give the cells that are hatched, and those that are dashed, by region."""
    burned, dodged = [], []
    for name, done in touches(score).items():
        areas = [
            _place(Box(x, y, x + 1, y + 1), rows, area)
            for y, row in enumerate(rows)
            for x, letter in enumerate(row)
            if name_of(score, letter) == name
        ]
        burns = sum(touch.burn for touch in done)
        if burns:
            burned.append(Burned(areas, burns > 1))
        if burns < len(done):
            dodged.append(areas)
    return burned, dodged


@dataclass(frozen=True)
class _Wording:
    """Lines for a region, and what they leave to be said below."""

    lines: tuple[str, ...]
    legend: str = ""

    def shape(self, measure: Measure) -> tuple[float, float]:
        """Give width and height in size 1."""
        return max(measure(line, 1.0, True) for line in self.lines), LINE * len(self.lines)


def _labels(
    score: Score, rows: Sequence[str], area: Area, measure: Measure, factor: float
) -> tuple[list[Words], list[str]]:
    """Give the labels of all parts, and what is to be said below, in the order of the letters."""
    handwork = touches(score, factor)
    labels: list[Words] = []
    legend: dict[str, str] = {}
    for part in parts(rows):
        name = name_of(score, part.letter)
        done = handwork.get(name, ())
        if part.letter == NO_CELL and not done:
            continue
        # the marks of handwork are to be seen around the words
        airs = (AIR_IN_MARKS, AIR) if done else (AIR,)
        label, wording = _label(
            part, _wordings(part.letter, name, done), rows, area, measure, airs=airs
        )
        labels += label
        # a bare letter has more to be said of it than one with its handwork beside it
        if wording.legend and len(wording.legend) > len(legend.get(part.letter, "")):
            legend[part.letter] = wording.legend
    return labels, [legend[letter] for letter in sorted(legend)]


def _wordings(letter: str, name: str, done: tuple[Touch, ...]) -> list[list[_Wording]]:
    """Give what may be written into a region, from the fullest to the shortest."""
    texts = tuple(touch.text.replace("-", MINUS, 1) for touch in done)
    short = tuple(touch.amount.replace("-", MINUS, 1) for touch in done)
    with_over = zip(short, done, strict=True)
    parted = tuple(text for amount, touch in with_over for text in (amount, touch.over) if text)
    letter = ELSEWHERE_SIGN if letter == NO_CELL else letter
    told = f"{letter} {name}"
    names, handwork = dict.fromkeys([(name,), tuple(name.split())]), dict.fromkeys([texts, parted])
    full = [_Wording((*one, *on)) for one in names for on in handwork]
    more = f"{told} {', '.join(texts)}" if texts else told
    ways = [full, [_Wording((letter, *texts), told)]] if texts else [full]
    if short != texts:
        ways.append([_Wording((letter, *short), more)])
    return [*ways, [_Wording((letter,), more)]]


def _label(
    part: Part,
    wordings: list[list[_Wording]],
    rows: Sequence[str],
    area: Area,
    measure: Measure,
    *,
    airs: tuple[float, ...],
) -> tuple[list[Words], _Wording]:
    """Write the fullest wording that can be read, as large as it goes."""
    for ways, air in product(wordings, airs):
        size, wording, place = max(
            (_best(part, wording, rows, area, measure, air=air) for wording in ways),
            key=lambda found: found[0],
        )
        if size >= LEAST:
            break
    return _written(part, wording, size, place, rows, area, measure), wording


def _best(
    part: Part,
    wording: _Wording,
    rows: Sequence[str],
    area: Area,
    measure: Measure,
    *,
    air: float,
) -> tuple[float, _Wording, Area]:
    """Find where a wording is largest; of equals the nearest to the part's middle."""
    wide, high = wording.shape(measure)
    x, y = _middle(part, rows, area)

    def worth(place: Area) -> tuple[float, float]:
        size = min(LARGEST, (place.width - 2 * air) / wide, (place.height - 2 * air) / high)
        at = _centre(place, (size * wide, size * high), (x, y))
        return size, -((at[0] - x) ** 2) - (at[1] - y) ** 2

    places = [_place(box, rows, area) for box in part.boxes]
    place = max(places, key=worth)
    return max(worth(place)[0], TINY), wording, place


def _middle(part: Part, rows: Sequence[str], area: Area) -> tuple[float, float]:
    wide, high = _cells(rows, area)
    x, y = part.middle
    return area.x + x * wide, area.y + y * high


def _centre(
    place: Area, size: tuple[float, float], wish: tuple[float, float]
) -> tuple[float, float]:
    """Give where a block's middle may be within a place, as near as it goes to a wish."""
    half_w, half_h = size[0] / 2 + AIR, size[1] / 2 + AIR
    low_x, high_x = place.x + half_w, place.x + place.width - half_w
    low_y, high_y = place.y + half_h, place.y + place.height - half_h
    x = min(max(wish[0], low_x), high_x) if low_x < high_x else place.x + place.width / 2
    y = min(max(wish[1], low_y), high_y) if low_y < high_y else place.y + place.height / 2
    return x, y


def _written(
    part: Part,
    wording: _Wording,
    size: float,
    place: Area,
    rows: Sequence[str],
    area: Area,
    measure: Measure,
) -> list[Words]:
    wide, high = (one * size for one in wording.shape(measure))
    x, y = _centre(place, (wide, high), _middle(part, rows, area))
    top = y - high / 2
    first = top + (LINE + CAP) / 2 * size
    return [
        Words(x, first + k * LINE * size, line, size, bold=True, side=Side.MIDDLE)
        for k, line in enumerate(wording.lines)
    ]


def _round(words: Words, measure: Measure) -> Area:
    """Give the place that a line of a label takes, with a little air."""
    wide = measure(words.text, words.size, words.bold) + AIR
    top = words.y - (LINE + CAP) / 2 * words.size
    return Area(words.x - wide / 2, top, wide, LINE * words.size)


def _notes(
    score: Score,
    legend: Sequence[str],
    width: float,
    size: float,
    measure: Measure,
    *,
    upright: bool,
) -> list[str]:
    """Say what stands below: how the image lies, what the marks mean, and the letters."""
    how = (
        "upright, as the print is looked at"
        if upright
        else "turned as it lies on the easel: the top of the print is down here"
    )
    facts = []
    if score.burns:
        facts.append("hatched: burn")
    if score.dodges:
        facts.append("dashes: dodge")
    lines = wrapped(how, size, width, measure, bold=False)
    lines += joined(facts, size, width, measure)
    return lines + joined(legend, size, width, measure)
