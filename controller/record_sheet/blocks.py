"""The blocks of type on a print's record: head, facts, table of exposures, edition, remarks.

Each takes the width it may use and a factor for its sizes, and tells how high it became.
"""

from __future__ import annotations

from collections.abc import Sequence

from controller.record_sheet.ink import (
    CAP,
    LEADING,
    At,
    Block,
    Box,
    Face,
    Line,
    Measure,
    Qr,
    Words,
    shortened,
    wrapped,
)
from controller.record_sheet.model import EditionLine, Facts, PrintSheet, Step, StepKind
from controller.score.wall_map_parts import MINUS, Area
from controller.stops import format_time

BODY = 2.9
SMALL = 2.45
HEADING = 2.05
SPACED = 0.34  # between the letters of a heading
SOFT = 0.42  # the grey of what is said beside
HAIR = 0.12
QR_MM = 25.0  # its modules are half a millimetre wide: a telephone reads them from the wall
FILTER_WIDE = 12.0  # what a filter may be called in the table
TITLE, LEAST_TITLE = 8.4, 4.6
NUMBER = 4.6  # of the edition, beneath the title
MOST_SHEETS = 12  # rows of the table of sheets


def heading(text: str, width: float, factor: float) -> Block:
    """Give a small spaced heading over a hairline."""
    block = Block()
    size = HEADING * factor
    block.marks.append(
        Words(0, size * CAP, text.upper(), size, Face.BOLD, grey=0.15, spaced=SPACED * factor)
    )
    y = size * CAP + 1.1 * factor
    block.marks.append(Line(((0, y), (width, y)), HAIR))
    block.height = y + 1.0 * factor
    return block


def head(sheet: PrintSheet, width: float, measure: Measure) -> Block:
    """Give title, mark and QR code, with a rule beneath."""
    block = Block()
    block.marks.append(Qr(Area(width - QR_MM + 3.0, -3.0, QR_MM, QR_MM), sheet.record_id))
    room = width - QR_MM - 1.0
    mark_size = 11.0
    mark_wide = measure(sheet.mark, mark_size, Face.BOLD) if sheet.mark else 0.0
    if sheet.mark:
        frame = Area(room - mark_wide - 5.0, 0.6, mark_wide + 5.0, mark_size * CAP + 4.6)
        block.marks.append(Box(frame, line=0.35))
        base = frame.y + 2.3 + mark_size * CAP
        block.marks.append(
            Words(frame.x + frame.width / 2, base, sheet.mark, mark_size, Face.BOLD, At.MIDDLE)
        )
        room = frame.x - 5.0
    size = TITLE
    while size > LEAST_TITLE and len(wrapped(sheet.title, size, room, measure, Face.BOLD)) > 1:
        size *= 0.94
    lines = wrapped(sheet.title, size, room, measure, Face.BOLD, most=2)
    y = 0.6
    for line in lines:
        y += size * (CAP if y < 1 else 1.18)
        block.marks.append(Words(0, y, line, size, Face.BOLD))
    if sheet.number:
        y += NUMBER * 1.35
        text = shortened(sheet.number, NUMBER, room, measure)
        block.marks.append(Words(0, y, text, NUMBER))
    y += 2.4
    under = "  \u00b7  ".join(sheet.under_title)
    for line in wrapped(under, BODY, room, measure, most=2):
        y += BODY * 1.25
        block.marks.append(Words(0, y, line, BODY, grey=SOFT))
    y = max(y + 3.4, 21.5)
    block.marks.append(Line(((0, y), (width, y)), 0.5))
    block.height = y
    return block


def facts(groups: Sequence[Facts], width: float, factor: float, measure: Measure) -> Block:
    """Give headings with their lines, one beneath the other."""
    block = Block()
    y = 0.0
    size = BODY * factor
    for group in groups:
        block.put(heading(group.heading, width, factor), 0, y)
        y = block.height
        for text in group.lines:
            left, _, right = text.partition("\t")
            room = width - (measure(right, size, Face.PLAIN) + size if right else 0.0)
            for line in wrapped(left, size, room, measure, most=6):
                y += size * LEADING
                block.marks.append(Words(0, y - size * 0.3, line, size))
            if right:
                block.marks.append(Words(width, y - size * 0.3, right, size, at=At.RIGHT))
        y += 4.0 * factor
        block.height = y
    block.height = max(0.0, y - 4.0 * factor)
    return block


