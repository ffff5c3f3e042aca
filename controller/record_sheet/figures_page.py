"""The book in figures as a page, for paper and for a picture: tiles, bars, months, a lamp's lag."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from controller.book_out.bars import LEAST_MONTHS, minutes_words, tests_words
from controller.book_out.figures import Drift, Evening, Figures, Month, Spread
from controller.record_sheet.blocks import BODY, HAIR, SMALL, SOFT, heading
from controller.record_sheet.canvas import measure
from controller.record_sheet.figures import shortened_heading, spread
from controller.record_sheet.ink import CAP, At, Block, Box, Face, Line, Mark, Words, shortened
from controller.score.wall_map_parts import Area

WIDE, SIDE = 180.0, 12.0
TILE = 5.8  # the size of the figures that stand on top
DARK, PALE = 0.3, 0.75
MOST_PAPERS, MOST_MONTHS, MOST_PRINTS = 12, 36, 60


def figures_page(found: Figures) -> tuple[list[Mark], tuple[float, float]]:
    """Give the marks of the page and its size in mm: as high as there is something to tell."""
    width = WIDE - 2 * SIDE
    page = Block()
    title = "Darkroom in figures"
    page.marks.append(Words(0, 6.5 * CAP, title, 6.5, Face.BOLD))
    days = f"{found.begin} to {found.end}" if found.begin != found.end else f"{found.begin}"
    days = days if found.begin else "nothing yet"
    page.marks.append(Words(width, 6.5 * CAP, days, BODY, at=At.RIGHT, grey=SOFT))
    page.marks.append(Line(((0, 8.5), (width, 8.5)), 0.5))
    page.height = 8.5
    blocks = [
        _tiles(found, width),
        _papers(found, width),
        _through_time(found, width),
        _tests(found, width),
        _times(found, width),
        *(_drift(one, width) for one in found.drifts),
    ]
    for block in blocks:
        if block.height:
            page.put(block, 0, page.height + 7.0)
    for output in dict.fromkeys(one.output for one in found.lags):
        block = _lag(found, output, width)
        if block.height:
            page.put(block, 0, page.height + 7.0)
    moved = Block()
    moved.put(page, SIDE, SIDE)
    return moved.marks, (WIDE, page.height + 2 * SIDE)


# --- inside -----------------------------------------------------------------------------------


def _tiles(found: Figures, width: float) -> Block:
    """Give the figures that one asks for first, large, side by side."""
    share = f"{100 * found.wasted_m2 / found.used_m2:.0f} %" if found.used_m2 else ""
    prints = sum(one.prints for one in found.months)
    tiles = [
        (f"{prints}", "good prints"),
        (f"{found.used_m2:.2f} m\u00b2" if found.used_m2 else "", "paper used"),
        (share, "of it wasted"),
        (_mean(found.tests_per_print, tests_words), "test pieces for a print"),
        (_mean(found.minutes_per_print, minutes_words), "for a print"),
    ]
    block = Block()
    shown = [tile for tile in tiles if tile[0]]
    wide = width / len(shown)
    for number, (figure, what) in enumerate(shown):
        x = number * wide
        block.marks.append(Words(x, TILE * CAP, figure, TILE, Face.BOLD))
        text = shortened(what, SMALL, wide - 2.0, measure)
        block.marks.append(Words(x, TILE * CAP + 4.6, text, SMALL, grey=SOFT))
    block.height = TILE * CAP + 5.4
    return block


def _mean(spread: Spread | None, told: Callable[[float], str]) -> str:
    return "" if spread is None else told(spread.mean)


def _papers(found: Figures, width: float) -> Block:
    block = Block()
    papers = [one for one in found.papers if one.used_m2][:MOST_PAPERS]
    if not papers:
        return block
    block.put(heading("Paper in square metres (pale: wasted)", width, 1.0), 0, 0)
    name_wide, y = 0.36 * width, block.height
    room = width - name_wide - 16.0
    for one in papers:
        y += 5.0
        name = shortened(one.name, BODY, name_wide - 2.0, measure)
        block.marks.append(Words(0, y, name, BODY))
        block.marks.append(Words(name_wide + 11.0, y, f"{one.used_m2:.2f}", BODY, at=At.RIGHT))
        high, x = 0.8 * BODY, name_wide + 16.0
        wide = room * one.used_m2 / papers[0].used_m2
        wasted = room * one.wasted_m2 / papers[0].used_m2
        block.marks.append(Box(Area(x, y - high, wide - wasted, high), fill=DARK))
        if wasted:
            block.marks.append(Box(Area(x + wide - wasted, y - high, wasted, high), fill=PALE))
    block.height = y
    return block


def _through_time(found: Figures, width: float) -> Block:
    """Give a column for each month, or each evening where there are no three months yet."""
    by_month = len(found.months) > LEAST_MONTHS
    kept = found.months[-MOST_MONTHS:] if by_month else found.evenings[-MOST_MONTHS:]
    if not kept:
        return Block()
    what = "month" if by_month else "evening"
    return _columns(
        f"Sheets by {what} (dark: prints, grey: tests, pale: wasted)",
        [(one.prints, one.tests, one.wasted) for one in kept],
        [_short(one) for one in kept],
        width,
    )


def _short(one: Month | Evening) -> str:
    return one.month[2:] if isinstance(one, Month) else f"{one.day.day} {one.day:%b}"


def _tests(found: Figures, width: float) -> Block:
    """Give a column of test pieces for each print, the oldest first."""
    each = found.each_print[-MOST_PRINTS:]
    if len(each) < 2 or not any(one.tests for one in each):
        return Block()
    days = [f"{one.day.day} {one.day:%b}" for one in each]
    names = [day if day not in days[:place] else "" for place, day in enumerate(days)]
    return _columns("Test pieces for each print", [(one.tests,) for one in each], names, width)


def _columns(
    title: str, stacks: Sequence[Sequence[int]], names: Sequence[str], width: float
) -> Block:
    """Give columns of whole numbers, their parts on each other, under an axis that counts."""
    block = Block()
    block.put(heading(title, width, 1.0), 0, 0)
    top, high = block.height + 2.5, 28.0
    step = _step(max(sum(stack) for stack in stacks))
    most = _whole(max(max(sum(stack) for stack in stacks), 1))
    wide = min(14.0, (width - 8.0) / len(stacks))
    for count in range(step, most + 1, step):
        y = top + high * (1 - count / most)
        block.marks.append(Line(((8.0, y), (width, y)), 0.1, 0.75))
        base = y + CAP * SMALL / 2
        block.marks.append(Words(6.5, base, f"{count}", SMALL, at=At.RIGHT, grey=SOFT))
    free = 8.0  # where the next name may begin
    for number, (stack, name) in enumerate(zip(stacks, names, strict=True)):
        x, y = 8.0 + number * wide, top + high
        for count, fill in zip(stack, (DARK, 0.55, PALE + 0.1), strict=False):
            part = high * count / most
            y -= part
            if count:
                block.marks.append(Box(Area(x + 0.12 * wide, y, 0.76 * wide, part), fill=fill))
        half = measure(name, 1.9, Face.PLAIN) / 2
        if name and free <= x + wide / 2 - half and x + wide / 2 + half <= width:
            block.marks.append(
                Words(x + wide / 2, top + high + 3.6, name, 1.9, at=At.MIDDLE, grey=SOFT)
            )
            free = x + wide / 2 + half + 1.5
    block.marks.append(Line(((8.0, top + high), (width, top + high)), 0.2))
    block.height = top + high + 4.4
    return block


def _step(most: int) -> int:
    """Give a round step for an axis of five lines at most: 1, 2, 5, 10, 20, 50 ..."""
    step = 1
    while most > 5 * step:
        step = step * 5 // 2 if str(step).startswith("2") else step * 2
    return step


def _whole(most: float) -> int:
    """Give the end of an axis: whole steps, and not less than the most."""
    step = _step(math.ceil(most))
    return step * max(1, math.ceil(most / step))


def _times(found: Figures, width: float) -> Block:
    """Give the time for one print after the other."""
    took = [(one.day, one.minutes) for one in found.each_print if one.minutes is not None]
    if len(took) < 2:
        return Block()
    values = [minutes for _, minutes in took]
    first, last = (f"{day}" for day in (took[0][0], took[-1][0]))
    return _lines(
        "Minutes for each print",
        [("", values)],
        (0.0, float(_whole(max(values)))),
        ".0f",
        (first, last),
        width,
    )


def _drift(drift: Drift, width: float) -> Block:
    """Give what control strips tell of the developer: a line for each figure."""
    points = drift.points
    if len(points) < 2:
        return Block()
    series = [
        ("speed", [one.speed for one in points]),
        ("contrast", [one.contrast for one in points]),
        ("black", [one.black for one in points]),
        ("white", [one.white for one in points]),
    ]
    reach = max(0.1, *(abs(value) for _, values in series for value in values))
    title = f"Drift, {drift.box}" + (f" in {drift.developer}" if drift.developer else "")
    days = f"{points[0].day}", f"{points[-1].day}"
    return _lines(
        f"{title}: density off the first strips", series, (-reach, reach), "+.2f", days, width
    )


DASHES: tuple[tuple[float, ...], ...] = ((), (1.6, 0.8), (0.5, 0.6), (2.4, 0.7, 0.5, 0.7))


def _lines(
    title: str,
    series: Sequence[tuple[str, Sequence[float]]],
    between: tuple[float, float],
    form: str,
    ends: tuple[str, str],
    width: float,
) -> Block:
    """Give one or more lines from left to right, told apart by dashes, named at their right."""
    block = Block()
    block.put(heading(shortened_heading(title, width, 1.0, measure), width, 1.0), 0, 0)
    top, high = block.height + 2.0, 24.0
    low, most = between
    span = (most - low) or 1.0
    named = any(name for name, _ in series)
    right = width - (16.0 if named else 0.0)

    def height_of(value: float) -> float:
        return top + high * (1 - (value - low) / span)

    for value in (low, (low + most) / 2, most):
        y = height_of(value)
        block.marks.append(Line(((12.0, y), (right, y)), HAIR, 0.75))
        base = y + CAP * SMALL / 2
        block.marks.append(
            Words(10.5, base, format(value, form) if value else "0", SMALL, at=At.RIGHT, grey=SOFT)
        )
    order = sorted(series, key=lambda one: -one[1][-1])
    wanted = [height_of(values[-1]) for _, values in order]
    labels = spread(wanted, SMALL * 1.2, top - 1.0, top + high + 1.0)
    for (name, values), dashed, label_y in zip(order, DASHES, labels, strict=False):
        room = right - 12.0
        points = tuple(
            (12.0 + room * place / (len(values) - 1), height_of(value))
            for place, value in enumerate(values)
        )
        block.marks.append(Line(points, 0.45, dashed=dashed))
        if name:
            base = label_y + CAP * SMALL / 2
            block.marks.append(Words(right + 1.5, base, name, SMALL))
    y = top + high + 4.6
    for text, x, at in ((ends[0], 12.0, At.LEFT), (ends[1], right, At.RIGHT)):
        block.marks.append(Words(x, y, text, SMALL, at=at, grey=SOFT))
    block.height = y + 0.8
    return block


def _lag(found: Figures, output: str, width: float) -> Block:
    """Give a lamp's lag as it was measured through time."""
    block = Block()
    own = [one for one in found.lags if one.output == output]
    if len(own) < 2:
        return block
    block.put(heading(f"Lag of {output}, in seconds", width, 1.0), 0, 0)
    top, high = block.height + 2.0, 20.0
    lags = [one.cold_lag_s for one in own]
    least, most = min(lags), max(lags)
    span = (most - least) or 1.0
    first, days = own[0].day, max(1, (own[-1].day - own[0].day).days)
    room = width - 12.0
    points = tuple(
        (
            12.0
            + room
            * ((one.day - first).days / days if own[-1].day != first else n / (len(own) - 1)),
            top + high * (1 - (one.cold_lag_s - least) / span),
        )
        for n, one in enumerate(own)
    )
    for value in dict.fromkeys((least, most)):
        y = top + high * (1 - (value - least) / span)
        block.marks.append(Line(((12.0, y), (width, y)), HAIR, 0.75))
        block.marks.append(
            Words(10.5, y + CAP * SMALL / 2, f"{value:.3f}", SMALL, at=At.RIGHT, grey=SOFT)
        )
    block.marks.append(Line(points, 0.5))
    for text, x, at in ((str(first), 12.0, At.LEFT), (str(own[-1].day), width, At.RIGHT)):
        block.marks.append(Words(x, top + high + 4.0, text, SMALL, at=at, grey=SOFT))
    block.height = top + high + 4.8
    return block
