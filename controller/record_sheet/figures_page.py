"""The book in figures as a page, for paper and for a picture: tiles, bars, months, a lamp's lag."""

from __future__ import annotations

from controller.book_out.figures import Figures, Spread
from controller.record_sheet.blocks import BODY, HAIR, SMALL, SOFT, heading
from controller.record_sheet.canvas import measure
from controller.record_sheet.ink import CAP, At, Block, Box, Face, Line, Mark, Words, shortened
from controller.score.wall_map_parts import Area

WIDE, SIDE = 180.0, 12.0
TILE = 5.8  # the size of the figures that stand on top
DARK, PALE = 0.3, 0.75
MOST_PAPERS, MOST_MONTHS = 12, 36


def figures_page(found: Figures) -> tuple[list[Mark], tuple[float, float]]:
    """Give the marks of the page and its size in mm: as high as there is something to tell."""
    width = WIDE - 2 * SIDE
    page = Block()
    title = "Darkroom in figures"
    page.marks.append(Words(0, 6.5 * CAP, title, 6.5, Face.BOLD))
    days = f"{found.begin} to {found.end}" if found.begin else "nothing yet"
    page.marks.append(Words(width, 6.5 * CAP, days, BODY, at=At.RIGHT, grey=SOFT))
    page.marks.append(Line(((0, 8.5), (width, 8.5)), 0.5))
    page.height = 8.5
    for block in (_tiles(found, width), _papers(found, width), _months(found, width)):
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
        (_mean(found.tests_per_print), "test pieces for a print"),
        (_mean(found.minutes_per_print), "minutes for a print"),
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


def _mean(spread: Spread | None) -> str:
    return "" if spread is None else f"{spread.mean:.2g}"


def _papers(found: Figures, width: float) -> Block:
    block = Block()
    papers = [one for one in found.papers if one.used_m2][:MOST_PAPERS]
    if not papers:
        return block
    block.put(heading("Paper, m\u00b2 (pale: wasted)", width, 1.0), 0, 0)
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


def _months(found: Figures, width: float) -> Block:
    """Give a column for each month: prints, test pieces above them, what was wasted on top."""
    block = Block()
    months = found.months[-MOST_MONTHS:]
    if not months:
        return block
    block.put(
        heading("Sheets by month (dark: prints, grey: tests, pale: wasted)", width, 1.0), 0, 0
    )
    top, high = block.height + 1.0, 30.0
    most = max(one.prints + one.tests + one.wasted for one in months) or 1
    wide = min(12.0, (width - 8.0) / len(months))
    for share in (0.5, 1.0):
        y = top + high * (1 - share)
        block.marks.append(Line(((8.0, y), (width, y)), 0.1, 0.75))
        block.marks.append(
            Words(6.5, y + CAP * SMALL / 2, f"{most * share:g}", SMALL, at=At.RIGHT, grey=SOFT)
        )
    for number, one in enumerate(months):
        x, y = 8.0 + number * wide, top + high
        for count, fill in ((one.prints, DARK), (one.tests, 0.55), (one.wasted, PALE + 0.1)):
            part = high * count / most
            y -= part
            if count:
                block.marks.append(Box(Area(x + 0.12 * wide, y, 0.76 * wide, part), fill=fill))
        every = max(1, -(-9 // int(max(1, wide))))
        if number % every == 0:
            block.marks.append(
                Words(x + wide / 2, top + high + 3.6, one.month[2:], 1.9, at=At.MIDDLE, grey=SOFT)
            )
    block.marks.append(Line(((8.0, top + high), (width, top + high)), 0.2))
    block.height = top + high + 4.4
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
