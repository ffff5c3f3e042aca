"""How any colour becomes a tone of red, and what a terminal is told to show it.

Arithmetic of colours only: no terminal and no toolkit. A *tone* is red from 0 (black) to 255. What
a terminal is told depends on how many colours it has (``Depth``).
"""

from __future__ import annotations

from enum import Enum
from typing import NamedTuple

RGB = tuple[int, int, int]

LEVELS = (25, 45, 70, 100)  # brightness of the whole screen, percent
DARK = 0  # the level of the lowered curtain

# Luma of ITU-R BT.709, from memory of it.
LUMA = (0.2126, 0.7152, 0.0722)

CUBE = (0, 95, 135, 175, 215, 255)  # red along the edge of xterm's cube of 216 colours
CUBE_FIRST, CUBE_STRIDE = 16, 36  # number of its black, and from one red to the next
RAMP_STEP = 17  # 15 steps from black to full red
RAMP_TOP = 15

SEEN_APART = 24  # tones nearer than this may fall together where colours are few
CLEARLY_ASKED = 96  # colours that differ by so much in one channel were meant to be told apart
PUSHED = 96  # and are set apart by so much when as reds they would not be


class Depth(Enum):
    """How a terminal is told its colours."""

    FULL = "24 bits"
    CUBE = "256 colours, of which six are pure red or black"
    RAMP = "16 colours whose palette was loaded with reds"
    TWO = "16 colours of unknown palette: black and red"


class Shade(NamedTuple):
    """What a cell is told: tones (FULL), or colour numbers (all other depths)."""

    ink: int
    ground: int


def tone_of(asked: RGB) -> int:
    """Give the red that is as bright as the colour asked for; reds and greys keep their number.

    Brightness is luma (BT.709); pure red would be only a fifth of white by it, so the red channel
    itself is the least.
    """
    luma = sum(weight * channel for weight, channel in zip(LUMA, asked, strict=True))
    return max(asked[0], round(luma))


def apart(ink: RGB, ground: RGB) -> tuple[int, int]:
    """Give tones of ink and ground; what was meant to be told apart (red on white) stays so."""
    over, under = tone_of(ink), tone_of(ground)
    asked = max(abs(a - b) for a, b in zip(ink, ground, strict=True))
    if asked >= CLEARLY_ASKED and abs(over - under) < PUSHED // 2:
        over = under - PUSHED if under >= 128 else under + PUSHED
    return over, under


def blend(ink: RGB, ground: RGB, share: float) -> RGB:
    """Give the colour that is ``share`` (0 to 1) of ink over ground."""
    red, green, blue = (round(g + (i - g) * share) for i, g in zip(ink, ground, strict=True))
    return red, green, blue


def shade(ink: RGB, ground: RGB, depth: Depth, percent: int, *, bold: bool = False) -> Shade:
    """Give what to tell the terminal for a cell of this ink on this ground.

    ``percent`` is the brightness, 0 gives black on black. A loaded palette (RAMP) is dimmed in
    the palette, where no step is lost, and two colours can't be dimmed: there ``percent`` only
    tells black from not black. ``bold`` is one step of the ramp, as these consoles do it.
    """
    if percent == DARK:
        return Shade(*_BLACK[depth])
    over, under = apart(ink, ground)
    if depth is Depth.TWO:
        lit = under >= CLEARLY_ASKED
        return Shade(int(lit if abs(over - under) < 8 else not lit), int(lit))
    differ = over - under if abs(over - under) >= SEEN_APART else 0
    if depth is Depth.RAMP:
        # Backgrounds of the upper eight colours are not drawn by every console.
        low = min(RAMP_TOP - 1, 2 * round(under / (2 * RAMP_STEP)))
        high = min(RAMP_TOP, round(over / RAMP_STEP) + bold)
        return Shade(ramp_number(_set_off(high, low, differ, RAMP_TOP)), ramp_number(low))
    over, under = round(over * percent / 100), round(under * percent / 100)
    if depth is Depth.FULL:
        return Shade(over, under)
    low, high = _nearest(under), _nearest(over)
    high = _set_off(high, low, differ, len(CUBE) - 1)
    return Shade(CUBE_FIRST + CUBE_STRIDE * high, CUBE_FIRST + CUBE_STRIDE * low)


_BLACK = {
    Depth.FULL: (0, 0),
    Depth.CUBE: (CUBE_FIRST, CUBE_FIRST),
    Depth.RAMP: (0, 0),
    Depth.TWO: (0, 0),
}


def _nearest(tone: int) -> int:
    return min(range(len(CUBE)), key=lambda step: abs(CUBE[step] - tone))


def _set_off(high: int, low: int, differ: int, top: int) -> int:
    """Move the ink by one step when few steps made it one with its ground."""
    if high != low or not differ:
        return high
    wanted = low + (1 if differ > 0 else -1)
    return wanted if 0 <= wanted <= top else low - (wanted - low)


def ramp_number(step: int) -> int:
    """Give the colour number of a step (0 to 15) of the loaded palette.

    The lower eight, which serve as backgrounds, are the even steps; each upper colour is one step
    above its lower twin, so a console that shows bold by the upper eight brightens by one step.
    """
    return step // 2 + 8 * (step % 2)


def ramp(percent: int) -> tuple[int, ...]:
    """Give the tones of the sixteen palette entries, in the order of their numbers."""
    return tuple(
        round((2 * (number % 8) + number // 8) * RAMP_STEP * percent / 100) for number in range(16)
    )
