"""Figures as text: bars and lines of blocks that any terminal has. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from controller.book_out.figures import Figures, Spread
from controller.numbered import numbered

BLOCKS = "\u2581\u2582\u2583\u2584\u2585\u2586\u2587\u2588"
FULL, LIGHT = "\u2588", "\u2591"
BAR = 28
MOST_MONTHS = 36
MOST_LAGS = 60


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


def figure_lines(found: Figures) -> list[str]:
    """Tell all figures, a thing to a line; nothing of what there is not."""
    if found.begin is None:
        return ["the book has nothing to count"]
    lines = [f"{found.begin} to {found.end}", ""]
    lines += _sheets(found)
    for part in (_per_print(found), _papers(found), _months(found), _lags(found)):
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
        yield f"paper used {found.used_m2:.2f} m2, wasted {found.wasted_m2:.2f} m2 ({share:.0f} %)"
    if found.unsized:
        yield f"without a known size: {numbered(found.unsized, 'sheet')}, in no area"
    yield f"lamp on for {found.lamp_on_s / 3600:.1f} h over paper"


def _per_print(found: Figures) -> Iterator[str]:
    for spread, what, form in (
        (found.tests_per_print, "test pieces for a print", ".0f"),
        (found.minutes_per_print, "minutes for a print", ".0f"),
        (found.light_s_per_print, "seconds of light on a print", ".1f"),
    ):
        if spread is not None:
            yield f"{what:28} {_told(spread, form)}"


def _told(spread: Spread, form: str) -> str:
    least, most = (format(value, form) for value in (spread.least, spread.most))
    return f"{spread.mean:.1f} on average, median {spread.median:.3g}; {least} to {most}"


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


def _months(found: Figures) -> Iterator[str]:
    months = found.months[-MOST_MONTHS:]
    if len(months) < 2:
        return
    yield f"by month, {months[0].month} to {months[-1].month}"
    for what, values in (
        ("prints", [one.prints for one in months]),
        ("tests", [one.tests for one in months]),
        ("wasted", [one.wasted for one in months]),
    ):
        yield f"  {what:7} {sparkline(values)}  most {max(values)}"


def _lags(found: Figures) -> Iterator[str]:
    for output in dict.fromkeys(one.output for one in found.lags):
        own = [one.cold_lag_s for one in found.lags if one.output == output][-MOST_LAGS:]
        if len(own) > 1:
            drift_ms = 1000 * (own[-1] - own[0])
            told = f"{own[-1]:.3f} s, {drift_ms:+.0f} ms since the first"
            yield f"lag of {output}: {between(own)}  {told}"