def exposures(steps: Sequence[Step], width: float, factor: float, measure: Measure) -> Block:
    """Give the table of exposures, each with a bar as long as its dose and a gap for each dodge."""
    block = Block()
    block.put(heading("Exposures, as they were", width, factor), 0, 0)
    size, small = BODY * factor, SMALL * factor
    row = size * 1.62
    label_wide = min(0.36 * width, 62.0)
    filter_x, stops_x = label_wide + FILTER_WIDE + 1, label_wide + 29
    planned_x, given_x = label_wide + 47, label_wide + 65
    bar_x = given_x + 6.0
    bar_wide = width - bar_x
    longest_s = max((max(one.planned_s, one.given_s) for one in steps), default=1.0) or 1.0
    y = block.height + size * 0.9
    for x, text in (
        (filter_x, "filter"),
        (stops_x, "stops"),
        (planned_x, "seconds"),
        (given_x, "given"),
    ):
        block.marks.append(Words(x, y, text, small, Face.ITALIC, At.RIGHT, grey=SOFT))
    y += 0.3 * row
    for one in steps:
        y += row
        plain = one.kind is not StepKind.EXTRA or one.label.startswith("extra")
        label = one.label if plain else f"{one.label} (extra)"
        face = Face.BOLD if one.kind in (StepKind.PASS, StepKind.FLASH) else Face.PLAIN
        block.marks.append(
            Words(0, y, shortened(label, size, label_wide, measure, face), size, face)
        )
        cells = (
            (filter_x, _filter(one.filter, size, measure)),
            (stops_x, one.stops.replace("-", MINUS, 1)),
            (planned_x, f"{one.planned_s:.2f}"),
            (given_x, f"{one.given_s:.2f}"),
        )
        for x, text in cells:
            block.marks.append(Words(x, y, text, size, at=At.RIGHT))
        block.marks += _bar(one, bar_x, y, bar_wide / longest_s, size)
        for held in one.held:
            y += row * 0.88
            text = (
                f"dodge {held.name}, {format_time(held.end_s - held.begin_s)} "
                f"from {format_time(held.begin_s) if held.begin_s > 0.05 else 'the start'}"
            )
            room = bar_x - 8.0
            block.marks.append(
                Words(4, y, shortened(text, small, room, measure), small, Face.ITALIC)
            )
            block.marks += _gap(held.begin_s, held.end_s, bar_x, y, bar_wide / longest_s, small)
        if one.note:
            y += row * 0.8
            text = shortened(one.note, small, width - 4.0, measure, Face.ITALIC)
            block.marks.append(Words(4, y, text, small, Face.ITALIC, grey=SOFT))
    block.height = y + 1.0
    return block


def edition(
    lines: Sequence[EditionLine], name: str, width: float, factor: float, measure: Measure
) -> Block:
    """Give the sheets of the edition or the record: number, mark, day, what became of each.

    Of many the ones around this sheet are left; how many there are is told.
    """
    block = Block()
    block.put(heading(f"Edition {name}" if name else "Sheets", width, factor), 0, 0)
    size = BODY * factor
    y = block.height
    numbers = max((measure(one.number, size, Face.BOLD) for one in lines), default=0.0)
    mark_x = numbers + size if numbers else 0.0
    words_x = mark_x + max(measure(one.mark, size, Face.BOLD) for one in lines) + size
    for one in _nearest(lines):
        y += size * LEADING
        base = y - 0.3 * size
        face = Face.BOLD if one.here else Face.PLAIN
        if one.number:
            block.marks.append(Words(0, base, one.number, size, face))
        block.marks.append(Words(mark_x, base, one.mark, size, face))
        fate = "" if one.fate == "done" else one.fate
        words = ", ".join(filter(None, (one.made, fate, one.remark)))
        text = shortened(words, size, width - words_x, measure, face)
        block.marks.append(Words(words_x, base, text, size, face))
    more = len(lines) - len(_nearest(lines))
    if more:
        y += size * LEADING
        text = f"and {more} more"
        block.marks.append(Words(words_x, y - 0.3 * size, text, size, Face.ITALIC))
    block.height = y
    return block


def _nearest(lines: Sequence[EditionLine]) -> Sequence[EditionLine]:
    """Give as many rows as the table has, this sheet among them."""
    if len(lines) <= MOST_SHEETS:
        return lines
    rows = MOST_SHEETS - 1  # one is for how many more there are
    here = next((place for place, one in enumerate(lines) if one.here), 0)
    first = min(max(0, here - rows // 2), len(lines) - rows)
    return lines[first : first + rows]


def remarks(texts: Sequence[str], width: float, factor: float, measure: Measure) -> Block:
    """Give remarks in italics over the whole width, eight lines at most."""
    block = Block()
    block.put(heading("Remarks", width, factor), 0, 0)
    size = BODY * factor
    y = block.height
    for line in wrapped("\n".join(texts), size, width, measure, Face.ITALIC, most=8):
        y += size * LEADING
        block.marks.append(Words(0, y - 0.3 * size, line, size, Face.ITALIC))
    block.height = y
    return block


# --- inside -----------------------------------------------------------------------------------


def _filter(name: str, size: float, measure: Measure) -> str:
    return shortened(name or "none", size, FILTER_WIDE, measure)


def _bar(one: Step, x: float, y: float, per_s: float, size: float) -> list[Box | Line]:
    """Draw what was given in grey, and what was planned as a frame."""
    high, top = 0.7 * size, y - CAP * size
    fill = {StepKind.BURN: 0.35, StepKind.EXTRA: 0.35}.get(one.kind, 0.68)
    marks: list[Box | Line] = []
    if one.given_s > 0:
        marks.append(Box(Area(x, top, one.given_s * per_s, high), fill=fill))
    marks.append(Box(Area(x, top, max(0.2, one.planned_s * per_s), high), line=HAIR))
    return marks


def _gap(begin_s: float, end_s: float, x: float, y: float, per_s: float, size: float) -> list[Line]:
    """Draw when the light was held back, as a bracket beneath the bar."""
    left, right, middle = x + begin_s * per_s, x + end_s * per_s, y - 0.36 * size
    tick = 0.3 * size
    return [
        Line(((left, middle), (max(right, left + 0.3), middle)), 0.3),
        Line(((left, middle - tick), (left, middle + tick)), 0.3),
        Line(((right, middle - tick), (right, middle + tick)), 0.3),
    ]
