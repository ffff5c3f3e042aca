"""The exposures of a wall map as blocks of words, one under another, as wide as a column. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from controller.score.wall_map_parts import (
    CAP,
    LINE,
    MINUS,
    SHRUNK,
    Block,
    Measure,
    Rule,
    Side,
    Words,
    joined,
    shrunk,
    wrapped,
)
from controller.score.wall_map_words import FIXED, HEADINGS, Entry, HeldWords

# Sizes at scale 1. Figures of 9 mm can be read from two metres by an eye that sees a third of
# what it sees in daylight (5 minutes of arc are 3 mm there; that the eye is so much weaker under
# a safelight is an estimate, no source).
HEADING = 4.6
SECONDS, NAME, ABOUT, HELD, UNDRIED = 12.5, 7.5, 5.0, 6.0, 6.5
LOWEST = SECONDS * CAP  # no exposure takes less from top to bottom, at scale 1
NARROWEST = 84.0  # a column
NAMES = 20.0  # the least room for names
LEGEND = "fixed: these seconds stay when the base changes; all others follow it"


def blocks(entries: Sequence[Entry], width: float, measure: Measure, scale: float) -> list[Block]:
    """Give a block for each exposure, and one that says what "fixed" means where it is used."""
    made = list(_entries(entries, width, measure, scale))
    if any(_has_fixed(one) for one in entries):
        made.append(_legend(width, measure, scale))
    return made


def least_width(entries: Sequence[Entry], measure: Measure, scale: float) -> float:
    """Give how wide a column must be, so that names have room beside what is on the right."""
    number_w = measure("10", NAME * scale, True) + 3 * scale
    needed = [measure(one.seconds, SECONDS * scale, True) + 3 * scale for one in entries]
    dash = measure(f"{MINUS} ", HELD * scale, True)
    needed += [
        dash + measure(held.when, HELD * scale, True) + 3 * scale
        for one in entries
        for held in one.held
    ]
    name_w = NAMES * scale
    least = number_w + name_w + max(needed) + _undried_width(entries, measure, scale)
    return max(least, NARROWEST * scale)


# --- inside -----------------------------------------------------------------------------------


def _entries(
    entries: Sequence[Entry], width: float, measure: Measure, scale: float
) -> Iterator[Block]:
    """Give a block for each exposure; the first of its kind has the heading with it."""
    undried_w = _undried_width(entries, measure, scale)
    kind = None
    for one in entries:
        block = Block()
        if one.kind is not kind:
            kind = one.kind
            _heading(block, HEADINGS[kind], width, scale, undried=bool(one.undried))
        _entry(block, one, width, undried_w, measure, scale)
        yield block


def _heading(block: Block, text: str, width: float, scale: float, *, undried: bool) -> None:
    size = HEADING * scale
    y = size * (CAP + 0.25)
    block.words.append(Words(0, y, text, size, bold=True))
    if undried:
        block.words.append(Words(width, y, "undried", size, side=Side.RIGHT))
    y += size * 0.35
    block.rules.append(Rule(0, y, width, y, 0.5))
    block.height = y + 1.5 * scale


def _entry(
    block: Block, one: Entry, width: float, undried_w: float, measure: Measure, scale: float
) -> None:
    top = block.height
    number_w = measure("10", NAME * scale, True) + 3 * scale
    right = width - undried_w
    seconds_w = measure(one.seconds, SECONDS * scale, True)
    room = right - seconds_w - number_w - 3 * scale

    y = top + SECONDS * scale * CAP
    block.words.append(Words(right, y, one.seconds, SECONDS * scale, bold=True, side=Side.RIGHT))
    if one.undried:
        block.words.append(Words(width, y, one.undried, UNDRIED * scale, side=Side.RIGHT))
    low = y + SECONDS * scale * 0.2

    size = shrunk(one.name, NAME * scale, room, measure)
    y = top + NAME * scale * CAP
    block.words.append(Words(0, y, str(one.number), NAME * scale, bold=True))
    lines = wrapped(one.name, size, room, measure, bold=True)
    for index, line in enumerate(lines):
        y += size * LINE if index else 0
        block.words.append(Words(number_w, y, line, size, bold=True))
    y += NAME * scale * 0.3
    y = _about(block, one, number_w, y, (room, right - number_w, low), measure, scale)
    for held in one.held:
        y = _held(block, held, (number_w, right), y, measure, scale)
    block.height = max(y, low) + 2.6 * scale


def _about(
    block: Block,
    one: Entry,
    x: float,
    y: float,
    room: tuple[float, float, float],
    measure: Measure,
    scale: float,
) -> float:
    """Write where the light comes from. ``room``: beside the seconds, below, and from where on."""
    size = ABOUT * scale
    boxed_w = (measure(FIXED, size, True) + 4 * scale) if one.fixed else 0.0
    beside, below, low = room
    lines = _facts(one.about, size, beside - boxed_w, measure)
    under = _facts(one.about, size, below - boxed_w, measure)
    if y + len(lines) * size > max(y, low) + len(under) * size:
        lines, y = under, max(y, low)
    for line in lines:
        y += size * (CAP + 0.12)
        block.words.append(Words(x, y, line, size))
        y += size * (LINE - CAP - 0.12)
    if one.fixed:
        at = x + (measure(lines[-1], size, False) if lines else 0) + 3 * scale
        where = y - size * (LINE - CAP - 0.12)
        block.words.append(Words(at, where, FIXED, size, bold=True, boxed=True))
    return y


def _undried_width(entries: Sequence[Entry], measure: Measure, scale: float) -> float:
    texts = [one.undried for one in entries if one.undried]
    if not texts:
        return 0.0
    widest = max(measure(text, UNDRIED * scale, False) for text in texts)
    return max(widest, measure("undried", HEADING * scale, False)) + 3 * scale


def _facts(facts: Sequence[str], size: float, width: float, measure: Measure) -> list[str]:
    """Break facts into lines: between them, or where one is too wide, within them."""
    if all(measure(fact, size, False) <= width for fact in facts):
        return joined(facts, size, width, measure)
    return wrapped(", ".join(facts), size, width, measure, bold=False)


def _held(
    block: Block,
    held: HeldWords,
    between: tuple[float, float],
    y: float,
    measure: Measure,
    scale: float,
) -> float:
    """Write a dodge: what and how much on the left, when on the right."""
    x, right = between
    size = HELD * scale
    small = ABOUT * scale
    when_w = measure(held.when, size, True)
    boxed_w = (measure(FIXED, small, True) + 4 * scale) if held.fixed else 0.0
    amount_w = measure(held.amount, small, False) + 2 * scale + boxed_w
    dash = measure(f"{MINUS} ", size, True)
    y += size * (CAP + 0.3)
    block.words.append(Words(right, y, held.when, size, bold=True, side=Side.RIGHT))
    block.words.append(Words(x, y, MINUS, size, bold=True))
    room = right - x - dash - when_w - 3 * scale
    name_room = room - amount_w
    together = measure(held.name, size * SHRUNK, True) <= name_room
    name_room = name_room if together else room
    own = shrunk(held.name, size, name_room, measure)
    lines = wrapped(held.name, own, name_room, measure, bold=True)
    for index, line in enumerate(lines):
        y += own * LINE if index else 0
        block.words.append(Words(x + dash, y, line, own, bold=True))
    at = x + dash + (measure(lines[-1], own, True) if lines else 0) + 2 * scale
    if not together:
        y += small * LINE
        at = x + dash
    block.words.append(Words(at, y, held.amount, small))
    if held.fixed:
        at += measure(held.amount, small, False) + 3 * scale
        block.words.append(Words(at, y, FIXED, small, bold=True, boxed=True))
    return y + size * (LINE - CAP - 0.3)


def _has_fixed(one: Entry) -> bool:
    return one.fixed or any(held.fixed for held in one.held)


def _legend(width: float, measure: Measure, scale: float) -> Block:
    block = Block()
    size = HEADING * scale
    y = size * 0.2
    for line in wrapped(LEGEND, size, width, measure, bold=False):
        y += size * LINE
        block.words.append(Words(0, y, line, size))
    block.height = y + size * 0.3
    return block
