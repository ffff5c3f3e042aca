"""What lies where on a sheet that proves a room: for its picture, its layout and its scan. Pure.

Every such sheet is divided along its length into equal parts, counted from the left as it lay.
"""

from __future__ import annotations

from dataclasses import dataclass

from controller.room.fog_sheets import (
    BRIEFLY,
    REFERENCE,
    TOGETHER,
    CoinCheck,
    FlashStrip,
    FogTest,
    WhichLight,
    WholeCycle,
)
from controller.room.limits import told
from controller.room.reading import FogSheet
from controller.room.trial_sheets import LeakSheet
from controller.stops import format_time
from controller.strips.strip import LETTERS

AnySheet = FogSheet | LeakSheet
COVERED, OPEN, COIN = "covered", "open", "coin"
COIN_MM = 16.0  # about what small coins measure across


@dataclass(frozen=True, slots=True)
class SheetPart:
    """One part of a sheet: what it is called when it is read, and what is written beside it.

    ``head`` is the short word that the eye looks for; ``words`` follow it, a line each.
    """

    name: str
    head: str
    words: tuple[str, ...]
    from_mm: float
    to_mm: float


def parts_of(test: AnySheet) -> tuple[SheetPart, ...]:
    """Give the parts of a sheet from its left to its right."""
    told_ = _told(test)
    each = test.width_mm / len(told_)
    return tuple(
        SheetPart(name, head, words, place * each, (place + 1) * each)
        for place, (name, head, words) in enumerate(told_)
    )


def title_of(test: AnySheet) -> str:
    """Give the title of a sheet's picture."""
    match test:
        case FogTest():
            return f"fog test at the {test.place}"
        case WhichLight():
            return f"which light, at the {test.place}"
        case WholeCycle():
            return f"whole cycle, {told(test.time_s)}"
        case CoinCheck():
            return f"quick check with a coin, {told(test.time_s)}"
        case LeakSheet():
            return f"leak test, lamp on for {told(test.leak_s)} behind the cap"
    return "flash strip"


def note_of(test: AnySheet) -> str:
    """Say what a sheet was made with, and how its picture is looked at."""
    if isinstance(test, FlashStrip):
        return "take the patch that is a light grey, 0.15 to 0.40 above the bare paper"
    if isinstance(test, CoinCheck):
        return f"lights: {', '.join(test.lights)}; a coin that shows proves a bad room"
    flash = f"flash {format_time(test.flash_s)}"
    if isinstance(test, LeakSheet):
        return f"{flash}; an edge in the middle is light that misses the lens"
    how = {
        "fog test": "look for the first step on each side that can be told from ref",
        "which light": "a column that can be told from ref is a light that fogs",
        "whole cycle": "an edge in the middle is fog",
    }
    kind = "fog test" if isinstance(test, FogTest) else "whole cycle"
    kind = "which light" if isinstance(test, WhichLight) else kind
    return f"lights: {', '.join(test.lights)}; {flash}; {how[kind]}"


# --- inside -----------------------------------------------------------------------------------


def _told(test: AnySheet) -> list[tuple[str, str, tuple[str, ...]]]:
    match test:
        case FogTest():
            return [_fog(name, test) for name in test.names()]
        case WhichLight():
            return [_which(place, name, test) for place, name in enumerate(test.names())]
        case WholeCycle():
            return [(COVERED, "ref", ("under the card",)), (OPEN, "open", (told(test.time_s),))]
        case LeakSheet():
            return [(COVERED, "ref", ("under the card",)), (OPEN, "open", (told(test.leak_s),))]
        case CoinCheck():
            return [(COIN, "coin", ("in the middle", told(test.time_s)))]
    return [
        (LETTERS[n], LETTERS[n], (format_time(dose_s),)) for n, dose_s in enumerate(test.doses_s())
    ]


def _fog(name: str, test: FogTest) -> tuple[str, str, tuple[str, ...]]:
    if name == REFERENCE:
        return name, "ref", ("flash", "alone")
    side, _, number = name.partition(" ")
    return name, number, (side, told(test.steps_s[int(number) - 1]))


def _which(place: int, name: str, test: WhichLight) -> tuple[str, str, tuple[str, ...]]:
    if name == REFERENCE:
        return name, "ref", ("flash", "alone")
    if name in (BRIEFLY, TOGETHER):
        said = "together" if name == TOGETHER else "briefly"
        return name, "all", (said, told(test.column_s(name)))
    return name, str(place), (name, told(test.column_s(name)))
