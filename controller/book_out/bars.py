"""Figures as text: bars and lines of blocks that any terminal has. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from controller.book_out.figures import Figures, Month, Spread
from controller.numbered import numbered

BLOCKS = "\u2581\u2582\u2583\u2584\u2585\u2586\u2587\u2588"
FULL, TEST, LIGHT = "\u2588", "\u2592", "\u2591"
BAR = 28
EIGHT_BY_TEN_M2 = 0.2032 * 0.254
MOST_MONTHS = 36
MOST_LAGS = 60
MOST_COLUMNS = 60
LEAST_MONTHS = 3  # fewer are told evening by evening
HIGH = 6  # rows of a column


def bar(part: float, whole: float, width: int = BAR) -> str:
    """Give a bar for a part of a whole; whatever is more than nothing has a block at least."""
    if whole <= 0 or part <= 0:
        return ""
    return FULL * max(1, min(width, round(width * part / whole)))


def sparkline(values: Sequence[float]) -> str:
    """Give a line of blocks from nothing (a space) to the most."""
    most = max(values, default=0.0)
    if most <= 0:
        return " " * len(values)
    steps = len(BLOCKS)
    return "".join(
        BLOCKS[max(1, min(steps, round(steps * value / most))) - 1] if value > 0 else " "
        for value in values
    )


def between(values: Sequence[float]) -> str:
    """Give a line of blocks from the least to the most: for what wanders."""
    least, most = min(values, default=0.0), max(values, default=0.0)
    span = most - least
    steps = len(BLOCKS) - 1
    return "".join(BLOCKS[round(steps * (value - least) / span) if span else 0] for value in values)


def columns(stacks: Sequence[Sequence[int]], high: int, inks: str) -> list[str]:
    """Give columns of whole numbers, parts upon each other, in as many rows as there is room.

    Every part has an ink of its own; a row stands for so many as the axis says, and a column of
    more than nothing has a row at least.
    """
    most = max((sum(stack) for stack in stacks), default=0)
    if most <= 0:
        return []
    each = -(-most // high)  # so many in a row
    rows = -(-most // each)
    wide = 2 if len(stacks) <= MOST_COLUMNS // 2 else 1
    grid = ["".join(ink * len(part) for ink, part in _rows(stack, each, inks)) for stack in stacks]
    lines = []
    for row in range(rows - 1, -1, -1):
        axis = f"{(row + 1) * each:4}" if row in (rows - 1, 0) else "    "
        cells = (column[row] if row < len(column) else " " for column in grid)
        lines.append(f"{axis} " + "".join(cell.ljust(wide) for cell in cells).rstrip())
    return lines


def _rows(stack: Sequence[int], each: int, inks: str) -> Iterator[tuple[str, range]]:
    """Give each part's ink and the rows that it takes, counted from what lies beneath it."""
    below, done = 0, 0
    for part, ink in zip(stack, inks, strict=True):
        below += part
        end = -(-below // each)
        yield ink, range(done, end)
        done = end


def figure_lines(found: Figures) -> list[str]:
    """Tell all figures, a thing to a line; nothing of what there is not."""
    if found.begin is None:
        return ["the book has nothing to count"]
    days = f"{found.begin} to {found.end}" if found.end != found.begin else f"{found.begin}"
    lines = [days, ""]
    lines += _sheets(found)
    parts = (_per_print, _papers, _through_time, _each, _drifts, _lags)
    for part in (tell(found) for tell in parts):
        told = list(part)
        lines += ["", *told] if told else []
    return lines


# --- inside -----------------------------------------------------------------------------------


def _sheets(found: Figures) -> Iterator[str]:
    width = max(len(kind) for kind in found.sheets) if found.sheets else 0
    most = max((sum(fates.values()) for fates in found.sheets.values()), default=0)
    for kind, fates in found.sheets.items():
        count = sum(fates.values())
        told = ", ".join(f"{number} {fate}" for fate, number in fates.items() if fate != "done")
        yield f"{kind:{width}}  {count:5}  {bar(count, most)}{f'  {told}' if told else ''}"
    if found.used_m2:
        share = 100 * found.wasted_m2 / found.used_m2
        yield ""
        eights = f"{found.used_m2 / EIGHT_BY_TEN_M2:.1f} sheets of 8x10 in"
        yield f"paper used {found.used_m2:.2f} m2 ({eights}), of it wasted {share:.0f} %"
    if found.unsized:
        yield f"without a known size: {numbered(found.unsized, 'sheet')}, in no area"
    yield f"lamp on over paper for {minutes_words(found.lamp_on_s / 60)}"


def _per_print(found: Figures) -> Iterator[str]:
    for spread, what, told in (
        (found.tests_per_print, "test pieces for a print", tests_words),
        (found.minutes_per_print, "time for a print", minutes_words),
        (found.light_s_per_print, "light on a print", seconds_words),
    ):
        if spread is not None:
            yield f"{what:24} {spread_words(spread, told)}"


def spread_words(spread: Spread, told: Callable[[float], str]) -> str:
    """Tell a spread: one figure where all are alike, else mean, middle, least and most."""
    least, most = told(spread.least), told(spread.most)
    if least == most:
        return least
    middle = told(spread.median)
    return f"{told(spread.mean)} on average, the middle one {middle}; {least} to {most}"


def tests_words(count: float) -> str:
    """Write a number of test pieces, a mean to a tenth."""
    return f"{count:.0f}" if count == round(count) else f"{count:.1f}"


def minutes_words(minutes: float) -> str:
    """Write minutes as one would say them: seconds below one, hours beyond ninety."""
    if minutes < 1:
        return f"{60 * minutes:.0f} s"
    return f"{minutes:.0f} min" if minutes < 90 else f"{minutes / 60:.1f} h"


def seconds_words(seconds: float) -> str:
    """Write seconds of light."""
    return f"{seconds:.1f} s" if seconds < 10 else f"{seconds:.0f} s"


def _papers(found: Figures) -> Iterator[str]:
    if not found.papers or not found.used_m2:
        return
    width = min(30, max(len(one.name) for one in found.papers))
    most = found.papers[0].used_m2
    yield "paper, in m2 (light: wasted)"
    for one in found.papers:
        if not one.used_m2:
            continue
        whole = bar(one.used_m2, most)
        wasted = min(len(whole), len(bar(one.wasted_m2, most)))
        drawn = whole[wasted:] + LIGHT * wasted
        yield f"  {one.name[:width]:{width}}  {one.used_m2:6.2f}  {drawn}"


def _through_time(found: Figures) -> Iterator[str]:
    """Draw sheets by month, or by evening where there are no three months yet."""
    by_month = len(found.months) > LEAST_MONTHS
    kept = found.months[-MOST_MONTHS:] if by_month else found.evenings[-MOST_MONTHS:]
    if len(kept) < 2:
        return
    names = [str(one.month if isinstance(one, Month) else one.day) for one in kept]
    what = "month" if by_month else "evening"
    inks = f"{FULL} prints, {TEST} tests, {LIGHT} wasted"
    yield f"sheets by {what}, {names[0]} to {names[-1]} ({inks})"
    yield from columns(
        [(one.prints, one.tests, one.wasted) for one in kept], HIGH, FULL + TEST + LIGHT
    )


def _each(found: Figures) -> Iterator[str]:
    """Draw test pieces and time for one print after the other."""
    each = found.each_print[-MOST_COLUMNS:]
    if len(each) < 2:
        return
    if any(one.tests for one in each):
        yield "test pieces for each print, the oldest first"
        yield from columns([(one.tests,) for one in each], HIGH, FULL)
    took = [one.minutes for one in each if one.minutes is not None]
    if len(took) > 1:
        told = f"{minutes_words(min(took))} to {minutes_words(max(took))}"
        yield f"time for each: {sparkline(took)}  {told}"


def _drifts(found: Figures) -> Iterator[str]:
    """Draw how the developer wandered, as the control strips of each box tell it."""
    for drift in found.drifts:
        points = drift.points[-MOST_LAGS:]
        if len(points) < 2:
            continue
        in_what = f" in {drift.developer}" if drift.developer else ""
        yield f"control strips on {drift.box}{in_what}, density off the first ones"
        for what, values in (
            ("speed", [one.speed for one in points]),
            ("contrast", [one.contrast for one in points]),
            ("black", [one.black for one in points]),
            ("white", [one.white for one in points]),
        ):
            least, most = min(values), max(values)
            now = f"now {values[-1]:+.2f}, from {least:+.2f} to {most:+.2f}"
            yield f"  {what:8} {between(values)}  {now}"


def _lags(found: Figures) -> Iterator[str]:
    for output in dict.fromkeys(one.output for one in found.lags):
        own = [one.cold_lag_s for one in found.lags if one.output == output][-MOST_LAGS:]
        if len(own) > 1:
            drift_ms = 1000 * (own[-1] - own[0])
            told = f"{own[-1]:.3f} s, {drift_ms:+.0f} ms since the first"
            yield f"lag of {output}: {between(own)}  {told}"
